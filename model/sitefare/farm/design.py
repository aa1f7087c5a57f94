"""How large is each part of a farm with a given bed area.

Sized once, at base values. Feed follows from the beds, fish from the feed, tanks from the
fish, and machines from tanks, weather and the year's loads; whole tanks and people step.
"""

from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values
from sitefare.errors import DesignError
from sitefare.farm import (
    balance,
    beds,
    crops,
    facts,
    lifesupport,
    limits,
    machines,
    nitrification,
    reduction,
    refusals,
    stocking,
    supply_sizes,
    waterquality,
    yearly,
)
from sitefare.farm.flows import farm_flows, sizes_of
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.result import Design, FarmFlows, Margin
from sitefare.farm.season import Season, Sizes, season_of
from sitefare.farm.stocking import Stocked
from sitefare.timeline import Timeline

#: Years run to see a full year; the last one is read.
SETTLING_YEARS = 6

#: Rounds of sizing that shrink more slowly than this are taken to shrink so. [1]
MOST_RATIO = 0.5


@dataclass(frozen=True)
class _Stock:
    """Feed [kg/day], fish in tanks, their density at harvest [kg/m3] and what limits them."""

    feed: float
    fed_by: Margin
    held: Stocked
    density: float
    limits: tuple[str, ...]

    @property
    def volume(self) -> float:
        """Volume of all fish tanks, young fish apart. [m3]"""
        return self.held.volume

    @property
    def heated(self) -> float:
        """Volume of all tanks, an own hatchery's among them. [m3]"""
        return self.held.volume + self.held.hatchery.volume


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
    refusals.check_roots(parts)
    steady, years = _steady(values), Timeline(2001, 1, SETTLING_YEARS, 0)
    tried = farm_flows(steady, _assembled(parts, bed_area, 0.0), years)
    design = _assembled(parts, bed_area, yearly.exchange(parts, tried))
    design = replace(design, scale=reduction.scales(parts, sizes_of(design)))
    return _with_year(parts, design, farm_flows(steady, design, years), years)


def _settled(parts: Parts, bed_area: float, exchange: float) -> tuple[Season, _Stock, float]:
    """Return season, fish and covered area [m2] that ask one another, for an exchange [m3/day].

    Larger tanks ask larger pumps, which warm the water that sets the tanks' size: after three
    rounds, Aitken's step goes where the rounds tend to.
    """
    covered, volume = bed_area / base(parts.house.bed_share), bed_area * 0.1
    sizes = Sizes(bed_area, covered, volume, exchange=exchange)
    rounds = []
    for _ in range(3):
        sizes = _asked(parts, sizes)[2]
        rounds.append(np.array([sizes.covered_area, sizes.tank_volume, sizes.flow]))
    first, second, third = rounds
    before, last = second - first, third - second
    ratio = np.minimum(last / np.where(before == 0.0, np.inf, before), MOST_RATIO)
    covered, volume, flow = (float(x) for x in third + last * ratio / (1.0 - ratio))
    sizes = Sizes(bed_area, covered, volume, flow=flow, exchange=exchange)
    season, stock, asked = _asked(parts, sizes)
    return season, stock, asked.covered_area


def _asked(parts: Parts, sizes: Sizes) -> tuple[Season, _Stock, Sizes]:
    """Return the season of some sizes, the fish it lets live, and the sizes that these ask."""
    season, bed_area = season_of(parts, sizes), sizes.bed_area
    stock = _stock(parts, season, bed_area)
    flow = _water_volumes(parts, season, stock, bed_area)["flow"]
    covered = _covered(parts, season, bed_area, stock)
    asked = Sizes(bed_area, covered, stock.heated, flow=flow, exchange=sizes.exchange)
    return season, stock, asked


def _steady(values: Values) -> dict[str, Array | str]:
    """Return values with yearly rows and occurrences at their last year, for a plain year."""
    return {
        name: v if isinstance(v, str) or v.shape[1] in (1, 12) else v[:, -1:]
        for name, v in values.items()
    }


