"""What does one person fed eat in a day, as it is bought: kilograms and money?

The mix of vegetables and of fish is the farm's own, held from the appraisal at base values; the
prices, losses and edible shares are those of any values, one case or many draws. So every other
route is set against the same food.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import DAYS, Array, day_mean
from sitefare.assumptions.declaration import Values, build
from sitefare.people.alternative import LocalPriceInputs
from sitefare.people.coverage import full_season
from sitefare.people.food import Foods, edible_grams, foods_of, is_fish, total
from sitefare.people.rations import RationInputs
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: The groups that a ration in grams asks for.
GROUPS = ("vegetables", "fish")


@dataclass(frozen=True)
class Meal:
    """What one person fed eats: edible grams a day by group, and each food's share of its group.

    `grams` (1, 1) [g/person/day]; `shares` of edible weight, by group and food (1, 1) [1].
    """

    grams: Mapping[str, Array]
    shares: Mapping[str, Mapping[str, Array]]


@dataclass(frozen=True)
class Basket:
    """A person-day's food by group, (draws, 1).

    `fresh` is untrimmed vegetables and whole fish that reach the kitchen [kg/person/day];
    `bought` the same with what spoils between purchase and pot [kg/person/day]; `cost` its price
    in the local market [money/person/day].
    """

    fresh: Mapping[str, Array]
    bought: Mapping[str, Array]
    cost: Mapping[str, Array]

    @property
    def total(self) -> Array:
        """Cost of all groups, (draws, 1). [money/person/day]"""
        return total(list(self.cost.values()))


def meal_of(values: Values, fed: PeopleFed, timeline: Timeline) -> Meal:
    """Return what the people fed on the headline ration eat, in the first draw.

    Parameters
    ----------
    values : mapping
        Resolved values.
    fed : PeopleFed
        The answer of the people stage.
    timeline : Timeline
        The project's clock.

    Returns
    -------
    Meal
        Portions and mix on the year's mean of full years. [g/person/day]
    """
    foods = foods_of(values, list(fed.served_kg))
    days = DAYS[timeline.calendar][None, :]
    grams = edible_grams(foods, fed.served_kg, days)
    mean = {k: day_mean(full_season(g, fed.full, timeline))[:1] for k, g in grams.items()}
    shares = {name: _shares(foods, mean, fish=name == "fish") for name in GROUPS}
    return Meal(_portions(values, fed), shares)


def _shares(foods: Foods, mean: Mapping[str, Array], *, fish: bool) -> dict[str, Array]:
    """Return each food's share of its group's edible weight; nothing where none is served. [1]"""
    group = {k: g for k, g in mean.items() if is_fish(foods.items[k]) == fish}
    whole = total(list(group.values()))
    return {k: g / whole for k, g in group.items()} if float(whole[0, 0]) > 0.0 else {}


def _portions(values: Values, fed: PeopleFed) -> dict[str, Array]:
    """Return edible grams a day of each group: the ration's, or what a nutrient ration gives."""
    ration = build(RationInputs, values, fed.headline)
    if ration.counted == "grams":
        asked = {"vegetables": ration.vegetables, "fish": ration.fish}
        return {name: (grams * ration.share)[:1] for name, grams in asked.items()}
    return {name: day_mean(fed.eaten_g[name])[:1] for name in GROUPS}


def basket(values: Values, meal: Meal) -> Basket:
    """Return the meal as it is bought in the local market, for one case or many draws.

    Parameters
    ----------
    values : mapping
        Resolved values, with a local price of each food.
    meal : Meal
        What one person fed eats.

    Returns
    -------
    Basket
        Kilograms and money by group, (draws, 1).

    Raises
    ------
    AssumptionError
        If a food has no local price.
    """
    foods = foods_of(values, [k for group in meal.shares.values() for k in group]).items
    fresh: dict[str, Array] = {}
    bought: dict[str, Array] = {}
    cost: dict[str, Array] = {}
    for name, shares in meal.shares.items():
        local = {k: build(LocalPriceInputs, values, k) for k in shares}
        kilograms = {
            k: meal.grams[name] * share / (1000.0 * foods[k].edible_share)
            for k, share in shares.items()
        }
        paid = {k: kg / (1.0 - local[k].loss) for k, kg in kilograms.items()}
        fresh[name] = total(list(kilograms.values()))
        bought[name] = total(list(paid.values()))
        cost[name] = total([kg * local[k].price for k, kg in paid.items()])
    return Basket(fresh, bought, cost)


def priced(bought: Basket, total_cost: Array) -> Basket:
    """Return a basket whose groups are dearer or cheaper alike, so that they cost a total.

    Parameters
    ----------
    bought : Basket
        A basket of another mix.
    total_cost : array, shape (draws, 1)
        What the food costs; where it is 0, the basket stays as it is. [money/person/day]
    """
    known = (bought.total > 0.0) & (total_cost > 0.0)
    level = np.where(known, total_cost / np.where(known, bought.total, 1.0), 1.0)
    return replace(bought, cost={name: x * level for name, x in bought.cost.items()})


def reaches_pot(meal: Meal, paid: Mapping[str, Array]) -> dict[str, Array]:
    """Return edible grams in the pot for each kilogram paid for, by group; nan for none. [g/kg]

    Parameters
    ----------
    meal : Meal
        What one person fed eats.
    paid : mapping of array, shape (draws, 1)
        Kilograms paid for at the start of the route, by group. [kg/person/day]
    """
    return {
        name: np.where(kg > 0.0, meal.grams[name] / np.where(kg > 0.0, kg, 1.0), np.nan)
        for name, kg in paid.items()
    }
