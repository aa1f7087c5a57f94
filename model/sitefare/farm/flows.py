"""What goes in and out of the farm in each project month.

The design is fixed; what is operated answers every draw. Where a draw asks more than the
design gives, the shortfall acts: a cooler house, fewer fish, less crop.
"""

from dataclasses import asdict, dataclass, replace

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
    outages,
    oxygen,
    power,
    supply,
    water,
)
from sitefare.farm.dispatch import Dispatch
from sitefare.farm.fish import FishPath, Stocking, fish_path
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import Season, Sizes, season_of
from sitefare.farm.water import WaterFlows
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
        d["fish_tank_volume"],
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
    allowed = _feeding_allowed(parts, design, season)
    fish = _fish(parts, design, season, allowed, timeline)
    grown = _grown(parts, season, fish, design.water_volume, timeline)
    kept = _kept(values, parts, timeline)
    crop = {k: x * kept["crops"] for k, x in grown.kilograms.items()}
    live = fish.harvest * kept["fish"]
    total = energy.total(crop)
    used = _water(parts, design, season, fish, grown, total, timeline)
    purposes, fuel = _electricity(parts, design, season, fish, used, total + live, timeline)
    load = energy.total(purposes)
    given, by_hour = _supply(parts, design, purposes, fuel, timeline)
    work = _labour(parts, design, fish, total, live, grown, timeline)
    areas = (design.bed_area, design.covered_area)
    pace = labour.productivity(work, parts.labour, areas, total + live)
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
        season=_seasons(season, grown, allowed) | outages.solar_season(by_hour),
        labour_figures=asdict(pace),
        notes=(
            *notes.growth(parts, season, grown.fed),
            *notes.fish_gap(live, timeline),
            *notes.unserved(given.unserved, load),
            *outages.solar_words(by_hour),
            labour.sentence(pace),
        ),
    )


def _fish(
    parts: Parts, design: Design, season: Season, allowed: Array, timeline: Timeline
) -> FishPath:
    """Return fish by month, first stocked when the filter has matured; `allowed` feeding [1]."""
    stocking = Stocking(design.stocked_fish, design.tank_count)
    first = timeline.construction * MEAN_MONTH + parts.production.maturing_days
    return fish_path(parts.species, season.water, stocking, allowed, first, timeline)


def _feeding_allowed(parts: Parts, design: Design, season: Season) -> Array:
    """Return the share of the design's feed whose ammonia beds and filter turn over. [1]"""
    rules, filters = parts.nitrification, design.drivers["biofilter_volume"]
    borne = nitrification.bed_capacity(rules, parts.bed, design.bed_area, season.water)
    borne = borne + nitrification.filter_capacity(rules, filters, season.water)
    feed = np.full((1, 1), design.feed_per_day)
    made = nitrification.ammonia(feed, parts.species.feed_protein)
    return np.minimum(borne / np.maximum(made, 1e-9), 1.0)


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
    harvest: Array,
    timeline: Timeline,
) -> tuple[dict[str, Array], Array]:
    """Return electricity by purpose and heating fuel by month, for a harvest [kg]. [kWh]"""
    on, days, d = timeline.running, DAYS[timeline.calendar][None, :], design.drivers
    hours = 24.0 * days * on
    pump = power.lifting(parts, np.full((1, 1), d["flow"]), design.covered_area)
    cold = np.maximum(timeline.life(season.water - season.ground), 0.0)
    warmed = used.makeup * cold * energy.WATER_HEAT if parts.design.heated_water == "yes" else 0.0
    air_heat = timeline.life(season.air_heat) * on
    outside = timeline.life(power.heat_source(parts, season, by_night=True))
    air_power, air_fuel = energy.heat_supply(parts.energy, air_heat, outside)
    water_heat = timeline.life(season.water_heat) * on + warmed
    capped = np.minimum(water_heat, d["water_heater_power"] * hours)
    outside = timeline.life(power.heat_source(parts, season, by_night=False))
    water_power, water_fuel = energy.heat_supply(parts.energy, capped, outside)
    cooled = season.cooling_heat / energy.cooling_cop(parts.energy, power.warm_hours(parts, season))
    fans = season.fan_air * energy.fan_energy(parts.energy) / 1000.0
    store = power.cold_store(parts, season, d["cold_store_volume"], harvest / days, timeline)
    purposes = {
        "pumping": pump * hours,
        "aeration": _aeration(parts, design, season, fish, timeline) * on,
        "air_heating": air_power,
        "water_heating": water_power,
        "cooling": timeline.life(cooled) * on,
        "fans": timeline.life(fans) * on,
        "lamps": timeline.life(season.lamp_energy) * on,
        "cold_store": store * hours,
        "controls": parts.energy.controls * design.bed_area / 1000.0 * hours,
    }
    return purposes, air_fuel + water_fuel


