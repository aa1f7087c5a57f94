"""How large is each part of a farm with a given bed area.

Sized once, at base values. Feed follows from the beds, fish from the feed, tanks from the
fish, and machines from tanks, weather and the year's loads; whole tanks and people step.
"""

from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array, day_mean, whole_up
from sitefare.assumptions.declaration import Values
from sitefare.errors import DesignError
from sitefare.farm import (
    beds,
    energy,
    fish,
    lifesupport,
    machines,
    nitrification,
    reduction,
    refusals,
    water,
)
from sitefare.farm.flows import farm_flows, sizes_of
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import Season, Sizes, season_of
from sitefare.timeline import Timeline

#: Longest wait for a cohort that is still worth building for. [day]
LONGEST_CYCLE = 900.0

#: Years run to see a full year; the last one is read.
SETTLING_YEARS = 6


@dataclass(frozen=True)
class _Stock:
    """Feed [kg/day], fish, tanks, volumes [m3] and the density that sized them [kg/m3]."""

    feed: float
    cycle_days: float
    fish: float
    tanks: int
    volume: float
    density: float
    limits: tuple[str, ...]


def size_farm(values: Values, bed_area: float) -> Design:
    """Return the sizes of a farm with `bed_area` [m2] of beds, from base values.

    Raises
    ------
    DesignError
        If the fish cannot live, breathe, grow or be fed, the crops cannot grow, the source is
        too salty, or the fish would die before help comes.
    """
    if not bed_area > 0.0:
        msg = f"a farm needs more than 0 m2 of bed, not {bed_area:g}"
        raise DesignError(msg)
    parts = parts_of(_steady(values))
    refusals.check_fish(parts)
    covered = bed_area / base(parts.house.bed_share)
    season = season_of(parts, Sizes(bed_area, covered, bed_area * 0.1))
    stock = _stock(parts, season, bed_area)
    for _ in range(2):
        covered = _covered(parts, bed_area, stock)
        season = season_of(parts, Sizes(bed_area, covered, stock.volume))
        stock = _stock(parts, season, bed_area)
    refusals.check_season(parts, season)
    design = _assembled(parts, season, stock, bed_area, covered)
    design = replace(design, scale=reduction.scales(parts, sizes_of(design)))
    steady = _steady(values)
    first = farm_flows(steady, design, Timeline(2001, 1, SETTLING_YEARS, 0))
    return _with_year(parts, design, first)


def _steady(values: Values) -> dict[str, Array | str]:
    """Return values with yearly rows and occurrences at their last year, for a plain year."""
    return {
        name: v if isinstance(v, str) or v.shape[1] in (1, 12) else v[:, -1:]
        for name, v in values.items()
    }


def _covered(parts: Parts, bed_area: float, stock: _Stock) -> float:
    """Return covered ground: beds with aisles, and tanks with access. [m2]"""
    tanks = stock.volume / base(parts.design.tank_depth) * base(parts.design.tank_room)
    return bed_area / base(parts.house.bed_share) + tanks


def _feed_asked(parts: Parts, bed_area: float) -> float:
    """Return feed that the planted beds ask: feed-rate ratio times area. [kg/day]"""
    mix = sum(base(crop.feed_ratio) * base(share) for crop, share in parts.crops.values())
    return mix * base(parts.bed.ratio_factor) * bed_area / 1000.0


def _feed_borne(parts: Parts, water: Array, bed_area: float) -> float:
    """Return feed whose ammonia the beds alone can turn over in the coldest month. [kg/day]"""
    tan = nitrification.bed_capacity(parts.nitrification, parts.bed, bed_area, water)
    tan = np.min(tan, axis=1, keepdims=True)
    return base(tan / (nitrification.TAN_PER_PROTEIN * parts.species.feed_protein))


def _density(parts: Parts) -> tuple[float, str]:
    """Return stocking density at harvest and what set it. [kg/m3]"""
    cap = (
        parts.life_support.density_cap_full
        if parts.full
        else parts.life_support.density_cap_media_only
    )
    found = {
        "the density asked": base(parts.design.density),
        f"the cap of back-up class {parts.design.backup_class}": base(cap),
        f"what {parts.species.title} bears": base(parts.species.density_limit),
    }
    why = min(found, key=lambda k: found[k])
    return found[why], f"Density is {found[why]:g} kg/m3, set by {why}."


