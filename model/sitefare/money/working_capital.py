"""How much money is tied up between paying and being paid?

Receivables, stocks and payables follow the flows of the last months by their days; all are
settled in the last month of the appraisal.
"""

from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity

LONGEST = 120


@inputs("working_capital")
class WorkingCapitalInputs:
    """Days of credit and stock."""

    receivable_days: Array = quantity(
        "day", low=0, high=LONGEST, doc="Days until buyers outside the people served pay."
    )
    payable_days: Array = quantity("day", low=0, high=LONGEST, doc="Days of suppliers' credit.")
    stock_days: Array = quantity(
        "day", low=0, high=LONGEST, doc="Days of feed, dosing and packing held."
    )


@dataclass(frozen=True)
class WorkingCapital:
    """Balances at month ends and the cash they take, (draws, months + 1). [money]"""

    receivables: Array
    stock: Array
    payables: Array
    cash: Array


def trailing(flow: Array, days: Array) -> Array:
    """Return the last `days` of a monthly flow as a balance, nothing in the last month. [money]"""
    balance = np.zeros(np.broadcast_shapes(flow.shape, days.shape))
    for back in range(LONGEST * 12 // 365 + 1):
        share = np.clip(days / MEAN_MONTH - back, 0.0, 1.0)
        balance[:, back:] += share * flow[:, : flow.shape[1] - back]
    balance[:, -1] = 0.0
    return balance


def working_capital(
    values: Values, sales: Array, on_credit: Array, stocked: Array
) -> WorkingCapital:
    """Return balances and the cash flow of their changes; money in is positive."""
    days = build(WorkingCapitalInputs, values)
    receivables = trailing(sales, days.receivable_days)
    stock = trailing(stocked, days.stock_days)
    payables = trailing(on_credit, days.payable_days)
    net = payables - receivables - stock
    return WorkingCapital(receivables, stock, payables, np.diff(net, axis=1, prepend=0.0))


def with_refunds(tied_up: WorkingCapital, awaited: Array) -> WorkingCapital:
    """Return the balances with tax to be refunded among what others owe. [money]"""
    cash = tied_up.cash - np.diff(awaited, axis=1, prepend=0.0)
    return replace(tied_up, receivables=tied_up.receivables + awaited, cash=cash)
