"""How far must one assumption move before the decision changes?

A decision is an indicator against its target: money worth having (npv against zero), a
person-day no dearer than the same food bought here, as many people fed as promised, debt
covered as the lender asks, or any indicator against any number. A row's switching value is
where the two meet, all other rows at base and the farm as it is built. It is searched up to five
times as far as the row's 1-in-10 end on the scale on which the row is sampled, within its
physical bounds; 'never' says that even there the decision stands. All rows are searched at once.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan
from sitefare.arrays import Array
from sitefare.assumptions import draws as sampling
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build
from sitefare.assumptions.rows import Row
from sitefare.errors import AssumptionError
from sitefare.money.targets import TargetInputs
from sitefare.questions.bracketing import CLOSE, Index, Side, crossings
from sitefare.questions.grouping import members
from sitefare.questions.moving import Move, appraise_moves, check_indicator, movable_row

#: How far a row is searched, over the distance to its 1-in-10 end where it is sampled. [1]
REACH = 5.0

#: A row without a range is searched to its bounds, or to so many times its base. [1]
WITHOUT_RANGE = 4.0

#: People promised, of those planned, where no number of people sets the farm's size. [1]
PROMISED = 0.9

#: Name of all rows as one group.
ALL = "All assumptions"

#: Probabilities at which a place in a row's range is looked up. [1]
PLACES = np.linspace(*sampling.CLIP, 981)


@dataclass(frozen=True)
class Decision:
    """An indicator against a target: a number, or another indicator that moves with the rows.

    `words` states the decision as it stands when the target is met.
    """

    indicator: str
    target: float
    against: str
    words: str

    def gap(self, indicators: Mapping[str, Array]) -> Array:
        """Return the indicator less its target, (draws,); nan where neither is finite."""
        with np.errstate(invalid="ignore"):
            goal = indicators[self.against] if self.against else self.target
            return np.asarray((indicators[self.indicator] - goal)[:, 0])

    @property
    def names(self) -> tuple[str, ...]:
        """The indicators that the decision reads."""
        return (self.indicator, self.against) if self.against else (self.indicator,)


def decision(plan: Plan, indicator: str, target: float | None = None) -> Decision:
    """Return the decision that an indicator makes, at its usual target or at another.

    Raises
    ------
    AssumptionError
        If the indicator is not known, or has no usual target and none is given.
    """
    base = check_indicator(plan, indicator)
    if target is not None:
        return Decision(indicator, target, "", f"{indicator} is {target:g}")
    if indicator.startswith("npv"):
        return Decision(indicator, 0.0, "", "the project is worth its cost")
    if indicator == "cost_per_person_day":
        words = "a person-day costs what the same food costs bought locally"
        return Decision(indicator, 0.0, "alternative_cost_person_day", words)
    if indicator == "people_fed":
        asked = plan.case.rows["size.people"].base
        by_people = plan.case.rows["size.basis"].text == "people"
        promise = asked if by_people else PROMISED * base
        words = "the people promised are fed" if by_people else "nine in ten of the people planned"
        return Decision(indicator, promise, "", words)
    if indicator == "min_dscr":
        cover = float(build(TargetInputs, base_values(plan.case)).debt_cover[0, 0])
        return Decision(indicator, cover, "", "debt is covered as the lender asks")
    if indicator in ("benefit_cost_ratio", "operating_cost_recovery"):
        return Decision(indicator, 1.0, "", "benefits equal costs")
    msg = f"{indicator} has no target of its own: give one"
    raise AssumptionError(msg)


@dataclass(frozen=True)
class Switch:
    """How far one row must move; values in the row's unit.

    `value` is None where the decision never changes within `lowest` to `highest`; `best` is then
    the value that comes nearest and `best_answer` the indicator less its target there. `distance`
    is the move over that to the row's 1-in-10 end on that side; `place` the probability of a
    value as low, 0.01 or 0.99 standing for all beyond. `jump` says that the answer leaps over
    its target there.
    """

    row: Row
    value: float | None
    lowest: float
    highest: float
    best: float
    best_answer: float
    distance: float
    place: float
    jump: bool

    @property
    def change(self) -> float:
        """The move over the base; nan where the base is nothing. [1]"""
        if self.value is None or self.row.base == 0:
            return float("nan")
        return self.value / self.row.base - 1.0

    @property
    def inside(self) -> bool:
        """Whether the row's own P10 to P90 reaches so far."""
        low, high = self.row.low, self.row.high
        known = self.value is not None and low is not None and high is not None
        return bool(known and low <= self.value <= high)  # type: ignore[operator]


