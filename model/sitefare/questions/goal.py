"""Which value of one assumption gives the answer asked for?

An assumption about the world is moved with the farm as it is built. A choice, and what the farm's
size is asked by, makes another farm at each value: its plan is made anew. A size asked in whole
units, and an answer that jumps with whole workers or tanks, has no exact value: the two whole
answers that bracket the target are given.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sitefare.appraisal import Plan, appraise
from sitefare.arrays import Array
from sitefare.assumptions.case import timeline_of
from sitefare.assumptions.rows import Row
from sitefare.errors import AssumptionError, DesignError
from sitefare.questions.bracketing import Index, Side, crossings
from sitefare.questions.moving import (
    REMADE,
    check_indicator,
    farm_answers,
    farm_rows,
    numeric_row,
)
from sitefare.questions.switching import span
from sitefare.sizing import plan_for

#: Rows whose whole units are the farm's size, and how far below and above they are tried. [1]
SIZES = ("size.bed_area", "size.people", "size.footprint", "size.budget", "size.fish_output")
SMALLER, LARGER = 0.1, 8.0

#: Other rows counted in whole units, each of which makes another plan.
WHOLE = ("project.years", "project.construction")

#: Rows that the plan of funding is made by.
PLANNED = ("funding.", "grant.", "loan.", "project.start_up_months")

#: Values tried on each side before narrowing: with the farm as built, and with a new one each.
POINTS, NEW_POINTS = 8, 5


@dataclass(frozen=True)
class End:
    """One side of the target: the value, the indicator there, and the farm if it is a new one."""

    value: float
    answer: float
    plan: Plan


@dataclass(frozen=True)
class Goal:
    """The value at which an indicator meets its target.

    `value` is None where the answer jumps over the target: `below` and `above` are then the two
    values, smaller first, that bracket it. `resized` says that each value has a farm of its own.
    """

    row: Row
    indicator: str
    target: float
    base: float
    value: float | None
    answer: float
    below: End
    above: End
    resized: bool


def goal_seek(
    plan: Plan, name: str, indicator: str, target: float, *, resize: bool | None = None
) -> Goal:
    """Return the value of a row at which an indicator meets a target, nearest to the base.

    Parameters
    ----------
    resize : bool, optional
        Whether each value makes a farm of its own; by default where the row is a choice.

    Raises
    ------
    AssumptionError
        If row or indicator is not known, or no value within reach gives the target; the
        message tells what is reached.
    """
    row, base = numeric_row(plan, name), check_indicator(plan, indicator)
    new = makes_the_farm(plan, row) if resize is None else resize
    if name in (*SIZES, *WHOLE):
        return _sized(plan, row, indicator, target)
    seek = _NewFarms(plan, name, indicator) if new else None
    gap = _gap(seek or _AsBuilt(plan, name, indicator), target)
    ends = span(row)
    low, high = (np.array([end]) for end in ends)
    start, middle = np.array([base - target]), np.array([row.base])
    points = NEW_POINTS if new else POINTS
    found = [s for s in crossings(gap, middle, start, (low, high), points) if s.found[0]]
    if not found:
        raise _beyond(
            plan, row, indicator, target, _reached(seek, plan, name, indicator, ends, points)
        )
    near = min(found, key=lambda side: abs(float(side.value[0]) - row.base))
    return _goal(plan, row, indicator, target, (base, near, seek))


def makes_the_farm(plan: Plan, row: Row) -> bool:
    """Say whether a row is a choice that the farm, its calendar or its funding is planned by."""
    if row.varies != "choice":
        return False
    return row.name in farm_rows(plan) or row.name.startswith((*REMADE, *PLANNED))


def _goal(
    plan: Plan, row: Row, indicator: str, target: float, what: "tuple[float, Side, _NewFarms|None]"
) -> Goal:
    """Put the answer together from a crossing."""
    base, near, seek = what
    pairs = sorted(
        [
            (float(near.before[0]), float(near.gap_before[0])),
            (float(near.after[0]), float(near.gap_after[0])),
        ]
    )
    ends = [End(x, g + target, seek.plans.get(x, plan) if seek else plan) for x, g in pairs]
    jump, value = bool(near.jump[0]), float(near.value[0])
    answer = next(end.answer for end in ends if end.value == value)
    found = None if jump else value
    below, above = ends
    return Goal(row, indicator, target, base, found, answer, below, above, seek is not None)


class _AsBuilt:
    """Answers of one row's values with the farm as it is built."""

    def __init__(self, plan: Plan, name: str, indicator: str) -> None:
        self.answers, self.name = farm_answers(plan, indicator), name

    def __call__(self, x: Array) -> Array:
        return self.answers([{self.name: float(v)} for v in x])


