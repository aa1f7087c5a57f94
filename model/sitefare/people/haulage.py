"""What becomes of food, and of its price, on the way from a market far off?

A kilogram is bought at the source market, carried, and loses a share of itself each day on the
way; what arrives carries the cost of what was lost. Prices at the appraisal date, fish whole.
Freight by road is for a loaded tonne and kilometre, the empty way back in it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, monthly, quantity

#: Kilograms of a tonne. [kg/t]
TONNE = 1000.0


@inputs("months_open")
class MonthsOpenInputs:
    """In which months local markets have the food, and trucks can pass."""

    vegetables: Array = monthly(
        "1",
        low=0,
        high=1,
        doc="Local markets: share of the month in which they have vegetables.",
        fact="optional",
    )
    fish: Array = monthly(
        "1",
        low=0,
        high=1,
        doc="Local markets: share of the month in which they have fish.",
        fact="optional",
    )
    road: Array = monthly(
        "1", low=0, high=1, doc="Share of the month in which trucks can pass.", fact="optional"
    )


@inputs("haulage")
class HaulageInputs:
    """Food trucked in, chilled, from a source market."""

    road: str = choice("yes", "no", doc="Whether a road leads to a source market.", fact="optional")
    distance: Array = quantity(
        "km", low=0, high=20000, doc="Road distance to the source market.", fact="optional"
    )
    price_ratio_vegetables: Array = quantity(
        "1",
        low=0,
        high=5,
        doc="Vegetables: wholesale price at the source market over the local price.",
        fact="optional",
    )
    price_ratio_fish: Array = quantity(
        "1",
        low=0,
        high=5,
        doc="Fish: wholesale price at the source market over the local price.",
        fact="optional",
    )
    freight: Array = quantity(
        "money/t/km", low=0, drift="freight", doc="Chilled trucks: freight of a tonne-kilometre."
    )
    handling: Array = quantity(
        "money/kg", low=0, drift="freight", doc="Crates, loading and unloading on the way."
    )
    border: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Border, permit and road fees on food brought in.",
        fact="optional",
    )
    running: Array = quantity(
        "1",
        low=0,
        high=5,
        doc="Food brought in: buying, storing and handing out, over its landed cost.",
    )
    pace: Array = quantity("km/day", low=10, high=2000, doc="Trucks: way made in a day.")
    waiting: Array = quantity(
        "day", low=0, high=60, doc="Trucks: days of loading, borders and unloading."
    )
    loss_vegetables: Array = quantity(
        "1/day", low=0, high=0.5, doc="Chilled trucks: vegetables lost in a day."
    )
    loss_fish: Array = quantity(
        "1/day", low=0, high=0.5, doc="Chilled trucks: fish on ice lost in a day."
    )
    emissions: Array = quantity(
        "kg/t/km", low=0, high=3, doc="Chilled trucks: CO2-equivalent of a tonne-kilometre."
    )


@inputs("shipping")
class ShippingInputs:
    """Food shipped in, chilled or frozen, to a port near the site."""

    route: str = choice("none", "sea", doc="Whether food can come by sea.", fact="optional")
    distance: Array = quantity(
        "km", low=0, high=40000, doc="Sea distance from the source port.", fact="optional"
    )
    price_ratio_vegetables: Array = quantity(
        "1",
        low=0,
        high=5,
        doc="Vegetables: price at the source port over the local price.",
        fact="optional",
    )
    price_ratio_fish: Array = quantity(
        "1",
        low=0,
        high=5,
        doc="Fish: price at the source port over the local price.",
        fact="optional",
    )
    freight: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Sea freight of chilled food, port charges in it.",
        fact="optional",
    )
    days: Array = quantity("day", low=0, high=120, doc="Days at sea and in ports.", fact="optional")
    loss_vegetables: Array = quantity(
        "1/day", low=0, high=0.5, doc="Chilled containers: vegetables lost in a day."
    )
    loss_fish: Array = quantity(
        "1/day", low=0, high=0.5, doc="Containers: frozen fish lost in a day."
    )
    emissions: Array = quantity(
        "kg/t/km", low=0, high=1, doc="Chilled containers: CO2-equivalent of a tonne-kilometre."
    )


@dataclass(frozen=True)
class Way:
    """A way from a source market, (draws, 1).

    `ratio` source price over local price by group [1]; `carried` cost of bringing a kilogram
    loaded [money/kg]; `loss` share lost on the way by group [1]; `emissions` of carrying a
    kilogram loaded [kg/kg]; `days` on the way [day].
    """

    ratio: Mapping[str, Array]
    carried: Array
    loss: Mapping[str, Array]
    emissions: Array
    days: Array


def way_loss(per_day: Array, days: Array) -> Array:
    """Return the share lost in some days, each taking its share of what is left. [1]

    Parameters
    ----------
    per_day : array, shape (draws, 1)
        Share lost in a day. [1/day]
    days : array, shape (draws, 1)
        Days on the way. [day]
    """
    return np.asarray(1.0 - (1.0 - per_day) ** days)


def left_after(*losses: Array) -> Array:
    """Return the share left after stages that each lose a share of what reaches them. [1]"""
    left = np.ones((1, 1))
    for loss in losses:
        left = left * (1.0 - loss)
    return left


def landed(price: Array, carried: Array, loss: Array) -> Array:
    """Return the cost of a kilogram that arrives: all is paid for, a part is lost. [money/kg]

    Parameters
    ----------
    price, carried : array, shape (draws, 1)
        Price at the source, and cost of bringing a kilogram loaded. [money/kg]
    loss : array, shape (draws, 1)
        Share lost on the way. [1]
    """
    return (price + carried) / (1.0 - loss)


def road(values: Values) -> Way:
    """Return the way by road from the source market."""
    truck = build(HaulageInputs, values)
    days = truck.distance / truck.pace + truck.waiting
    return Way(
        ratio={"vegetables": truck.price_ratio_vegetables, "fish": truck.price_ratio_fish},
        carried=truck.freight * truck.distance / TONNE + truck.handling + truck.border,
        loss={
            "vegetables": way_loss(truck.loss_vegetables, days),
            "fish": way_loss(truck.loss_fish, days),
        },
        emissions=truck.emissions * truck.distance / TONNE,
        days=days,
    )


def sea(values: Values, inland: Array) -> Way:
    """Return the way by sea, with carriage from the port to the site.

    Parameters
    ----------
    values : mapping
        Resolved values.
    inland : array, shape (draws, 1)
        Carriage from the port to the site. [money/kg]
    """
    ship, truck = build(ShippingInputs, values), build(HaulageInputs, values)
    return Way(
        ratio={"vegetables": ship.price_ratio_vegetables, "fish": ship.price_ratio_fish},
        carried=ship.freight + truck.handling + truck.border + inland,
        loss={
            "vegetables": way_loss(ship.loss_vegetables, ship.days),
            "fish": way_loss(ship.loss_fish, ship.days),
        },
        emissions=ship.emissions * ship.distance / TONNE,
        days=ship.days,
    )
