"""What goes in and out of the farm in each project month.

The design is fixed; what is operated answers every draw. Where a draw asks more than the
design gives, the shortfall acts: a cooler house, fewer fish, less crop.
"""

from collections.abc import Mapping
from dataclasses import asdict, replace

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values
from sitefare.assumptions.shocks import shock
from sitefare.farm import (
    alternative,
    balance,
    dosing,
    electricity,
    energy,
    growth,
    labour,
    notes,
    nutrients,
    outages,
    watering,
    waterquality,
)
from sitefare.farm.alternative import FieldAlternative
from sitefare.farm.fish import FishPath, fish_path
from sitefare.farm.growth import Grown
from sitefare.farm.house_year import LOADS
from sitefare.farm.months import last_year
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.potassium import Potassium
from sitefare.farm.reduction import scaled
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import Season, Sizes, season_of
from sitefare.farm.waterquality import Tanks, WaterQuality
from sitefare.timeline import Timeline


def sizes_of(design: Design) -> Sizes:
    """Return the sizes that the house and its light depend on."""
    d = design.drivers
    return Sizes(
        design.bed_area,
        design.covered_area,
        d["fish_tank_volume"] + d["hatchery_volume"],
        d["air_heater_power"] * 1000.0 / design.covered_area,
        d["cooling_power"] * 1000.0 / design.covered_area,
        d["lamp_light"],
        d["water_heater_power"] * 1000.0 / design.covered_area,
        d["dehumidifier_power"] * 1000.0 / design.covered_area,
        d["flow"],
        d["exchange"],
    )


def farm_flows(values: Values, design: Design, timeline: Timeline) -> FarmFlows:
    """Return the farm's flows by project month, for one draw or many.

    Parameters
    ----------
    values : Values
        Resolved values: (draws, 1), seasons (draws, 12), yearly rows (draws, months + 1).
    design : Design
        Sizes from `size_farm`, the same in every draw.
    """
    parts = parts_of(values)
    season = scaled(season_of(parts, sizes_of(design), _hours(design)), design.scale)
    fish, quality = _fish(values, parts, design, season, timeline)
    wanted = watering.watering(parts, design, season, fish.feed, timeline)
    grown = growth.grown(parts, season, fish, design.water_volume, timeline, wanted.kept)
    kept = growth.kept_shares(values, parts, timeline)
    crop = {k: x * kept["crops"] for k, x in grown.kilograms.items()}
    total, live = energy.total(crop), fish.harvest * kept["fish"]
    used = watering.used(parts, wanted, total, grown.balances["nitrogen"].exchange)
    kali = dosing.potassium_used(parts, design, fish, grown, used, timeline)
    purposes, fuel = electricity.electricity(parts, design, season, fish, total + live, timeline)
    given, by_hour = electricity.supplied(parts, design, season, purposes, fuel, timeline)
    work, pace = _labour(parts, design, fish, total, live, grown, timeline)
    field = alternative.field_alternative(parts, season)
    return FarmFlows(
        crop_kg=crop,
        plants=grown.plants,
        fish_live_kg=live,
        fish_biomass_kg=fish.biomass,
        fish_deaths_kg=fish.deaths,
        fingerlings=fish.fingerlings,
        feed_kg=fish.feed,
        water_makeup_m3=used.makeup,
        rain_m3=used.rain,
        discharge_m3=used.discharge,
        sludge_m3=used.sludge,
        water_uses_m3=used.uses,
        salts=wanted.salts,
        field=field,
        dosing_kg=dosing.dosed(parts, design, fish, grown, total, used, kali, timeline),
        electricity_kwh=purposes,
        electricity_total_kwh=energy.total(purposes),
        grid_kwh=given.grid,
        pv_kwh=given.solar,
        generator_kwh=given.generator,
        generator_fuel_l=given.fuel,
        heating_fuel_kwh=fuel,
        emissions_kg=given.emissions,
        labour_hours=work.task_hours,
        role_hours=work.role_hours,
        workers=work.posts,
        workers_unrounded=work.unrounded,
        season=_seasons(season, grown, kali, quality, timeline) | outages.solar_season(by_hour),
        labour_figures=asdict(pace),
        told=lambda: (
            *_notes(parts, design, season, grown, live, wanted.kept, field, timeline),
            *notes.let_go(used.uses, wanted.salts, timeline),
            *notes.supply(given.unserved, energy.total(purposes), by_hour),
            labour.sentence(pace),
        ),
    )


def _hours(design: Design) -> tuple[str, ...]:
    """Name the hourly loads asked for: those that the sun may carry, where there are panels."""
    return LOADS if design.drivers["pv_power"] > 0.0 else ()


def _notes(
    parts: Parts,
    design: Design,
    season: Season,
    grown: Grown,
    live: Array,
    kept: Mapping[str, Array],
    field: FieldAlternative,
    timeline: Timeline,
) -> list[str]:
    """Say what holds crops and fish back, as the share that salt leaves and a field show."""
    missed = balance.miss(grown.balances["nitrogen"], timeline)
    return [
        *notes.growth(parts, season, grown.fed),
        *balance.sentences(
            missed, design.bed_area, by_ratio=parts.design.feed_basis == "feed_ratio"
        ),
        *notes.fish_gap(live, timeline),
        *notes.water(parts, kept, field),
    ]


