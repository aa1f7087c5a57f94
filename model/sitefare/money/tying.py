"""What is it worth today to wait for a month's money, or to pay it later?

Working capital is a sum of shares of flows of other months, so its present value is a weight on
each month's flow. The weights are found once; every part of the plan that moves uses them.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values, build
from sitefare.money.vat import LONGEST_WAIT, VatInputs, reclaimed
from sitefare.money.working_capital import LONGEST, WorkingCapitalInputs


@dataclass(frozen=True)
class Tying:
    """Present value of the cash that a unit of flow ties up or frees, by month of the flow. [1]

    Of sales `received` late, costs bought `on_credit`, costs of what is `stocked`, and costs on
    which value-added tax is paid and reclaimed (`taxed`).
    """

    received: Array
    on_credit: Array
    stocked: Array
    taxed: Array

    def worth(
        self,
        *,
        received: Array | None = None,
        on_credit: Array | None = None,
        stocked: Array | None = None,
        taxed: Array | None = None,
    ) -> Array:
        """Return the present value of what a part's sales and costs tie up, (draws, 1). [money]"""
        pairs = (
            (received, self.received),
            (on_credit, self.on_credit),
            (stocked, self.stocked),
            (taxed, self.taxed),
        )
        parts = [np.sum(x * weight, axis=1, keepdims=True) for x, weight in pairs if x is not None]
        return np.asarray(sum(parts, np.zeros((1, 1))))


def tying(values: Values, factors: Array) -> Tying:
    """Return the weights for discount factors of nominal money, (draws, months + 1). [1]"""
    days, tax = build(WorkingCapitalInputs, values), build(VatInputs, values)
    # A balance held for a month is paid in now and out a month later; none stands in the last.
    held = np.asarray(factors - np.roll(factors, -1, axis=1))
    held[:, -1] = 0.0
    most = LONGEST * 12 // 365 + 1
    return Tying(
        received=-_later(held, days.receivable_days / MEAN_MONTH, most),
        on_credit=_later(held, days.payable_days / MEAN_MONTH, most),
        stocked=-_before(held, days.stock_days / MEAN_MONTH, most),
        taxed=-reclaimed(tax, _later(held, tax.wait, LONGEST_WAIT)),
    )


def _later(held: Array, months: Array, most: int) -> Array:
    """Return what it takes to hold a month's flow for some months after it. [1]"""
    weight = np.zeros(np.broadcast_shapes(held.shape, months.shape))
    for on in range(min(most, held.shape[1])):
        share = np.clip(months - on, 0.0, 1.0)
        if np.any(share > 0.0):
            weight[:, : held.shape[1] - on] += share * held[:, on:]
    return weight


def _before(held: Array, months: Array, most: int) -> Array:
    """Return what it takes to hold a month's flow for some months before it. [1]"""
    weight = np.zeros(np.broadcast_shapes(held.shape, months.shape))
    for back in range(1, most + 1):
        share = np.clip(months - (back - 1), 0.0, 1.0)
        if np.any(share > 0.0):
            weight[:, back:] += share * held[:, :-back]
    return weight
