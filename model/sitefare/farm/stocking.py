"""How many fish, in how many tanks, eat what the beds can take.

Worked at base values. A year's feed is spread over its months as warmth asks: what a month
eats over the year's mean is its profile.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, day_mean, whole_up
from sitefare.errors import DesignError
from sitefare.farm import (
    fish,
    gases,
    hatchery,
    lifesupport,
    nitrification,
    oxygen,
    waterquality,
)
from sitefare.farm.fish import Stocking
from sitefare.farm.hatchery import Hatchery
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design
from sitefare.farm.season import Season

#: Longest wait for a cohort that is still worth building for. [day]
LONGEST_CYCLE = 900.0

#: How much sooner than the mean the first grade may leave, of the days grown. [1]
MOST_EARLY = 0.25

#: Lines of the feeding table, from stocking to harvest.
TABLE_LINES = 6

#: Weights at which the feeding rate is printed, as shares of the way to harvest. [1]
PRINTED = {"Feeding rate at stocking": 0.0, "Feeding rate at harvest": 1.0}


@dataclass(frozen=True)
class Stocked:
    """Days of a cycle, fish in a tank, tanks, all tanks' volume [m3], hatchery."""

    cycle_days: float
    fish: float
    tanks: int
    volume: float
    hatchery: Hatchery


def profile(parts: Parts, water: Array) -> Array:
    """Return what each month's fish eat over the year's mean, (draws, 12). [1]"""
    species = parts.species
    eaten = fish.daily_growth(species, water) * fish.conversion(species, water)
    mean = day_mean(eaten)
    return np.where(mean > 0.0, eaten / np.where(mean > 0.0, mean, 1.0), 1.0)


def feed_borne(parts: Parts, water: Array, capacity: Array) -> float:
    """Return mean feed whose TAN a capacity [kg/day] bears in the month it is shortest. [kg/day]"""
    made = nitrification.TAN_PER_PROTEIN * parts.species.feed_protein
    borne = capacity / (made * np.maximum(profile(parts, water), 1e-3))
    return float(borne.min())


def filter_needed(parts: Parts, season: Season, feed: float, capacity: Array) -> float:
    """Return the separate filter for what beds of a capacity [kg/day] cannot bear. [m3]"""
    rules, species = parts.nitrification, parts.species
    asked = feed * profile(parts, season.water) * parts.design.filter_margin
    short = np.maximum(nitrification.ammonia(asked, species.feed_protein) - capacity, 0.0)
    rate = nitrification.surface_rate(rules, season.water, parts.oxygen.least)
    return float((short * 1000.0 / (rate * rules.filter_surface)).max())


def stocked(parts: Parts, season: Season, feed: float, density: float) -> Stocked:
    """Return fish and tanks that eat a mean feed [kg/day] at a density at harvest [kg/m3].

    Raises
    ------
    DesignError
        If the fish do not grow, cannot be bred here, or are graded out longer than they grow.
    """
    species, water = parts.species, season.water
    grown = _grown(parts, water)
    months = parts.harvest_months
    one = Stocking(1.0, 1, months)
    cycle = grown + base(species.rest_days) + one.tail
    growth = fish.daily_growth(species, water)
    mixed = base(day_mean(growth * fish.conversion(species, water)) / day_mean(growth))
    eaten = base(species.feed_conversion) * mixed * base(fish.net_gain(species))
    together = feed * cycle / (eaten + _hatchery_feed(parts))
    fullest = base(fish.peak_share(species, one, np.full((1, 1), grown)))
    weight = base(species.survival * species.harvest_weight) / 1000.0
    volume = together * weight * fullest / density
    largest = np.full((1, 1), volume / base(parts.design.tank_volume_largest))
    tanks = int(max(base(parts.design.tank_count_least), float(whole_up(largest)[0, 0])))
    young = hatchery.NONE
    if parts.hatchery is not None:
        young = hatchery.sized(parts.hatchery, together / cycle)
    return Stocked(cycle, together / tanks, tanks, volume, young)


