"""At what rate does a flow break even, and is there exactly one such rate?

Money in is positive. A rate is looked for between −99 % and +1,000 % a year: the sign of the
net present value on a fixed grid of rates, then a bracketed Newton search. Where the value
turns back towards zero between grid rates, its turning point is sought too, so that two roots
nearer together than the grid (3 % a year near zero) are told, and a value that only touches
zero counts as two equal roots. Exactly one root is an answer; none or several is a status,
never a silent choice.
"""

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array, blocks

#: Continuous yearly rates ln(1 + r) of the scan, denser where projects lie. [1/year]
GRID = np.concatenate(
    [
        np.linspace(np.log(0.01), -1.0, 37)[:-1],
        np.linspace(-1.0, 1.0, 67),
        np.linspace(1.0, np.log(11.0), 15)[1:],
    ]
)
ITERATIONS = 80

#: A Newton step this small leaves an error of about its square; a bisection must be finer.
LAST_STEP, LAST_HALF = 1e-8, 1e-14

#: Narrowings of a turning point, each to 0.618 of the width: 60 leave less than 1e-13.
NARROWINGS = 60

#: A value this small beside the sum of its absolute terms is a touch of zero.
TOUCH = 1e-12

#: Largest amounts beyond which a row is rescaled, by a power of two, so that sums stay in range.
SMALL, LARGE = 1e-150, 1e150

#: Rows solved together, so that flows and the scan's values stay in the processor's cache.
ROWS = 256

NONE, ONE, SEVERAL = 0, 1, 2


@dataclass(frozen=True)
class Rates:
    """Rate of return by row: `rate` (rows, 1), nan unless exactly one root exists. [1/year]

    `roots` counts sign changes of the net present value over the scan; `status` is NONE, ONE
    or SEVERAL; `sign_changes` counts those of the `flow` itself. All (rows, 1).
    """

    rate: Array
    roots: npt.NDArray[np.int64]
    status: npt.NDArray[np.int64]
    flow: Array

    @cached_property
    def sign_changes(self) -> npt.NDArray[np.int64]:
        """How often the flow changes sign, zeros passed over; (rows, 1)."""
        return sign_changes(self.flow)


@cache
def _factors(periods: int, per_year: int) -> Array:
    """Return factors with the sign of discounting at each grid rate, (periods, grid). [1]

    Each column is scaled so that its largest factor is 1: a long life at −99 % stays in range.
    """
    years = (np.arange(periods) / per_year)[:, None]
    exponent = np.where(GRID >= 0, -GRID * years, GRID * (years[-1] - years))
    return np.ascontiguousarray(np.exp(exponent), dtype=np.float64)


def sign_changes(flow: Array) -> npt.NDArray[np.int64]:
    """Count changes of sign along each row, zeros passed over; (rows, 1)."""
    sign = np.sign(flow).astype(np.int8)
    if np.all(sign):
        changed = sign[:, 1:] != sign[:, :-1]
        return np.asarray(np.sum(changed, axis=1, keepdims=True, dtype=np.int64))
    place = np.where(sign != 0, np.arange(flow.shape[1], dtype=np.int32), 0)
    last = np.take_along_axis(sign, np.maximum.accumulate(place, axis=1), axis=1)
    changes: npt.NDArray[np.int64] = np.sum(
        last[:, 1:] * last[:, :-1] < 0, axis=1, keepdims=True, dtype=np.int64
    )
    return changes


def _scan(flow: Array, per_year: int) -> Array:
    """Return net present value, scaled by rate, at each rate of the grid, (rows, grid). [money]

    A plain sum of products: without `optimize` it uses no linear-algebra library, and each row
    stands alone.
    """
    return np.asarray(np.einsum("rp,pg->rg", flow, _factors(flow.shape[1], per_year)))


@dataclass(frozen=True)
class _Bracket:
    """Two rates of the grid [1/year] and the scaled values there, each (rows, 1)."""

    low: Array
    high: Array
    at_low: Array
    at_high: Array


