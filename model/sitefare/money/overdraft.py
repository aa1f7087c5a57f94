"""What carries the farm through months when cash runs out?

An overdraft is drawn when free cash would end a month below the least the owner keeps, up to
its limit, and repaid from the first cash above it; interest is paid monthly on the opening
balance. What the limit cannot cover stands as cash below zero: then the plan fails. In the last
month it is repaid. Each month's debt carries over, so the months are walked one by one.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.money.project import draws_of
from sitefare.timeline import Timeline


@inputs("treasury")
class TreasuryInputs:
    """How short spells of cash are borne."""

    overdraft_share: Array = quantity(
        "1", low=0, high=2, varies="choice", doc="Overdraft limit, of the planned capital need."
    )
    overdraft_interest: Array = quantity(
        "1/year", low=0, high=2, varies="choice", doc="Overdraft interest, effective a year."
    )
    minimum_months: Array = quantity(
        "month",
        low=0,
        high=24,
        varies="choice",
        doc="Least cash kept, in months of the year's cash running costs.",
    )


@dataclass(frozen=True)
class Facility:
    """An overdraft agreed: limit (draws, 1), monthly rate (draws, 1), least cash by month."""

    limit: Array
    rate: Array
    floor: Array

    @property
    def open(self) -> bool:
        """Whether any overdraft is agreed."""
        return bool(np.any(self.limit > 0))


@dataclass(frozen=True)
class Overdraft:
    """The overdraft by month, (draws, months + 1): balance at month end, interest paid. [money]"""

    balance: Array
    interest: Array

    @property
    def drawn(self) -> Array:
        """Cash drawn less repaid. [money]"""
        return np.diff(self.balance, axis=1, prepend=0.0)


def facility(terms: TreasuryInputs, need: Array, costs: Array, timeline: Timeline) -> Facility:
    """Return the overdraft agreed and the least cash kept.

    Parameters
    ----------
    need : Array, shape (draws, 1)
        Capital need as planned. [money]
    costs : Array, shape (draws, months + 1)
        Running costs paid in cash. [money]
    """
    monthly = timeline.by_year(costs)[:, timeline.year] / 12.0
    floor = np.asarray(terms.minimum_months * monthly)
    floor[:, 0] = floor[:, -1] = 0.0
    rate = np.asarray((1.0 + terms.overdraft_interest) ** (1.0 / 12.0) - 1.0)
    return Facility(terms.overdraft_share * need, rate, floor)


def overdraft(flow: Array, agreed: Facility) -> Overdraft:
    """Return the overdraft that a flow of free cash calls for. [money]"""
    draws = draws_of(flow, agreed.limit, agreed.floor)
    balance, interest = np.zeros((draws, flow.shape[1])), np.zeros((draws, flow.shape[1]))
    cash, owed = np.zeros((draws, 1)), np.zeros((draws, 1))
    for month in range(flow.shape[1]):
        at = slice(month, month + 1)
        interest[:, at] = owed * agreed.rate
        cash = cash + flow[:, at] - interest[:, at]
        limit = agreed.limit if month < flow.shape[1] - 1 else np.zeros((1, 1))
        new = np.clip(owed + agreed.floor[:, at] - cash, 0.0, limit)
        cash, owed = cash + new - owed, new
        balance[:, at] = owed
    return Overdraft(balance, interest)


def settled(cash_flow: Callable[[Array], Array], agreed: Facility, years: int) -> Overdraft:
    """Return the overdraft whose own interest the cash flow counts, tax relief included. [money]

    `cash_flow` gives free cash, interest of the overdraft left out, for that interest by month:
    interest moves tax, tax moves cash. A year's tax only moves later interest, so as many
    passes as years reach the answer exactly, and few do in practice.
    """
    if not agreed.open:
        return Overdraft(np.zeros(agreed.floor.shape), np.zeros(agreed.floor.shape))
    made = overdraft(cash_flow(np.zeros((1, 1))), agreed)
    for _ in range(years + 1):
        new = overdraft(cash_flow(made.interest), agreed)
        size = np.max(np.abs(new.balance), axis=1, keepdims=True)
        steady = np.all(np.abs(new.interest - made.interest) <= 1e-15 * size)
        made = new
        if steady:
            break
    return made
