"""How much fish, feed and fingerlings in each month, tank by tank.

Tanks are stocked one after another. A fish's cube root of weight grows in a straight line
with warmth above a base (thermal growth coefficient), so a tank's harvest falls on the day its
fish reach their weight, at once or graded out over months; the tank then rests and is stocked
again. Feed conversion is economic: deaths of an ordinary cycle are in it. Water beyond lethal
limits kills what stands; other fish kills are in the event table, not in survival.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH, Array, day_mean
from sitefare.assumptions.declaration import inputs, quantity, text
from sitefare.assumptions.shocks import along
from sitefare.farm import cohorts
from sitefare.farm.bare import Bare
from sitefare.farm.cohorts import Cohort, Tanks
from sitefare.timeline import Timeline


@inputs("species", keyed=True)
class SpeciesInputs:
    """One kind of fish."""

    title: str = text(doc="The fish's name in print.")
    growth: Array = quantity(
        "1", low=0.05, high=6, doc="Thermal growth coefficient ×1000, g^(1/3) per degree-day."
    )
    growth_base: Array = quantity(
        "degC", low=-2, high=20, doc="Degree-days of growth count from here."
    )
    stock_weight: Array = quantity("g", low=0.5, high=500, doc="Weight of a fish stocked.")
    harvest_weight: Array = quantity("g", low=50, high=6000, doc="Weight of a fish harvested.")
    survival: Array = quantity("1", low=0, high=1, doc="Share of fish stocked that is harvested.")
    feed_conversion: Array = quantity(
        "kg/kg", low=0.6, high=6, doc="Feed per live weight gained, ordinary deaths included."
    )
    conversion_rise: Array = quantity(
        "1/K/K", low=0, high=0.1, doc="Rise of feed conversion per squared kelvin off the optimum."
    )
    maintenance: Array = quantity(
        "1/day", low=0, high=0.03, doc="Feed per live weight for fish that hardly grow."
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
        "g/kg/h", low=0.05, high=1.5, doc="Oxygen used by fed fish at harvest, water at its target."
    )
    ammonia_most: Array = quantity(
        "mg/L",
        low=0.002,
        high=1,
        varies="choice",
        doc="Un-ionised ammonia nitrogen borne for long.",
    )
    nitrite_most: Array = quantity(
        "mg/L", low=0.02, high=10, varies="choice", doc="Nitrite nitrogen borne for long."
    )
    oxygen_least: Array = quantity(
        "mg/L", low=1, high=9, varies="choice", doc="Dissolved oxygen the fish need, at least."
    )
    carbon_dioxide_most: Array = quantity(
        "mg/L", low=3, high=120, varies="choice", doc="Dissolved carbon dioxide borne for long."
    )
    no_hatchery: str = text(
        doc="Why the farm cannot breed this fish; blank where it can.", optional=True
    )
    rest_days: Array = quantity("day", low=0, high=90, doc="Tank empty between two cohorts.")


#: Longest cycle that stockings are spread over, where fish hardly grow. [day]
LONGEST_STAGGER = 730.0

#: Fish that no stress test touches. [1]
NO_SHOCK = np.zeros((1, 1))

#: Feed conversion away from the optimum is not carried further than this. [1]
MOST_RISE = 3.0


@dataclass(frozen=True)
class Stocking:
    """Fish stocked in a tank (a number or by draw), tanks, months a tank is graded over."""

    fish: float | Array
    tanks: int
    months: float = 1.0

    @property
    def tail(self) -> float:
        """Days from the mean fish's harvest to the last grade's. [day]"""
        return (round(self.months) - 1) / 2.0 * MEAN_MONTH


@dataclass(frozen=True)
class FishPath:
    """Fish by project month, (draws, months + 1).

    Harvest, gain, standing at month end, feed and fish killed by the water in kilograms;
    fingerlings in fish.
    """

    harvest: Array
    gain: Array
    biomass: Array
    fingerlings: Array
    feed: Array
    deaths: Array


def daily_growth(species: SpeciesInputs, water: Array) -> Array:
    """Return growth of the cube root of weight; TGC (Iwama & Tautz 1981), none when too warm.

    Degree-days count above a base, as effective temperature sums do (Chezik et al. 2014).
    TGC does not hold above the optimum (Jobling 2003): growth falls in a straight line to 0 at
    `temperature_most`, and is 0 below `temperature_least`. [g^(1/3)/day]
    """
    span = np.maximum(species.temperature_most - species.temperature_high, 0.5)
    fall = np.clip((species.temperature_most - water) / span, 0.0, 1.0)
    warm = np.minimum(water, species.temperature_high) - species.growth_base
    effective = np.maximum(warm, 0.0) * fall
    return species.growth / 1000.0 * effective * (water >= species.temperature_least)


def conversion(species: SpeciesInputs, water: Array) -> Array:
    """Return feed per gain over its value at the optimum, at least 1. [1]

    A parabola about the optimum, the form of the response surface of Mengistu et al. (2020);
    held to 3 at the edges, where the ration is for maintenance.
    """
    off = water - species.temperature_high
    return np.minimum(1.0 + species.conversion_rise * off**2, MOST_RISE)


def growing_days(species: SpeciesInputs, growth: Array) -> Array:
    """Return days from stocking to harvest at a daily growth; infinite where none. [day]"""
    length = np.cbrt(species.harvest_weight) - np.cbrt(species.stock_weight)
    return np.where(growth > 0.0, length / np.where(growth > 0.0, growth, 1.0), np.inf)


def net_gain(species: SpeciesInputs) -> Array:
    """Return live weight a cohort gains per fish stocked: harvested less stocked. [kg/fish]"""
    return (species.survival * species.harvest_weight - species.stock_weight) / 1000.0


def feeding_rate(species: SpeciesInputs, water: Array, weight: Array) -> Array:
    """Return feed of a fish of a weight [g] over its live weight. [1/day]

    Growth of weight is 3 w^(2/3) times that of its cube root.
    """
    gain = 3.0 * daily_growth(species, water) / np.cbrt(weight)
    return np.asarray(gain * species.feed_conversion * conversion(species, water))


def steady_feed(species: SpeciesInputs, water: Array, stocking: Stocking) -> Array:
    """Return feed of evenly staggered tanks, fully fed, (draws, 12). [kg/day]

    Over a cohort's straight growth in cube root a tank gains, on the mean, its cohort's gain
    over the length grown times the month's growth; tanks at rest eat nothing.
    """
    growth = daily_growth(species, water)
    length = np.cbrt(species.harvest_weight) - np.cbrt(species.stock_weight)
    idle = (species.rest_days + stocking.tail) * day_mean(growth) / length
    fish = stocking.fish * stocking.tanks
    gain = fish * net_gain(species) / length * growth / (1.0 + idle)
    return np.asarray(gain * species.feed_conversion * conversion(species, water))


def stagger_peak(species: SpeciesInputs, tanks: int) -> Array:
    """Return feed on the day before a tank is harvested over its mean, evenly staggered. [1]

    A fish eats in proportion to the square of the cube root of its weight.
    """
    start, end = np.cbrt(species.stock_weight), np.cbrt(species.harvest_weight)
    steps = np.arange(tanks) / tanks
    highest = np.mean((end - steps * (end - start)) ** 2, axis=1, keepdims=True)
    return np.asarray(highest / ((end**2 + end * start + start**2) / 3.0))


def full_biomass(species: SpeciesInputs, stocking: Stocking) -> Array:
    """Return what stands on the day before a tank is harvested, evenly staggered. [kg]"""
    steps = np.arange(stocking.tanks) / stocking.tanks
    grades = cohort_of(species, stocking, np.full((1, 1), np.inf))
    size = grades.end - steps[None, :, None] * (grades.end - grades.start)
    size = np.broadcast_to(size, (size.shape[0], stocking.tanks, grades.pace.shape[2]))
    return np.asarray(np.sum(grades.standing(size), axis=1, keepdims=True))


def stagger_days(species: SpeciesInputs, growth: Array, stocking: Stocking) -> Array:
    """Return days between two stockings that spread a cycle evenly over the tanks. [day]

    The crew stocks by the growth it sees, so each draw has its own, within two years a cycle.
    """
    cycle = growing_days(species, day_mean(growth)) + species.rest_days + stocking.tail
    return np.minimum(cycle, LONGEST_STAGGER) / stocking.tanks


def beyond_lethal(species: SpeciesInputs, water: Array) -> Array:
    """Tell in which months the water kills the fish, 1 or 0, (draws, 12). [1]"""
    kills = (water < species.lethal_low) | (water > species.lethal_high)
    return kills.astype(np.float64)


def cohort_of(species: SpeciesInputs, stocking: Stocking, days: Array) -> Cohort:
    """Return a tank's cohort by grade, for days (draws, 1) that the mean fish takes."""
    pace = cohorts.paces(days, stocking.months, MEAN_MONTH)
    each = stocking.fish / pace.shape[2]
    return Cohort(
        start=np.cbrt(species.stock_weight)[:, :, None],
        end=np.cbrt(species.harvest_weight)[:, :, None],
        stocked=(each * species.stock_weight / 1000.0)[:, :, None],
        harvested=(each * species.survival * species.harvest_weight / 1000.0)[:, :, None],
        rest=species.rest_days[:, :, None],
        pace=pace,
    )


