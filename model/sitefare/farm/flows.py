"""What goes in and out of the farm in each project month.

The design is fixed; what is operated answers every draw. Where a draw asks more than the
design gives, the shortfall acts: a cooler house, fewer fish, less crop.
"""

from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values
from sitefare.farm import (
    crops,
    energy,
    events,
    labour,
    nitrification,
    notes,
    nutrients,
    oxygen,
    water,
    waterquality,
)
from sitefare.farm.fish import FishPath, fish_path
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import Season, Sizes, season_of
from sitefare.farm.water import WaterFlows
from sitefare.farm.waterquality import Tanks, WaterQuality
from sitefare.timeline import Timeline

#: Purposes that back-up carries in full.
VITAL = ("pumping", "aeration", "controls", "cold_store")


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
    season = season_of(parts, sizes_of(design))
    tanks = waterquality.tanks_of(parts, design)
    quality = waterquality.quality(parts, season, tanks)
    fish = _fish(parts, tanks, season, quality.allowed, timeline)
    grown = _grown(parts, season, fish, design.water_volume, timeline)
    kept = _kept(values, parts, timeline)
    crop = {k: x * kept["crops"] for k, x in grown.kilograms.items()}
    live = fish.harvest * kept["fish"]
    total = energy.total(crop)
    used = _water(parts, design, season, fish, grown, total, timeline)
    power, fuel = _electricity(parts, design, season, fish, used, timeline)
    load = energy.total(power)
    vital = energy.total({k: power[k] for k in VITAL})
    supply = _supply(parts, design, (load, vital), fuel, timeline)
    work = _labour(parts, design, fish, total, live, grown, timeline)
    return FarmFlows(
        crop_kg=crop,
        plants=grown.plants,
        fish_live_kg=live,
        fish_biomass_kg=fish.biomass,
        fingerlings=fish.fingerlings,
        feed_kg=fish.feed,
        water_makeup_m3=used.makeup,
        rain_m3=used.rain,
        discharge_m3=used.discharge,
        sludge_m3=used.sludge,
        dosing_kg=_dosing(parts, design, fish, grown, total, used, timeline),
        electricity_kwh=power,
        electricity_total_kwh=load,
        grid_kwh=supply.grid,
        pv_kwh=supply.solar,
        generator_kwh=supply.generator,
        generator_fuel_l=supply.fuel,
        heating_fuel_kwh=fuel,
        emissions_kg=supply.emissions,
        labour_hours=work.task_hours,
        role_hours=work.role_hours,
        workers=work.posts,
        workers_unrounded=work.unrounded,
        fish_deaths_kg=fish.deaths,
        season=_seasons(season, grown, quality),
        notes=(
            *notes.growth(parts, season, grown.fed),
            *notes.fish_gap(live, timeline),
            *notes.unserved(supply.unserved, load),
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
    parts: Parts, season: Season, fish: FishPath, volume: float, timeline: Timeline
) -> _Grown:
    """Return crops by month as light, warmth and nutrients in the water [m3] allow."""
    planted = timeline.construction + parts.production.planting_days / MEAN_MONTH
    on = np.clip(timeline.month[None, :] - planted, 0.0, 1.0)
    growth = {
        k: timeline.life(s.growth) * on * parts.production.crop_year_factor
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
            k: crops.harvest(growth[k] * fed, s.inputs, planted, timeline)
            for k, s in season.crops.items()
        },
        plants={k: timeline.life(crops.plants_started(s)) * on for k, s in season.crops.items()},
        balances=balances,
        potassium=energy.total(
            {k: growth[k] * fed * s.inputs.potassium for k, s in season.crops.items()}
        ),
        fed=fed,
    )


def _water(
    parts: Parts,
    design: Design,
    season: Season,
    fish: FishPath,
    grown: _Grown,
    crop: Array,
    timeline: Timeline,
) -> WaterFlows:
    """Return the farm's water by month, once it runs."""
    on, days = timeline.running, DAYS[timeline.calendar][None, :]
    salt = np.min(
        np.stack(
            [c.salt_limit * np.ones_like(season.outdoor[:, :1]) for c, _ in parts.crops.values()]
        ),
        axis=0,
    )
    removed = parts.water.removed_full if parts.full else parts.water.removed_media
    tank = design.drivers["rain_tank_volume"]
    caught = parts.climate.rain / 1000.0 * design.covered_area * parts.house.rain_catch
    caught = caught * parts.water.runoff
    return water.water_flows(
        parts.water,
        parts.source,
        timeline.life(season.evaporated) * on,
        timeline.life(season.pad_water) * on,
        crop,
        fish.feed,
        grown.balances["nitrogen"].exchange,
        (salt, parts.nutrients.nitrate_limit),
        removed,
        design.water_volume * days * on,
        (timeline.life(caught) * on, tank * parts.water.tank_fills),
    )