def _covered(parts: Parts, season: Season, bed_area: float, stock: _Stock) -> float:
    """Return covered ground: beds with aisles, nursery, and tanks with access. [m2]"""
    tanks = stock.heated / base(parts.design.tank_depth) * base(parts.design.tank_room)
    return bed_area / base(parts.house.bed_share) + _nursery(parts, season) + tanks


def _nursery(parts: Parts, season: Season) -> float:
    """Return floor of the nursery in its fullest month. [m2]"""
    return float(crops.nursery_area(season.crops, parts.production).max())


def _feed_asked(parts: Parts, season: Season, bed_area: float) -> float:
    """Return feed that the planted beds ask, by the basis chosen. [kg/day]"""
    if parts.design.feed_basis == "feed_ratio":
        return base(balance.feed_by_ratio(parts.crops, parts.bed)) * bed_area / 1000.0
    left = balance.nitrogen_left(parts.nutrients, parts.species)
    margin = parts.design.nitrogen_margin
    asked = balance.feed_by_nitrogen(season.crops, left, margin, bed_area)
    return base(asked) * bed_area / 1000.0


def _bed_capacity(parts: Parts, water: Array, bed_area: float) -> Array:
    """Return TAN that the beds alone turn over, by month. [kg/day]"""
    rules, held = parts.nitrification, parts.oxygen.least
    return nitrification.bed_capacity(rules, parts.bed, bed_area, water, held)


def _stock(parts: Parts, season: Season, bed_area: float) -> _Stock:
    """Return feed, fish and tanks for the beds."""
    asked, water = _feed_asked(parts, season, bed_area), season.water
    borne = stocking.feed_borne(parts, water, _bed_capacity(parts, water, bed_area))
    feed = asked if parts.full else min(asked, borne)
    refusals.check_feed(parts, feed)
    fed_by = limits.feed(parts, asked, borne)
    density, _ = limits.density(parts)
    held = stocking.stocked(parts, season, feed, density)
    said = (fed_by.sentence, *stocking.warnings(parts, water))
    return _Stock(feed, fed_by, held, density, said)


def _water_volumes(
    parts: Parts, season: Season, stock: _Stock, bed_area: float
) -> dict[str, float]:
    """Return volumes of water and media, and the flow that joins them. [m3, m3/h]"""
    fed = stock.feed * stocking.profile(parts, season.water)
    tan = nitrification.ammonia(fed, parts.species.feed_protein)
    needed = float(nitrification.flow_needed(parts.nitrification, tan).max()) / 24.0
    turned = base(parts.design.tank_turnover) * stock.volume
    renewed = bed_area * base(beds.flood_depth(parts.bed) * parts.bed.floods) / 24.0
    flow = max(turned, needed, 0.0 if parts.design.bed == "raft" else renewed)
    filters = stock.volume * base(parts.design.filter_share) if parts.full else 0.0
    flooded = bed_area * base(beds.flood_depth(parts.bed)) if _media(parts) else 0.0
    sump = stock.volume * base(parts.design.sump_share) + 0.5 * flooded
    bed_water = bed_area * base(beds.water_depth(parts.bed))
    return {
        "flow": flow,
        "filter_volume": filters,
        "sump_volume": sump,
        "media_volume": bed_area * base(beds.media_volume(parts.bed)),
        "water_volume": stock.heated + filters + bed_water + sump * 0.5,
    }


def _media(parts: Parts) -> bool:
    """Tell whether beds are filled with media."""
    return base(parts.bed.media_share) > 0.0


