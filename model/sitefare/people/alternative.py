"""What the same food costs when bought locally.

Prices are per kilogram as bought: fresh vegetables, and WHOLE fish (live or gutted weight, not
fillet), in the site's currency at the appraisal date. What spoils between purchase and pot is
paid for too; refuse and bones are those of the farm's own food.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array, day_mean
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.people.coverage import per_person
from sitefare.people.food import FoodInputs, is_fish, total


@inputs("local_price", keyed=True, measure="price")
class LocalPriceInputs:
    """Price of one food in the local market; fish by the kilogram of whole fish."""

    loss: Array = quantity(
        "1", low=0, high=0.95, doc="Share lost between purchase and pot.", fact="required"
    )
    price: Array = quantity(
        "money/kg",
        low=0,
        high=1e9,
        doc="Market price as bought, whole fish and untrimmed vegetables.",
        fact="required",
    )


def price_per_gram(food: FoodInputs, local: LocalPriceInputs) -> Array:
    """Return the cost of an edible gram bought locally, (draws, 1). [money/g]"""
    return local.price / (1000.0 * food.edible_share * (1.0 - local.loss))


def alternative_cost(
    values: Values,
    foods: Mapping[str, FoodInputs],
    grams: Mapping[str, Array],
    eaten: Mapping[str, Array],
) -> Array:
    """Return the local cost of what one person fed eats in a day.

    Parameters
    ----------
    values : mapping
        Resolved values, with a local price of each food.
    foods : mapping
        Composition rows by food key.
    grams : mapping of array, shape (draws, 12)
        Edible grams a day the farm serves, by food: the mix to be bought. [g/day]
    eaten : mapping of array, shape (draws, 12) or (draws, 1)
        Grams of `vegetables` and of `fish` a person. [g/person/day]

    Returns
    -------
    array, shape (draws, 1)
        Cost of the same food. [money/person/day]

    Raises
    ------
    AssumptionError
        If a food has no local price.
    """
    cost = np.zeros((1, 1))
    for name, portion in eaten.items():
        mix = {k: day_mean(g) for k, g in grams.items() if is_fish(foods[k]) == (name == "fish")}
        paid = {k: price_per_gram(foods[k], build(LocalPriceInputs, values, k)) for k in mix}
        mean = per_person(total([g * paid[k] for k, g in mix.items()]), total(list(mix.values())))
        cost = cost + mean * (portion if portion.shape[1] == 1 else day_mean(portion))
    return cost
