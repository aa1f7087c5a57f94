"""What does the diet of the people fed still lack, and what does it cost to make it whole?

The farm's ration gives part of a full ration; oil fills its fat, a staple and pulses its energy
and protein. The arithmetic is of macronutrients alone; which vitamins and minerals still fall
short is told. It is worked out at base, for one case, never in draws.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array, day_mean
from sitefare.assumptions.declaration import Values, build
from sitefare.people.basket import KINDS, Bought, CompletionInputs, basket_of
from sitefare.people.fed import PeopleInputs
from sitefare.people.food import NUTRIENTS, CookingInputs
from sitefare.people.need import FAT_ENERGY, DietInputs, population_need
from sitefare.people.result import PeopleFed

#: What a staple, pulses and oil are solved for.
MACRO = ("energy", "protein", "fat")

#: Days of a month of ration. [day]
RATION_MONTH = 30.0


@dataclass(frozen=True)
class Lack:
    """What must come from elsewhere for a full ration, by calendar month, (1, 12).

    `required` is energy, protein and fat asked, (1, 1), and `farm` what the headline ration
    gives of every nutrient, a person and day. `grams` is the basket beside it and `alone` the
    basket of a full ration without the farm, by kind [g/person/day]; `kg` is the basket beside it
    for all people fed [kg/month]. `cost` and `cost_alone` are day means at the appraisal date's
    local prices [money/person/day]. `total` is the share of the requirement given by farm and
    basket together on the year's mean, of macronutrients against `required` and of the rest
    against the population's mean need; `total_alone` the same of the full ration without the
    farm. [1]
    """

    requirement: str
    foods: Mapping[str, Bought]
    required: Mapping[str, Array]
    farm: Mapping[str, Array]
    grams: Mapping[str, Array]
    alone: Mapping[str, Array]
    kg: Mapping[str, Array]
    cost: Mapping[str, float]
    cost_alone: float
    total: Mapping[str, float]
    total_alone: Mapping[str, float]

    @property
    def cost_beside(self) -> float:
        """Cost of the basket beside the farm's food. [money/person/day]"""
        return sum(self.cost.values())

    @property
    def short(self) -> dict[str, float]:
        """Vitamins and minerals of which even the completed ration gives too little. [1]"""
        return {n: x for n, x in self.total.items() if n not in MACRO and x < 1.0}


def lack(values: Values, fed: PeopleFed) -> Lack:
    """Return what the people fed on the headline ration still lack.

    Parameters
    ----------
    values : mapping
        Resolved values at base.
    fed : PeopleFed
        What the harvest feeds; where nobody is fed, the farm gives nothing.

    Returns
    -------
    Lack
        The basket by month, its cost, and what is short with it.

    Raises
    ------
    AssumptionError
        If a food of the basket is missing, of another kind, or without a price.
    """
    asked = build(CompletionInputs, values)
    foods = basket_of(values, asked)
    need = population_need(values).mean
    required = _required(values, asked, need)
    farm = {n: fed.coverage[n][:1] * need[n] for n in NUTRIENTS}
    grams = basket(foods, required, farm, asked.least_pulse)
    nothing = {n: np.zeros((1, 12)) for n in NUTRIENTS}
    alone = basket(foods, required, nothing, asked.least_pulse)
    cooking = {kind: build(CookingInputs, values, kind) for kind in ("staple", "pulse")}

    def share(given: Mapping[str, Array], bought: Mapping[str, Array]) -> dict[str, float]:
        more = _given(foods, bought, cooking)
        asks = {**need, **required}
        return {n: float((day_mean(given[n] + more[n]) / asks[n])[0, 0]) for n in NUTRIENTS}

    cost = {kind: _cost(foods[kind], grams[kind]) for kind in KINDS}
    return Lack(
        requirement=asked.requirement,
        foods=foods,
        required=required,
        farm=farm,
        grams=grams,
        alone=alone,
        kg={k: g * fed.fed_season[:1] * DAYS / 1000.0 for k, g in grams.items()},
        cost=cost,
        cost_alone=sum(_cost(foods[kind], alone[kind]) for kind in KINDS),
        total=share(farm, grams),
        total_alone=share(nothing, alone),
    )