def _assembled(parts: Parts, bed_area: float, exchange: float) -> Design:
    """Return the design before what depends on a full year's run, but for its exchange [m3/day]."""
    season, stock, covered = _settled(parts, bed_area, exchange)
    refusals.check_season(parts, season)
    volumes = _water_volumes(parts, season, stock, bed_area)
    minutes = stocking.minutes(parts, season, stock.density)
    footprint = covered * (1.0 + base(parts.design.service_share)) * base(parts.design.site_share)
    areas = {
        "site": 1.0,
        "bed_area": bed_area,
        "covered_area": covered,
        "footprint": footprint,
        "service_area": covered * base(parts.design.service_share),
        "nursery_area": _nursery(parts, season),
        "pad_area": covered if parts.design.cooling == "pad_and_fan" else 0.0,
    }
    sizes = Sizes(bed_area, covered, stock.heated, exchange=exchange)
    return Design(
        enclosure=parts.design.enclosure,
        species=parts.design.species,
        bed_kind=parts.design.bed,
        bed_area=bed_area,
        covered_area=covered,
        footprint=footprint,
        tank_count=stock.held.tanks,
        tank_volume=stock.volume / stock.held.tanks,
        water_volume=volumes["water_volume"],
        stocked_fish=stock.held.fish,
        stagger_months=stock.held.cycle_days / stock.held.tanks / MEAN_MONTH,
        feed_per_day=stock.feed,
        drivers=areas | volumes | _powers(parts, season, stock, sizes),
        facts=(),
        limits=stock.limits,
        margins=(stock.fed_by,),
        life_support_minutes=minutes,
        response_minutes=base(parts.life_support.response_time),
        backup_start_minutes=base(parts.life_support.backup_start),
    )


def _powers(parts: Parts, season: Season, stock: _Stock, sizes: Sizes) -> dict[str, float]:
    """Return tanks, filter and machines by driver; stores and supply follow a year's run."""
    air_heat, water_heat = machines.heaters(parts, season, sizes)
    dryers = machines.dehumidifier(parts, season, sizes.covered_area)
    lamp_light, lamp_power = machines.lamps(parts, season, sizes.bed_area)
    flow = np.full((1, 1), _water_volumes(parts, season, stock, sizes.bed_area)["flow"])
    beds_bear = _bed_capacity(parts, season.water, sizes.bed_area)
    filters = stocking.filter_needed(parts, season, stock.feed, beds_bear) if parts.full else 0.0
    most = stocking.peak_feed(parts, season.water, stock.feed, stock.held.tanks)
    return {
        **stocking.reserve(parts, season, stock.held),
        "tank_count": float(stock.held.tanks),
        "fish_tank_volume": stock.volume,
        "biofilter_volume": filters,
        **supply_sizes.lifting_sizes(parts, flow, sizes.covered_area),
        **supply_sizes.blower_sizes(parts, machines.blower(parts, season, most), season.atmosphere),
        "indoor_low": machines.indoor_low(parts, season, sizes),
        "air_heater_power": air_heat,
        "water_heater_power": water_heat,
        "heater_power": air_heat + water_heat,
        "cooling_power": machines.cooler(parts, sizes.covered_area, lamp_power, dryers),
        "dehumidifier_power": dryers,
        "lamp_light": lamp_light,
        "lamp_power": lamp_power,
        "exchange": sizes.exchange,
        "pv_power": 0.0,
        "battery_energy": 0.0,
        "rain_tank_volume": 0.0,
        "generator_power": 0.0,
        "second_generator_power": 0.0,
        "heating_fuel_store": 0.0,
        "cold_store_volume": 0.0,
    }


def _with_year(parts: Parts, design: Design, flows: FarmFlows, timeline: Timeline) -> Design:
    """Return the design with what a full year's run sizes and shows: supply, stores, people.

    Fish and their water are judged in the year that the machines as built give.
    """
    season = reduction.scaled(season_of(parts, sizes_of(design)), design.scale)
    refusals.check_season(parts, season)
    minutes = float(flows.season["minutes_without_air"].min())
    lifesupport.check_response(minutes, parts.life_support, automatic=parts.full)
    drivers = {**design.drivers, **yearly.drivers(parts, design, flows)}
    design = replace(design, drivers=drivers, life_support_minutes=minutes)
    found = limits.margins(parts, design, flows, timeline)
    tanks = waterquality.tanks_of(parts, design)
    said = (
        *design.limits,
        *(m.sentence for m in found),
        *waterquality.sentences(parts, design, waterquality.quality(parts, season, tanks)),
        *supply_sizes.supply_words(parts, drivers, design.life_support_minutes),
    )
    lines = (
        *facts.facts(parts, design),
        *limits.bed_facts(parts, design, flows.season["water_temperature"]),
        *stocking.facts(parts, season, design),
    )
    return replace(design, facts=lines, limits=said, margins=(*design.margins, *found))
