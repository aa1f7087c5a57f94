"""How are normal scores mixed so that they have given correlations?

The lower triangle L of a correlation matrix R = L Lᵀ (Cholesky), by plain loops in a fixed
order, so that it is the same on every machine. Rows may be tied fully (a pivot of 0).
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

#: How far below 0 a pivot, or from 0 what a tied row leaves over, may lie by rounding. [1]
ROUNDING = 1e-9


@dataclass(frozen=True)
class Triangle:
    """Rows of L; `failed` counts the keys up to the first that cannot stand, 0 where all do."""

    rows: tuple[tuple[float, ...], ...]
    failed: int = 0


def lower_triangle(
    keys: Sequence[str],
    correlations: Mapping[tuple[str, str], float],
    implied: Collection[tuple[str, str]] = (),
) -> Triangle:
    """Return the lower triangle of a correlation matrix.

    Parameters
    ----------
    keys : sequence of str
        The order of the rows.
    correlations : mapping
        Correlation by pair of keys in that order; a pair left out has 0. [1]
    implied : collection
        Pairs whose correlation is what the keys before both of them make it.
    """
    rows: list[list[float]] = []
    for i, key in enumerate(keys):
        row: list[float] = []
        left = 1.0
        for j, other in enumerate(keys[:i]):
            before = rows[j]
            rest = correlations.get((other, key), 0.0)
            rest -= sum(row[k] * before[k] for k in range(j))
            tied = before[j] == 0.0
            if (other, key) in implied or (tied and abs(rest) <= ROUNDING):
                row.append(0.0)
                continue
            if tied:
                return Triangle(tuple(map(tuple, rows)), i + 1)
            row.append(rest / before[j])
            left -= row[j] * row[j]
        if left < -ROUNDING:
            return Triangle(tuple(map(tuple, rows)), i + 1)
        row.append(left**0.5 if left > ROUNDING else 0.0)
        rows.append(row)
    return Triangle(tuple(map(tuple, rows)))
