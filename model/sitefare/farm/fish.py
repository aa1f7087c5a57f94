"""How much fish, feed and fingerlings in each month, tank by tank.

Tanks are stocked one after another. A fish's cube root of weight grows in a straight line
with warmth (thermal growth coefficient), so a tank's harvest falls on the day its fish reach
their weight; the tank then rests and is stocked again. Feed conversion is economic: deaths
of an ordinary cycle are in it. Fish kills stand in the event table, not in survival.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array, day_mean
from sitefare.assumptions.declaration import inputs, quantity, text
from sitefare.timeline import Timeline


@inputs("species", keyed=True)
class SpeciesInputs:
    """One kind of fish."""

    title: str = text(doc="The fish's name in print.")
    growth: Array = quantity(
        "1", low=0.05, high=4, doc="Thermal growth coefficient ×1000, g^(1/3) per degree-day."
    )
    stock_weight: Array = quantity("g", low=0.5, high=500, doc="Weight of a fish stocked.")
    harvest_weight: Array = quantity("g", low=50, high=6000, doc="Weight of a fish harvested.")
    survival: Array = quantity("1", low=0, high=1, doc="Share of fish stocked that is harvested.")
    feed_conversion: Array = quantity(
        "kg/kg", low=0.6, high=6, doc="Feed per live weight gained, ordinary deaths included."
    )
    feed_protein: Array = quantity("kg/kg", low=0.1, high=0.65, doc="Protein in the feed.")
    feed_phosphorus: Array = quantity("kg/kg", low=0.003, high=0.03, doc="Phosphorus in the feed.")
    body_nitrogen: Array = quantity("kg/kg", low=0.015, high=0.04, doc="Nitrogen in live fish.")
    body_phosphorus: Array = quantity(
        "kg/kg", low=0.002, high=0.012, doc="Phosphorus in live fish."
    )
    temperature_least: Array = quantity("degC", low=-1, high=30, doc="No feeding below.")
    temperature_high: Array = quantity("degC", low=5, high=38, doc="Growth rises up to here.")
    temperature_most: Array = quantity("degC", low=10, high=42, doc="No growth at or above.")
    lethal_low: Array = quantity(
        "degC", low=-2, high=25, varies="choice", doc="Fish die in water colder than this."
    )
    lethal_high: Array = quantity(
        "degC", low=10, high=45, varies="choice", doc="Fish die in water warmer than this."
    )
    water_target: Array = quantity(
        "degC", low=4, high=34, varies="choice", doc="Water is heated to this where it is heated."
    )
    density_limit: Array = quantity(
        "kg/m3", low=2, high=400, varies="choice", doc="Highest density the fish bears."
    )
    respiration: Array = quantity(
        "g/kg/h", low=0.05, high=1.5, varies="choice", doc="Oxygen used by fed fish."
    )
    rest_days: Array = quantity("day", low=0, high=90, doc="Tank empty between two cohorts.")


#: Longest cycle that stockings are spread over, where fish hardly grow. [day]
LONGEST_STAGGER = 730.0


@dataclass(frozen=True)
class Stocking:
    """What the design fixes: fish stocked in a tank, and tanks."""

    fish: float
    tanks: int


@dataclass(frozen=True)
class FishPath:
    """Fish by project month, (draws, months + 1).

    Harvest, gain, standing at month end and feed in kilograms; fingerlings in fish.
    """

    harvest: Array
    gain: Array
    biomass: Array
    fingerlings: Array
    feed: Array


@dataclass(frozen=True)
class _Cohort:
    """Cube roots of weight [g^(1/3)] and kilograms that a tank's cohort stocks and gives."""

    start: Array
    end: Array
    stocked: Array
    harvested: Array


def daily_growth(species: SpeciesInputs, water: Array) -> Array:
    """Return growth of the cube root of weight; TGC (Iwama & Tautz 1981), none when too warm.

    TGC does not hold above the optimum (Jobling 2003): growth falls in a straight line to 0 at
    `temperature_most`, and is 0 below `temperature_least`. [g^(1/3)/day]
    """
    span = np.maximum(species.temperature_most - species.temperature_high, 0.5)
    fall = np.clip((species.temperature_most - water) / span, 0.0, 1.0)
    effective = np.minimum(water, species.temperature_high) * fall
    return species.growth / 1000.0 * effective * (water >= species.temperature_least)