def _required(
    values: Values, asked: CompletionInputs, need: Mapping[str, Array]
) -> dict[str, Array]:
    """Return energy, protein and fat of a full ration, (1, 1). [unit/person/day]"""
    if asked.requirement == "population_need":
        return {n: need[n] for n in MACRO}
    energy = build(PeopleInputs, values).full_ration_energy
    fat = energy * build(DietInputs, values).fat_energy_share / FAT_ENERGY
    return {"energy": energy, "protein": asked.protein, "fat": fat}


def basket(
    foods: Mapping[str, Bought],
    required: Mapping[str, Array],
    farm: Mapping[str, Array],
    least_pulse: Array,
) -> dict[str, Array]:
    """Solve for staple, pulse and oil that complete a ration; none is ever negative.

    Energy and fat are met by staple and oil for any amount of pulse; pulses are the fewest, from
    the least asked, that meet protein. Where the staple alone gives the fat, no oil is bought;
    where pulses and the farm give the energy, no staple. What is given may then be more than is
    asked, never less.

    Parameters
    ----------
    foods : mapping
        Staple, pulse and oil.
    required : mapping of array, shape (1, 1)
        Energy, protein and fat of the full ration. [unit/person/day]
    farm : mapping of array, shape (1, 12)
        What is given already. [unit/person/day]
    least_pulse : array, shape (1, 1)
        Pulses at the least. [g/person/day]

    Returns
    -------
    dict of array, shape (1, 12)
        By kind. [g/person/day]
    """
    holds = {k: {n: float(foods[k].content(n)[0, 0]) for n in MACRO} for k in KINDS}
    energy, protein, fat = (np.maximum(required[n] - farm[n], 0.0) for n in MACRO)
    s, p, o = (holds[kind] for kind in KINDS)

    # Staple and oil for energy and fat: start at no pulse, then what a gram of pulse takes away.
    turn = s["energy"] * o["fat"] - o["energy"] * s["fat"]
    staple, oil = (
        (energy * o["fat"] - fat * o["energy"]) / turn,
        (fat * s["energy"] - energy * s["fat"]) / turn,
    )
    less_staple = (p["energy"] * o["fat"] - p["fat"] * o["energy"]) / turn
    less_oil = (p["fat"] * s["energy"] - p["energy"] * s["fat"]) / turn
    a_gram = p["protein"] - s["protein"] * less_staple
    pulse = np.maximum((protein - s["protein"] * staple) / a_gram, least_pulse)
    staple, oil = staple - less_staple * pulse, oil - less_oil * pulse

    # The staple's own fat is enough: energy from staple and pulse alone.
    dry = oil < 0
    bare = p["protein"] - s["protein"] * p["energy"] / s["energy"]
    more = np.maximum((protein - s["protein"] * energy / s["energy"]) / bare, least_pulse)
    pulse = np.where(dry, more, pulse)
    staple = np.where(dry, (energy - p["energy"] * more) / s["energy"], staple)
    oil = np.where(dry, 0.0, oil)

    # No staple is needed: pulses for protein, oil for what fat and energy are left.
    full = staple < 0
    pulse = np.where(full, np.maximum(protein / p["protein"], least_pulse), pulse)
    left = np.maximum(
        (fat - p["fat"] * pulse) / o["fat"], (energy - p["energy"] * pulse) / o["energy"]
    )
    oil = np.where(full, np.maximum(left, 0.0), oil)
    return {"staple": np.maximum(staple, 0.0), "pulse": pulse, "oil": oil}


def _given(
    foods: Mapping[str, Bought], grams: Mapping[str, Array], cooking: Mapping[str, CookingInputs]
) -> dict[str, Array]:
    """Return what the basket gives: macronutrients as planned, the rest as cooking leaves it."""
    return {
        n: np.asarray(
            sum(
                grams[kind] * foods[kind].content(n, None if n in MACRO else cooking.get(kind))
                for kind in KINDS
            )
        )
        for n in NUTRIENTS
    }


def _cost(food: Bought, grams: Array) -> float:
    """Return the cost of a food on the mean day. [money/person/day]"""
    return float((day_mean(grams) * food.cost)[0, 0])