def _grown(parts: Parts, water: Array) -> float:
    """Return days the mean fish grows, refusing fish and harvests that cannot be. [day]"""
    species, months = parts.species, parts.harvest_months
    grown = base(fish.growing_days(species, day_mean(fish.daily_growth(species, water))))
    if grown > LONGEST_CYCLE:
        needs = f"needs {grown:.0f} days to harvest" if np.isfinite(grown) else "does not grow"
        warm = base(day_mean(water)) > base(species.temperature_high)
        change = (
            "cool the house (farm_design.cooling)"
            if warm
            else "heat the water (farm_design.heated_water)"
        )
        msg = (
            f"{species.title} {needs} in water of {water.min():.0f} to {water.max():.0f} degC: "
            f"{change}, or choose another farm_design.species"
        )
        raise DesignError(msg)
    early = Stocking(1.0, 1, months).tail
    if early > MOST_EARLY * grown:
        msg = (
            f"{species.title} grows {grown:.0f} days here, and graded out over {months:g} months "
            f"the first fish would leave {early:.0f} days before the mean, sooner than fish of one "
            "cohort differ: lower farm_design.harvest_months"
        )
        raise DesignError(msg)
    if parts.hatchery is not None:
        hatchery.check(parts.hatchery, species, parts.design.species, float(water.min()))
    return grown


def _hatchery_feed(parts: Parts) -> float:
    """Return feed of an own hatchery for each fish stocked. [kg/fish]"""
    rules = parts.hatchery
    if rules is None:
        return 0.0
    one = np.ones((1, 1))
    return base(
        hatchery.feed(rules, hatchery.sized(rules, 1.0).brood, one, parts.species.stock_weight)
    )


def peak_feed(parts: Parts, water: Array, feed: float, tanks: int) -> float:
    """Return feed in the hungriest month, the day before a tank is harvested. [kg/day]"""
    most = float(profile(parts, water).max())
    return feed * most * base(fish.stagger_peak(parts.species, tanks))


def minutes(parts: Parts, season: Season, density: float) -> float:
    """Return minutes the fullest tank lives without air in the warmest water, or refuse. [min]"""
    given = np.full((1, 1), density)
    shortest = float(waterquality.minutes(parts, season.water, given).min())
    lifesupport.check_response(shortest, parts.life_support, automatic=parts.full)
    return shortest


def warnings(parts: Parts, water: Array) -> list[str]:
    """Say at base where the water is too warm to feed, and how fish are bred and harvested."""
    species = parts.species
    hot = int(np.sum(water > species.temperature_most))
    said = []
    if hot:
        said.append(
            f"{species.title} does not feed in water above "
            f"{base(species.temperature_most):g} degC, and {hot} months of the year pass that, up "
            f"to {water.max():.1f}: cool the water or choose another farm_design.species."
        )
    if parts.hatchery is not None:
        said.append(hatchery.sentence(parts.hatchery))
    if parts.harvest_months > 1.0:
        said.append(
            f"Each tank is graded out over {parts.harvest_months:g} months, the largest fish first."
        )
    return said


def reserve(parts: Parts, season: Season, stock: Stocked) -> dict[str, float]:
    """Return oxygen that back-up must hold and sizes of an own hatchery, by driver."""
    stocking = Stocking(stock.fish, stock.tanks, parts.harvest_months)
    species = parts.species
    warmest = np.full((1, 1), float(season.water.max()))
    used = species.respiration * lifesupport.warmth_factor(warmest - species.water_target)
    biomass = fish.full_biomass(species, stocking)
    return {
        "oxygen_reserve": base(lifesupport.oxygen_reserve(biomass, used, parts.life_support)),
        "fish_standing_most": base(biomass),
        "harvest_weight": base(species.harvest_weight) / 1000.0,
        "hatchery_volume": stock.hatchery.volume,
        "brood_weight": stock.hatchery.brood,
        "sexed_fish": stock.hatchery.sexed,
    }


def mean_minutes(parts: Parts, season: Season, design: Design) -> float:
    """Return minutes that fish last without air in a mean tank, month and size. [min]"""
    species = parts.species
    start, end = np.cbrt(species.stock_weight), np.cbrt(species.harvest_weight)
    middle = (start + end) ** 3 / 8.0
    stocking = Stocking(design.stocked_fish, design.tank_count, parts.harvest_months)
    held = fish.cohort_of(species, stocking, np.full((1, 1), np.inf)).standing(
        np.broadcast_to(((start + end) / 2.0)[:, :, None], (1, 1, round(stocking.months)))
    )
    factor = lifesupport.weight_factor(middle, species.harvest_weight)
    water = np.full((1, 1), base(day_mean(season.water)))
    return base(waterquality.minutes(parts, water, held / design.tank_volume) / factor)


@dataclass(frozen=True)
class FeedingLine:
    """A fish's way to harvest: weight [g], days since stocking, feed by weight and of a tank."""

    weight: float
    days: float
    rate: float
    tank_feed: float