def _refined(flow: Array, bracket: _Bracket, per_year: int) -> Array:
    """Solve each row inside its bracket by Newton steps kept inside by bisection; (rows, 1).

    The first guess is the chord's. A finished row is left as it is, so a row's answer does not
    depend on its neighbours.
    """
    years = np.arange(flow.shape[1]) / per_year
    low, high, rising = bracket.low.copy(), bracket.high.copy(), np.sign(bracket.at_high)
    chord = bracket.at_high - bracket.at_low
    answer = low - bracket.at_low * (high - low) / np.where(chord == 0, 1.0, chord)
    left = np.arange(flow.shape[0])
    for _ in range(ITERATIONS):
        rows = flow if left.size == flow.shape[0] else flow[left]
        x = answer[left]
        weighted = np.exp(-x * years)
        weighted *= rows
        value = np.sum(weighted, axis=1, keepdims=True)
        weighted *= years
        slope = -np.sum(weighted, axis=1, keepdims=True)
        above = np.sign(value) == rising[left]
        high[left], low[left] = np.where(above, x, high[left]), np.where(above, low[left], x)
        newton = x - value / np.where(slope == 0, 1.0, slope)
        inside = (newton > low[left]) & (newton < high[left]) & (slope != 0)
        new = np.where(inside, newton, (low[left] + high[left]) / 2.0)
        new = np.where(value == 0, x, new)
        answer[left] = new
        finest = np.where(inside, LAST_STEP, LAST_HALF) * (1.0 + np.abs(x))
        left = left[(np.abs(new - x) > finest)[:, 0]]
        if not left.size:
            break
    return answer


def _brackets(values: Array) -> npt.NDArray[np.bool_]:
    """Mark where a root lies between a grid rate and the next, or on a grid rate; (rows, grid)."""
    marks: npt.NDArray[np.bool_] = np.asarray(values == 0)
    marks[:, :-1] |= (values[:, :-1] > 0) & (values[:, 1:] < 0)
    marks[:, :-1] |= (values[:, :-1] < 0) & (values[:, 1:] > 0)
    return marks


def _turns(values: Array) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Return rows and grid rates where the value turns back towards zero, its sign unchanged."""
    size = np.abs(values)
    nearer = (size[:, 1:-1] <= size[:, :-2]) & (size[:, 1:-1] < size[:, 2:])
    one_side = (values[:, :-2] > 0) == (values[:, 2:] > 0)
    one_side &= (values[:, :-2] < 0) == (values[:, 2:] < 0)
    one_side &= (values[:, 1:-1] == 0) | ((values[:, 1:-1] > 0) == (values[:, :-2] > 0))
    rows, at = np.nonzero(nearer & one_side & (size[:, :-2] > 0))
    return rows, at + 1


def _worth(flow: Array, rate: Array, per_year: int) -> tuple[Array, Array]:
    """Return scaled net present value and the sum of its absolute terms, each (rows, 1)."""
    years = np.arange(flow.shape[1]) / per_year
    # Below zero the last factor is 1, above it the first, as in the scan.
    terms = np.exp(-rate * years + np.where(rate < 0, rate, 0.0) * years[-1]) * flow
    return np.sum(terms, axis=1, keepdims=True), np.sum(np.abs(terms), axis=1, keepdims=True)


@dataclass(frozen=True)
class _Turning:
    """Turning points that reach zero: their row, grid rate, rate [1/year] and scaled value.

    `touches` says that the value there is zero within rounding: two equal roots.
    """

    row: npt.NDArray[np.int64]
    at: npt.NDArray[np.int64]
    rate: Array
    value: Array
    touches: npt.NDArray[np.bool_]


def _turning_points(flow: Array, values: Array, per_year: int) -> _Turning:
    """Return the turning points that reach zero or cross it: two more roots each.

    Golden section (Kiefer 1953) between the grid rates either side, all rows at once.
    """
    row, at = _turns(values)
    rows, sign = flow[row], np.sign(values[row, at - 1])[:, None]
    low, high = GRID[at - 1][:, None], GRID[at + 1][:, None]
    golden = (5.0**0.5 - 1.0) / 2.0
    for _ in range(NARROWINGS if row.size else 0):
        left, right = high - golden * (high - low), low + golden * (high - low)
        lower = sign * _worth(rows, left, per_year)[0] < sign * _worth(rows, right, per_year)[0]
        low, high = np.where(lower, low, left), np.where(lower, right, high)
    rate = (low + high) / 2.0
    value, size = _worth(rows, rate, per_year)
    touches = np.abs(value) <= TOUCH * size
    reached = (touches | (sign * value < 0))[:, 0]
    return _Turning(row[reached], at[reached], rate[reached], value[reached], touches[reached])


def _in_range(flow: Array) -> Array:
    """Rescale rows of very large or small amounts by a power of two; their roots stay."""
    largest = np.max(np.abs(flow), axis=1, keepdims=True)
    odd = ((largest > LARGE) | (largest < SMALL)) & (largest > 0)
    if not np.any(odd):
        return flow
    return np.asarray(np.ldexp(flow, np.where(odd, -np.frexp(largest)[1], 0)))


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
    parts = [_rates(_in_range(flow[block]), per_year) for block in blocks(flow.shape[0], ROWS)]
    rate, count = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Rates(rate, count, np.minimum(count, SEVERAL), flow)


def _rates(flow: Array, per_year: int) -> tuple[Array, npt.NDArray[np.int64]]:
    """Return each row's rate, nan unless it is the only one, and the count of its rates."""
    values = _scan(flow, per_year)
    marks = _brackets(values)
    count = np.asarray(np.sum(marks, axis=1, keepdims=True, dtype=np.int64))
    turning = _turning_points(flow, values, per_year)
    # A touch on a grid rate is marked there once already.
    more = 2 - (values[turning.row, turning.at] == 0)
    np.add.at(count[:, 0], turning.row, more)
    count[~np.any(flow, axis=1)] = 0
    rate = np.full(count.shape, np.nan)
    rows = np.flatnonzero(count == ONE)
    if rows.size:
        at = np.argmax(marks[rows], axis=1)
        rate[rows] = np.expm1(_solved(flow[rows], values[rows], at, per_year))
    return rate, count


