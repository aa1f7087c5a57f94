"""What is the fish's water like, month by month: ammonia, carbon dioxide, air in an emergency.

Evenly staggered tanks, fed what the bacteria bear. Everything is (draws, 12), January first.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array, whole_up
from sitefare.farm import beds, fish, gases, hatchery, lifesupport, nitrification, oxygen
from sitefare.farm.fish import Stocking
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design
from sitefare.farm.season import Season


@dataclass(frozen=True)
class Tanks:
    """What of the design the water depends on.

    Fish, volumes [m3], bed area [m2], flow [m3/day], brood fish [kg] and fish stocked [fish/day].
    """

    stocking: Stocking
    volume: float
    filter_volume: float
    bed_area: float
    flow: float
    brood: float
    daily: float


@dataclass(frozen=True)
class WaterQuality:
    """The share of full feed that is fed [1], what is made and used [kg/day], levels in mg/L.

    `minutes` is how long the fullest tank lives without air [min]; `lethal` marks months whose
    water kills. [1]
    """

    allowed: Array
    ammonia_made: Array
    ammonia: Array
    unionised: Array
    oxygen_used: Array
    dioxide_made: Array
    carbon_dioxide: Array
    minutes: Array
    lethal: Array


def harvest_density(parts: Parts, tanks: Tanks) -> Array:
    """Return fish per volume in a tank the day before its first harvest. [kg/m3]"""
    species, stocking = parts.species, tanks.stocking
    days = fish.growing_days(species, fish.daily_growth(species, species.water_target))
    weight = species.survival * species.harvest_weight / 1000.0
    fullest = fish.peak_share(species, stocking, days)
    return stocking.fish * weight * fullest * stocking.tanks / tanks.volume


def capacity(parts: Parts, tanks: Tanks, water: Array) -> Array:
    """Return TAN that beds and filter turn over. [kg/day]"""
    rules, held = parts.nitrification, parts.oxygen.least
    borne = nitrification.bed_capacity(rules, parts.bed, tanks.bed_area, water, held)
    return borne + nitrification.filter_capacity(rules, tanks.filter_volume, water, held)


def tanks_of(parts: Parts, design: Design) -> Tanks:
    """Return what of a design the water depends on."""
    d = design.drivers
    return Tanks(
        stocking_of(parts, design),
        d["fish_tank_volume"],
        d["biofilter_volume"],
        design.bed_area,
        d["flow"] * 24.0,
        d["brood_weight"],
        design.stocked_fish / (design.stagger_months * MEAN_MONTH),
    )


def stocking_of(parts: Parts, design: Design) -> Stocking:
    """Return what is stocked: the crew holds the density, with fewer fish if grown heavier."""
    planned = design.drivers["harvest_weight"] * 1000.0
    fish_in_tank = design.stocked_fish * planned / parts.species.harvest_weight
    return Stocking(fish_in_tank, design.tank_count, parts.harvest_months)


def own_share(parts: Parts, tanks: Tanks, water: Array) -> Array:
    """Return the share of fingerlings that the farm's own brood fish give. [1]"""
    if parts.hatchery is None:
        return np.zeros((1, 1))
    return hatchery.own_share(parts.hatchery, tanks.brood, tanks.daily, water)


def hatchery_feed(parts: Parts, tanks: Tanks, water: Array) -> Array:
    """Return feed of the farm's own hatchery, whose water is the farm's. [kg/day]"""
    if parts.hatchery is None:
        return np.zeros((1, 1))
    own = own_share(parts, tanks, water) * tanks.daily
    return hatchery.feed(parts.hatchery, tanks.brood, own, parts.species.stock_weight)


def quality(parts: Parts, season: Season, tanks: Tanks) -> WaterQuality:
    """Return the water's year at the feed that bacteria and fish bear."""
    species, rules, water = parts.species, parts.nitrification, season.water
    made = partial(nitrification.ammonia, protein=species.feed_protein)
    borne = capacity(parts, tanks, water)
    full = fish.steady_feed(species, water, tanks.stocking)
    full = full + hatchery_feed(parts, tanks, water)
    share = nitrification.unionised_share(water, rules.acidity)
    allowed = np.minimum(borne / np.maximum(made(full), 1e-9), 1.0)
    allowed = _within_limit(parts, made(full * allowed), borne, share, tanks.flow) * allowed
    feed = full * allowed
    tan = made(feed)
    level = nitrification.level(rules, tan, borne, tanks.flow)
    return WaterQuality(
        allowed=allowed,
        ammonia_made=tan,
        ammonia=level,
        unionised=level * share,
        oxygen_used=oxygen.demand(parts.oxygen, feed, tan),
        dioxide_made=gases.made(parts.oxygen.per_feed * feed, tan),
        carbon_dioxide=dioxide(parts, season, feed, tan, tanks.flow),
        minutes=minutes(parts, water, harvest_density(parts, tanks)),
        lethal=fish.beyond_lethal(species, water),
    )


