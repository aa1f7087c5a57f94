"""What would change the order: which assumption alone puts another alternative first?

The first is held against each of the next ones. A row counts where its 1-in-10 low or high, all
others at base, puts the other before the first; the value at which the two are equal is then
searched. A row that both share moves in both, each along its own range; a row of one site moves
that site alone. Rows that only shift both alike change no order, and are not found.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np

from sitefare.appraisal import Plan
from sitefare.arrays import Array
from sitefare.assumptions.rows import Row
from sitefare.errors import RunError
from sitefare.questions.bracketing import Index, crossings
from sitefare.questions.comparing import Compared
from sitefare.questions.figures import goodness, made_of, parts_of
from sitefare.questions.lines import Asked, Line, Swung, plan_once, swung_of
from sitefare.questions.moving import Move, appraise_moves
from sitefare.questions.switching import place
from sitefare.workers import Here, Workers

#: Alternatives after the first that it is held against. [1]
NEXT = 3

#: Rows of a pair whose value is searched, those that turn it furthest first. [1]
MOST = 8

#: Gap left over the gap at base that counts as none. [1]
CLOSE = 1e-6


@dataclass(frozen=True)
class Turn:
    """One row that alone puts the other first.

    `row` is the first's, or the other's where it moves that alone, as `moves` says: both, first
    or other; `value` is where the two are equal, in its unit. Where the row moves both,
    `other_row` and `other_value` are the other's. `beyond` is how likely the row is to lie
    further; `jump` says that the two leap past each other there. [1]
    """

    row: Row
    value: float
    moves: Literal["both", "first", "other"]
    other_row: Row | None
    other_value: float | None
    beyond: float
    jump: bool

    @property
    def shared(self) -> bool:
        """Whether the row moves both."""
        return self.moves == "both"

    @property
    def rises(self) -> bool:
        """Whether the row has to rise from its base."""
        return self.value > self.row.base


@dataclass(frozen=True)
class Against:
    """The first against one of the next.

    `turns` are the rows that alone put the other first, likeliest first; `many` counts them
    all. Where there is none, `closest` is the row that comes nearest, and `closed` the share of
    the gap that it closes; None where no row closes any of it. [1]
    """

    first: Line
    other: Line
    turns: tuple[Turn, ...]
    many: int
    closest: Row | None
    closed: float


@dataclass(frozen=True)
class _Pair:
    """Two lines and the gap between them at both ends of every row of either, (keys, 2)."""

    first: Line
    other: Line
    keys: tuple[str, ...]
    start: float
    gaps: Array


def turning(
    compared: Compared, others: int = NEXT, workers: Workers | None = None
) -> tuple[Against, ...]:
    """Return what would put each of the next alternatives before the first.

    Those that are equal to the first, or to one before them, are passed over.

    Raises
    ------
    RunError
        If a worker fails.
    """
    lines = compared.ranked
    if not lines or not np.isfinite(_worth(compared.by, lines[0])):
        return ()
    pairs = [(lines[0], other) for other in _next(compared, others)]
    search = partial(_against, compared.asked)
    found: dict[int, Against] = {}
    for outcome in (workers or Here()).each(search, pairs):
        if outcome.answer is None:
            raise RunError(outcome.failure)
        found[outcome.number] = outcome.answer
    return tuple(found[i] for i in range(len(pairs)))


def _worth(by: str, line: Line) -> float:
    """Return a line's figure at base, of which more is better; money in USD."""
    return float(goodness(by, np.array(line.usd(by))))


def _next(compared: Compared, others: int) -> list[Line]:
    """Return the next lines that differ from the first and from each other."""
    found: list[Line] = []
    seen = {compared.ranked[0].rank}
    for line in compared.ranked[1:]:
        if line.rank not in seen and len(found) < others:
            found.append(line)
            seen.add(line.rank)
    return found


def _pair(by: str, first: Line, other: Line, swung: tuple[Swung, Swung]) -> _Pair:
    """Lay two lines beside each other at both ends of every row of either."""
    keys = tuple(sorted({*swung[0].keys, *swung[1].keys}))
    start = _worth(by, first) - _worth(by, other)
    with np.errstate(invalid="ignore"):
        gaps = _ends(by, first, swung[0], keys) - _ends(by, other, swung[1], keys)
    return _Pair(first, other, keys, start, gaps)