def _aeration(
    parts: Parts, design: Design, season: Season, fish: FishPath, timeline: Timeline
) -> Array:
    """Return electricity of blowers: what oxygen asks, within what is installed. [kWh]"""
    tan = nitrification.ammonia(fish.feed, parts.species.feed_protein)
    asked = oxygen.demand(parts.oxygen, fish.feed, tan)
    beta = parts.aeration.salinity_factor
    efficiency = oxygen.field_efficiency(parts.oxygen, season.water, season.atmosphere, beta)
    most = design.drivers["blower_power"] * 24.0 * DAYS[timeline.calendar][None, :]
    least = parts.oxygen.least_running * most
    return np.clip(asked / timeline.life(efficiency), least, most)


def _supply(
    parts: Parts, design: Design, purposes: dict[str, Array], fuel: Array, timeline: Timeline
) -> tuple[supply.Supplied, Dispatch | None]:
    """Return who supplies the electricity asked, and the sun's part by hour. [kWh]"""
    d = design.drivers
    found = power.solar_dispatch(parts, d, purposes, timeline)
    share, left, made = np.zeros((1, 1)), np.ones((1, 1)), np.zeros((1, 1))
    if found is not None:
        share, left = (timeline.life(x) for x in supply.solar_months(found))
        made = timeline.life(found.made)
    asked = supply.Asked(
        load=energy.total(purposes),
        vital=energy.total({k: purposes[k] for k in VITAL}),
        solar_share=share,
        rest_hours=left,
        made=made * timeline.running,
        hours=24.0 * DAYS[timeline.calendar][None, :] * timeline.running,
    )
    given = supply.supplied(parts.supply, asked, d["generator_power"], d["battery_energy"])
    heated = given.emissions + fuel * parts.fuel.emissions
    return replace(given, emissions=heated), found


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
    fixed = {k: np.full((1, 1), design.drivers[k]) for k in ("site", "bed_area", "covered_area")}
    drivers = {
        **fixed,
        "tank_count": np.full((1, 1), float(design.tank_count)),
        "feed_kg": fish.feed,
        "crop_kg": crop,
        "fish_kg": live,
        "plants": energy.total(grown.plants),
        "replanted": energy.total(
            {
                k: x * (1.0 - parts.crops[k][0].nursery_loss) / parts.crops[k][0].plants
                for k, x in grown.plants.items()
            }
        ),
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


def _seasons(season: Season, grown: _Grown, feed_borne: Array) -> dict[str, Array]:
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
        "feed_share_borne": np.broadcast_to(feed_borne, season.outdoor.shape),
        "nutrient_fed_share": grown.fed[:, -12:],
        **shares,
    }


def _year_share(nitrogen: nutrients.Balance) -> Array:
    """Return the share of feed nitrogen that plants take over the last twelve months. [1]"""
    feed = np.sum(nitrogen.feed[:, -12:], axis=1, keepdims=True)
    taken = np.sum(nitrogen.plants[:, -12:], axis=1, keepdims=True)
    return np.asarray(taken / np.where(feed > 0.0, feed, 1.0))
