"""Why does the base case lie away from the middle of the draws?

The base case takes every assumption at its middle. Where one end of a row costs more than its
other end gains, draws lie on one side of the base case. A row's pull is the mean shift that such
a bend gives: half the bend over the square of the P90 score, for a curve of second order.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan
from sitefare.arrays import Array
from sitefare.questions.sampling_error import normal_score
from sitefare.questions.tornado import Bar, tornado

#: Normal score of P90. [1]
P90_SCORE = normal_score(0.8)


@dataclass(frozen=True)
class Pull:
    """A row whose ends are lopsided, and how far it alone would shift the mean. [same unit]"""

    bar: Bar
    shift: float


def pulls(
    plan: Plan, ends: Mapping[str, Array], indicator: str, *, upward: bool, count: int = 3
) -> tuple[Pull, ...]:
    """Return the rows that pull an indicator most to one side of its base, widest first.

    `ends` are those of `tornado.swings`. Rows without an answer at an end are left out.
    """
    found = tornado(plan, indicator, ends)
    made = []
    for bar in found.bars:
        bend = bar.low_result + bar.high_result - 2.0 * found.base
        shift = bend / (2.0 * P90_SCORE**2)
        if np.isfinite(shift) and (shift > 0) == upward and shift != 0:
            made.append(Pull(bar, shift))
    ranked = sorted(made, key=lambda p: (-abs(p.shift), p.bar.row.name))
    # Rows that tip the same step, such as one more worker, count once.
    single = [p for n, p in enumerate(ranked) if n == 0 or p.shift != ranked[n - 1].shift]
    return tuple(single[:count])
