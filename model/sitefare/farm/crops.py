"""What does each crop yield in a month, and from when.

Yield is a commercial marketable yield per square metre of bed at a stated light, times
responses to light and temperature that are 1 there. Air is taken as ambient in carbon dioxide:
enrichment is not modelled, since it escapes where vents open. Ordinary cull excludes losses to
rare events, which stand in the event table. How long a planting takes stands in `cycles`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, keys_of, quantity, text
from sitefare.errors import DesignError
from sitefare.farm import climate, cycles
from sitefare.farm.house_year import DayAir
from sitefare.farm.months import NAMES


@inputs("crop", keyed=True)
class CropInputs:
    """One crop in beds watered by the fish."""

    title: str = text(doc="The crop's name in print.")
    kind: str = choice("leafy", "fruiting", doc="Cut whole or by the leaf, or picked as fruit.")
    yield_year: Array = quantity(
        "kg/m2/year",
        low=0.5,
        high=120,
        doc="Yield: marketable before cull, at reference light, mild air.",
    )
    reference_light: Array = quantity(
        "mol/m2/day", low=3, high=50, doc="Daily light integral at which the yield holds."
    )
    half_light: Array = quantity(
        "mol/m2/day",
        low=1,
        high=120,
        doc="Light at which the saturating response is half its limit.",
    )
    light_most: Array = quantity(
        "mol/m2/day",
        low=8,
        high=80,
        varies="choice",
        doc="Light beyond which a crop gains no more: sun at noon is more than leaves can use.",
    )
    temperature_least: Array = quantity("degC", low=-5, high=25, doc="No growth at or below.")
    lethal_low: Array = quantity(
        "degC", low=-30, high=10, doc="Air that kills the crop in its coldest hour."
    )
    temperature_low: Array = quantity("degC", low=0, high=32, doc="Full growth from here.")
    temperature_high: Array = quantity("degC", low=10, high=40, doc="Full growth up to here.")
    temperature_most: Array = quantity("degC", low=15, high=50, doc="No crop at or above.")
    plants: Array = quantity("plant/m2", low=0.3, high=400, doc="Plants standing on a bed.")
    days_to_harvest: Array = quantity(
        "day",
        low=10,
        high=300,
        doc="Days to harvest: planting out to first cut, at reference light in mild air.",
    )
    days_picked: Array = quantity(
        "day", low=0, high=330, doc="First to last harvest of a planting."
    )
    days_between: Array = quantity("day", low=0, high=60, doc="Bed empty between two plantings.")
    cull: Array = quantity("1", low=0, high=1, doc="Share of the yield not fit to use.")
    nursery_loss: Array = quantity("1", low=0, high=1, doc="Share of plants started that fail.")
    nursery_days: Array = quantity(
        "day", low=0, high=120, varies="choice", doc="Days in the nursery: sowing to planting out."
    )
    nursery_plants: Array = quantity(
        "plant/m2",
        low=20,
        high=5000,
        varies="choice",
        doc="Seedlings per tray area, at their final nursery spacing.",
    )
    nitrogen: Array = quantity(
        "kg/kg", low=0.0005, high=0.02, doc="Nitrogen taken up per fresh weight harvested."
    )
    phosphorus: Array = quantity(
        "kg/kg", low=0.00005, high=0.005, doc="Phosphorus taken up per fresh weight harvested."
    )
    potassium: Array = quantity(
        "kg/kg", low=0.0005, high=0.02, doc="Potassium taken up per fresh weight harvested."
    )
    transpiration: Array = quantity(
        "1", low=0.2, high=1.4, doc="Crop coefficient Kc over a planting, FAO-56."
    )
    feed_ratio: Array = quantity(
        "g/m2/day",
        low=5,
        high=200,
        varies="choice",
        doc="Fish feed that feeds a square metre, media bed.",
    )


@inputs("plan", keyed=True)
class PlanInputs:
    """Which part of the beds a crop has, and in which months."""

    share: Array = quantity("1", low=0, high=1, varies="choice", doc="Share of the bed area.")
    first_month: Array = quantity(
        "1", low=1, high=12, varies="choice", doc="First month of the crop on its share: 1 to 12."
    )
    last_month: Array = quantity(
        "1",
        low=1,
        high=12,
        varies="choice",
        doc="Last month of the crop on its share: before the first, it runs over the new year.",
    )


@inputs("production")
class ProductionInputs:
    """How a new farm comes into full production."""

    maturing_days: Array = quantity(
        "day", low=0, high=365, doc="From end of works to first stocking: biofilter and water."
    )
    planting_days: Array = quantity("day", low=0, high=365, doc="From end of works to planting.")
    learning_year_1: Array = quantity("1", low=0, high=1.2, doc="Share of full yield in year 1.")
    learning_year_2: Array = quantity("1", low=0, high=1.2, doc="Share of full yield in year 2.")
    crop_year_factor: Array = quantity(
        "1", low=0.2, high=2, varies="year", doc="Good and bad years of the crops, over the mean."
    )
    root_zone_weight: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Root-zone weight: of water over air in the temperature a crop feels.",
    )
    least_response: Array = quantity(
        "1",
        low=0,
        high=0.9,
        varies="choice",
        doc="Least growth worth planting: response to light and warmth below which a bed is left.",
    )
    cycle_shortest: Array = quantity(
        "1", low=0.3, high=1, varies="choice", doc="Shortest days to harvest over those listed."
    )
    cycle_longest: Array = quantity(
        "1", low=1, high=10, varies="choice", doc="Longest days to harvest over those listed."
    )
    nursery_room: Array = quantity(
        "1", low=1, high=5, varies="choice", doc="Floor of the nursery over its trays."
    )


@dataclass(frozen=True)
class CropSeason:
    """One crop on its part of the beds in a typical year; arrays (draws, 12).

    `growth` is marketable growth before limits of nutrients [kg/month]; `grows` is 1 where the
    month's response is enough to plant, `area` the bed the plan gives the crop and `occupied`
    what of it is planted [m2]. `speed` is growth over that of the days listed, within limits
    [1]; `cut` is harvest over growth, 1 for a crop that stands all year [1].
    """

    inputs: CropInputs
    growth: Array
    grows: Array
    area: Array
    occupied: Array
    speed: Array
    cut: Array


def share_by_month(plan: PlanInputs) -> Array:
    """Return a crop's share of the bed in each month of its season, (draws, 12). [1]

    Raises
    ------
    DesignError
        If a month is not a whole number.
    """
    first, last = plan.first_month - 1.0, plan.last_month - 1.0
    if np.any(first % 1.0 != 0.0) or np.any(last % 1.0 != 0.0):
        msg = "first_month and last_month of a plan are whole months, 1 for January to 12"
        raise DesignError(msg)
    month = np.arange(12.0)[None, :]
    within = (month - first) % 12.0 <= (last - first) % 12.0
    return np.asarray(plan.share * within)


def planned(values: Values) -> dict[str, tuple[CropInputs, Array]]:
    """Return the crops with a share of the beds, and their shares by month (draws, 12). [1]

    Raises
    ------
    DesignError
        If in any month shares add to more than the beds, or nothing is ever planted.
    """
    plans = {key: build(PlanInputs, values, key) for key in keys_of(PlanInputs, values)}
    chosen = {k: share_by_month(p) for k, p in plans.items() if np.any(p.share > 0.0)}
    total = sum((s.max(axis=0) for s in chosen.values()), np.zeros(12))
    fullest = int(np.argmax(total))
    if not chosen or total[fullest] > 1.0 + 1e-9:
        msg = (
            f"the plan's shares of bed add to {total[fullest]:.3g} in {NAMES[fullest]}; allowed is "
            "more than 0, at most 1: change plan.….share, .first_month or .last_month"
        )
        raise DesignError(msg)
    return {key: (build(CropInputs, values, key), share) for key, share in chosen.items()}


def light_response(light: Array, crop: CropInputs) -> Array:
    """Return growth over growth at reference light, L/(L+K) scaled to 1 there. [1]

    A rectangular hyperbola (Thornley & Johnson 1990, Plant and Crop Modelling), level beyond the
    most light that a crop can use.
    """
    there = crop.reference_light / (crop.reference_light + crop.half_light)
    used = np.minimum(light, crop.light_most)
    return used / (used + crop.half_light) / there


def temperature_response(mean: Array, day: Array, crop: CropInputs) -> Array:
    """Return growth over growth in mild air: a ramp up on the daily mean, down on day warmth. [1]

    A trapezoid of cardinal temperatures, as FAO-66 and common crop models use; cold acts on the
    day's mean, heat on the mean of that and the day's highest.

    Parameters
    ----------
    mean, day : Array, shape (draws, 12, 3)
        The day class's mean and its warmth by day. [degC]
    """
    low, high = crop.temperature_low[:, :, None], crop.temperature_high[:, :, None]
    least, most = crop.temperature_least[:, :, None], crop.temperature_most[:, :, None]
    rise = (mean - least) / np.maximum(low - least, 0.5)
    fall = (most - day) / np.maximum(most - high, 0.5)
    return climate.month_mean(np.clip(rise, 0.0, 1.0) * np.clip(fall, 0.0, 1.0))


def crop_season(
    crop: CropInputs,
    area: Array,
    light: Array,
    days: DayAir,
    water: Array,
    production: ProductionInputs,
) -> CropSeason:
    """Return a crop's typical year on an area by month [m2] under light [mol/m2/day].

    Parameters
    ----------
    area, light, water : Array, shape (draws, 12 or 1)
        Bed that the plan gives the crop [m2], light [mol/m2/day], water [degC].
    days : DayAir
        Air at the crop.
    """
    weight = production.root_zone_weight[:, :, None]
    alive = days.lowest.min(axis=2) >= crop.lethal_low
    felt = (1.0 - weight) * days.mean + weight * water[:, :, None]
    warmth = temperature_response(felt, (felt + days.highest) / 2.0, crop) * alive
    response = light_response(light, crop) * warmth
    grows = (response >= production.least_response).astype(np.float64)
    occupied = area * grows
    growth = occupied * crop.yield_year / 365.0 * (1.0 - crop.cull) * response * DAYS
    speed = cycles.speed(response, production.cycle_shortest, production.cycle_longest)
    cut = cycles.cut_share(speed * DAYS, crop.days_to_harvest, growth)
    return CropSeason(crop, growth, grows, np.broadcast_to(area, grows.shape), occupied, speed, cut)


def ripening_days(season: CropSeason) -> Array:
    """Return days from planting out in a month to the first harvest, (draws, 12). [day]"""
    return season.inputs.days_to_harvest / season.speed


def cycle_days(season: CropSeason) -> Array:
    """Return days from one planting of a bed to the next, (draws, 12). [day]"""
    crop = season.inputs
    return ripening_days(season) + crop.days_picked + crop.days_between


def plants_set(season: CropSeason) -> Array:
    """Return plants set out in a typical month, (draws, 12). [plant/month]

    The last planting of a season is one that ripens in it: the year is read backwards.
    """
    slots = season.occupied * season.inputs.plants * DAYS / cycle_days(season)
    days, needed = season.speed * DAYS, season.inputs.days_to_harvest
    return np.asarray(slots * cycles.cut_share(days[:, ::-1], needed, slots[:, ::-1])[:, ::-1])


def plants_started(season: CropSeason) -> Array:
    """Return plants started for those set out in a typical month, (draws, 12). [plant/month]"""
    return np.asarray(plants_set(season) / np.maximum(1.0 - season.inputs.nursery_loss, 0.05))


def nursery_area(seasons: Mapping[str, CropSeason], production: ProductionInputs) -> Array:
    """Return floor of the nursery that a month's planting takes, (draws, 12). [m2]"""
    trays = sum(
        plants_started(s) / DAYS * s.inputs.nursery_days / s.inputs.nursery_plants
        for s in seasons.values()
    )
    return np.asarray(trays * production.nursery_room)


def idle_months(seasons: Mapping[str, CropSeason]) -> dict[str, list[int]]:
    """Return the months, 0 for January, in which a crop is planned and cannot grow, first draw."""
    idle = {k: np.flatnonzero((s.grows[0] == 0.0) & (s.area[0] > 0.0)) for k, s in seasons.items()}
    return {key: [int(m) for m in months] for key, months in idle.items() if months.size}
