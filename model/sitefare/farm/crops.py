"""What does each crop yield in a month, and from when.

Yield is a commercial marketable yield per square metre of bed at a stated light, times
responses to light and temperature that are 1 there. Ordinary cull excludes losses to rare
events, which stand in the event table.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, keys_of, quantity, text
from sitefare.errors import DesignError
from sitefare.farm import climate
from sitefare.timeline import Timeline


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
    temperature_least: Array = quantity("degC", low=-5, high=25, doc="No growth at or below.")
    lethal_low: Array = quantity(
        "degC", low=-30, high=10, doc="Air that kills the crop in its coldest hour."
    )
    temperature_low: Array = quantity("degC", low=0, high=32, doc="Full growth from here.")
    temperature_high: Array = quantity("degC", low=10, high=40, doc="Full growth up to here.")
    temperature_most: Array = quantity("degC", low=15, high=50, doc="No crop at or above.")
    plants: Array = quantity("plant/m2", low=0.3, high=400, doc="Plants standing on a bed.")
    days_to_harvest: Array = quantity(
        "day", low=10, high=300, doc="Planting out to first harvest; the nursery stands apart."
    )
    days_picked: Array = quantity(
        "day", low=0, high=330, doc="First to last harvest of a planting."
    )
    days_between: Array = quantity("day", low=0, high=60, doc="Bed empty between two plantings.")
    cull: Array = quantity("1", low=0, high=1, doc="Share of the yield not fit to use.")
    nursery_loss: Array = quantity("1", low=0, high=1, doc="Share of plants started that fail.")
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
    """Which part of the beds a crop has."""

    share: Array = quantity("1", low=0, high=1, varies="choice", doc="Share of the bed area.")


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
        "1", low=0, high=0.9, varies="choice", doc="Below this response a crop is not planted."
    )


@dataclass(frozen=True)
class CropSeason:
    """One crop on its part of the beds in a typical year; arrays (draws, 12).

    `growth` is marketable growth before limits of nutrients [kg/month]; `grows` is 1 where the
    month's response is enough to plant, `occupied` the bed area planted [m2].
    """

    inputs: CropInputs
    growth: Array
    grows: Array
    occupied: Array


def planned(values: Values) -> dict[str, tuple[CropInputs, Array]]:
    """Return the crops with a share of the beds, and their shares (draws, 1). [1]

    Raises
    ------
    DesignError
        If shares add to more than the beds, or nothing is planted.
    """
    shares = {key: build(PlanInputs, values, key).share for key in keys_of(PlanInputs, values)}
    chosen = {k: s for k, s in shares.items() if np.any(s > 0.0)}
    total = sum(float(s.max()) for s in chosen.values())
    if not chosen or total > 1.0 + 1e-9:
        msg = f"the plan's shares of bed add to {total:.3g}; allowed is more than 0, at most 1"
        raise DesignError(msg)
    return {key: (build(CropInputs, values, key), share) for key, share in chosen.items()}


def light_response(light: Array, crop: CropInputs) -> Array:
    """Return growth over growth at reference light, L/(L+K) scaled to 1 there. [1]"""
    there = crop.reference_light / (crop.reference_light + crop.half_light)
    return light / (light + crop.half_light) / there


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
    air_hours: Array,
    water: Array,
    production: ProductionInputs,
) -> CropSeason:
    """Return a crop's typical year on an area [m2] under light (draws, 12) [mol/m2/day]."""
    weight = production.root_zone_weight[:, :, None]
    mean, (lowest, highest) = climate.daily_mean(air_hours), climate.daily_extreme(air_hours)
    alive = lowest.min(axis=2) >= crop.lethal_low
    felt = (1.0 - weight) * mean + weight * water[:, :, None]
    response = temperature_response(felt, (felt + highest) / 2.0, crop) * alive
    grows = (response >= production.least_response).astype(np.float64)
    rate = crop.yield_year / 365.0 * (1.0 - crop.cull) * light_response(light, crop)
    return CropSeason(crop, area * rate * response * grows * DAYS, grows, area * grows)


def cycle_days(crop: CropInputs) -> Array:
    """Return days from one planting of a bed to the next, (draws, 1). [day]"""
    return crop.days_to_harvest + crop.days_picked + crop.days_between


def harvest(growth: Array, crop: CropInputs, planted: Array, timeline: Timeline) -> Array:
    """Return harvest by project month from growth by month, (draws, months + 1). [kg]

    Beds are planted a little every week, so that what is cut in a month is the mean of growth
    over the planting's days; the first cut comes one planting's days after planting.

    Parameters
    ----------
    growth : Array, shape (draws, months + 1)
        Growth of bed in production. [kg/month]
    planted : Array, shape (draws, 1)
        Project month, with its fraction, in which planting starts. [month]
    """
    length = crop.days_to_harvest / MEAN_MONTH
    grown = np.cumsum(growth, axis=1)
    month = timeline.month[None, :].astype(np.float64)
    middle = _at(grown, month - 0.5)
    before = _at(grown, month - 0.5 - length)
    ready = np.clip(month - (planted + length), 0.0, 1.0)
    return (middle - before) / length * ready


def _at(stock: Array, month: Array) -> Array:
    """Read a stock at a fraction of a month, straight between month ends; 0 before month 0."""
    draws = max(stock.shape[0], month.shape[0])
    month = np.clip(np.broadcast_to(month, (draws, month.shape[1])), 0.0, stock.shape[1] - 1.0)
    stock = np.broadcast_to(stock, (draws, stock.shape[1]))
    first = np.minimum(month.astype(np.int64), stock.shape[1] - 2)
    low = np.take_along_axis(stock, first, axis=1)
    high = np.take_along_axis(stock, first + 1, axis=1)
    return np.asarray(low + (high - low) * (month - first))


def plants_started(season: CropSeason) -> Array:
    """Return plants started for a typical month, (draws, 12). [plant/month]"""
    crop = season.inputs
    slots = season.occupied * crop.plants * DAYS / cycle_days(crop)
    return np.asarray(slots / np.maximum(1.0 - crop.nursery_loss, 0.05))


def idle_months(seasons: Mapping[str, CropSeason]) -> dict[str, list[int]]:
    """Return the months, 0 for January, in which each crop cannot grow in the first draw."""
    return {
        key: [int(m) for m in np.flatnonzero(season.grows[0] == 0.0)]
        for key, season in seasons.items()
        if np.any(season.grows[0] == 0.0)
    }