def peak_share(species: SpeciesInputs, stocking: Stocking, days: Array) -> Array:
    """Return the most that stands in a tank over what is harvested from it, (draws, 1). [1]"""
    return cohorts.peak_share(cohort_of(species, stocking, days))


def fish_path(
    species: SpeciesInputs,
    water: Array,
    stocking: Stocking,
    allowed: Array,
    first_day: Array,
    timeline: Timeline,
    *,
    shocks: tuple[Array, Array] = (NO_SHOCK + 1.0, NO_SHOCK),
) -> FishPath:
    """Return fish and feed by project month.

    Feed follows gain and the month's conversion, and is never less than what keeps the fish.

    Parameters
    ----------
    water : Array, shape (draws, 12)
        Water temperature. [degC]
    allowed : Array, shape (draws, 12 or 1)
        Share of full feeding that the bacteria bear. [1]
    first_day : Array, shape (draws, 1)
        Days from month 0 to the first stocking. [day]
    shocks : (Array, Array), shape (draws, months + 1) or (draws, 1)
        Share of the feed asked that is there, and of the tanks that lose their fish. [1]
    """
    season = daily_growth(species, water) * allowed
    draws = max(x.shape[0] for x in (season, first_day, species.survival, *shocks))
    cohort = cohort_of(species, stocking, growing_days(species, day_mean(season)))
    start = (first_day, draws)
    flows = _moved(species, season, water, stocking, cohort, start, shocks, timeline)
    harvest, gain, biomass, stocked, deaths = flows
    eats = (water >= species.temperature_least) & (water < species.temperature_most)
    kept = timeline.life(species.maintenance * eats * allowed * DAYS) * biomass * shocks[0]
    feed = gain * species.feed_conversion * timeline.life(conversion(species, water))
    return FishPath(
        harvest=harvest,
        gain=gain,
        biomass=biomass,
        fingerlings=stocked * stocking.fish,
        feed=np.maximum(feed, kept),
        deaths=deaths,
    )


