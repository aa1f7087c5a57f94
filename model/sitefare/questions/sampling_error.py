"""How far may a figure made from draws lie from what endless draws would give?

Intervals of 95 %. A chance has Wilson's score interval (Wilson 1927, J. Am. Stat. Assoc. 22,
209–212). A percentile lies between two order statistics, whatever the distribution (David and
Nagaraja 2003, Order Statistics, s. 7.1). A mean has its standard error. All three are those of
independent draws; scrambled Sobol draws spread more evenly, so that the true error is mostly
smaller (Owen 1997, Ann. Stat. 25, 1541–1562: never much larger); a test counts how often the
intervals hold.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from scipy.stats import binom

from sitefare.arrays import Array, order_statistic
from sitefare.assumptions.draws import MOST_DRAWS

#: How often an interval should hold the true figure. [1]
LEVEL = 0.95

#: Percentiles that are told.
SHARES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Between:
    """A figure and the interval its sampling error leaves; None where an end has no answer."""

    value: float | None
    low: float | None
    high: float | None

    @property
    def half(self) -> float | None:
        """The larger distance from the figure to an end. [same unit]"""
        if self.value is None or self.low is None or self.high is None:
            return None
        return max(self.value - self.low, self.high - self.value)


def normal_score(level: float = LEVEL) -> float:
    """Return the normal score that leaves half of 1 − level on each side. [1]"""
    return NormalDist().inv_cdf(0.5 + level / 2.0)


def wilson(hits: int, count: int, level: float = LEVEL) -> tuple[float, float]:
    """Return the score interval of a chance seen in `hits` of `count` draws. [1]"""
    z, share = normal_score(level), hits / count
    middle = (share + z * z / (2.0 * count)) / (1.0 + z * z / count)
    spread = share * (1.0 - share) / count + z * z / (4.0 * count * count)
    half = z * spread**0.5 / (1.0 + z * z / count)
    return max(middle - half, 0.0), min(middle + half, 1.0)


def chance(happened: Array) -> Between:
    """Return the share of draws in which something happened, (draws, 1), with its interval. [1]"""
    hits = int(np.count_nonzero(happened))
    return Between(hits / happened.size, *wilson(hits, happened.size))


def ranks(count: int, share: float, level: float = LEVEL) -> tuple[int, int]:
    """Return the ranks, from 1, of the order statistics that enclose a percentile.

    Rank 0 or `count` + 1 means that there are too few draws for an end.
    """
    tail = (1.0 - level) / 2.0
    low, high = binom.ppf([tail, 1.0 - tail], count, share)
    return int(low), int(high) + 1


def percentile(ordered: Array, share: float, level: float = LEVEL) -> Between:
    """Return a percentile of sorted draws, (count,), between two order statistics. [same unit]"""
    low, high = ranks(ordered.size, share, level)
    ends = [float(ordered[r - 1]) if 1 <= r <= ordered.size else np.inf for r in (low, high)]
    found = (order_statistic(ordered, share), *ends)
    return Between(*(x if np.isfinite(x) else None for x in found))


def mean(x: Array, level: float = LEVEL) -> Between:
    """Return the mean of draws with its interval; nothing where a draw has no answer."""
    if x.size < 2 or not np.all(np.isfinite(x)):  # noqa: PLR2004
        return Between(None, None, None)
    half = normal_score(level) * float(np.std(x, ddof=1)) / x.size**0.5
    middle = float(np.mean(x))
    return Between(middle, middle - half, middle + half)


def draws_for_chance(share: float, error: float) -> int:
    """Return how many draws bring a chance within an error [1], a power of two."""
    count = 64
    while count < MOST_DRAWS:
        low, high = wilson(round(share * count), count)
        if max(share - low, high - share) <= error:
            break
        count *= 2
    return count


def draws_for(found: Between, count: int, error: float) -> int | None:
    """Return how many draws bring a figure within an error [same unit], a power of two.

    The error falls with the square root of the draws; None where the figure has no error.
    """
    if found.half is None or error <= 0.0:
        return None
    asked = count * (found.half / error) ** 2
    needed = 64
    while needed < min(asked, MOST_DRAWS):
        needed *= 2
    return needed
