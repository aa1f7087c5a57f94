"""What would make the diet whole: a staple, a pulse and an oil, and what they hold and cost.

Composition is of the food as bought, per hectogram (100 g). Each site names one of each kind;
prices are those of its market.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity, text
from sitefare.errors import AssumptionError
from sitefare.people.food import HECTOGRAM, Composition, CookingInputs

#: Kinds of food that complete a ration.
KINDS = ("staple", "pulse", "oil")


@inputs("basket", keyed=True, measure="edible_share")
class BasketInputs(Composition):
    """Composition of one food that completes a ration, as bought."""

    title: str = text(doc="The food as it is described in the composition table.")
    kind: str = choice(*KINDS, doc="What sort of food it is.")
    edible_share: Array = quantity("1", low=0.01, high=1, doc="Edible part of the food as bought.")


@inputs("basket_price", keyed=True, measure="price")
class BasketPriceInputs:
    """Price of one food that completes a ration, in the local market."""

    price: Array = quantity(
        "money/kg", low=0, high=1e9, doc="Market price as bought.", fact="optional"
    )


@inputs("completion")
class CompletionInputs:
    """What completes a ration here, and against what it is held."""

    requirement: str = choice(
        "planning_ration", "population_need", doc="What a full ration is held against."
    )
    protein: Array = quantity(
        "g/person/day", low=0, high=200, varies="choice", doc="Protein of the planning ration."
    )
    least_pulse: Array = quantity(
        "g/person/day", low=0, high=500, varies="choice", doc="Least pulses of a completed ration."
    )
    staple: str = text(doc="Key of the staple that people buy.", fact="optional")
    pulse: str = text(doc="Key of the pulse that people buy.", fact="optional")
    oil: str = text(doc="Key of the oil that people buy.", fact="optional")


@dataclass(frozen=True)
class Bought:
    """One food of the basket: its key, composition and price."""

    key: str
    food: BasketInputs
    price: Array

    @property
    def cost(self) -> Array:
        """Cost of an edible gram, (draws, 1). [money/g]"""
        return self.price / (1000.0 * self.food.edible_share)

    def content(self, nutrient: str, cooking: CookingInputs | None = None) -> Array:
        """Return what one gram gives of a nutrient, after cooking where that is given. [unit/g]"""
        amount: Array = getattr(self.food, nutrient) / HECTOGRAM
        kept = getattr(cooking, nutrient, None)
        return amount if kept is None else amount * kept


def basket_of(values: Values, asked: CompletionInputs) -> Mapping[str, Bought]:
    """Return the site's staple, pulse and oil, by kind.

    Raises
    ------
    AssumptionError
        If a food named is not in the basket, or is of another kind.
    """
    found = {}
    for kind in KINDS:
        key = getattr(asked, kind)
        food = build(BasketInputs, values, key)
        if food.kind != kind:
            msg = f"completion.{kind}: '{key}' is a {food.kind} in basket.csv; give a {kind}"
            raise AssumptionError(msg)
        found[kind] = Bought(key, food, build(BasketPriceInputs, values, key).price)
    return found