def _within_limit(parts: Parts, tan: Array, borne: Array, share: Array, flow: float) -> Array:
    """Return the share of feeding at which un-ionised ammonia keeps to the species' limit. [1]"""
    level = nitrification.level(parts.nitrification, tan, borne, flow) * share
    return np.minimum(parts.species.ammonia_most / np.maximum(level, 1e-9), 1.0)


def dioxide(parts: Parts, season: Season, feed: Array, tan: Array, flow: float) -> Array:
    """Return carbon dioxide in the tanks for feed and TAN [kg/day], flow in m3/day. [mg/L]"""
    breathed = parts.oxygen.per_feed * feed
    most = oxygen.saturation(season.water, season.atmosphere) - parts.oxygen.least
    passed = parts.gas.stripped_full if parts.full else parts.gas.stripped_media
    given = oxygen.demand(parts.oxygen, feed, tan)
    cleared = gases.stripping(given, most, flow, passed, parts.gas.aeration)
    return gases.level(gases.made(breathed, tan), cleared)


def minutes(parts: Parts, water: Array, density: Array) -> Array:
    """Return minutes without air at a density [kg/m3], for water of a temperature. [min]"""
    species = parts.species
    warm = lifesupport.warmth_factor(water - species.water_target)
    used = species.respiration * warm
    return lifesupport.minutes_without_air(parts.life_support.usable_oxygen, density, used)


def degassing(parts: Parts, season: Season, found: WaterQuality) -> float:
    """Return the flow that a degasser must treat to hold the species' limit, worst month. [m3/h]

    Tank aeration strips its part first; nothing is asked where it does all.
    """
    most = oxygen.saturation(season.water, season.atmosphere) - parts.oxygen.least
    aired = gases.stripping(
        found.oxygen_used, most, 0.0, parts.gas.stripped_full, parts.gas.aeration
    )
    limit = parts.species.carbon_dioxide_most
    asked = gases.degassing_needed(found.dioxide_made, limit, aired, parts.gas.stripped_full)
    return float(asked.max()) / 24.0


def sentences(parts: Parts, design: Design, found: WaterQuality) -> list[str]:
    """Say where the water passes what the fish bear, or comes near it, at base."""
    species, rules = parts.species, parts.nitrification
    held, worst = base(rules.allowed), float(found.ammonia.max())
    toxic, most = float(found.unionised.max()), base(species.ammonia_most)
    days = base(parts.production.maturing_days)
    levels = (
        f"Ammonia nitrogen in the tanks reaches {worst:.2g} mg/L where {held:g} is allowed; "
        f"{toxic:.2g} of it is un-ionised at pH {base(rules.acidity):g}, and the fish bear "
        f"{most:g}. Fish come {days:.0f} days after the works end, and nitrite is tested daily "
        f"until it stays under {base(species.nitrite_most):g} mg/L of nitrogen."
    )
    return [levels, *_gassed(parts, found), *_flooded(parts, design)]


def _gassed(parts: Parts, found: WaterQuality) -> list[str]:
    """Say where carbon dioxide passes what the fish bear."""
    gas, borne = float(found.carbon_dioxide.max()), base(parts.species.carbon_dioxide_most)
    if gas <= borne:
        return []
    words = (
        f"Carbon dioxide reaches {gas:.0f} mg/L and the fish bear {borne:g}: a larger "
        " degasser, more flow or fewer fish are needed (gas.stripped_full, "
        "farm_design.density)."
    )
    return [words]


def _flooded(parts: Parts, design: Design) -> list[str]:
    """Say in how many turns media beds are flooded, where the sump cannot fill them at once."""
    flood = base(beds.flood_depth(parts.bed)) * design.bed_area
    sump = design.drivers["sump_volume"]
    if design.drivers["media_volume"] <= 0.0 or flood <= sump:
        return []
    turns = float(whole_up(np.full((1, 1), flood / sump))[0, 0])
    words = (
        f"Flooding every bed at once would take {flood:.0f} m3 and the sump holds {sump:.0f}: beds "
        f"are flooded in {turns:.0f} turns or more."
    )
    return [words]