def _ends(by: str, line: Line, swung: Swung, keys: Sequence[str]) -> Array:
    """Return a line's figure at both ends of every key, its base where it has no such row."""
    at = {key: i for i, key in enumerate(swung.keys)}
    both = np.stack([swung.low, swung.high], axis=1)
    base = np.full(2, line.values[by])
    table = np.array([both[at[key]] if key in at else base for key in keys]).reshape(-1, 2)
    return goodness(by, table / line.rate(by))


def _against(asked: Asked, lines: tuple[Line, Line]) -> Against:
    """Search the values at which the rows that put the other before the first do so."""
    swung = [line.swung or swung_of(asked, line.alternative)[1] for line in lines]
    pair = _pair(asked.by, *lines, (swung[0], swung[1]))
    low = np.nanmin(np.where(np.isnan(pair.gaps), np.inf, pair.gaps), axis=1)
    turning_rows = np.flatnonzero(low < 0)
    order = sorted(turning_rows.tolist(), key=lambda i: (low[i], pair.keys[i]))[:MOST]
    plans = [plan_once(asked, line.alternative) for line in (pair.first, pair.other)]
    keys = [pair.keys[i] for i in order]
    turns = _searched(asked.by, pair, plans, keys) if keys else []
    closest, closed = None, 0.0
    if low.size and not turns:
        i = min(range(low.size), key=lambda i: (low[i], pair.keys[i]))
        if low[i] < pair.start:
            closest = _row(plans, pair.keys[i])
            closed = float(1.0 - low[i] / pair.start) if np.isfinite(pair.start) else 0.0
    ordered = sorted(turns, key=lambda turn: (-turn.beyond, turn.row.name))
    return Against(pair.first, pair.other, tuple(ordered), int(turning_rows.size), closest, closed)


def _row(plans: Sequence[Plan], key: str) -> Row:
    """Return the row behind a key: the first plan's that moves it."""
    return next(row for plan in plans if (row := _moved(plan, key)) is not None)


def _moved(plan: Plan, key: str) -> Row | None:
    """Return a plan's row behind a key; None where the plan has no uncertain row of it."""
    case = plan.case
    name = key.partition("@")[0]
    if name not in case.rows or case.key(name) != key:
        return None
    row = case.rows[name]
    return row if row.uncertain and case.uses(name) else None


def _at(row: Row, t: float) -> float:
    """Return a row's value so far on the way from base to its low (t = -1) or high (t = 1)."""
    low, high = (row.base if x is None else x for x in (row.low, row.high))
    return row.base + t * (high - row.base) if t > 0 else row.base - t * (low - row.base)


def _searched(by: str, pair: _Pair, plans: Sequence[Plan], keys: Sequence[str]) -> list[Turn]:
    """Return where each of the rows makes the two equal."""
    rows = [[_moved(plan, key) for key in keys] for plan in plans]
    lines = (pair.first, pair.other)

    def gap(which: Index, x: Array) -> Array:
        worth = []
        for plan, own, line in zip(plans, rows, lines, strict=True):
            moves: list[Move] = [
                {} if (row := own[i]) is None else {row.name: _at(row, float(t))}
                for i, t in zip(which, x, strict=True)
            ]
            found = made_of(by, appraise_moves(plan, moves, parts_of(by)))
            worth.append(goodness(by, found[:, 0] / line.rate(by)))
        with np.errstate(invalid="ignore"):
            return np.asarray(worth[0] - worth[1])

    zero = np.zeros(len(keys))
    start = np.full(len(keys), pair.start)
    sides = crossings(gap, zero, start, (zero - 1.0, zero + 1.0), 4, CLOSE)
    turns = []
    for i in range(len(keys)):
        crossed = [side for side in sides if side.found[i]]
        if crossed:
            near = min(crossed, key=lambda side: abs(float(side.value[i])))
            turns.append(_turn(rows[0][i], rows[1][i], float(near.value[i]), bool(near.jump[i])))
    return turns


def _turn(first: Row | None, other: Row | None, t: float, jump: bool) -> Turn:  # noqa: FBT001
    """Put one turn together from the rows that move and how far they go."""
    row = first or other
    assert row is not None  # noqa: S101
    value = _at(row, t)
    below = place(row, value)
    if first is None or other is None:
        moves: Literal["both", "first", "other"] = "other" if first is None else "first"
        both: tuple[Row | None, float | None] = (None, None)
    else:
        moves, both = "both", (other, _at(other, t))
    return Turn(
        row,
        value,
        moves,
        *both,
        1.0 - below if t > 0 else below,
        jump,
    )