def _stock(parts: Parts, season: Season, bed_area: float) -> _Stock:
    """Return feed, fish and tanks for the beds."""
    species = parts.species
    asked, borne = _feed_asked(parts, bed_area), _feed_borne(parts, season.water, bed_area)
    feed = asked if parts.full else min(asked, borne)
    refusals.check_feed(parts, feed)
    limits = [_feed_sentence(parts, asked, borne)]
    growth = day_mean(fish.daily_growth(species, season.water))
    grown = base(fish.growing_days(species, growth))
    if grown > LONGEST_CYCLE:
        needs = f"needs {grown:.0f} days to harvest" if np.isfinite(grown) else "does not grow"
        msg = (
            f"{species.title} {needs} in water of "
            f"{season.water.min():.0f} to {season.water.max():.0f} degC: heat the water "
            "(farm_design.heated_water), or choose another farm_design.species"
        )
        raise DesignError(msg)
    cycle = grown + base(species.rest_days)
    gain = base(fish.net_gain(species))
    together = feed * cycle / (base(species.feed_conversion) * gain)
    density, why = _density(parts)
    weight = base(species.survival * species.harvest_weight) / 1000.0
    volume = together * weight / density
    largest = np.full((1, 1), volume / base(parts.design.tank_volume_largest))
    tanks = int(max(base(parts.design.tank_count_least), float(whole_up(largest)[0, 0])))
    limits.append(why)
    return _Stock(feed, cycle, together / tanks, tanks, volume, density, tuple(limits))


def _feed_sentence(parts: Parts, asked: float, borne: float) -> str:
    """Say whether plants or bacteria limit the feed."""
    if borne >= asked:
        return f"The beds' bacteria could bear {borne / asked:.1f} times the feed the plants ask."
    if parts.full:
        return f"The beds bear {borne:.3g} kg of feed a day; a separate filter bears the rest."
    return f"Bacteria in the beds limit the feed to {borne:.3g} of {asked:.3g} kg a day."


def _water_volumes(parts: Parts, stock: _Stock, bed_area: float) -> dict[str, float]:
    """Return volumes of water and media, and the flow that joins them. [m3, m3/h]"""
    tan = nitrification.ammonia(np.full((1, 1), stock.feed), parts.species.feed_protein)
    needed = nitrification.flow_needed(parts.nitrification, tan) / 24.0
    turned = base(parts.design.tank_turnover) * stock.volume
    renewed = bed_area * base(beds.flood_depth(parts.bed) * parts.bed.floods) / 24.0
    flow = max(
        turned,
        0.0 if parts.full else base(needed),
        0.0 if parts.design.bed == "raft" else renewed,
    )
    filters = stock.volume * base(parts.design.filter_share) if parts.full else 0.0
    flooded = bed_area * base(beds.flood_depth(parts.bed)) if _media(parts) else 0.0
    sump = stock.volume * base(parts.design.sump_share) + 0.5 * flooded
    bed_water = bed_area * base(beds.water_depth(parts.bed))
    return {
        "flow": flow,
        "filter_volume": filters,
        "sump_volume": sump,
        "media_volume": bed_area * base(beds.media_volume(parts.bed)),
        "water_volume": stock.volume + filters + bed_water + sump * 0.5,
    }


def _media(parts: Parts) -> bool:
    """Tell whether beds are filled with media."""
    return base(parts.bed.media_share) > 0.0


def _biofilter(parts: Parts, season: Season, stock: _Stock, bed_area: float) -> float:
    """Return the separate filter that makes up what the beds cannot bear, with margin. [m3]"""
    asked = stock.feed * base(parts.design.filter_margin)
    short = max(asked - _feed_borne(parts, season.water, bed_area), 0.0)
    tan = short * nitrification.TAN_PER_PROTEIN * base(parts.species.feed_protein) * 1000.0
    rate = float(nitrification.surface_rate(parts.nitrification, season.water).min())
    return tan / (rate * base(parts.nitrification.filter_surface))