def _electricity(
    parts: Parts,
    design: Design,
    season: Season,
    fish: FishPath,
    used: WaterFlows,
    timeline: Timeline,
) -> tuple[dict[str, Array], Array]:
    """Return electricity by purpose and heating fuel by month. [kWh]"""
    on, days, d = timeline.running, DAYS[timeline.calendar][None, :], design.drivers
    hours = 24.0 * days * on
    flow = np.full((1, 1), d["flow"])
    pump = energy.pump_power(flow, parts.design.pump_head, parts.design.pump_efficiency)
    cold = np.maximum(timeline.life(season.water - season.ground), 0.0)
    warmed = used.makeup * cold * energy.WATER_HEAT if parts.design.heated_water == "yes" else 0.0
    air_power, air_fuel = energy.heat_supply(parts.energy, timeline.life(season.air_heat) * on)
    water_heat = timeline.life(season.water_heat) * on + warmed
    capped = np.minimum(water_heat, d["water_heater_power"] * hours)
    water_power, water_fuel = energy.heat_supply(parts.energy, capped)
    fans = season.fan_air * parts.energy.fan_energy / 1000.0
    purposes = {
        "pumping": pump * hours,
        "aeration": _aeration(parts, design, season, fish, timeline) * on,
        "air_heating": air_power,
        "water_heating": water_power,
        "cooling": timeline.life(season.cooling_heat / parts.energy.cooling_cop + fans) * on,
        "lamps": timeline.life(season.lamp_energy) * on,
        "cold_store": d["cold_store_volume"] * parts.energy.cold_store * days * on,
        "controls": parts.energy.controls * design.bed_area / 1000.0 * hours,
    }
    return purposes, air_fuel + water_fuel


def _aeration(
    parts: Parts, design: Design, season: Season, fish: FishPath, timeline: Timeline
) -> Array:
    """Return electricity of blowers: what oxygen asks, within what is installed. [kWh]"""
    tan = nitrification.ammonia(fish.feed, parts.species.feed_protein)
    asked = oxygen.demand(parts.oxygen, fish.feed, tan)
    efficiency = oxygen.field_efficiency(parts.oxygen, season.water, season.atmosphere)
    most = design.drivers["blower_power"] * 24.0 * DAYS[timeline.calendar][None, :]
    least = parts.oxygen.least_running * most
    return np.clip(asked / timeline.life(efficiency), least, most)


def _supply(
    parts: Parts, design: Design, asked: tuple[Array, Array], fuel: Array, timeline: Timeline
) -> energy.Supplied:
    """Return who supplies the electricity asked: the whole load, and its vital part. [kWh]"""
    load, vital = asked
    made = energy.solar_yield(parts.supply, parts.climate.sunshine, DAYS)
    return energy.supplied(
        parts.supply,
        load,
        timeline.life(made) * design.drivers["pv_power"] * timeline.running,
        np.full((1, 1), design.drivers["battery_energy"]),
        DAYS[timeline.calendar][None, :],
        fuel,
        vital,
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
    }
    return labour.labour(parts.tasks, parts.labour, drivers, timeline)


def _dosing(
    parts: Parts,
    design: Design,
    fish: FishPath,
    grown: _Grown,
    crop: Array,
    used: WaterFlows,
    timeline: Timeline,
) -> dict[str, Array]:
    """Return what is dosed by month. [kg]"""
    brought = used.makeup * parts.source.alkalinity / 1000.0
    return nutrients.doses(
        parts.nutrients,
        parts.species,
        fish,
        grown.balances,
        crop,
        grown.potassium,
        brought,
        design.water_volume * timeline.running,
    )


def _seasons(season: Season, grown: _Grown, quality: WaterQuality) -> dict[str, Array]:
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
        "nutrient_fed_share": grown.fed[:, -12:],
        **shares,
    }


def _year_share(nitrogen: nutrients.Balance) -> Array:
    """Return the share of feed nitrogen that plants take over the last twelve months. [1]"""
    feed = np.sum(nitrogen.feed[:, -12:], axis=1, keepdims=True)
    taken = np.sum(nitrogen.plants[:, -12:], axis=1, keepdims=True)
    return np.asarray(taken / np.where(feed > 0.0, feed, 1.0))
