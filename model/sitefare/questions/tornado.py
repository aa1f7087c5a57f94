"""Which assumption moves the answer most, one at a time?

Each uncertain row swings from its 1-in-10 low to its 1-in-10 high with every other row at
base, so bars are equal-probability swings. All swings are one vectorised appraisal.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan, appraise, appraise_many
from sitefare.arrays import Array
from sitefare.assumptions.case import swung_values
from sitefare.assumptions.rows import Row


@dataclass(frozen=True)
class Bar:
    """One bar: the row, its ends, and the indicator at each end.

    Results are nan where undefined and inf where the answer is never.
    """

    row: Row
    low_result: float
    high_result: float

    @property
    def width(self) -> float:
        """Distance between the ends; infinite where one end has no answer."""
        ends = (self.low_result, self.high_result)
        if not all(np.isfinite(ends)):
            return float("inf") if ends[0] != ends[1] else 0.0
        return abs(ends[1] - ends[0])


@dataclass(frozen=True)
class Tornado:
    """Bars of one indicator, widest first, and its base."""

    indicator: str
    base: float
    bars: tuple[Bar, ...]


def swings(plan: Plan) -> dict[str, Array]:
    """Appraise both ends of every uncertain row at once: indicators, (2 × rows, 1) each.

    Draws 2i and 2i + 1 are the low and high end of `plan.case.uncertain[i]`.
    """
    moves: list[tuple[str, float]] = []
    for name in plan.case.uncertain:
        row = plan.case.rows[name]
        if row.low is not None and row.high is not None:
            moves += [(name, row.low), (name, row.high)]
    return appraise_many(plan, swung_values(plan.case, moves)) if moves else {}


def tornado(plan: Plan, indicator: str, ends: Mapping[str, Array] | None = None) -> Tornado:
    """Return the bars of one indicator over all uncertain rows, widest first."""
    found = swings(plan) if ends is None else ends
    base = float(appraise(plan).indicators[indicator][0, 0])
    rows = [plan.case.rows[name] for name in plan.case.uncertain]
    x = found[indicator][:, 0] if found else np.zeros(0)
    bars = [Bar(row, float(x[2 * i]), float(x[2 * i + 1])) for i, row in enumerate(rows)]
    ordered = sorted(bars, key=lambda bar: (-bar.width, bar.row.name))
    return Tornado(indicator, base, tuple(ordered))
