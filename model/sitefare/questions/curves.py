"""How does an answer run along one assumption, or over two at once?

A curve appraises the plan at values of one row, a surface at every pair of two rows' values;
all points are one vectorised call, the farm as it is built. `isoline` is where a surface meets
a number, as straight pieces inside its cells.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan
from sitefare.arrays import Array
from sitefare.assumptions.rows import Row
from sitefare.errors import AssumptionError
from sitefare.questions.moving import Answers, Move, check_indicator, farm_answers, movable_row
from sitefare.questions.switching import span

#: Points of a curve, and on each side of a surface.
POINTS, SIDE = 17, 11

#: One straight piece of an isoline: both ends, (first row, second row).
Piece = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True)
class Curve:
    """An indicator along one row, (points,) each; nan and inf where it has no answer."""

    row: Row
    indicator: str
    points: Array
    answers: Array
    base: float


@dataclass(frozen=True)
class Surface:
    """An indicator over two rows: `answers` is (first values, second values)."""

    first: Row
    second: Row
    indicator: str
    first_values: Array
    second_values: Array
    answers: Array
    base: float


def range_of(row: Row, ends: tuple[float, float] | None = None) -> tuple[float, float]:
    """Return the span drawn of a row: that asked for, else a little beyond its low and high.

    Raises
    ------
    AssumptionError
        If the span asked for is empty or outside the row's physical bounds.
    """
    if ends is None:
        if row.low is None or row.high is None:
            return span(row)
        low, high = row.low - 0.5 * (row.base - row.low), row.high + 0.5 * (row.high - row.base)
        return max(low, row.spec.low), min(high, row.spec.high)
    low, high = ends
    if not (row.spec.low <= low < high <= row.spec.high):
        msg = f"{row.name}: {low:g} to {high:g} is no span within "
        raise AssumptionError(msg + f"{row.spec.low:g} to {row.spec.high:g} {row.spec.unit}")
    return low, high


def curve(
    plan: Plan,
    name: str,
    indicator: str,
    *,
    points: int = POINTS,
    ends: tuple[float, float] | None = None,
) -> Curve:
    """Return an indicator along a row, its base among the points.

    Raises
    ------
    AssumptionError
        If row or indicator is not known, or the span is not within the row's bounds.
    """
    row, base = movable_row(plan, name), check_indicator(plan, indicator)
    values = np.union1d(np.linspace(*range_of(row, ends), points), [row.base])
    return Curve(row, indicator, values, along(farm_answers(plan, indicator), name, values), base)


def along(answers: Answers, name: str, values: Array) -> Array:
    """Return any model's answers along one name's values, (points,)."""
    return answers([{name: float(x)} for x in values])


def surface(
    plan: Plan,
    names: tuple[str, str],
    indicator: str,
    *,
    points: int = SIDE,
    ends: tuple[tuple[float, float] | None, tuple[float, float] | None] = (None, None),
) -> Surface:
    """Return an indicator over two rows.

    Raises
    ------
    AssumptionError
        If the two are one, a row or the indicator is not known, or a span is outside bounds.
    """
    if names[0] == names[1]:
        msg = f"a surface needs two assumptions; {names[0]} is named twice"
        raise AssumptionError(msg)
    rows = [movable_row(plan, name) for name in names]
    base = check_indicator(plan, indicator)
    first, second = (
        np.linspace(*range_of(row, end), points) for row, end in zip(rows, ends, strict=True)
    )
    found = over(farm_answers(plan, indicator), names, first, second)
    return Surface(rows[0], rows[1], indicator, first, second, found, base)


def over(answers: Answers, names: tuple[str, str], first: Array, second: Array) -> Array:
    """Return any model's answers over two names' values, (first values, second values)."""
    moves: list[Move] = [{names[0]: float(a), names[1]: float(b)} for a in first for b in second]
    return answers(moves).reshape(first.size, second.size)


def isoline(x: Array, y: Array, z: Array, level: float) -> tuple[Piece, ...]:
    """Return where a surface meets a level, linear along the sides of each cell.

    Every cell is cut into two triangles, so that no cell is ambiguous; triangles with a corner
    that has no answer are left out.

    Parameters
    ----------
    x, y : Array, shape (n,), (m,)
        Values of the two rows. [their units]
    z : Array, shape (n, m)
        The answers. [unit of the indicator]
    """
    pieces: list[Piece] = []
    for i in range(x.size - 1):
        for j in range(y.size - 1):
            a, b, c, d = (i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)
            for corners in ((a, b, c), (a, c, d)):
                piece = _cut([(x[p], y[q], z[p, q] - level) for p, q in corners])
                pieces += [piece] if piece is not None else []
    return tuple(pieces)


def _cut(corners: Sequence[tuple[float, float, float]]) -> Piece | None:
    """Return the piece of the zero line inside a triangle, None where it does not pass."""
    if not all(np.isfinite(z) for _, _, z in corners):
        return None
    points = []
    for k in range(3):
        (x0, y0, z0), (x1, y1, z1) = corners[k], corners[(k + 1) % 3]
        if (z0 < 0.0) != (z1 < 0.0):
            t = z0 / (z0 - z1)
            points.append((float(x0 + t * (x1 - x0)), float(y0 + t * (y1 - y0))))
    return (points[0], points[1]) if len(points) == 2 else None  # noqa: PLR2004
