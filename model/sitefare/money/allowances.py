"""What does the tax law let the farm write off, and when, other than its books do?

The books write every asset off in equal months over its life. A tax class, one for each part of
the budget, may say otherwise: a share at once, the rest by a method over a life of its own.
A part without a class, and one that follows the books, is deducted as booked. A year is a
project year, month 0 with year 1; an asset counts from the month after it is paid for, and what
construction buys from the month after construction. What is not yet deducted when the appraisal
ends is deducted then, so over the whole life tax and books deduct the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
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
from sitefare.money.bill import CATEGORIES
from sitefare.money.depreciation import schedule
from sitefare.timeline import Timeline

#: Parts of the budget that are written off: those of the bill, and what is added to it.
WRITTEN_OFF = (*CATEGORIES, "design", "contingency")

BOOKS = "as_booked"


@inputs("allowance", keyed=True, table=True)
class AllowanceItem:
    """The tax class of one part of the budget."""

    title: Any = text(doc="What the class holds.")
    method: Any = choice(
        BOOKS,
        "straight_line",
        "declining_balance",
        "sum_of_years",
        doc="Method of tax allowance: as booked is straight line over each item's life.",
        fact="optional",
    )
    switch: Any = choice(
        "yes", "no", doc="Switch to straight line: once it writes off more than declining balance."
    )
    life: Array = quantity(
        "year",
        low=0,
        high=100,
        varies="choice",
        doc="Life in the tax law: 0 for each item's own.",
    )
    factor: Array = quantity(
        "1",
        low=0.5,
        high=4,
        varies="choice",
        doc="Factor of declining balance: its rate times the life.",
    )
    at_once: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of cost deducted at once, whatever the method.",
    )


@dataclass(frozen=True)
class Purchase:
    """An asset paid for in a month: nominal cost (draws, 1), months it lasts in the books. [money]

    `initial` marks what construction bought.
    """

    category: str
    month: int
    cost: Array
    months: int
    initial: bool


@dataclass(frozen=True)
class Timing:
    """Tax allowances less book depreciation, (draws, months + 1) or (1, 1) where none differs.

    `profit` is what to add to the booked profit; it sums to 0. `initial` is the difference on
    what construction bought, allowances positive, with which capital grants are taxed. [money]
    """

    profit: Array = field(default_factory=lambda: np.zeros((1, 1)))
    initial: Array = field(default_factory=lambda: np.zeros((1, 1)))


def first_part(convention: str, month: int) -> float:
    """Return the part of its first year in which an asset paid for in a month counts. [1]

    `mid_quarter` and `half_year` are the conventions of US IRS Publication 946.
    """
    passed = month % 12
    return {
        "full_year": 1.0,
        "half_year": 0.5,
        "mid_quarter": (3.5 - passed // 3) / 4.0,
        "monthly": (12.0 - passed) / 12.0,
    }[convention]


def differs(values: Values, key: str) -> bool:
    """Say whether a class deducts other than the books do."""
    at_once = np.asarray(values[f"allowance.{key}.at_once"], dtype=np.float64)
    return values[f"allowance.{key}.method"] != BOOKS or bool(np.any(at_once > 0))


def classes(values: Values) -> dict[str, AllowanceItem]:
    """Return the tax classes that differ from the books, by part of the budget.

    Raises
    ------
    AssumptionError
        If a class is named for no part of the budget.
    """
    keys = keys_of(AllowanceItem, values)
    for key in keys:
        if key not in WRITTEN_OFF:
            known = ", ".join(WRITTEN_OFF)
            msg = f"allowance.{key}: no part of the budget has this name; it has {known}"
            raise AssumptionError(msg)
    return {key: build(AllowanceItem, values, key) for key in keys if differs(values, key)}


def booked(bought: Purchase, shape: tuple[int, int]) -> Array:
    """Return the book's equal months of one purchase, to the end of the appraisal. [money]"""
    flow = np.zeros(shape)
    flow[:, bought.month + 1 : bought.month + bought.months + 1] = bought.cost / bought.months
    return flow


def deducted(item: AllowanceItem, bought: Purchase, convention: str, timeline: Timeline) -> Array:
    """Return the allowances of one purchase, each year's in its last month. [money]"""
    flow = np.zeros((len(bought.cost), timeline.months + 1))
    at_once = float(item.at_once[0, 0])
    year = bought.month // 12 + 1
    if item.method == BOOKS:
        flow += (1.0 - at_once) * booked(bought, flow.shape)
    else:
        life = float(item.life[0, 0]) or bought.months / 12.0
        shares = schedule(
            item.method,
            life,
            timeline.years - year + 1,
            factor=float(item.factor[0, 0]),
            switch=item.switch == "yes",
            first=first_part(convention, bought.month),
        )
        flow[:, 12 * year :: 12] += (1.0 - at_once) * shares * bought.cost
    flow[:, 12 * year] += at_once * bought.cost[:, 0]
    return flow


def timing(
    items: Mapping[str, AllowanceItem],
    purchases: tuple[Purchase, ...],
    convention: str,
    timeline: Timeline,
) -> Timing:
    """Return how tax allowances differ from book depreciation, month by month. [money]"""
    taxed = [one for one in purchases if one.category in items]
    if not taxed:
        return Timing()
    shape = (max(len(one.cost) for one in taxed), timeline.months + 1)
    profit, initial = np.zeros(shape), np.zeros(shape)
    for one in taxed:
        more = deducted(items[one.category], one, convention, timeline) - booked(one, shape)
        profit -= more
        initial += more if one.initial else 0.0
    # What either has not yet written off is deducted when the assets are sold.
    profit[:, -1:] -= np.sum(profit, axis=1, keepdims=True)
    return Timing(profit, initial)
