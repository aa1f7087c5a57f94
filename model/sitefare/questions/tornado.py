"""Which assumption moves the answer most, one at a time?

Each uncertain row swings from its 1-in-10 low to its 1-in-10 high with every other row at
base, so bars are equal-probability swings. All swings are one vectorised appraisal. A bar that
whole workers or whole batches make by a jump, and that nothing moves on either side of it, is
marked: the same row a little less wide may have no bar at all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sitefare.appraisal import Plan, appraise
from sitefare.arrays import Array
from sitefare.assumptions.rows import Row
from sitefare.questions.moving import Answers, Move, appraise_moves, farm_answers

#: Parts into which each half of a bar is cut to look for a jump.
PARTS = 8

#: A bar is a step where its jumps make this share of all it moves, in at most so many parts. [1]
JUMPS, JUMPING = 0.98, 2


@dataclass(frozen=True)
class Bar:
    """One bar: the row, its ends, and the indicator at each end.

    Results are nan where undefined and inf where the answer is never. `step` marks a bar made
    only by jumps.
    """

    row: Row
    low_result: float
    high_result: float
    step: bool = False

    @property
    def width(self) -> float:
        """Distance between the ends; infinite where one end has no answer."""
        return width(self.low_result, self.high_result)


@dataclass(frozen=True)
class Tornado:
    """Bars of one indicator, widest first, and its base."""

    indicator: str
    base: float
    bars: tuple[Bar, ...]


def width(low: float, high: float) -> float:
    """Return the distance between two results; infinite where one has no answer. [same unit]"""
    if not (np.isfinite(low) and np.isfinite(high)):
        return float("inf") if low != high else 0.0
    return abs(high - low)


def ends_of(answers: Answers, ranges: Mapping[str, tuple[float, float]]) -> Array:
    """Return any model's answers at both ends of every range, (names, 2)."""
    moves = [{name: x} for name, ends in ranges.items() for x in ends]
    return answers(moves).reshape(-1, 2) if moves else np.zeros((0, 2))


def swings(plan: Plan) -> dict[str, Array]:
    """Appraise both ends of every uncertain row at once: indicators, (2 × rows, 1) each.

    Draws 2i and 2i + 1 are the low and high end of `plan.case.uncertain[i]`.
    """
    moves: list[Move] = []
    for name in plan.case.uncertain:
        row = plan.case.rows[name]
        if row.low is not None and row.high is not None:
            moves += [{name: row.low}, {name: row.high}]
    return appraise_moves(plan, moves)


def tornado(plan: Plan, indicator: str, ends: Mapping[str, Array] | None = None) -> Tornado:
    """Return the bars of one indicator over all uncertain rows, widest first."""
    found = swings(plan) if ends is None else ends
    base = float(appraise(plan).indicators[indicator][0, 0])
    rows = [plan.case.rows[name] for name in plan.case.uncertain]
    x = found[indicator][:, 0] if found else np.zeros(0)
    bars = [Bar(row, float(x[2 * i]), float(x[2 * i + 1])) for i, row in enumerate(rows)]
    ordered = sorted(bars, key=lambda bar: (-bar.width, bar.row.name))
    return Tornado(indicator, base, tuple(ordered))


def with_steps(plan: Plan, found: Tornado, top: int = 12) -> Tornado:
    """Return the tornado with the widest bars marked where only a jump makes them.

    Each half of a bar is cut into parts; all parts of all bars are one vectorised appraisal.
    """
    chosen = [bar for bar in found.bars[:top] if 0.0 < bar.width < np.inf]
    triples = {bar.row.name: _triple(bar.row) for bar in chosen}
    jumps = only_jumps(farm_answers(plan, found.indicator), triples)
    bars = [replace(bar, step=jumps.get(bar.row.name, False)) for bar in found.bars]
    return replace(found, bars=tuple(bars))


def _triple(row: Row) -> tuple[float, float, float]:
    """Return low, base and high of a row that has a range. [canonical unit]"""
    low, high = (row.base if x is None else x for x in (row.low, row.high))
    return low, row.base, high


def only_jumps(
    answers: Answers, triples: Mapping[str, tuple[float, float, float]]
) -> dict[str, bool]:
    """Say of each range whether jumps alone make what it moves, by any model.

    Parameters
    ----------
    triples : mapping of (low, base, high)
        Ranges by name. [any unit]
    """
    share = np.linspace(0.0, 1.0, PARTS + 1)
    paths = {
        name: np.concatenate([low + (base - low) * share, base + (high - base) * share[1:]])
        for name, (low, base, high) in triples.items()
    }
    moves = [{name: float(x)} for name, path in paths.items() for x in path]
    found = answers(moves).reshape(len(paths), -1) if moves else np.zeros((0, 1))
    return {name: _jumps(line) for name, line in zip(paths, found, strict=True)}


def _jumps(line: Sequence[float] | Array) -> bool:
    """Say whether a few parts of a path make nearly all that it moves."""
    parts = np.sort(np.abs(np.diff(np.asarray(line))))[::-1]
    whole = float(np.sum(parts))
    return bool(whole > 0.0 and float(np.sum(parts[:JUMPING])) >= JUMPS * whole)
