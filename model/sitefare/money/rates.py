"""At what rate does a flow break even, and is there exactly one such rate?

Money in is positive. A rate is looked for between −99 % and +1,000 % a year: the sign of the
net present value on a fixed grid of rates, then a bracketed Newton search. Exactly one root is
an answer; none or several is a status, never a silent choice. Roots closer together than the
grid (2 % a year near zero) can be missed in pairs.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array

#: Continuous yearly rates ln(1 + r) of the scan, denser where projects lie. [1/year]
GRID = np.concatenate(
    [
        np.linspace(np.log(0.01), -1.0, 37)[:-1],
        np.linspace(-1.0, 1.0, 101),
        np.linspace(1.0, np.log(11.0), 15)[1:],
    ]
)
ITERATIONS = 80
PRECISION = 1e-14

NONE, ONE, SEVERAL = 0, 1, 2


@dataclass(frozen=True)
class Rates:
    """Rate of return by row: `rate` (rows, 1), nan unless exactly one root exists. [1/year]

    `roots` counts sign changes of the net present value over the scan; `status` is NONE, ONE
    or SEVERAL; `sign_changes` counts those of the flow itself. All (rows, 1).
    """

    rate: Array
    roots: npt.NDArray[np.int64]
    status: npt.NDArray[np.int64]
    sign_changes: npt.NDArray[np.int64]


@cache
def _factors(periods: int, per_year: int) -> Array:
    return _weights(GRID[:, None], np.arange(periods) / per_year)


def _weights(x: Array, years: Array) -> Array:
    """Return factors with the sign of discounting at e^x a year, never above 1. [1]"""
    exponent = np.where(x >= 0, -x * years, x * (years[-1] - years))
    return np.asarray(np.exp(exponent), dtype=np.float64)


def sign_changes(flow: Array) -> npt.NDArray[np.int64]:
    """Count changes of sign along each row, zeros passed over; (rows, 1)."""
    sign = np.sign(flow)
    place = np.where(sign != 0, np.arange(flow.shape[1]), 0)
    last = np.take_along_axis(sign, np.maximum.accumulate(place, axis=1), axis=1)
    changes: npt.NDArray[np.int64] = np.sum(
        last[:, 1:] * last[:, :-1] < 0, axis=1, keepdims=True, dtype=np.int64
    )
    return changes


def _scan(flow: Array, per_year: int) -> Array:
    """Return the sign of net present value at each rate of the grid, (rows, grid)."""
    signs = [np.sign(np.sum(flow * row, axis=1)) for row in _factors(flow.shape[1], per_year)]
    return np.stack(signs, axis=1)


def _refined(flow: Array, low: Array, high: Array, rising: Array, per_year: int) -> Array:
    """Solve each row inside its bracket by Newton steps kept inside by bisection; (rows, 1).

    `rising` is the sign of the value at `high`. A finished row is left as it is, so a row's
    answer does not depend on its neighbours.
    """
    years = np.arange(flow.shape[1]) / per_year
    x, done = (low + high) / 2.0, np.zeros(low.shape, dtype=bool)
    for _ in range(ITERATIONS):
        weighted = flow * _weights(x, years)
        value = np.sum(weighted, axis=1, keepdims=True)
        shift = np.where(x >= 0, 0.0, years[-1])
        slope = np.sum(weighted * (shift - years), axis=1, keepdims=True)
        above = np.sign(value) == rising
        high, low = np.where(above & ~done, x, high), np.where(~above & ~done, x, low)
        safe = np.where(slope == 0, 1.0, slope)
        step = np.where(slope == 0, np.inf, value / safe)
        newton = x - np.where(np.isfinite(step), step, 0.0)
        inside = (newton > low) & (newton < high) & (slope != 0)
        new = np.where(inside, newton, (low + high) / 2.0)
        new = np.where(value == 0, x, new)
        close = np.abs(new - x) <= PRECISION * (1.0 + np.abs(x))
        x, done = np.where(done, x, new), done | close
        if np.all(done):
            break
    return x


def _brackets(signs: Array) -> Array:
    """Mark where a root lies between a grid rate and the next, or on a grid rate; (rows, grid)."""
    crossing = np.zeros(signs.shape)
    crossing[:, :-1] = signs[:, :-1] * signs[:, 1:] < 0
    marks: Array = crossing + (signs == 0)
    return marks


def rates_of_return(flow: Array, per_year: int = 12) -> Rates:
    """Return the internal rate of return of every row, where it is the only one.

    Parameters
    ----------
    flow : Array, shape (rows, periods)
        Net flow at period ends, the first undiscounted. [money]
    per_year : int
        Periods in a year.

    Returns
    -------
    Rates
        Effective yearly rate and status by row. [1/year]
    """
    signs = _scan(flow, per_year)
    marks = _brackets(signs)
    count = np.sum(marks, axis=1, keepdims=True).astype(np.int64)
    empty = np.all(flow == 0, axis=1, keepdims=True)
    count = np.where(empty, 0, count)
    status = np.minimum(count, SEVERAL)
    rate = np.full(count.shape, np.nan)
    rows = np.flatnonzero(status == ONE)
    if rows.size:
        at = np.argmax(marks[rows] > 0, axis=1)
        rate[rows] = np.expm1(_solved(flow[rows], signs[rows], at, per_year))
    return Rates(rate, count, status, sign_changes(flow))


def _solved(flow: Array, signs: Array, at: npt.NDArray[np.int64], per_year: int) -> Array:
    low, high = GRID[at][:, None], GRID[np.minimum(at + 1, GRID.size - 1)][:, None]
    here = np.take_along_axis(signs, at[:, None], axis=1)
    rising = np.where(here == 0, 1.0, -here)
    return np.where(here == 0, low, _refined(flow, low, high, rising, per_year))


def roots(flow: Array, per_year: int = 12) -> Array:
    """Return every rate at which one flow, shape (periods,), breaks even, lowest first. [1/year]"""
    row = flow[None, :]
    if np.all(row == 0):
        return np.zeros(0)
    signs = _scan(row, per_year)
    at = np.flatnonzero(_brackets(signs)[0])
    many = np.repeat(row, at.size, axis=0)
    found = _solved(many, np.repeat(signs, at.size, axis=0), at, per_year)
    answer: Array = np.expm1(found)[:, 0]
    return answer
