"""How far could each answer lie, draw by draw?

Low and high are P10 and P90 as order statistics of the draws. A 'never' ranks above every
number and is never dropped; where an answer is undefined in more than 5 % of draws there is
no range.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan, appraise_blocks, sampled_values, stacked
from sitefare.arrays import Array, order_statistic

MONTHS_A_YEAR = 12

#: Share of undefined draws above which no range is given. [1]
UNDEFINED_AT_MOST = 0.05


@dataclass(frozen=True)
class Spread:
    """Range of one indicator over draws.

    `low`, `median` and `high` are None where there is no finite answer, with a `reason`;
    `answered` is the share of draws with a finite answer.
    """

    low: float | None
    median: float | None
    high: float | None
    answered: float
    reason: str


def never_words(name: str, years: int) -> str:
    """Say what 'never' means for an indicator over an appraisal period [year]."""
    return f"not within {years} years" if "payback" in name else "nobody is fed"


def spread(draws: Array, never_means: str) -> Spread:
    """Return the range of an indicator, (draws, 1); `never_means` says what infinity stands for."""
    x = draws[:, 0]
    undefined = float(np.mean(np.isnan(x)))
    never = float(np.mean(np.isposinf(x)))
    answered = 1.0 - undefined - never
    if undefined > UNDEFINED_AT_MOST:
        return Spread(None, None, None, answered, f"undefined in {undefined:.0%} of draws")
    ordered = np.sort(x[~np.isnan(x)])
    ends = [order_statistic(ordered, share) for share in (0.1, 0.5, 0.9)]
    finite = [end if np.isfinite(end) else None for end in ends]
    reason = f"{never_means} in {never:.0%} of draws" if never else ""
    return Spread(finite[0], finite[1], finite[2], answered, reason)


@dataclass(frozen=True)
class Uncertainty:
    """Draws of every indicator, of cumulative real cash by project year, and the spreads."""

    draws: Mapping[str, Array]
    spreads: Mapping[str, Spread]
    count: int
    seed: int
    cumulative: Array | None = None

    def chance(self, name: str, below: float) -> float:
        """Return the share of draws in which an indicator lies below a level. [1]"""
        return float(np.mean(self.draws[name] < below))


def uncertainty(
    plan: Plan, draws: int, seed: int, keys: Sequence[str] | None = None
) -> Uncertainty:
    """Appraise a plan over draws; 0 draws gives no ranges.

    `keys` are those of all plans compared, so that a shared row shares its draw.

    Raises
    ------
    AssumptionError
        If `draws` is not a power of two.
    """
    if draws == 0:
        return Uncertainty({}, {}, 0, seed)
    timeline = plan.case.timeline
    parts, cash = [], []
    for made in appraise_blocks(plan, sampled_values(plan, draws, seed, keys)):
        parts.append(made.indicators)
        cash.append(made.finances.cumulative_real[:, ::MONTHS_A_YEAR])
    found = {name: stacked([p[name] for p in parts], draws) for name in parts[0]}
    spreads = {n: spread(x, never_words(n, timeline.years)) for n, x in found.items()}
    return Uncertainty(found, spreads, draws, seed, stacked(cash, draws))
