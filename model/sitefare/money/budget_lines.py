"""Which lines of capital does a funder's budget list, and when is each spent?

Every item of the bill stands as up to three lines: goods with duty and clearing, freight and
carriage, installation; then what is added to the bill, each on its own line. A line is quantity
× unit cost × months × share charged, at appraisal-date prices; `by_month` is the same money,
nominal, in the months it is spent. The lines of one case add up to its capital budget.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values
from sitefare.money.capital import Budget
from sitefare.money.delivery import COMPONENTS
from sitefare.money.phases import phase_weights
from sitefare.money.prices import PricePaths
from sitefare.timeline import Timeline

#: Parts of an item's cost by the price paths they follow.
PARTS = {
    "goods": ("equipment", "imported"),
    "freight": ("imported_freight", "freight"),
    "installation": ("wages",),
}

#: What is added to the bill: title and phase of payment.
ADDED = {
    "unlisted": ("Items not listed", ""),
    "overrun": ("Overrun of the reference class", ""),
    "design": ("Design, tender and supervision", "early"),
    "vat": ("Value-added tax not recovered", ""),
    "contingency": ("Contingency", "even"),
}


@dataclass(frozen=True)
class BudgetLine:
    """One line of capital, first draw: `cost` = quantity × unit cost × months × share. [money]

    `category` is the bill's; `part` is goods, freight, installation or sum; `by_month` is
    (months + 1,), nominal.
    """

    key: str
    title: str
    category: str
    part: str
    quantity: float
    unit: str
    unit_cost: float
    months: float
    share: float
    cost: float
    by_month: Array


def capital_lines(
    values: Values, parts: Budget, paths: PricePaths, timeline: Timeline
) -> tuple[BudgetLine, ...]:
    """Return every line of the capital budget of one case, land last. [money]"""
    path = np.array([np.broadcast_to(paths[c], (1, timeline.months + 1))[0] for c in COMPONENTS])
    weights = {name: w[0] for name, w in phase_weights(values, timeline).items()}
    items = tuple(_item_lines(parts, path, weights))
    return (*items, *_added_lines(parts, path, weights), *_land_line(parts, timeline))


def _item_lines(parts: Budget, path: Array, weights: dict[str, Array]) -> Iterator[BudgetLine]:
    """Yield the lines of the bill, an item's parts together."""
    bill = parts.bill
    for n, (key, item) in enumerate(bill.items):
        amount = float(bill.quantity[n])
        for part, names in PARTS.items():
            costs = np.array(
                [
                    x if c in names else 0.0
                    for c, x in zip(COMPONENTS, bill.parts[0, :, n], strict=True)
                ]
            )
            cost = float(np.sum(costs))
            if cost > 0:
                spent = np.sum(costs[:, None] * path, axis=0) * weights[str(item.phase)]
                yield BudgetLine(
                    key, str(item.title), str(item.category), part, amount, str(item.per),
                    cost / amount, 1.0, 1.0, cost, spent,
                )  # fmt: skip


def _added_lines(parts: Budget, path: Array, weights: dict[str, Array]) -> Iterator[BudgetLine]:
    """Yield what is added to the bill, spent as the works are where it has no phase of its own."""
    works = _works_by_phase(parts)
    whole = sum(works.values(), np.zeros(len(COMPONENTS)))
    for key, (title, phase) in ADDED.items():
        cost = float(getattr(parts, key)[0, 0])
        split = {phase: whole} if phase else works
        spent = sum(
            (np.sum(x[:, None] * path, axis=0) * weights[p] for p, x in split.items()),
            np.zeros(path.shape[1]),
        )
        if key == "vat":
            # Tax follows the works and their design, each in its own months.
            ahead = np.sum(whole[:, None] * path, axis=0) * weights["early"]
            design = float(parts.design[0, 0] / (parts.works + parts.design)[0, 0])
            spent = spent * (1.0 - design) + ahead * design
        if cost > 0:
            by_month = cost * spent / np.sum(whole)
            yield BudgetLine(key, title, key, "sum", 1.0, "sum", cost, 1.0, 1.0, cost, by_month)


def _works_by_phase(parts: Budget) -> dict[str, Array]:
    """Sum the bill by phase, (components,) each. [money]"""
    found: dict[str, Array] = {}
    for (_, phase, *_rest), cost in parts.bill.grouped().items():
        found[phase] = found.get(phase, np.zeros(len(COMPONENTS))) + cost[0]
    return found


def _land_line(parts: Budget, timeline: Timeline) -> Iterator[BudgetLine]:
    """Yield land where it is bought, paid in month 0."""
    cost = float(parts.land[0, 0])
    if cost > 0:
        spent = cost * (timeline.month == 0)
        yield BudgetLine("land", "Land", "land", "sum", 1.0, "sum", cost, 1.0, 1.0, cost, spent)