def _moved(
    species: SpeciesInputs,
    season: Array,
    water: Array,
    stocking: Stocking,
    cohort: Cohort,
    first: tuple[Array, int],
    shocks: tuple[Array, Array],
    timeline: Timeline,
) -> Array:
    """Return harvest, gain, standing, stockings and deaths of all tanks, (5, draws, months + 1).

    `first` is the day of the first stocking (draws, 1) and the number of draws.
    """
    first_day, draws = first
    count, kills = stocking.tanks, beyond_lethal(species, water) > 0.0
    fed, struck = (along(shock, timeline.months) for shock in shocks)
    after = np.arange(count) * stagger_days(species, season, stocking)
    restart = species.rest_days + after
    cohort = cohort.laid_out(draws, count)
    hungry = bool(np.any(fed != 1.0))
    bare = Bare(cohort, draws, count) if np.any(struck > 0.0) else None
    months = [
        cohorts.month_of(DAYS[n], season[:, n % season.shape[1], None, None] * cohort.pace)
        for n in range(12)
    ]
    tanks = Tanks(
        np.zeros(cohort.pace.shape), np.broadcast_to(first_day + after, (draws, count)).copy()
    )
    deadly = np.any(kills, axis=0).tolist()
    flows = np.zeros((timeline.months + 1, 5, draws, count))
    for month in range(1, timeline.months + 1):
        at = int(timeline.calendar[month])
        before, begun = tanks, months[at]
        if hungry:
            begun = cohorts.month_of(begun.days, begun.grow * fed[:, month, None, None])
        tanks, moved = cohorts.month_on(before, begun, cohort)
        if deadly[at]:
            lethal = kills[:, at : at + 1]
            tanks, moved = cohorts.killed(before, (tanks, moved), lethal, cohort, restart)
        if bare is not None:
            moved = bare.month_on(before, tanks, moved, struck[:, month : month + 1])
        flow = flows[month]
        flow[0], flow[1], flow[2] = moved.harvest, moved.gain, moved.biomass
        flow[3] = moved.stocked
        if moved.deaths is not None:
            flow[4] = moved.deaths
    return np.ascontiguousarray(np.transpose(np.sum(flows, axis=3), (1, 2, 0)))
