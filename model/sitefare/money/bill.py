"""What must be bought to build this farm, how much of each, and what does it cost landed?

Prices are at the appraisal date in the site's currency, for goods at the supplier. Imported
goods carry freight, insurance, duty and clearing; every good carries inland carriage and
installation labour. Quantities follow the design, which is sized once; prices answer draws.
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
from sitefare.money.labour import WageInputs, hourly_cost

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
    phase: Any = choice("early", "even", "late", doc="When in construction it is paid.")
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
    price: Array = quantity(
        "money", low=0, drift="equipment", doc="Price of one unit at the supplier."
    )


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
        doc="Import duty and taxes not recovered, of cost landed.",
        fact="optional",
    )
    clearing: Array = quantity(
        "1", low=0, high=0.3, doc="Port, clearing and agent, of cost landed."
    )


@dataclass(frozen=True)
class Bill:
    """The priced bill: one column an item, in the order of the table.

    `quantity` and the fixed numbers are (items,); `goods`, `delivery`, `installation` and their
    sum `cost` are (draws, items). [money]
    """

    items: tuple[tuple[str, BillItem], ...]
    quantity: Array
    life: Array
    upkeep: Array
    goods: Array
    delivery: Array
    installation: Array
    cost: Array

    def grouped(self) -> dict[tuple[str, str, float], Array]:
        """Sum cost by category, phase and life, each (draws, 1). [money]"""
        places: dict[tuple[str, str, float], list[int]] = {}
        for n, (_, item) in enumerate(self.items):
            key = (str(item.category), str(item.phase), float(self.life[n]))
            places.setdefault(key, []).append(n)
        return {key: np.sum(self.cost[:, at], axis=1, keepdims=True) for key, at in places.items()}


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


def priced_bill(values: Values, design: Design) -> Bill:
    """Price every item of the bill, delivered and installed.

    Landed cost of an import: goods, freight by mass, insurance on both (together the cost,
    insurance and freight of Incoterms CIF), then duty and clearing on that sum. Cost follows
    size by a power law (rule of six-tenths; Williams 1947) where the item gives an exponent.
    """
    found = listed(values, design)
    freight = build(FreightInputs, values)
    amount = np.array([n for _, _, n in found])
    price = np.concatenate(np.broadcast_arrays(*[item.price for _, item, _ in found]), axis=1)
    scale = (amount / _column(found, "reference")) ** (_column(found, "exponent") - 1.0)
    imported = np.array([float(item.origin == "imported") for _, item, _ in found])
    mass = _column(found, "mass") * amount
    goods = price * (amount * scale)
    at_port = (goods + mass * freight.imported) * (1.0 + freight.insurance)
    import_cost = at_port * (1.0 + freight.duty + freight.clearing) - goods
    carriage = imported * freight.inland + (1.0 - imported) * freight.local
    delivery = imported * import_cost + mass * carriage
    wage = hourly_cost(build(WageInputs, values), "technician")
    installation = _column(found, "install") * amount * wage
    return Bill(
        tuple((key, item) for key, item, _ in found),
        amount,
        _column(found, "life"),
        _column(found, "upkeep"),
        goods,
        delivery,
        installation,
        goods + delivery + installation,
    )