def _assembled(
    parts: Parts, season: Season, stock: _Stock, bed_area: float, covered: float
) -> Design:
    """Return the design before what depends on a full year's run."""
    volumes = _water_volumes(parts, stock, bed_area)
    minutes = _minutes(parts, stock)
    footprint = covered * (1.0 + base(parts.design.service_share)) * base(parts.design.site_share)
    room = base(parts.place.footprint_available)
    limits = stock.limits
    if footprint > room:
        crowded = f"The farm takes {footprint:.0f} m2 of ground and {room:.0f} m2 are at hand."
        limits = (*limits, crowded)
    areas = {
        "site": 1.0,
        "bed_area": bed_area,
        "covered_area": covered,
        "footprint": footprint,
        "service_area": covered * base(parts.design.service_share),
        "pad_area": covered if parts.design.cooling == "pad_and_fan" else 0.0,
    }
    return Design(
        enclosure=parts.design.enclosure,
        species=parts.design.species,
        bed_kind=parts.design.bed,
        bed_area=bed_area,
        covered_area=covered,
        footprint=footprint,
        tank_count=stock.tanks,
        tank_volume=stock.volume / stock.tanks,
        water_volume=volumes["water_volume"],
        stocked_fish=stock.fish,
        stagger_months=stock.cycle_days / stock.tanks / MEAN_MONTH,
        feed_per_day=stock.feed,
        drivers=areas | volumes | _powers(parts, season, stock, Sizes(bed_area, covered, 0.0)),
        facts=(),
        limits=limits,
        life_support_minutes=minutes,
        response_minutes=base(parts.life_support.response_time),
        backup_start_minutes=base(parts.life_support.backup_start),
    )


def _minutes(parts: Parts, stock: _Stock) -> float:
    """Return minutes that fish last without air, refusing too few. [min]"""
    density = np.full((1, 1), stock.density)
    rules, respiration = parts.life_support, parts.species.respiration
    minutes = base(lifesupport.minutes_without_air(rules.usable_oxygen, density, respiration))
    lifesupport.check_response(minutes, rules, automatic=parts.full)
    return minutes


def _powers(parts: Parts, season: Season, stock: _Stock, areas: Sizes) -> dict[str, float]:
    """Return tanks, filter and machines by driver; stores and supply follow a year's run."""
    sizes = replace(areas, tank_volume=stock.volume)
    air_heat, water_heat = machines.heaters(parts, sizes)
    lamp_light, lamp_power = machines.lamps(parts, season, sizes.bed_area)
    flow = np.full((1, 1), _water_volumes(parts, stock, sizes.bed_area)["flow"])
    pump = energy.pump_power(flow, parts.design.pump_head, parts.design.pump_efficiency)
    filters = _biofilter(parts, season, stock, sizes.bed_area) if parts.full else 0.0
    return {
        "tank_count": float(stock.tanks),
        "fish_tank_volume": stock.volume,
        "biofilter_volume": filters,
        "pump_power": base(pump),
        "blower_power": machines.blower(parts, season, stock.feed),
        "air_heater_power": air_heat,
        "water_heater_power": water_heat,
        "heater_power": air_heat + water_heat,
        "cooling_power": machines.cooler(parts, sizes.covered_area, lamp_power),
        "lamp_light": lamp_light,
        "lamp_power": lamp_power,
        "pv_power": 0.0,
        "battery_energy": 0.0,
        "rain_tank_volume": 0.0,
        "cold_store_volume": 0.0,
    }


def _last(flow: Array) -> float:
    """Return the last year's sum of a flow in the first draw. [same unit]"""
    return float(np.sum(flow[0, -12:]))


def _year(flow: Array) -> float:
    """Return a lumpy flow's yearly mean over the last four settled years. [unit/year]"""
    return float(np.sum(flow[0, -48:])) / 4.0