@dataclass(frozen=True)
class Switches:
    """Every row's switching value of one decision, nearest first; those that never come last."""

    decision: Decision
    gap: float
    rows: tuple[Switch, ...]

    @property
    def found(self) -> tuple[Switch, ...]:
        """The rows that change the decision alone."""
        return tuple(x for x in self.rows if x.value is not None)


def span(row: Row) -> tuple[float, float]:
    """Return the lowest and highest value at which a row is tried. [canonical unit]"""
    spec = row.spec
    if row.low is None or row.high is None:
        far = sorted((0.0, WITHOUT_RANGE * row.base)) if row.base else (-1.0, 1.0)
        return max(spec.low, min(far[0], row.base)), min(spec.high, max(far[1], row.base))
    kind = sampling.transform_for(spec, row.low, row.high)
    low, base, high = (_scaled(x, row, kind) for x in (row.low, row.base, row.high))
    far_low, far_high = base - REACH * (base - low), base + REACH * (high - base)
    ends = [_unscaled(x, row, kind) for x in (far_low, far_high)]
    return max(spec.low, ends[0]), min(spec.high, ends[1])


def _scaled(x: float, row: Row, kind: sampling.Transform) -> float:
    """Move a value of a row to the scale on which it is sampled."""
    if kind == "log":
        return float(np.log(x - row.spec.low))
    if kind == "logit":
        part = (x - row.spec.low) / (row.spec.high - row.spec.low)
        return float(np.log(part / (1.0 - part)))
    return x


def _unscaled(y: float, row: Row, kind: sampling.Transform) -> float:
    """Move a value back from the scale on which the row is sampled."""
    if kind == "log":
        return float(row.spec.low + np.exp(y))
    if kind == "logit":
        return float(row.spec.low + (row.spec.high - row.spec.low) / (1.0 + np.exp(-y)))
    return y


def place(row: Row, x: float) -> float:
    """Return the probability that a row is at most x, 0.01 to 0.99; nan without a range. [1]"""
    if row.low is None or row.high is None:
        return float("nan")
    path = sampling.quantile(row.spec, (row.low, row.base, row.high), PLACES)
    return float(np.interp(x, np.maximum.accumulate(path), PLACES))


def distance(row: Row, x: float) -> float:
    """Return a move over that to the row's 1-in-10 end on that side; inf where that is none. [1]"""
    end = row.high if x >= row.base else row.low
    reach = 0.0 if end is None else abs(end - row.base)
    return abs(x - row.base) / reach if reach else float("inf")


def switching(
    plan: Plan,
    asked: Decision,
    names: Sequence[str] | None = None,
    points: int = 4,
    close: float = CLOSE,
) -> Switches:
    """Return the switching value of every uncertain row, or of the rows named.

    `points` are tried on each side of the base; `close` is the gap over its size that is met.

    Raises
    ------
    AssumptionError
        If a row is not known or is no number, or the decision has no answer at base.
    """
    rows = [movable_row(plan, name) for name in (names or plan.case.uncertain)]
    gap = _gap(plan, asked, rows)
    start = float(asked.gap(appraise_moves(plan, [{}], asked.names))[0])
    if not np.isfinite(start):
        msg = f"{asked.indicator} has no answer at base, so nothing says when it would switch"
        raise AssumptionError(msg)
    base = np.array([row.base for row in rows])
    low, high = (np.array(ends) for ends in zip(*(span(row) for row in rows), strict=True))
    sides = crossings(gap, base, np.full(base.size, start), (low, high), points, close)
    found = [_switch(row, sides, i, (low[i], high[i]), start) for i, row in enumerate(rows)]
    return Switches(asked, start, tuple(sorted(found, key=lambda x: _order(x, start))))


def within_reach(
    plan: Plan, asked: Decision, ends: Mapping[str, Array], most: int, least: int = 12
) -> list[str]:
    """Return the uncertain rows whose bars say that they may turn a decision, widest first.

    A row counts where its swing times the reach of the search, and four times that for curves
    that steepen, meets the gap; the widest `least` always do, for one of them comes nearest.

    Parameters
    ----------
    ends : mapping
        Indicators at both ends of every uncertain row, from `tornado.swings`.
    most : int
        Rows returned at most.
    """
    start = float(asked.gap(appraise_moves(plan, [{}], asked.names))[0])
    gaps = asked.gap({name: ends[name] for name in asked.names}).reshape(-1, 2)
    swing = np.max(np.abs(np.nan_to_num(gaps, nan=np.inf) - start), axis=1)
    order = np.argsort(-swing, kind="stable")[:most]
    return [
        plan.case.uncertain[i]
        for n, i in enumerate(order)
        if swing[i] > 0 and (n < least or 4.0 * REACH * swing[i] >= abs(start))
    ]


