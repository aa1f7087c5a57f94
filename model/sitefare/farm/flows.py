"""What goes in and out of the farm in each project month.

The design is fixed; what is operated answers every draw. Where a draw asks more than the
design gives, the shortfall acts: a cooler house, fewer fish, less crop.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values
from sitefare.farm import (
    alternative,
    balance,
    crops,
    cycles,
    electricity,
    energy,
    events,
    labour,
    nitrification,
    notes,
    nutrients,
    outages,
    potassium,
    treatment,
    watering,
    waterquality,
)
from sitefare.farm.fish import FishPath, fish_path
from sitefare.farm.months import last_year
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.reduction import scaled
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import Season, Sizes, season_of
from sitefare.farm.water import WaterFlows
from sitefare.farm.waterquality import Tanks, WaterQuality
from sitefare.timeline import Timeline


@dataclass(frozen=True)
class _Grown:
    """Crops and nutrients by month, before events: kilograms and counts."""

    kilograms: dict[str, Array]
    plants: dict[str, Array]
    balances: dict[str, nutrients.Balance]
    potassium: Array
    fed: Array


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
    season = scaled(season_of(parts, sizes_of(design)), design.scale)
    tanks = waterquality.tanks_of(parts, design)
    quality = waterquality.quality(parts, season, tanks)
    fish = _fish(parts, tanks, season, quality.allowed, timeline)
    wanted = watering.watering(parts, design, season, fish.feed, timeline)
    grown = _grown(parts, season, fish, design.water_volume, timeline, wanted.kept)
    missed = balance.miss(grown.balances["nitrogen"], timeline)
    kept = _kept(values, parts, timeline)
    crop = {k: x * kept["crops"] for k, x in grown.kilograms.items()}
    live = fish.harvest * kept["fish"]
    total = energy.total(crop)
    used = watering.used(parts, wanted, total, grown.balances["nitrogen"].exchange)
    field = alternative.field_alternative(parts, season)
    kali = _potassium(parts, design, fish, grown, used, timeline)
    purposes, fuel = electricity.electricity(parts, design, season, fish, total + live, timeline)
    load = energy.total(purposes)
    given, by_hour = electricity.supplied(parts, design, season, purposes, fuel, timeline)
    work = _labour(parts, design, fish, total, live, grown, timeline)
    areas = (design.bed_area, design.covered_area)
    pace = labour.productivity(work, parts.labour, areas, total + live)
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
        dosing_kg=_dosing(parts, design, fish, grown, total, used, kali, timeline),
        electricity_kwh=purposes,
        electricity_total_kwh=load,
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
        season=_seasons(season, grown, quality, timeline)
        | balance.tables({**grown.balances, "potassium": kali}, timeline)
        | balance.by_month(missed)
        | outages.solar_season(by_hour),
        labour_figures=asdict(pace),
        notes=(
            *notes.growth(parts, season, grown.fed),
            *balance.sentences(missed, design.bed_area),
            *notes.fish_gap(live, timeline),
            *notes.unserved(given.unserved, load),
            *notes.water(parts, wanted.kept, field),
            *outages.solar_words(by_hour),
            labour.sentence(pace),
        ),
    )


def _fish(
    parts: Parts, tanks: Tanks, season: Season, allowed: Array, timeline: Timeline
) -> FishPath:
    """Return fish by month, first stocked when the filter has matured; `allowed` feeding [1]."""
    first = timeline.construction * MEAN_MONTH + parts.production.maturing_days
    path = fish_path(parts.species, season.water, tanks.stocking, allowed, first, timeline)
    return _bred(parts, tanks, season, path, first, timeline)


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


def _kept(values: Values, parts: Parts, timeline: Timeline) -> dict[str, Array]:
    """Return the share of fish and crops kept after events, as a new team reaches it. [1]"""
    kept = events.kept_shares(values, parts.place.design_wind, parts.house.storm_share)
    return {what: share * _learning(parts, timeline) for what, share in kept.items()}


def _learning(parts: Parts, timeline: Timeline) -> Array:
    """Return the share of full yield a new team reaches. [1]"""
    since = timeline.month - timeline.construction
    first, second = parts.production.learning_year_1, parts.production.learning_year_2
    return np.where(since <= 12, first, np.where(since <= 24, second, 1.0))  # noqa: PLR2004


def _grown(
    parts: Parts,
    season: Season,
    fish: FishPath,
    volume: float,
    timeline: Timeline,
    salt_kept: Mapping[str, Array],
) -> _Grown:
    """Return crops by month as light, warmth, salt [1] and nutrients in the water [m3] allow."""
    planted = timeline.construction + parts.production.planting_days / MEAN_MONTH
    on = np.clip(timeline.month[None, :] - planted, 0.0, 1.0)
    growth = {
        k: timeline.life(s.growth) * on * parts.production.crop_year_factor * salt_kept[k]
        for k, s in season.crops.items()
    }
    demand = {
        "nitrogen": energy.total(
            {k: growth[k] * s.inputs.nitrogen for k, s in season.crops.items()}
        ),
        "phosphorus": energy.total(
            {k: growth[k] * s.inputs.phosphorus for k, s in season.crops.items()}
        ),
    }
    balances = nutrients.nutrient_balances(parts.nutrients, parts.species, fish, demand, volume)
    fed = nutrients.fed_share(balances)
    return _Grown(
        kilograms={
            k: cycles.harvest(
                growth[k] * fed, (s.speed, s.cut), s.inputs.days_to_harvest, planted, timeline
            )
            for k, s in season.crops.items()
        },
        plants={k: timeline.life(crops.plants_started(s)) * on for k, s in season.crops.items()},
        balances=balances,
        potassium=energy.total(
            {k: growth[k] * fed * s.inputs.potassium for k, s in season.crops.items()}
        ),
        fed=fed,
    )


def _labour(
    parts: Parts,
    design: Design,
    fish: FishPath,
    crop: Array,
    live: Array,
    grown: _Grown,
    timeline: Timeline,
) -> labour.Labour:
    """Return work by month."""
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
    return labour.labour(parts.tasks, parts.labour, drivers, timeline)


def _potassium(
    parts: Parts,
    design: Design,
    fish: FishPath,
    grown: _Grown,
    used: WaterFlows,
    timeline: Timeline,
) -> potassium.Potassium:
    """Return where potassium goes by month, with what is dosed of it. [kg]"""
    volume = design.water_volume * timeline.running
    brought = used.into_beds * parts.source.potassium / 1000.0
    leaving = used.discharge + used.sludge + used.uses["leaks"]
    return potassium.potassium_balance(
        parts.nutrients, fish, grown.potassium, brought, leaving, volume
    )


def _dosing(
    parts: Parts,
    design: Design,
    fish: FishPath,
    grown: _Grown,
    crop: Array,
    used: WaterFlows,
    kali: potassium.Potassium,
    timeline: Timeline,
) -> dict[str, Array]:
    """Return what is dosed by month. [kg]"""
    brought = used.into_beds * parts.source.alkalinity / 1000.0
    base = kali.dosed * parts.nutrients.potassium_as_base * potassium.ALKALINITY_PER_POTASSIUM
    asked = nutrients.doses(
        parts.nutrients,
        parts.species,
        fish,
        grown.balances,
        crop,
        (kali.dosed, base),
        brought,
        design.water_volume * timeline.running,
    )
    tan = nitrification.ammonia(fish.feed, parts.species.feed_protein)
    gas = grown.balances["nitrogen"].gas
    return treatment.treated(parts.treatment, parts.source, used, asked, tan, gas)


def _seasons(
    season: Season, grown: _Grown, quality: WaterQuality, timeline: Timeline
) -> dict[str, Array]:
    """Return the monthly figures that charts and checks show, (draws, 12)."""
    shares = {f"growth_{key}": s.growth for key, s in season.crops.items()}
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
    }


def _year_share(nitrogen: nutrients.Balance) -> Array:
    """Return the share of feed nitrogen that plants take over the last twelve months. [1]"""
    feed = np.sum(nitrogen.feed[:, -12:], axis=1, keepdims=True)
    taken = np.sum(nitrogen.plants[:, -12:], axis=1, keepdims=True)
    return np.asarray(taken / np.where(feed > 0.0, feed, 1.0))
