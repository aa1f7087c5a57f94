"""What does it cost to bring goods to the site, and where are they bought?

An import pays freight by mass, insurance on goods and freight (together the cost, insurance and
freight of Incoterms CIF), then duty and clearing on that sum; every good pays carriage inland.
A site that cannot buy locally, such as an island, says so for all goods or by category; one item
is changed by its own row `bill.ITEM.origin`. What has no mass is a service and is never shipped.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity

#: Price paths that a cost of construction follows: goods bought in the country and abroad,
#: freight from abroad, carriage in the country, labour.
COMPONENTS = ("equipment", "imported", "imported_freight", "freight", "wages")


@inputs("freight")
class FreightInputs:
    """What it costs to bring goods to the site."""

    imported: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Freight to the country: from the origin to the port or border of entry.",
        fact="required",
    )
    inland: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Carriage of imports from the port or border to the site.",
        fact="optional",
    )
    local: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Carriage of goods from local suppliers to the site.",
        fact="optional",
    )
    insurance: Array = quantity("1", low=0, high=0.2, doc="Share of goods plus freight.")
    duty: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Import duty and levies, of cost landed; value-added tax apart.",
        fact="optional",
    )
    clearing: Array = quantity(
        "1", low=0, high=0.3, doc="Port, clearing and agent, of cost landed."
    )
    all_imported: Any = choice(
        "no", "yes", doc="Whether every good must be shipped in.", fact="optional"
    )


@inputs("origin", keyed=True)
class OriginInputs:
    """Where the goods of one category of the bill are bought at this site."""

    bought: Any = choice(
        "as_listed", "local", "imported", doc="Where goods of this category are bought."
    )


@dataclass(frozen=True)
class Delivered:
    """Goods brought to the site, by the price path that each part follows. [money]"""

    parts: dict[str, Array]

    @property
    def cost(self) -> Array:
        """All of it. [money]"""
        return sum(self.parts.values(), np.zeros((1, 1)))


def comes_from(values: Values, category: str, listed: str, mass: float) -> str:
    """Say where an item is bought: the category's row, then the site's, then the item's own."""
    if mass <= 0:
        return listed
    said = str(values[f"origin.{category}.bought"])
    if said != "as_listed":
        return said
    return "imported" if values["freight.all_imported"] == "yes" else listed


def duty_rate(values: Values, freight: FreightInputs) -> Array:
    """Return the duty paid, nothing for an exempt project. [1]"""
    return freight.duty * (0.0 if values["tax.duty_exempt"] == "yes" else 1.0)


def landed_factor(insurance: Array, duty: Array, clearing: Array) -> Array:
    """Return cost landed over goods plus freight: (1 + insurance)(1 + duty + clearing). [1]"""
    return (1.0 + insurance) * (1.0 + duty + clearing)


def delivered(values: Values, goods: Array, mass: Array, imported: Array) -> Delivered:
    """Return what goods cost at the site.

    Parameters
    ----------
    values : mapping
        Resolved values.
    goods, mass : Array, shape (draws, items)
        Price at the supplier [money] and chargeable mass [kg].
    imported : Array, shape (items,)
        1 for what is bought abroad, else 0. [1]
    """
    freight = build(FreightInputs, values)
    landed = landed_factor(freight.insurance, duty_rate(values, freight), freight.clearing)
    carriage = imported * freight.inland + (1.0 - imported) * freight.local
    return Delivered(
        {
            "equipment": goods * (1.0 - imported),
            "imported": goods * imported * landed,
            "imported_freight": mass * imported * freight.imported * landed,
            "freight": mass * carriage,
        }
    )
