"""What would be lost by having chosen an alternative, where another turns out better?

In each draw the regret of an alternative is how far it falls short of the best of that draw
(Savage 1951, The theory of statistical decision, Journal of the American Statistical Association
46, 55-67). The mean over draws is what choosing it costs on average beside a perfect choice; the
alternative whose worst regret is least is the choice of who would not be far wrong in any draw.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, order_statistic
from sitefare.questions.comparing import Compared
from sitefare.questions.figures import figure
from sitefare.questions.lines import Line
from sitefare.questions.ranking import drawn_worths, worths

#: Share of draws whose regret is no more than the one told. [1]
NINE_IN_TEN = 0.9


@dataclass(frozen=True)
class Regret:
    """One alternative's regret over common draws; inf where it has no answer and another has.

    `answered` is the share of draws in which its regret is finite. [unit of the figure, in USD]
    """

    line: Line
    mean: float
    high: float
    worst: float
    answered: float


@dataclass(frozen=True)
class Regrets:
    """Regret of every alternative whose gates are open, in the order compared.

    `least_mean`, `least_worst` and `least_high` name the alternatives that are chosen by each;
    None where that of every one is inf, as draws without an answer make it. `unit` holds USD for
    money.
    """

    by: str
    unit: str
    lines: tuple[Regret, ...]
    least_mean: Line | None
    least_worst: Line | None
    least_high: Line | None = None


def regret_of(worth: Array) -> Array:
    """Return the regret of each in each draw, (draws, lines), of numbers better for more.

    Where none has an answer there is nothing to regret.

    Parameters
    ----------
    worth : array, shape (draws, lines)
        Worth of each; -inf where it has no answer. [any unit]
    """
    best = worth.max(axis=1, keepdims=True)
    same = worth == best
    return np.asarray(np.where(same, 0.0, best - np.where(same, 0.0, worth)))


def regret(compared: Compared, by: str = "") -> Regrets:
    """Return the regret of every alternative by a figure, the one compared by unless named.

    Without draws it is the regret at base.

    Raises
    ------
    RunError
        If the figure orders nothing.
    """
    by = by or compared.by
    lines = compared.ranked
    drawn = drawn_worths(lines, by)
    if drawn is None:
        drawn = worths(lines, by)[None, :]
    table = regret_of(drawn) if lines else np.zeros((1, 0))
    found = tuple(_line(line, table[:, i]) for i, line in enumerate(lines))
    unit = figure(by).unit.replace("money", "USD")
    least = (_least(found, what) for what in ("mean", "worst", "high"))
    return Regrets(by, unit, found, *least)


def _line(line: Line, x: Array) -> Regret:
    """Put one alternative's regret together."""
    ordered = np.sort(x)
    return Regret(
        line,
        float(np.mean(x)),
        order_statistic(ordered, NINE_IN_TEN),
        float(ordered[-1]),
        float(np.mean(np.isfinite(x))),
    )


def _least(found: Sequence[Regret], what: str) -> Line | None:
    """Name the alternative whose regret of one kind is least, then that of another."""
    other = "worst" if what == "mean" else "mean"
    finite = [one for one in found if np.isfinite(getattr(one, what))]
    if not finite:
        return None
    return min(
        finite, key=lambda one: (getattr(one, what), getattr(one, other), one.line.name)
    ).line