def _fish(
    values: Values, parts: Parts, design: Design, season: Season, timeline: Timeline
) -> tuple[FishPath, WaterQuality]:
    """Return fish by month, first stocked when the filter has matured, and their water."""
    tanks = waterquality.tanks_of(parts, design)
    quality = waterquality.quality(parts, season, tanks)
    first = timeline.construction * MEAN_MONTH + parts.production.maturing_days
    path = fish_path(
        parts.species,
        season.water,
        tanks.stocking,
        quality.allowed,
        first,
        timeline,
        shocks=(shock(values, "feed_there"), shock(values, "fish_killed")),
    )
    return _bred(parts, tanks, season, path, first, timeline), quality


def _bred(
    parts: Parts, tanks: Tanks, season: Season, path: FishPath, first: Array, timeline: Timeline
) -> FishPath:
    """Return the path with the feed of an own hatchery, and only the fingerlings still bought.

    The first fingerlings of its own are ready a nursery's days after the `first` stocking [day].
    """
    if parts.hatchery is None:
        return path
    day = timeline.month[None, :] * MEAN_MONTH
    own = waterquality.own_share(parts, tanks, season.water) * (
        day > first + parts.hatchery.nursery_days
    )
    fed = (
        waterquality.hatchery_feed(parts, tanks, season.water)
        * DAYS[timeline.calendar]
        * (day > first)
    )
    return replace(path, fingerlings=path.fingerlings * (1.0 - own), feed=path.feed + fed)


def _labour(
    parts: Parts,
    design: Design,
    fish: FishPath,
    crop: Array,
    live: Array,
    grown: Grown,
    timeline: Timeline,
) -> tuple[labour.Labour, labour.Productivity]:
    """Return work by month, and a year's beside area and harvest."""
    sizes = ("site", "bed_area", "covered_area", "hatchery_volume", "sexed_fish")
    fixed = {k: np.full((1, 1), design.drivers[k]) for k in sizes}
    drivers = {
        **fixed,
        "tank_count": np.full((1, 1), float(design.tank_count)),
        "feed_kg": fish.feed,
        "crop_kg": crop,
        "fish_kg": live,
        "graded_kg": live * (parts.harvest_months > 1.0),
        "plants": energy.total(grown.plants),
        "replanted": energy.total(
            {
                k: x * (1.0 - parts.crops[k][0].nursery_loss) / parts.crops[k][0].plants
                for k, x in grown.plants.items()
            }
        ),
    }
    work = labour.labour(parts.tasks, parts.labour, drivers, timeline)
    areas = (design.bed_area, design.covered_area)
    return work, labour.productivity(work, parts.labour, areas, crop + live)


def _seasons(
    season: Season, grown: Grown, kali: Potassium, quality: WaterQuality, timeline: Timeline
) -> dict[str, Array]:
    """Return the monthly figures that charts and checks show, (draws, 12)."""
    shares = {f"growth_{key}": s.growth for key, s in season.crops.items()}
    elements = balance.tables({**grown.balances, "potassium": kali}, timeline)
    missed = balance.miss(grown.balances["nitrogen"], timeline)
    return {
        "outdoor_temperature": season.outdoor,
        "indoor_temperature": season.indoor,
        "water_temperature": season.water,
        "natural_light": season.natural_light,
        "lamp_light": season.lamp_light,
        "air_heating_kwh": season.air_heat,
        "water_heating_kwh": season.water_heat,
        "cooling_kwh": season.cooling_heat,
        "drying_kwh": season.drying,
        "pad_water_m3": season.pad_water,
        "evaporated_m3": season.evaporated,
        "field_reference_mm_day": season.field_reference,
        "plant_share_of_feed_nitrogen": _year_share(grown.balances["nitrogen"]),
        "feed_share_borne": quality.allowed,
        "ammonia_made_kg_day": quality.ammonia_made,
        "ammonia_mg_l": quality.ammonia,
        "unionised_ammonia_mg_l": quality.unionised,
        "oxygen_used_kg_day": quality.oxygen_used,
        "carbon_dioxide_made_kg_day": quality.dioxide_made,
        "carbon_dioxide_mg_l": quality.carbon_dioxide,
        "minutes_without_air": quality.minutes,
        "water_beyond_lethal": quality.lethal,
        "nutrient_fed_share": last_year(grown.fed, timeline),
        **shares,
        **elements,
        **balance.by_month(missed),
    }


def _year_share(nitrogen: nutrients.Balance) -> Array:
    """Return the share of feed nitrogen that plants take over the last twelve months. [1]"""
    feed = np.sum(nitrogen.feed[:, -12:], axis=1, keepdims=True)
    taken = np.sum(nitrogen.plants[:, -12:], axis=1, keepdims=True)
    return np.asarray(taken / np.where(feed > 0.0, feed, 1.0))
