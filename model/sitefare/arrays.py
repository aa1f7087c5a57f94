"""Shapes that every number in the pipeline keeps.

A value is (draws, 1), a season (draws, 12) with January first, a life (draws, months)
with month 0 first, and typical hours (draws, 12, hours). One case is draws = 1.
Everything broadcasts; nothing here or later reduces across draws.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
T = TypeVar("T")

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


def _members(x: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return the members of a mapping or dataclass by name; of anything else none."""
    if isinstance(x, Mapping):
        return dict(x)
    return {f.name: getattr(x, f.name) for f in fields(x)} if is_dataclass(x) else {}


def longest(x: Any) -> int:  # noqa: ANN401
    """Return the longest first axis among the arrays in a dataclass or mapping, at least 1."""
    if isinstance(x, np.ndarray):
        return x.shape[0] if x.ndim > 1 else 1
    return max((longest(part) for part in _members(x).values()), default=1)


def of_draws(x: T, block: slice, draws: int) -> T:
    """Take a block out of the arrays of so many draws in a dataclass or mapping; others stay."""
    if isinstance(x, np.ndarray):
        return x[block] if x.ndim > 1 and x.shape[0] == draws else x  # type: ignore[return-value]
    members = _members(x)
    taken = {name: of_draws(part, block, draws) for name, part in members.items()}
    return _with(x, {n: part for n, part in taken.items() if part is not members[n]})


def joined(parts: Sequence[T]) -> T:
    """Join blocks of draws of one array, dataclass or mapping; what has one draw stays."""
    first = parts[0]
    if len(parts) == 1:
        return first
    if isinstance(first, np.ndarray):
        alike = first.ndim < 2 or all(part.shape[0] == 1 for part in parts)  # type: ignore[attr-defined]  # noqa: PLR2004
        return first if alike else cast("T", np.concatenate(cast("Sequence[Array]", parts)))
    members = [_members(part) for part in parts]
    return _with(first, {name: joined([each[name] for each in members]) for name in members[0]})


def _with(x: T, changed: Mapping[str, Any]) -> T:
    """Return a mapping or dataclass with some members changed."""
    if not changed:
        return x
    return {**x, **changed} if isinstance(x, Mapping) else replace(x, **changed)  # type: ignore[return-value,type-var]
