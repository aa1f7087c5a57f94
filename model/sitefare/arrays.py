"""Shapes that every number in the pipeline keeps.

A value is (draws, 1), a season (draws, 12) with January first, a life (draws, months)
with month 0 first, and typical hours (draws, 12, hours). One case is draws = 1.
Everything broadcasts; nothing here or later reduces across draws.
"""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

#: Days of January to December, a year of 365 days. [day/month]
DAYS = np.array([31.0, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])

#: Mean days in a month, 365 / 12. [day/month]
MEAN_MONTH = 365.0 / 12.0

#: Draws evaluated together; block edges are multiples of this from draw 0.
BLOCK = 256


def value(x: float) -> Array:
    """Return one number as an array of one draw, shape (1, 1). [same unit]"""
    return np.full((1, 1), float(x))


def hourly(x: Array) -> Array:
    """Lift a value (draws, 1) or a season (draws, 12) to three axes for hours.

    Raises
    ------
    ValueError
        If `x` is neither shape.
    """
    if x.ndim != 2 or x.shape[1] not in (1, 12):  # noqa: PLR2004
        msg = f"only (draws, 1) or (draws, 12) can be lifted to hours, not {x.shape}"
        raise ValueError(msg)
    return x[:, :, None]


def year_sum(season: Array) -> Array:
    """Sum a season over its year: (draws, 12) to (draws, 1). [same unit × month]"""
    total: Array = np.sum(season, axis=1, keepdims=True)
    return total


def day_mean(season: Array) -> Array:
    """Return the mean over a year's days of a season of daily rates, (draws, 1). [same unit]"""
    return year_sum(season * DAYS) / 365.0


def order_statistic(ordered: Array, share: float) -> float:
    """Return the inverted-cdf quantile of sorted numbers, (count,). [same unit]"""
    rank = max(int(np.ceil(share * ordered.size - 1e-9)), 1)
    return float(ordered[rank - 1])


def whole_up(x: Array) -> Array:
    """Round up to whole units, forgiving 1e-9 of noise. [same unit]"""
    return np.asarray(np.ceil(x - 1e-9), dtype=np.float64)


def blocks(draws: int, size: int = BLOCK) -> Iterator[slice]:
    """Yield slices that cover `draws` in blocks of `size`, from draw 0."""
    for first in range(0, draws, size):
        yield slice(first, min(first + size, draws))
