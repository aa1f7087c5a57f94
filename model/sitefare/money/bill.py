"""What must be bought to build this farm, how much of each, and what does it cost landed?

Prices are at the appraisal date in the site's currency, for goods at the supplier; each moves
there by its own price index. What brings goods to the site is `delivery`'s, what wind adds
`wind`'s; every item carries installation labour. Quantities follow the design, which is sized
once; prices answer draws.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import (
    Values,
    build,
    choice,
    inputs,
    keys_of,
    quantity,
    text,
)
from sitefare.errors import AssumptionError
from sitefare.farm.result import Design
from sitefare.money.delivery import COMPONENTS, comes_from, delivered
from sitefare.money.labour import WageInputs, hourly_cost
from sitefare.money.phases import PHASES
from sitefare.money.wind import price_factor

CATEGORIES = (
    "site_works",
    "structure",
    "beds",
    "fish",
    "water",
    "air",
    "climate",
    "energy",
    "hygiene",
    "post_harvest",
    "operation",
    "preparation",
)

#: Items that no budget, scenario or override may remove.
ESSENTIAL = (
    "standby_blower",
    "backup_oxygen",
    "alarm",
    "spare_pump",
    "water_test_kit",
    "hand_washing",
    "quarantine_tank",
    "purge_tank",
    "wash_water",
    "toilet",
    "packing_area",
    "cold_store",
    "slaughter_area",
    "pest_exclusion",
)


@inputs("bill", keyed=True, measure="price")
class BillItem:
    """One item of the bill of quantities; `price` is for one unit, named by `per`."""

    title: Any = text(doc="What the item is.")
    category: Any = choice(*CATEGORIES, doc="Part of the budget.")
    driver: Any = text(doc="Size of the design that the quantity follows.")
    per: Any = text(doc="Unit in words of one unit of quantity.")
    where: Any = text(
        doc="'any', or the kinds it belongs to, such as bed=media or enclosure=single_film|open."
    )
    origin: Any = choice("local", "imported", doc="Whether it is bought in the country.")
    essential: Any = choice("yes", "no", doc="Whether life support or hygiene forbids removal.")
    phase: Any = choice(*PHASES, doc="When in construction it is paid.")
    index: Any = text(doc="Price index that brings its price to the appraisal date.")
    per_driver: Array = quantity(
        "1", low=0, varies="choice", doc="Quantity for one unit of driver."
    )
    minimum: Array = quantity(
        "1", low=0, varies="choice", doc="Least quantity where the driver is above zero."
    )
    piece: Array = quantity(
        "1", low=0, varies="choice", doc="Size of a whole piece; 0 where it is bought by measure."
    )
    exponent: Array = quantity(
        "1",
        low=0.3,
        high=1,
        varies="choice",
        doc="Cost exponent of size: cost goes as (quantity ÷ reference)^exponent.",
    )
    reference: Array = quantity(
        "1", low=1e-9, varies="choice", doc="Quantity at which the price is given."
    )
    life: Array = quantity(
        "year", low=0, high=100, varies="choice", doc="Years until replaced; 0 never replaced."
    )
    mass: Array = quantity(
        "kg", low=0, varies="choice", doc="Chargeable shipping mass of a unit, the bulk included."
    )
    install: Array = quantity("h", low=0, varies="choice", doc="Installation labour a unit.")
    upkeep: Array = quantity(
        "1/year", low=0, high=1, varies="choice", doc="Yearly upkeep as a share of its cost."
    )
    overhaul: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Overhaul at half its life, share of its cost."
    )
    wind: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of the wind's exponent in its price."
    )
    storm: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Share of its cost that a storm breaks."
    )
    price: Array = quantity(
        "money", low=0, drift="equipment", doc="Price of one unit at the supplier."
    )


@dataclass(frozen=True)
class Bill:
    """The priced bill: one column an item, in the order of the table.

    `quantity`, the fixed numbers and `imported` (1 where bought abroad) are (items,); `goods`,
    `delivery`, `installation` and their sum `cost` are (draws, items), and `parts` the same cost
    by the price path that each part follows, (draws, components, items) in the order of
    `delivery.COMPONENTS`. [money]
    """

    items: tuple[tuple[str, BillItem], ...]
    quantity: Array
    life: Array
    upkeep: Array
    overhaul: Array
    storm: Array
    imported: Array
    parts: Array
    goods: Array
    delivery: Array
    installation: Array
    cost: Array

    def grouped(self) -> dict[tuple[str, str, float, float], Array]:
        """Sum cost by category, phase, life and overhaul, each (draws, components). [money]"""
        places: dict[tuple[str, str, float, float], list[int]] = {}
        for n, (_, item) in enumerate(self.items):
            key = (str(item.category), str(item.phase), float(self.life[n]), self.overhaul[n])
            places.setdefault(key, []).append(n)
        return {key: np.sum(self.parts[:, :, at], axis=2) for key, at in places.items()}


def belongs(where: str, design: Design, key: str) -> bool:
    """Say whether an item belongs to the design's enclosure, bed or species.

    Raises
    ------
    AssumptionError
        If the condition names anything else.
    """
    if where == "any":
        return True
    kinds = {"enclosure": design.enclosure, "bed": design.bed_kind, "species": design.species}
    name, _, options = where.partition("=")
    if name not in kinds or not options:
        msg = (
            f"bill.{key}.where: '{where}' is not 'any', nor enclosure=, bed= or species= with kinds"
        )
        raise AssumptionError(msg)
    return kinds[name] in options.split("|")


def driver_of(design: Design, name: str, owner: str) -> float:
    """Return one size of the design. [the driver's own unit]

    Raises
    ------
    AssumptionError
        If the design has no such size.
    """
    try:
        return float(design.drivers[name])
    except KeyError:
        known = ", ".join(sorted(design.drivers))
        msg = f"{owner}: the design has no size '{name}'; it has {known}"
        raise AssumptionError(msg) from None


def bought(item: BillItem, size: float) -> float:
    """Return the quantity bought for a size of the driver, in whole pieces. [item unit]"""
    if size <= 0:
        return 0.0
    amount = max(float(item.minimum[0, 0]), float(item.per_driver[0, 0]) * size)
    piece = float(item.piece[0, 0])
    return float(np.ceil(amount / piece - 1e-9) * piece) if piece > 0 else amount


def _check_essential(key: str, item: BillItem | None, amount: float) -> None:
    if item is None or item.essential == "no" or amount <= 0 or np.any(item.price <= 0):
        title = item.title if item else key
        msg = (
            f"bill.{key}: '{title}' is essential to life support or hygiene and cannot be removed; "
            "keep it marked essential, with a quantity and a price above zero"
        )
        raise AssumptionError(msg)


def listed(values: Values, design: Design) -> list[tuple[str, BillItem, float]]:
    """List the items that this design buys: key, item, quantity.

    Raises
    ------
    AssumptionError
        If an essential item is missing or set to nothing, or a driver is not known.
    """
    found = []
    for key in keys_of(BillItem, values):
        if not belongs(str(values[f"bill.{key}.where"]), design, key):
            continue
        item = build(BillItem, values, key)
        amount = bought(item, driver_of(design, str(item.driver), f"bill.{key}.driver"))
        if item.essential == "yes":
            _check_essential(key, item, amount)
        if amount > 0:
            found.append((key, item, amount))
    have = {key: (item, amount) for key, item, amount in found}
    for key in ESSENTIAL:
        _check_essential(key, *have.get(key, (None, 0.0)))
    return found


def _column(found: list[tuple[str, BillItem, float]], name: str) -> Array:
    return np.array([float(getattr(item, name)[0, 0]) for _, item, _ in found])


def units_of_cost(amount: Array, reference: Array, exponent: Array) -> Array:
    """Return how many units' price a quantity costs: n × (n ÷ reference)^(exponent − 1). [unit]

    The rule of six-tenths (Williams 1947, Chemical Engineering 54(12):124): cost goes as
    size^exponent, and the price holds at the reference size.
    """
    cost: Array = amount * (amount / reference) ** (exponent - 1.0)
    return cost


def priced_bill(values: Values, design: Design) -> Bill:
    """Price every item of the bill, delivered and installed.

    Cost follows size by a power law where the item gives an exponent, and a structure's price
    and mass follow the design gust.
    """
    found = listed(values, design)
    amount = np.array([n for _, _, n in found])
    price = np.concatenate(np.broadcast_arrays(*[item.price for _, item, _ in found]), axis=1)
    units = units_of_cost(amount, _column(found, "reference"), _column(found, "exponent"))
    strength = price_factor(values, _column(found, "wind"))
    goods = price * units * strength
    mass = _column(found, "mass") * amount * strength
    imported = np.array([float(_abroad(values, item)) for _, item, _ in found])
    brought = delivered(values, goods, mass, imported)
    wage = hourly_cost(build(WageInputs, values), "technician")
    installation = _column(found, "install") * amount * wage
    parts = {**brought.parts, "wages": installation}
    alike = np.broadcast_arrays(*[parts[name] for name in COMPONENTS])
    return Bill(
        items=tuple((key, item) for key, item, _ in found),
        quantity=amount,
        life=_column(found, "life"),
        upkeep=_column(found, "upkeep"),
        overhaul=_column(found, "overhaul"),
        storm=_column(found, "storm"),
        imported=imported,
        parts=np.stack(alike, axis=1),
        goods=goods,
        delivery=brought.cost - goods,
        installation=installation,
        cost=brought.cost + installation,
    )


def _abroad(values: Values, item: BillItem) -> bool:
    """Say whether an item is bought abroad at this site."""
    mass = float(item.mass[0, 0])
    return comes_from(values, str(item.category), str(item.origin), mass) == "imported"
