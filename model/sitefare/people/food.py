"""What is in the food: from kilograms served to edible grams and nutrients a day.

Composition is of the raw edible part, per hectogram (100 g). Harvest is fresh marketable crop
and live fish; `edible_share` takes it to what goes into the pot. Cooking losses apply to foods
eaten cooked, by kind of food. Herbs season a meal: they are counted for nobody.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity, text

#: Nutrients followed from harvest to need, in the order they are reported.
NUTRIENTS = (
    "energy",
    "protein",
    "fat",
    "vitamin_a",
    "vitamin_c",
    "folate",
    "vitamin_b12",
    "calcium",
    "iron",
    "zinc",
)

#: Edible grams in the hectogram that composition is given by. [g/hg]
HECTOGRAM = 100.0


@dataclass(frozen=True, kw_only=True)
class Composition:
    """What a hectogram (100 g) of a food holds."""

    energy: Array = quantity("kcal/hg", low=0, high=900, doc="Food energy per 100 g.")
    protein: Array = quantity("g/hg", low=0, high=100, doc="Protein per 100 g.")
    fat: Array = quantity("g/hg", low=0, high=100, doc="Fat per 100 g.")
    vitamin_a: Array = quantity(
        "ug/hg", low=0, high=20000, doc="Vitamin A, retinol activity equivalents, per 100 g."
    )
    vitamin_c: Array = quantity("mg/hg", low=0, high=3000, doc="Vitamin C per 100 g.")
    folate: Array = quantity(
        "ug/hg", low=0, high=2000, doc="Folate, dietary folate equivalents, per 100 g."
    )
    vitamin_b12: Array = quantity("ug/hg", low=0, high=200, doc="Vitamin B12 per 100 g.")
    calcium: Array = quantity("mg/hg", low=0, high=3000, doc="Calcium per 100 g.")
    iron: Array = quantity("mg/hg", low=0, high=100, doc="Iron per 100 g.")
    zinc: Array = quantity("mg/hg", low=0, high=100, doc="Zinc per 100 g.")


@inputs("food", keyed=True, measure="edible_share")
class FoodInputs(Composition):
    """Composition of one food, raw edible part, and how much of it can be eaten."""

    title: str = text(doc="The food as it is described in the composition table.")
    kind: str = choice("leafy", "fruiting", "herb", "fish", doc="What sort of food it is.")
    eaten: str = choice("raw", "cooked", doc="How it is usually eaten by the people served.")
    edible_share: Array = quantity(
        "1", low=0, high=1, doc="Edible part of fresh crop weight, or fillet of live fish weight."
    )


#: Kinds of food that have a row of what cooking leaves.
COOKED_KINDS = ("leafy", "fruiting", "fish")


@inputs("cooking", keyed=True)
class CookingInputs:
    """Share of each nutrient left after cooking one kind of food; energy and fat are kept."""

    protein: Array = quantity("1", low=0, high=1, doc="Protein kept in cooking.")
    vitamin_a: Array = quantity("1", low=0, high=1, doc="Vitamin A kept in cooking.")
    vitamin_c: Array = quantity("1", low=0, high=1, doc="Vitamin C kept in cooking.")
    folate: Array = quantity("1", low=0, high=1, doc="Folate kept in cooking.")
    vitamin_b12: Array = quantity("1", low=0, high=1, doc="Vitamin B12 kept in cooking.")
    calcium: Array = quantity("1", low=0, high=1, doc="Calcium kept in cooking.")
    iron: Array = quantity("1", low=0, high=1, doc="Iron kept in cooking.")
    zinc: Array = quantity("1", low=0, high=1, doc="Zinc kept in cooking.")


@inputs("vitamin_a")
class VitaminAInputs:
    """How vitamin A of plants is counted against a requirement in retinol equivalents."""

    basis: str = choice(
        "retinol_equivalents",
        "retinol_activity_equivalents",
        doc="Unit in which supply is set against the requirement.",
    )
    plant_factor: Array = quantity(
        "1", low=1, high=4, doc="Retinol equivalents per activity equivalent in plant food."
    )


@dataclass(frozen=True)
class Foods:
    """The foods of one farm with what cooking leaves of them and the unit of vitamin A."""

    items: Mapping[str, FoodInputs]
    cooking: Mapping[str, CookingInputs]
    vitamin_a: VitaminAInputs


def foods_of(values: Values, keys: Sequence[str]) -> Foods:
    """Gather the composition of the foods `keys`.

    Raises
    ------
    AssumptionError
        If a food has no row in the composition table.
    """
    items = {key: build(FoodInputs, values, key) for key in keys}
    kinds = [k for k in COOKED_KINDS if any(_loses(food, k) for food in items.values())]
    cooking = {kind: build(CookingInputs, values, kind) for kind in kinds}
    return Foods(items, cooking, build(VitaminAInputs, values))


def _loses(food: FoodInputs, kind: str) -> bool:
    """Tell whether a food is of a kind that is eaten cooked."""
    return food.kind == kind and food.eaten == "cooked"


def kept(foods: Foods, key: str, nutrient: str) -> Array:
    """Return the share of a nutrient left in a food as it is eaten, (draws, 1). [1]"""
    food = foods.items[key]
    cooking = foods.cooking.get(food.kind)
    if food.eaten != "cooked" or cooking is None or not hasattr(cooking, nutrient):
        return np.ones((1, 1))
    share: Array = getattr(cooking, nutrient)
    return share


def is_fish(food: FoodInputs) -> bool:
    """Tell fish from vegetables."""
    return food.kind == "fish"


def edible_grams(foods: Foods, served_kg: Mapping[str, Array], days: Array) -> dict[str, Array]:
    """Return edible grams a day of each food that counts, herbs left out.

    Parameters
    ----------
    foods : Foods
        The foods, by key.
    served_kg : mapping of array, shape (draws, months + 1)
        Fresh weight of crops and live weight of fish that reaches the people. [kg/month]
    days : array, shape (1, months + 1)
        Days of each month. [day/month]

    Returns
    -------
    dict of array, shape (draws, months + 1)
        Raw edible weight. [g/day]
    """
    return {
        key: served_kg[key] * (food.edible_share * 1000.0) / days
        for key, food in foods.items.items()
        if food.kind != "herb"
    }


def content(foods: Foods, key: str, nutrient: str) -> Array:
    """Return what one edible gram of a food gives of a nutrient once cooked, (draws, 1).

    Vitamin A of plants is multiplied by `plant_factor` when it is counted in retinol
    equivalents: 6 ug of beta-carotene make one of them, 12 ug one activity equivalent
    (IOM 2001, Dietary Reference Intakes, ch. 4).

    Returns
    -------
    array, shape (draws, 1)
        Amount per gram, in kcal, g, mg or ug as the composition table has it. [unit/g]
    """
    food = foods.items[key]
    amount: Array = getattr(food, nutrient) / HECTOGRAM * kept(foods, key, nutrient)
    if nutrient == "vitamin_a" and not is_fish(food) and in_retinol_equivalents(foods):
        amount = amount * foods.vitamin_a.plant_factor
    return amount


def in_retinol_equivalents(foods: Foods) -> bool:
    """Tell whether vitamin A is counted in retinol equivalents."""
    return foods.vitamin_a.basis == "retinol_equivalents"


def nutrient_supply(foods: Foods, grams: Mapping[str, Array], nutrient: str) -> Array:
    """Sum one nutrient over edible grams a day; the shape is that of the grams. [unit/day]"""
    parts = [each * content(foods, key, nutrient) for key, each in grams.items()]
    return total(parts)


def vegetable_grams(foods: Foods, grams: Mapping[str, Array]) -> Array:
    """Sum edible grams a day over vegetables. [g/day]"""
    return total([each for key, each in grams.items() if not is_fish(foods.items[key])])


def fish_grams(foods: Foods, grams: Mapping[str, Array]) -> Array:
    """Sum edible grams a day over fish. [g/day]"""
    return total([each for key, each in grams.items() if is_fish(foods.items[key])])


def total(parts: Sequence[Array]) -> Array:
    """Add arrays of one shape in the order given; nothing at all is 0. [same unit]"""
    result = np.zeros((1, 1))
    for part in parts:
        result = result + part
    return result
