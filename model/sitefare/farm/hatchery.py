"""What does it take to breed the farm's own fingerlings, and how many does it still buy.

Brood fish spawn in tanks of their own all year; swim-up fry are caught, grown to stocking
weight and, if asked, sexed by hand. Hormone sex reversal needs a permit and is never assumed:
mixed sexes grow more slowly, hand-sexing throws half the fish away.
"""

from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array, day_mean
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.errors import DesignError
from sitefare.farm.fish import SpeciesInputs


@inputs("hatchery")
class HatcheryInputs:
    """Own breeding of a fish that spawns in tanks all year."""

    fry: Array = quantity(
        "1/kg/day", low=1, high=150, doc="Swim-up fry a day per weight of female."
    )
    temperature_least: Array = quantity(
        "degC", low=10, high=30, varies="choice", doc="Fish spawn in water of this or warmer."
    )
    females_per_male: Array = quantity(
        "1", low=0.5, high=8, varies="choice", doc="Females for each male."
    )
    survival: Array = quantity(
        "1", low=0.05, high=1, doc="Share of fry that reach stocking weight."
    )
    nursery_days: Array = quantity("day", low=20, high=300, doc="Days from fry to stocking weight.")
    nursery_density: Array = quantity(
        "fish/m3", low=50, high=10000, varies="choice", doc="Young fish per volume, mean of stages."
    )
    brood_density: Array = quantity(
        "kg/m3", low=0.1, high=20, varies="choice", doc="Brood fish per volume of their tanks."
    )
    brood_ration: Array = quantity(
        "1/day", low=0.002, high=0.05, doc="Feed of brood fish per live weight."
    )
    feed_conversion: Array = quantity(
        "kg/kg", low=0.6, high=4, doc="Feed per weight of fingerlings raised."
    )
    margin: Array = quantity(
        "1", low=1, high=4, varies="choice", doc="Brood fish kept over what the mean asks."
    )
    hand_sexed: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Share of fingerlings sexed by hand, males kept."
    )
    mixed_growth: Array = quantity(
        "1", low=0.3, high=1, doc="Growth of mixed sexes over that of males."
    )


@dataclass(frozen=True)
class Hatchery:
    """Sizes of a hatchery: brood fish [kg], volume [m3], fish sexed by hand [fish/day]."""

    brood: float
    volume: float
    sexed: float


#: No hatchery: fingerlings are bought.
NONE = Hatchery(0.0, 0.0, 0.0)


def check(rules: HatcheryInputs, species: SpeciesInputs, key: str, coldest: float) -> None:
    """Refuse an own hatchery for a fish, or in water [degC], that gives no fry.

    Raises
    ------
    DesignError
        With the reason in the species' row, or the coldest month's water.
    """
    least = float(rules.temperature_least[0, 0])
    if not species.no_hatchery and coldest >= least:
        return
    if not species.no_hatchery:
        msg = (
            f"{species.title} spawns in water of {least:g} degC or warmer, and this farm's falls "
            f"to {coldest:.1f}: heat the water (farm_design.heated_water) or buy fingerlings "
            "(farm_design.fingerlings)"
        )
        raise DesignError(msg)
    msg = (
        f"{species.title} cannot be bred on this farm: {species.no_hatchery}; set "
        f"farm_design.fingerlings to bought (the reason is species.{key}.no_hatchery)"
    )
    raise DesignError(msg)


def as_bred(species: SpeciesInputs, rules: HatcheryInputs) -> SpeciesInputs:
    """Return the species with the growth of fish bred here, as far as they are of mixed sex."""
    slower = 1.0 - (1.0 - rules.mixed_growth) * (1.0 - rules.hand_sexed)
    return replace(species, growth=species.growth * slower)


def raised(rules: HatcheryInputs, stocked: Array) -> Array:
    """Return fingerlings raised to stock some, one female thrown out per male kept by hand."""
    return stocked * (1.0 + rules.hand_sexed)


def brood_weight(rules: HatcheryInputs, stocked: Array) -> Array:
    """Return brood fish, both sexes alike in weight, that give fish stocked [fish/day]. [kg]"""
    females = raised(rules, stocked) / rules.survival / rules.fry
    return females * (1.0 + 1.0 / rules.females_per_male)


def sized(rules: HatcheryInputs, stocked: float) -> Hatchery:
    """Return the hatchery that gives fish stocked [fish/day], at base values."""
    given = np.full((1, 1), stocked)
    brood = brood_weight(rules, given) * rules.margin
    nursery = raised(rules, given) * rules.nursery_days / rules.nursery_density
    volume = brood / rules.brood_density + nursery
    sexed = given * 2.0 * rules.hand_sexed
    return Hatchery(float(brood[0, 0]), float(volume[0, 0]), float(sexed[0, 0]))


def own_share(rules: HatcheryInputs, brood: float, stocked: float, water: Array) -> Array:
    """Return the share of fish stocked [fish/day] that brood fish [kg] give, (draws, 1). [1]

    None spawn in months whose water (draws, 12) is too cold.
    """
    asked = brood_weight(rules, np.full((1, 1), stocked))
    spawning = day_mean((water >= rules.temperature_least).astype(np.float64))
    return np.minimum(brood * spawning / np.maximum(asked, 1e-9), 1.0)


def feed(rules: HatcheryInputs, brood: float, own: Array, weight: Array) -> Array:
    """Return feed of brood fish and of `own` fish stocked [fish/day] of a weight [g]. [kg/day]"""
    grown = raised(rules, own) * weight / 1000.0 * rules.feed_conversion
    return brood * rules.brood_ration + grown


def sentence(rules: HatcheryInputs) -> str:
    """Say of which sex the fish bred here are, and what is not assumed."""
    share, slower = float(rules.hand_sexed[0, 0]), float(rules.mixed_growth[0, 0])
    return (
        f"The farm breeds its own fingerlings: {share:.0%} are sexed by hand, the rest are of "
        f"mixed sex and grow {slower:.0%} as fast as males; hormone sex reversal needs a permit "
        "and is not assumed."
    )
