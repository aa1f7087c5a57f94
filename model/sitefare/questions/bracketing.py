"""At which value does an answer meet its target, for many unknowns at once?

A coarse path from the base to each end finds where the gap changes its sign; every bracket
found is then narrowed in step with all others, by the secant held inside it and by halving. The
function is asked for all unknowns together, so a farm is appraised in a few vectorised calls.
Where the gap jumps over zero, as whole workers make it, there is no value that meets the
target: the jump is given with both of its sides.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array

Index = npt.NDArray[np.int64]

#: Gap of unknown number i at a value, for many pairs at once: (pairs,), (pairs,) to (pairs,).
Gap = Callable[[Index, Array], Array]

#: Rounds of narrowing at most, and the gap over its first size that counts as met. [1]
ROUNDS, CLOSE = 90, 1e-12

#: Width over the first bracket's below which narrowing ends, and below which a gap that still
#: changes by more than a share of its first size jumps. [1]
NARROW, THIN, LEAP = 1e-13, 1e-6, 1e-3


@dataclass(frozen=True)
class Side:
    """What one way from the base leads to, for every unknown, (unknowns,).

    `found` says whether the gap crosses zero; `value` is where, nan where it does not; `before`
    and `after` are the two sides of it, with their gaps; `jump` says that the gap leaps over
    zero there. `best` is the value tried with the smallest gap, `best_gap` that gap.
    """

    found: npt.NDArray[np.bool_]
    value: Array
    before: Array
    after: Array
    gap_before: Array
    gap_after: Array
    jump: npt.NDArray[np.bool_]
    best: Array
    best_gap: Array


def path_to(base: Array, end: Array, points: int) -> Array:
    """Return values from the base to an end, close together near the base, (unknowns, points)."""
    share = (np.arange(1, points + 1) / points) ** 2
    path = np.asarray(base[:, None] + (end - base)[:, None] * share)
    path[:, -1] = end
    return path


def crossings(
    gap: Gap,
    base: Array,
    start: Array,
    ends: tuple[Array, Array],
    points: int = 4,
    close: float = CLOSE,
) -> tuple[Side, Side]:
    """Return where the gap first crosses zero below and above the base.

    Parameters
    ----------
    gap : function
        Answer less target of unknown i at a value; nan where there is none.
    base, start : Array, shape (unknowns,)
        Each unknown's base [its unit] and the gap there [unit of the answer].
    ends : (Array, Array)
        Lowest and highest value tried of each unknown. [its unit]
    points : int
        Values tried on each side before narrowing. [1]
    close : float
        Gap over its first size that counts as met. [1]
    """
    count = base.size
    paths = [path_to(base, end, points) for end in ends]
    number = np.repeat(np.arange(count), points)
    tried = gap(np.concatenate([number, number]), np.concatenate([p.ravel() for p in paths]))
    gaps = tried.reshape(2, count, points)
    brackets = [_first_change(base, start, p, g) for p, g in zip(paths, gaps, strict=True)]
    which = np.tile(np.arange(count), 2)
    joined = [np.concatenate([b[k] for b in brackets]) for k in range(5)]
    narrowed = _narrow(gap, which, joined, close)
    return (
        _side(narrowed, slice(0, count), base, start, paths[0], gaps[0]),
        _side(narrowed, slice(count, 2 * count), base, start, paths[1], gaps[1]),
    )


def _first_change(base: Array, start: Array, path: Array, gaps: Array) -> list[Array]:
    """Return found, both sides of the first change of sign, and their gaps, (unknowns,) each."""
    values = np.concatenate([base[:, None], path], axis=1)
    found = np.concatenate([start[:, None], gaps], axis=1)
    signs = np.sign(found)
    changes = (signs[:, 1:] * signs[:, :-1] <= 0.0) & (signs[:, :-1] != 0.0)
    at = np.argmax(changes, axis=1)
    rows = np.arange(base.size)
    there = changes[rows, at].astype(np.float64)
    return [
        there, values[rows, at], values[rows, at + 1], found[rows, at], found[rows, at + 1],
    ]  # fmt: skip


def _narrow(gap: Gap, which: Index, bracket: list[Array], close: float) -> list[Array]:
    """Narrow every bracket: value, both sides, their gaps and whether it is a jump."""
    there, a, b, fa, fb = (x.copy() for x in bracket)
    span, size = np.abs(b - a), np.maximum(np.abs(fa), np.abs(fb))
    size = np.where(np.isfinite(size), size, np.minimum(np.abs(fa), np.abs(fb)))
    live = (there > 0.0) & (fb != 0.0)
    halve = ~np.isfinite(fa) | ~np.isfinite(fb)
    side = np.zeros(a.size)
    weights, thin = [fa.copy(), fb.copy()], max(THIN, close)
    for _ in range(ROUNDS):
        todo = np.flatnonzero(live)
        if not todo.size:
            break
        x = _next(a, b, weights, halve)[todo]
        fx = gap(which[todo], x)
        before = np.abs(b - a)[todo]
        _shrink(todo, (x, fx), (a, b, fa, fb), weights, side)
        now = np.abs(b - a)[todo]
        halve[todo] = (now > 0.5 * before) | ~np.isfinite(fx)
        smallest = np.minimum(np.abs(fa), np.abs(fb))[todo]
        leaps = _leaps(a, b, fa, fb, span * thin, size)[todo]
        live[todo] = (smallest > close * size[todo]) & (now > NARROW * span[todo]) & ~leaps
    jump = (there > 0.0) & _leaps(a, b, fa, fb, span * thin, size)
    value = np.where(jump | (np.abs(fa) >= np.abs(fb)), b, a)
    return [np.where(there > 0.0, value, np.nan), a, b, fa, fb, jump.astype(float), there]


def _leaps(
    a: Array, b: Array, fa: Array, fb: Array, thin: Array, size: Array
) -> npt.NDArray[np.bool_]:
    """Say where a thin bracket's gap still changes by much."""
    with np.errstate(invalid="ignore"):
        change = np.abs(fb - fa)
    large = ~(change <= LEAP * size)
    return np.asarray((np.abs(b - a) <= thin) & large)