def growing_days(species: SpeciesInputs, growth: Array) -> Array:
    """Return days from stocking to harvest at a daily growth; infinite where none. [day]"""
    length = np.cbrt(species.harvest_weight) - np.cbrt(species.stock_weight)
    return np.where(growth > 0.0, length / np.where(growth > 0.0, growth, 1.0), np.inf)


def net_gain(species: SpeciesInputs) -> Array:
    """Return live weight a cohort gains per fish stocked: harvested less stocked. [kg/fish]"""
    return (species.survival * species.harvest_weight - species.stock_weight) / 1000.0


def stagger_days(species: SpeciesInputs, growth: Array, tanks: int) -> Array:
    """Return days between two stockings that spread a cycle evenly over the tanks. [day]

    The crew stocks by the growth it sees, so each draw has its own, within two years a cycle.
    """
    cycle = growing_days(species, day_mean(growth)) + species.rest_days
    return np.minimum(cycle, LONGEST_STAGGER) / tanks


def fish_path(
    species: SpeciesInputs,
    water: Array,
    stocking: Stocking,
    allowed: Array,
    first_day: Array,
    timeline: Timeline,
) -> FishPath:
    """Return fish and feed by project month.

    Parameters
    ----------
    water : Array, shape (draws, 12)
        Water temperature. [degC]
    allowed : Array, shape (draws, 12 or 1)
        Share of full feeding that the bacteria bear. [1]
    first_day : Array, shape (draws, 1)
        Days from month 0 to the first stocking. [day]
    """
    season = daily_growth(species, water) * allowed
    growth = timeline.life(season)
    draws = max(growth.shape[0], first_day.shape[0], species.survival.shape[0])
    cohort = _Cohort(
        start=np.cbrt(species.stock_weight),
        end=np.cbrt(species.harvest_weight),
        stocked=stocking.fish * species.stock_weight / 1000.0,
        harvested=stocking.fish * species.survival * species.harvest_weight / 1000.0,
    )
    wait = first_day + np.arange(stocking.tanks) * stagger_days(species, season, stocking.tanks)
    wait = np.broadcast_to(wait, (draws, stocking.tanks)).copy()
    size = np.zeros((draws, stocking.tanks))
    flows = np.zeros((4, draws, timeline.months + 1))
    for month in range(1, timeline.months + 1):
        days = DAYS[timeline.calendar[month]]
        rate = growth[:, month : month + 1]
        size, wait, *moved = _month(size, wait, rate, days, cohort, species.rest_days)
        for flow, kilograms in zip(flows, moved, strict=True):
            flow[:, month] = np.sum(kilograms, axis=1)
    return FishPath(
        harvest=flows[0],
        gain=flows[1],
        biomass=flows[2],
        fingerlings=flows[3] * stocking.fish,
        feed=flows[1] * species.feed_conversion,
    )


def _month(
    size: Array, wait: Array, rate: Array, days: float, cohort: _Cohort, rest: Array
) -> tuple[Array, ...]:
    """Move every tank on by a month: size (0 where empty), wait, then harvest, gain, stock, count.

    At most one harvest a month: a cycle is longer than that for any fish worth growing.
    """
    empty = size == 0.0
    stocked = empty & (wait < days)
    begin = np.where(stocked, cohort.start, size)
    active = stocked | ~empty
    length = np.where(active, rate * np.where(stocked, days - wait, days), 0.0)
    done = active & (begin + length >= cohort.end) & (rate > 0.0)
    grown = np.where(done, cohort.end, begin + length)
    after = np.where(done, (begin + length - cohort.end) / np.where(rate > 0.0, rate, 1.0), 0.0)
    again = done & (after > rest)
    fresh = np.where(again, cohort.start + rate * (after - rest), 0.0)
    cubes = np.maximum(cohort.end**3 - cohort.start**3, 1e-6)
    span = (cohort.harvested - cohort.stocked) / cubes
    gain = active * span * (grown**3 - begin**3)
    gain = gain + again * span * (fresh**3 - cohort.start**3)
    size = np.where(done, fresh, np.where(active, grown, 0.0))
    wait = np.where(done & ~again, rest - after, np.where(active, 0.0, wait - days))
    standing = np.where(size > 0.0, cohort.stocked + span * (size**3 - cohort.start**3), 0.0)
    return size, wait, done * cohort.harvested, gain, standing, stocked + again * 1.0