def _solved(flow: Array, values: Array, at: npt.NDArray[np.int64], per_year: int) -> Array:
    """Return the root of each row at or after its grid rate `at`; (rows, 1). [1/year]"""
    after = np.minimum(at + 1, GRID.size - 1)
    here = np.take_along_axis(values, at[:, None], axis=1)
    beyond = np.take_along_axis(values, after[:, None], axis=1)
    exact = here == 0
    bracket = _Bracket(GRID[at][:, None], GRID[after][:, None], here, beyond)
    found = _refined(flow, bracket, per_year)
    return np.where(exact, bracket.low, found)


def _pairs(row: Array, values: Array, turning: _Turning, per_year: int) -> Array:
    """Return the roots about each turning point of one flow, two each, (2 × points, 1). [1/year]"""
    many = np.repeat(row, turning.row.size, axis=0)
    ends = []
    for side in (-1, 1):
        edge = GRID[turning.at + side][:, None]
        there = values[0, turning.at + side][:, None]
        low, high = np.minimum(edge, turning.rate), np.maximum(edge, turning.rate)
        first, last = (there, turning.value) if side < 0 else (turning.value, there)
        found = _refined(many, _Bracket(low, high, first, last), per_year)
        ends.append(np.where(turning.touches, turning.rate, found))
    return np.concatenate(ends)


def roots(flow: Array, per_year: int = 12) -> Array:
    """Return every rate at which one flow, shape (periods,), breaks even, lowest first. [1/year]

    Two equal roots stand twice.
    """
    row = _in_range(flow[None, :])
    if np.all(row == 0):
        return np.zeros(0)
    values = _scan(row, per_year)
    turning = _turning_points(row, values, per_year)
    marks = _brackets(values)[0]
    marks[turning.at] = False
    at = np.flatnonzero(marks)
    many = np.repeat(row, at.size, axis=0)
    found = _solved(many, np.repeat(values, at.size, axis=0), at, per_year)
    about = _pairs(row, values, turning, per_year)
    answer: Array = np.sort(np.expm1(np.concatenate([found, about]))[:, 0])
    return answer
