"""In which order do alternatives stand by a figure, and how surely?

Ranks are those of the base case. Over common draws each alternative has a chance of being best,
of being among the first three, and a mean rank. Those that are equal share: a rank is their mean,
a chance is parted among them. An alternative without an answer in a draw is never best there.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import rankdata

from sitefare.arrays import Array
from sitefare.errors import RunError
from sitefare.questions.comparing import Compared
from sitefare.questions.figures import goodness, ordering
from sitefare.questions.lines import Line

#: The first places whose chance is told where more alternatives than these are ranked. [1]
FIRST = 3


@dataclass(frozen=True)
class Ranked:
    """One alternative's place by a figure; equal ones share their rank.

    `chance_best`, `chance_first_three` and `mean_rank` are over common draws: None where there
    are none of the figure, and the second where no more than three are ranked.
    """

    line: Line
    rank: int
    chance_best: float | None
    chance_first_three: float | None
    mean_rank: float | None


def worths(lines: Sequence[Line], by: str) -> Array:
    """Return a figure of lines at base, of which more is better, (lines,); money in USD.

    Raises
    ------
    RunError
        If the figure orders nothing, or the lines have none of the name.
    """
    ordering(by)
    if any(by not in line.values for line in lines):
        msg = f"'{by}' is not a figure of every alternative compared"
        raise RunError(msg)
    return goodness(by, np.array([line.usd(by) for line in lines]))


def drawn_worths(lines: Sequence[Line], by: str) -> Array | None:
    """Return a figure's draws, of which more is better, (draws, lines); None without draws."""
    ordering(by)
    if not lines or any(by not in line.draws for line in lines):
        return None
    return goodness(by, np.stack([line.usd_draws(by) for line in lines], axis=1))


def best_in(worth: Array) -> Array:
    """Return how far each is the best of a draw, (draws, lines): equal ones share 1.

    Nobody is best where none has an answer.
    """
    top = worth.max(axis=1, keepdims=True)
    best = (worth == top) & np.isfinite(top)
    count = best.sum(axis=1, keepdims=True)
    return np.asarray(best / np.where(count > 0, count, 1))


def unanswered(compared: Compared, by: str) -> float | None:
    """Return the share of draws in which no alternative has an answer; None without draws. [1]"""
    worth = drawn_worths(compared.ranked, by)
    return None if worth is None else float(np.mean(~np.isfinite(worth).any(axis=1)))


def ranks(compared: Compared, by: str) -> tuple[Ranked, ...]:
    """Return the alternatives whose gates are open in order of a figure, best first.

    Raises
    ------
    RunError
        If the figure orders nothing, or is not one of every alternative.
    """
    lines = compared.ranked
    worth = worths(lines, by)
    drawn = drawn_worths(lines, by)
    at_base = rankdata(-worth, method="min")
    told = _over_draws(drawn) if drawn is not None else [(None, None, None)] * len(lines)
    found = [Ranked(line, int(at_base[i]), *told[i]) for i, line in enumerate(lines)]
    return tuple(sorted(found, key=lambda one: (one.rank, one.line.name)))


def _over_draws(worth: Array) -> list[tuple[float, float | None, float]]:
    """Return each one's chances and mean rank over draws, of worths (draws, lines)."""
    first = rankdata(-worth, method="min", axis=1)
    last = rankdata(-worth, method="max", axis=1)
    # Equal ones fill the places from first to last, each as likely as another.
    inside = np.clip((FIRST + 1 - first) / (last + 1 - first), 0.0, 1.0)
    three = np.where(np.isfinite(worth), inside, 0.0).mean(axis=0)
    best = best_in(worth).mean(axis=0)
    mean = ((first + last) / 2).mean(axis=0)
    many = worth.shape[1] > FIRST
    return [
        (float(a), float(b) if many else None, float(c))
        for a, b, c in zip(best, three, mean, strict=True)
    ]