class _NewFarms:
    """Answers of one row's values, each with a farm made for it; the farms are kept.

    A value at which no farm can be built has no answer.
    """

    def __init__(self, plan: Plan, name: str, indicator: str) -> None:
        self.plan, self.name, self.indicator = plan, name, indicator
        self.plans: dict[float, Plan] = {}
        self.found: dict[float, float] = {}

    def __call__(self, x: Array) -> Array:
        return np.array([self.at(float(v)) for v in x])

    def at(self, x: float) -> float:
        """Return the indicator of the farm made for one value; nan where none can be built."""
        if x not in self.found:
            self.found[x] = self._made(x)
        return self.found[x]

    def _made(self, x: float) -> float:
        case = replace(self.plan.case, read=None).with_fixed(self.name, x, "a goal was sought")
        try:
            made = plan_for(replace(case, timeline=timeline_of(case.rows)))
        except DesignError:
            return float("nan")
        self.plans[x] = made
        return float(appraise(made).indicators[self.indicator][0, 0])


def _gap(answer: Callable[[Array], Array], target: float) -> Callable[[Index, Array], Array]:
    """Return the gap of one unknown from answers at its values."""
    return lambda _, x: answer(x) - target


def _reached(
    seek: _NewFarms | None,
    plan: Plan,
    name: str,
    indicator: str,
    ends: tuple[float, float],
    points: int,
) -> tuple[float, float, float, float]:
    """Return the span of values tried and the lowest and highest answer over it."""
    tried = np.linspace(*ends, 2 * points + 1)
    found = np.array(list(seek.found.values())) if seek else _AsBuilt(plan, name, indicator)(tried)
    known = found[np.isfinite(found)]
    low, high = (float(known.min()), float(known.max())) if known.size else (np.nan, np.nan)
    return *ends, low, high


def _beyond(
    plan: Plan, row: Row, indicator: str, target: float, reached: tuple[float, float, float, float]
) -> AssumptionError:
    """Say that a target is out of reach, and what is reached."""
    low, high, least, most = reached
    unit = "" if row.spec.unit == "1" else f" {row.spec.unit}".replace("money", plan.case.currency)
    return AssumptionError(
        f"no {row.name} between {_plain(low)} and {_plain(high)}{unit} gives {indicator} "
        f"{_plain(target)}; it reaches {_plain(least)} to {_plain(most)}"
    )


def _plain(x: float) -> str:
    """Write a number with four significant digits, thousands apart, without a power of ten."""
    return f"{float(f'{x:.4g}'):,.15g}"


def _sized(plan: Plan, row: Row, indicator: str, target: float) -> Goal:
    """Return the two whole designs between which an indicator meets a target.

    Raises
    ------
    AssumptionError
        If the farm is sized by something else, or no size tried gives the target.
    """
    basis = plan.case.rows["size.basis"].text
    if row.name in SIZES and row.name != f"size.{basis}":
        msg = f"the farm is sized by size.{basis}, not by {row.name}: set size.basis first"
        raise AssumptionError(msg)
    seek = _NewFarms(plan, row.name, indicator)
    step = 1.0 if row.base < 10_000 else 10.0 ** np.floor(np.log10(row.base) - 3.0)  # noqa: PLR2004
    middle = float(np.round(row.base / step) * step)
    factors = np.geomspace(SMALLER, LARGER, 2 * NEW_POINTS + 1)
    sizes = np.unique(np.concatenate([np.round(row.base * factors / step) * step, [middle]]))
    sizes = sizes[(sizes >= row.spec.low) & (sizes <= row.spec.high) & (sizes > 0.0)]
    gaps = seek(sizes) - target
    changes = np.flatnonzero(np.sign(gaps[1:]) * np.sign(gaps[:-1]) <= 0.0)
    if not changes.size:
        known = gaps[np.isfinite(gaps)] + target
        least, most = (known.min(), known.max()) if known.size else (np.nan, np.nan)
        raise _beyond(
            plan, row, indicator, target, (sizes[0], sizes[-1], float(least), float(most))
        )
    at = min(changes, key=lambda i: abs(np.log(sizes[i] / row.base)))
    low, high = _whole(seek, target, (float(sizes[at]), float(sizes[at + 1])), step)
    below, above = (End(x, seek.at(x), seek.plans.get(x, plan)) for x in (low, high))
    near = min((below, above), key=lambda end: abs(end.answer - target))
    found = near.value if near.answer == target else None
    base = check_indicator(plan, indicator)
    return Goal(row, indicator, target, base, found, near.answer, below, above, resized=True)


def _whole(
    seek: _NewFarms, target: float, ends: tuple[float, float], step: float
) -> tuple[float, float]:
    """Halve a bracket of sizes until its ends are whole neighbours."""
    low, high = ends
    side = np.sign(seek.at(low) - target)
    while high - low > 1.5 * step:
        middle = float(np.round((low + high) / 2.0 / step) * step)
        found = seek.at(middle)
        if np.sign(found - target) == side or np.isnan(found):
            low = middle
        else:
            high = middle
    return low, high