def _with_year(parts: Parts, design: Design, flows: FarmFlows) -> Design:
    """Return the design with what a full year's run sizes: supply, stores, people."""
    days = base(parts.design.rain_tank_days)
    crop = sum(_last(x) for x in flows.crop_kg.values())
    fish_year = _year(flows.fish_live_kg)
    stored = (crop + fish_year) / 365.0 * base(parts.design.cold_store_days)
    store = stored / base(parts.design.cold_store_density)
    cold = store * base(parts.energy.cold_store) * 365.0
    load = _last(flows.electricity_total_kwh) + cold
    made = energy.solar_yield(parts.supply, parts.climate.sunshine, np.full((1, 1), MEAN_MONTH))
    mean_load = load / 8760.0
    peak = machines.peak(parts, design.bed_area, design.drivers, store)
    held = machines.vital(parts, design.bed_area, design.drivers, store)
    standby = held + base(parts.supply.critical_share) * (peak - held)
    critical = peak if parts.supply.main == "generator" else standby
    wanted = parts.supply.main == "generator" or base(parts.supply.outage_share) > 0.0
    tank = (_last(flows.water_makeup_m3) + _last(flows.rain_m3)) / 365.0 * days
    drivers = {
        **design.drivers,
        "pv_power": base(parts.supply.solar_share) * load / max(float(np.sum(made)), 1.0),
        "battery_energy": base(parts.supply.battery_hours) * mean_load,
        "generator_power": critical * base(parts.design.power_margin) if wanted else 0.0,
        "grid_connection": 0.0 if parts.supply.main == "generator" else peak * 1.25,
        "rain_tank_volume": tank * base(parts.house.rain_catch),
        "cold_store_volume": store,
        "plants_year": sum(_last(x) for x in flows.plants.values()),
        "fish_year": fish_year,
        "crop_year": crop,
        "feed_year": _year(flows.feed_kg),
        "workers": sum(float(x[0, -1]) for x in flows.workers.values()),
        "load_year": load,
    }
    limits = (*design.limits, *_salty(parts, flows))
    return replace(design, drivers=drivers, facts=_facts(parts, design, drivers), limits=limits)


def _salty(parts: Parts, flows: FarmFlows) -> list[str]:
    """Say where salt makes the farm let go of more water than evaporates."""
    evaporated = np.sum(flows.season["evaporated_m3"], axis=1, keepdims=True)
    feed = np.sum(flows.feed_kg[:, -12:], axis=1, keepdims=True)
    limit = np.full((1, 1), min(base(crop.salt_limit) for crop, _ in parts.crops.values()))
    rain, made_up = _last(flows.rain_m3), _last(flows.water_makeup_m3)
    share = made_up / max(made_up + rain, 1e-9)
    asked = base(water.salt_asked(parts.water, parts.source, evaporated, feed, limit, share))
    if asked <= base(evaporated):
        return []
    said = (
        f"Salt of the source and the feed makes the farm let go of {asked:,.0f} m3 of water a "
        f"year, more than the {base(evaporated):,.0f} m3 that evaporate: rain, purer water or "
        "feed with less salt would save some of it."
    )
    return [said]


def _facts(
    parts: Parts, design: Design, drivers: dict[str, float]
) -> tuple[tuple[str, float, str], ...]:
    """Return the lines of the design sheet."""
    d = drivers
    return (
        ("Bed area", design.bed_area, "m2"),
        ("Covered area", design.covered_area, "m2"),
        ("Ground taken", design.footprint, "m2"),
        ("Fish tanks", float(design.tank_count), "1"),
        ("Volume of each tank", design.tank_volume, "m3"),
        ("All water", design.water_volume, "m3"),
        ("Sump", d["sump_volume"], "m3"),
        ("Media", d["media_volume"], "m3"),
        ("Flow", d["flow"], "m3/h"),
        ("Fish stocked in a tank", design.stocked_fish, "fish"),
        ("Days between stockings", design.stagger_months * MEAN_MONTH, "day"),
        ("Feed", design.feed_per_day, "kg/day"),
        ("Feed over bed area", design.feed_per_day * 1000.0 / design.bed_area, "g/m2/day"),
        ("Pump", d["pump_power"], "kW"),
        ("Blowers", d["blower_power"], "kW"),
        ("Heaters", d["heater_power"], "kW"),
        ("Cooling", d["cooling_power"], "kW"),
        ("Lamps", d["lamp_power"], "kW"),
        ("Solar array", d["pv_power"], "kW"),
        ("Battery", d["battery_energy"], "kWh"),
        ("Generator", d["generator_power"], "kW"),
        ("Load of a flooded bed on its floor", base(beds.floor_load(parts.bed)), "kN/m2"),
        (
            "Load of a tank on its floor",
            beds.WATER_WEIGHT * base(parts.design.tank_depth),
            "kN/m2",
        ),
        ("Time fish last without air", design.life_support_minutes, "min"),
    )
