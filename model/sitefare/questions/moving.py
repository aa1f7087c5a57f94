"""What does the farm answer when named rows are moved, each move an appraisal of its own?

All moves of a question are one vectorised call. Moves that leave the farm as it is are put
together, so that its hours are reckoned once for all of them; no answer depends on the order.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

from sitefare.appraisal import Plan, appraise
from sitefare.arrays import BLOCK, Array, blocks
from sitefare.assumptions.case import Reading, base_values, moved_values
from sitefare.assumptions.files import nearest
from sitefare.assumptions.rows import Row
from sitefare.errors import AssumptionError, SitefareError
from sitefare.farm.flows import farm_flows

#: Rows that are read when a plan is made and never again.
REMADE = ("size.", "project.years", "project.construction")

#: One move: rows by name and what they become, all others at base.
Move = Mapping[str, float]

#: What a model answers to many moves, (moves,).
Answers = Callable[[Sequence[Move]], Array]


def answers_of(model: Callable[[Mapping[str, Array]], Array], base: Mapping[str, float]) -> Answers:
    """Make a plain function of named arrays answer moves, as a farm does.

    Parameters
    ----------
    model : function
        Takes every name's values, (moves,), and returns its answers, (moves,).
    base : mapping
        Each name's value where a move leaves it alone.
    """

    def answer(moves: Sequence[Move]) -> Array:
        laid = {n: np.array([move.get(n, x) for move in moves], float) for n, x in base.items()}
        return np.asarray(np.broadcast_to(model(laid), (len(moves),)), dtype=np.float64)

    return answer


def farm_rows(plan: Plan) -> frozenset[str]:
    """Name the rows that the farm's flows read; all others leave them as they are."""
    reading = Reading(base_values(plan.case))
    farm_flows(reading, plan.design, plan.case.timeline)
    events = {n for n in reading if n.startswith("event.")}
    return frozenset(reading.names | events)


def appraise_moves(
    plan: Plan, moves: Sequence[Move], wanted: Iterable[str] | None = None
) -> dict[str, Array]:
    """Return indicators of every move, (moves, 1) each; all of them, or those wanted."""
    if not moves:
        return {}
    names = list(appraise(plan).indicators) if wanted is None else list(wanted)
    size = 1 if any(_chosen(plan, move) for move in moves) else BLOCK
    physical = farm_rows(plan) if len(moves) > size else frozenset()
    moved = [not physical.isdisjoint(move) for move in moves]
    order = np.array(sorted(range(len(moves)), key=lambda i: (not moved[i], i)))
    parts = [
        _answered(plan, [moves[i] for i in order[block]], names)
        for block in blocks(len(moves), size)
    ]
    back = np.argsort(order)
    return {name: np.concatenate([part[name] for part in parts])[back] for name in names}


def _answered(plan: Plan, moves: Sequence[Move], names: Sequence[str]) -> dict[str, Array]:
    """Return indicators of one block of moves, nan for a move that the farm refuses."""
    try:
        found = appraise(plan, moved_values(plan.case, moves)).indicators
    except SitefareError:
        if len(moves) == 1:
            return {name: np.full((1, 1), np.nan) for name in names}
        middle = len(moves) // 2
        halves = [_answered(plan, part, names) for part in (moves[:middle], moves[middle:])]
        return {name: np.concatenate([half[name] for half in halves]) for name in names}
    return {name: np.broadcast_to(found[name], (len(moves), 1)) for name in names}


def _chosen(plan: Plan, move: Move) -> bool:
    """Say whether a move touches a choice: whole months and terms are one for all draws."""
    return any(plan.case.rows[name].varies == "choice" for name in move)


def farm_answers(plan: Plan, indicator: str) -> Answers:
    """Make a plan answer moves with one indicator.

    Raises
    ------
    AssumptionError
        If there is no such indicator.
    """
    check_indicator(plan, indicator)

    def answer(moves: Sequence[Move]) -> Array:
        return np.asarray(appraise_moves(plan, moves, (indicator,))[indicator][:, 0])

    return answer


def check_indicator(plan: Plan, indicator: str) -> float:
    """Return an indicator at base.

    Raises
    ------
    AssumptionError
        If it is not known, naming the nearest that is.
    """
    found = appraise(plan).indicators
    if indicator not in found:
        hint = nearest(indicator, found)
        msg = f"'{indicator}' is not an indicator{hint}; `sitefare appraise` prints them all"
        raise AssumptionError(msg)
    return float(found[indicator][0, 0])


def movable_row(plan: Plan, name: str) -> Row:
    """Return a row that can be moved with the farm as it is built.

    Raises
    ------
    AssumptionError
        As `numeric_row`, or if the row sets the farm's size or the project's calendar.
    """
    row = numeric_row(plan, name)
    if name.startswith(REMADE):
        msg = f"{name} makes another farm or calendar: seek a goal on it, or set it for a new case"
        raise AssumptionError(msg)
    return row


def numeric_row(plan: Plan, name: str) -> Row:
    """Return a row that is one number.

    Raises
    ------
    AssumptionError
        If there is no such row, naming the nearest, or it is a word or twelve months.
    """
    rows = plan.case.rows
    if name not in rows:
        msg = f"'{name}' is not an assumption of this case{nearest(name, rows)}"
        raise AssumptionError(msg)
    row = rows[name]
    if row.spec.kind != "quantity":
        what = "twelve months" if row.spec.kind == "monthly" else "a word"
        msg = f"{name} is {what}, not one number that can be moved"
        raise AssumptionError(msg)
    return row
