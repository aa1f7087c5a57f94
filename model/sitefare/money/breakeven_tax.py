"""At which multiplier is the project worth nothing once tax is counted?

Every part and draw that asks is one row of one search: rows know nothing of each other, and a
finished row is left as it is. Tax is charged by year, so a row is a few yearly sums; years stand
first, so that the rows of a year lie together.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array
from sitefare.money.tax import YearlyTax

STEPS, CLOSE = 60, 1e-13

#: A multiplier beyond this is never: rounding alone then keeps tax below what more brings. [1]
MOST = 1e9


@dataclass(frozen=True)
class Rows:
    """What the rows of a search know.

    `tax` is the plan's, `profit` and `sales` those of the part that moves, (years + 1, rows)
    [money]; `factors` (years, rows) bring tax to the appraisal date [1]; `plain` is the answer
    without tax [1] and `worth` the part's present value [money], both (rows,).
    """

    tax: YearlyTax
    profit: Array
    sales: Array
    factors: Array
    plain: Array
    worth: Array

    def of(self, rows: npt.NDArray[np.intp]) -> "Rows":
        """Return some of the rows."""
        each = (self.profit, self.sales, self.factors, self.plain, self.worth)
        return Rows(self.tax.of_draws(rows), *(picked(x, rows) for x in each))

    def lacking(self, s: Array) -> Array:
        """Return how much more is needed than s, the multiplier times the sign of its worth. [1]"""
        sign = np.where(self.worth < 0, -1.0, 1.0)
        more = sign * s - 1.0
        due = self.tax.with_more(more * self.profit, more * self.sales).due()[0]
        paid = np.sum(due[1:] * self.factors, axis=0)
        return np.asarray(sign * self.plain + paid / np.abs(self.worth) - s)


def picked(x: Array, rows: npt.NDArray[np.intp]) -> Array:
    """Pick rows along the last axis; what is the same in every row is repeated. [same unit]"""
    if x.shape[-1] == 1:
        return np.broadcast_to(x, (*x.shape[:-1], rows.size))
    return np.take(x, rows, axis=-1)


def taxed_multiplier(rows: Rows) -> Array:
    """Return the answer with tax from the one without, (rows,): tax can only ask for more. [1]

    With s = multiplier × sign of the part's worth, value rises in s and is concave, so secant
    steps from the left do not pass the root; a step that leaves the bracket is halved instead.
    Infinite beyond `MOST`: tax takes what more of the part brings.
    """
    sign = np.where(rows.worth < 0, -1.0, 1.0)
    # What is lacking falls to zero as s rises; at the untaxed answer it is the tax.
    low = sign * rows.plain
    short = rows.lacking(low)
    x, high = low + short, np.full(low.shape, np.inf)
    answer, open_ = x.copy(), np.arange(x.size)
    for _ in range(STEPS):
        at_x = rows.lacking(x)
        going = np.flatnonzero((np.abs(at_x) > CLOSE * (1.0 + np.abs(x))) & (x <= MOST))
        if not going.size:
            break
        if going.size < x.size:
            rows, open_ = rows.of(going), open_[going]
            at_x, x, low, high, short = (each[going] for each in (at_x, x, low, high, short))
        under = at_x > 0
        slope = np.where(x == low, -1.0, (at_x - short) / np.where(x == low, 1.0, x - low))
        high = np.where(under, high, x)
        step = x - at_x / np.where(slope < 0, slope, -1.0)
        short, low = np.where(under, at_x, short), np.where(under, x, low)
        middle = np.where(np.isfinite(high), (low + high) / 2.0, step)
        x = np.where((step > low) & (step < high), step, middle)
        answer[open_] = x
    found: Array = sign * np.where(answer > MOST, np.inf, answer)
    return found
