"""How far could each answer lie, draw by draw?

Low and high are P10 and P90 as order statistics of the draws. A 'never' ranks above every
number and is never dropped; where an answer is undefined in more than 5 % of draws there is
no range.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal, Plan, appraise, sampled_values
from sitefare.arrays import Array, blocks, order_statistic
from sitefare.assumptions.case import block_of
from sitefare.assumptions.draws import check_draws
from sitefare.stages import Ended, unheard

MONTHS_A_YEAR = 12

#: Draws whose values are laid out together; a power of two, and of whole blocks.
CHUNK = 1024

#: Cash below zero by less than this of its largest size is rounding. [1]
ROUNDING = 1e-6

#: Share of undefined draws above which no range is given. [1]
UNDEFINED_AT_MOST = 0.05


@dataclass(frozen=True)
class Spread:
    """Range of one indicator over draws.

    `low`, `median` and `high` are None where there is no finite answer, with a `reason`;
    `answered` is the share of draws with a finite answer; `mean` is None unless all have one.
    """

    low: float | None
    median: float | None
    high: float | None
    answered: float
    reason: str
    mean: float | None = None


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
    mean = float(np.mean(x)) if answered == 1.0 else None
    return Spread(finite[0], finite[1], finite[2], answered, reason, mean)


@dataclass(frozen=True)
class Uncertainty:
    """Draws of every indicator, of cash by project year, and the spreads.

    `cumulative` is real project cash so far and `balance` the cash held with the funding
    planned, (draws, years + 1) [money]; `first_short` is the first month without cash, inf for
    never, (draws, 1).
    """

    draws: Mapping[str, Array]
    spreads: Mapping[str, Spread]
    count: int
    seed: int
    cumulative: Array | None = None
    balance: Array | None = None
    first_short: Array | None = None

    def chance(self, name: str, below: float) -> float:
        """Return the share of draws in which an indicator lies below a level. [1]"""
        return float(np.mean(self.draws[name] < below))


def first_short(balance: Array) -> Array:
    """Return the first month that ends with cash below zero, inf for never, (draws, 1).

    `balance` is cash at month ends, (draws, months + 1). [money]
    """
    scale = np.max(np.abs(balance), axis=1, keepdims=True)
    short = balance < -ROUNDING * scale
    month = np.argmax(short, axis=1)[:, None].astype(np.float64)
    return np.where(short.any(axis=1, keepdims=True), month, np.inf)


def appraised(
    plan: Plan, draws: int, seed: int, keys: Sequence[str] | None = None
) -> Iterator[tuple[slice, Appraisal]]:
    """Yield the appraisals of draws block by block, each with the draws it holds.

    Values are laid out a chunk at a time: memory does not grow with the draws.

    Raises
    ------
    AssumptionError
        If `draws` is not a power of two.
    """
    check_draws(draws, seed)
    for chunk in blocks(draws, CHUNK):
        size = chunk.stop - chunk.start
        values = sampled_values(plan, size, seed, keys, chunk.start)
        for block in blocks(size):
            here = slice(chunk.start + block.start, chunk.start + block.stop)
            yield here, appraise(plan, block_of(values, block))


def uncertainty(
    plan: Plan,
    draws: int,
    seed: int,
    keys: Sequence[str] | None = None,
    ended: Ended = unheard,
) -> Uncertainty:
    """Appraise a plan over draws; 0 draws gives no ranges.

    `keys` are those of all plans compared, so that a shared row shares its draw; `ended` is
    called as draws are done.

    Raises
    ------
    AssumptionError
        If `draws` is not a power of two.
    """
    if draws == 0:
        return Uncertainty({}, {}, 0, seed)
    years = plan.case.timeline.years
    found: dict[str, Array] = {}
    cumulative, balance = (np.empty((draws, years + 1)) for _ in range(2))
    short = np.empty((draws, 1))
    for block, made in appraised(plan, draws, seed, keys):
        for name, x in made.indicators.items():
            found.setdefault(name, np.empty((draws, 1)))[block] = x
        cash = made.finances.cash_balance
        cumulative[block] = made.finances.cumulative_real[:, ::MONTHS_A_YEAR]
        balance[block] = cash[:, ::MONTHS_A_YEAR]
        short[block] = first_short(cash)
        del made, cash  # before the next block is appraised
        ended(count=block.stop - block.start)
    spreads = {n: spread(x, never_words(n, years)) for n, x in found.items()}
    return Uncertainty(found, spreads, draws, seed, cumulative, balance, short)