def _gap(plan: Plan, asked: Decision, rows: Sequence[Row]) -> Callable[[Index, Array], Array]:
    """Return the decision's gap for row number i at a value, many at once."""

    def gap(which: Index, x: Array) -> Array:
        moves: list[Move] = [{rows[i].name: float(v)} for i, v in zip(which, x, strict=True)]
        return asked.gap(appraise_moves(plan, moves, asked.names))

    return gap


def _switch(
    row: Row, sides: tuple[Side, Side], i: int, ends: tuple[float, float], start: float
) -> Switch:
    """Return a row's nearer crossing, or what comes nearest to one."""
    found = [s for s in sides if s.found[i]]
    if found:
        near = min(found, key=lambda s: (distance(row, float(s.value[i])), float(s.value[i])))
        x = float(near.value[i])
        left = near.gap_before[i] if x == near.before[i] else near.gap_after[i]
        far, rank, jump = distance(row, x), place(row, x), bool(near.jump[i])
        return Switch(row, x, *ends, x, float(left), far, rank, jump)
    best = min(sides, key=lambda s: abs(float(s.best_gap[i])))
    x, left = float(best.best[i]), float(best.best_gap[i])
    if not np.isfinite(left):
        x, left = row.base, start
    return Switch(row, None, *ends, x, left, float("inf"), place(row, x), jump=False)


def _order(x: Switch, start: float) -> tuple[float, float, str]:
    """Put the nearest first, then by how much of the gap is left."""
    return x.distance, abs(x.best_answer / start) if start else 0.0, x.row.name


@dataclass(frozen=True)
class Together:
    """How far all rows of a group must move at once, each to the same probability.

    `likelihood` is how likely each row is to be at least so good (or bad), None where even the
    rows' 1-in-100 ends leave the decision as it is; `best_answer` is the gap there.
    """

    group: str
    rows: int
    likelihood: float | None
    best_answer: float


def together(
    plan: Plan,
    asked: Decision,
    ends: Mapping[str, Array],
    only: Sequence[str] = (),
    close: float = CLOSE,
) -> tuple[Together, ...]:
    """Return by group, and for all rows, how far they must move together to switch.

    Parameters
    ----------
    ends : mapping
        Indicators at both ends of every uncertain row, from `tornado.swings`: they say which
        way each row must go.
    only : sequence of str
        Groups asked for; every one if empty.
    close : float
        As `switching`. [1]
    """
    case = plan.case
    start = float(asked.gap(appraise_moves(plan, [{}], asked.names))[0])
    gaps = asked.gap({name: ends[name] for name in asked.names}).reshape(-1, 2) * np.sign(-start)
    rising = {n: bool(g[1] > g[0]) for n, g in zip(case.uncertain, gaps, strict=True)}
    groups = {**members(case), ALL: list(case.uncertain)}
    names = list(only or groups)

    def at(group: str, u: float) -> Move:
        return {n: _at(case.rows[n], u if rising[n] else 1.0 - u) for n in groups[group]}

    def gap(which: Index, x: Array) -> Array:
        moves = [at(names[i], float(u)) for i, u in zip(which, x, strict=True)]
        return asked.gap(appraise_moves(plan, moves, asked.names))

    half, top = np.full(len(names), 0.5), np.full(len(names), sampling.CLIP[1])
    _, side = crossings(gap, half, np.full(len(names), start), (half, top), 4, close)
    return tuple(
        Together(
            g, len(groups[g]), 1.0 - float(side.value[i]) if side.found[i] else None,
            float(side.best_gap[i]),
        )
        for i, g in enumerate(names)
    )  # fmt: skip


def _at(row: Row, u: float) -> float:
    """Return a row's value at a probability. [canonical unit]"""
    low, high = (row.base if x is None else x for x in (row.low, row.high))
    x = sampling.quantile(row.spec, (low, row.base, high), np.full((1, 1), u))
    return row.base if u == 0.5 else float(x[0, 0])  # noqa: PLR2004


def sensitivity_indicator(
    base: float, moved: float, change: float, threshold: float = 0.0
) -> tuple[float, float]:
    """Return the sensitivity indicator and the switching value of one printed test. [1]

    Change of the result over its distance from the threshold, over the change of the variable
    (Asian Development Bank, Guidelines for the Economic Analysis of Projects, appendix 21); the
    switching value is its inverse.

    Parameters
    ----------
    base, moved, threshold : float
        Result at base and with the variable moved, and the result at which it switches: 0 for a
        net present value, the discount rate for a rate of return. [same unit]
    change : float
        Relative change of the variable. [1]
    """
    indicator = abs((base - moved) / (base - threshold) / change)
    return indicator, 1.0 / indicator