def feeding_table(parts: Parts, water: Array, fish_in_tank: float) -> tuple[FeedingLine, ...]:
    """Return feeding by weight in the mean of a year's water, for the stocking plan.

    `rate` is feed over live weight [1/day]; `tank_feed` that of a tank's fish, deaths spread
    evenly over the growth [kg/day].
    """
    species = parts.species
    mean = np.full((1, 1), base(day_mean(water)))
    start, end = np.cbrt(species.stock_weight), np.cbrt(species.harvest_weight)
    growth, lines = base(fish.daily_growth(species, mean)), []
    for at in np.linspace(0.0, 1.0, TABLE_LINES):
        size = start + at * (end - start)
        rate = base(fish.feeding_rate(species, mean, size**3))
        alive = fish_in_tank * (1.0 - at * (1.0 - base(species.survival)))
        weight = base(size**3)
        days = base(size - start) / max(growth, 1e-9)
        lines.append(FeedingLine(weight, days, rate, rate * weight * alive / 1000.0))
    return tuple(lines)


def facts(parts: Parts, season: Season, design: Design) -> tuple[tuple[str, float, str], ...]:
    """Return the design sheet's lines on fish and their water, worst month first."""
    d = design.drivers
    found = waterquality.quality(parts, season, waterquality.tanks_of(parts, design))
    lines = [
        *_feeding(parts, season, design),
        *_levels(parts, season, found),
        ("Fish standing before a harvest", d["fish_standing_most"], "kg"),
        ("Oxygen held for emergencies", d["oxygen_reserve"], "kg"),
        ("Time fish last without air, mean", mean_minutes(parts, season, design), "min"),
    ]
    if parts.hatchery is not None:
        lines.append(("Hatchery tanks", d["hatchery_volume"], "m3"))
        lines.append(("Brood fish", d["brood_weight"], "kg"))
    return tuple(lines)


def _feeding(parts: Parts, season: Season, design: Design) -> list[tuple[str, float, str]]:
    """Return feeding rates by weight in the year's mean water, and the hungriest day and hour."""
    species, rules = parts.species, parts.oxygen
    start, end = np.cbrt(species.stock_weight), np.cbrt(species.harvest_weight)
    water = np.full((1, 1), base(day_mean(season.water)))
    most = peak_feed(parts, season.water, design.feed_per_day, design.tank_count)
    fed = np.full((1, 1), most)
    used = oxygen.demand(rules, fed, nitrification.ammonia(fed, species.feed_protein))
    rates = [
        (what, fish.feeding_rate(species, water, (start + at * (end - start)) ** 3))
        for what, at in PRINTED.items()
    ]
    return [
        *((what, 1000.0 * base(rate), "g/kg/day") for what, rate in rates),
        ("Feed on the hungriest day", most, "kg/day"),
        ("Oxygen used in the peak hour", base(used * rules.peak) / 24.0, "kg/h"),
    ]


def _levels(
    parts: Parts, season: Season, found: waterquality.WaterQuality
) -> list[tuple[str, float, str]]:
    """Return what stands in the water in the worst month, beside what is borne."""
    species, rules = parts.species, parts.nitrification
    worst = int(np.argmax(found.carbon_dioxide[0]))
    gas, warm = found.carbon_dioxide[:, worst : worst + 1], season.water[:, worst : worst + 1]
    made = float(found.ammonia_made.max())
    held = gases.alkalinity_at(rules.acidity, gas, warm)
    return [
        ("Ammonia nitrogen made, most", made, "kg/day"),
        ("Ammonia nitrogen in the tanks, most", float(found.ammonia.max()), "mg/L"),
        ("Ammonia nitrogen allowed", base(rules.allowed), "mg/L"),
        ("Un-ionised ammonia nitrogen, most", float(found.unionised.max()), "mg/L"),
        ("Un-ionised ammonia nitrogen the fish bear", base(species.ammonia_most), "mg/L"),
        ("Alkalinity nitrification takes, most", nitrification.ALKALINITY_PER_TAN * made, "kg/day"),
        ("Carbon dioxide in the tanks, most", base(gas), "mg/L"),
        ("Carbon dioxide the fish bear", base(species.carbon_dioxide_most), "mg/L"),
        ("Flow to degas for that limit", waterquality.degassing(parts, season, found), "m3/h"),
        ("Alkalinity that holds the pH", base(held), "mg/L"),
    ]