def _next(a: Array, b: Array, weights: list[Array], halve: npt.NDArray[np.bool_]) -> Array:
    """Return the next value of every bracket: the secant's, or the middle."""
    middle = (a + b) / 2.0
    with np.errstate(divide="ignore", invalid="ignore"):
        secant = (a * weights[1] - b * weights[0]) / (weights[1] - weights[0])
    inside = (secant > np.minimum(a, b)) & (secant < np.maximum(a, b)) & np.isfinite(secant)
    return np.where(halve | ~inside, middle, secant)


def _shrink(
    todo: Index,
    new: tuple[Array, Array],
    ends: tuple[Array, Array, Array, Array],
    weights: list[Array],
    side: Array,
) -> None:
    """Put a new value in place of the end on its side; the end kept twice counts half.

    Dowell & Jarratt (1971), the Illinois rule, so that no end stays for ever. Where there is no
    answer the new value counts as lying beyond zero.
    """
    a, b, fa, fb = ends
    x, fx = new
    same = np.sign(fx) == np.sign(fa[todo])
    left, right = todo[same], todo[~same]
    weights[1][left[side[left] < 0]] *= 0.5
    weights[0][right[side[right] > 0]] *= 0.5
    a[left], fa[left], weights[0][left], side[left] = x[same], fx[same], fx[same], -1.0
    b[right], fb[right], weights[1][right], side[right] = x[~same], fx[~same], fx[~same], 1.0


def _side(
    narrowed: list[Array], part: slice, base: Array, start: Array, path: Array, gaps: Array
) -> Side:
    """Put one side's answer together, with the best that the coarse path reached."""
    value, a, b, fa, fb, jump, there = (x[part] for x in narrowed)
    values = np.concatenate([base[:, None], path], axis=1)
    found = np.abs(np.concatenate([start[:, None], gaps], axis=1))
    best = np.argmin(np.where(np.isnan(found), np.inf, found), axis=1)
    rows = np.arange(base.size)
    signed = np.concatenate([start[:, None], gaps], axis=1)
    return Side(
        there > 0.0, value, a, b, fa, fb, jump > 0.0, values[rows, best], signed[rows, best]
    )
