"""Which farm at which site would feed people best for the money, once it passes its gates?

Alternatives are appraised on common draws, so that shared uncertainty cancels. One whose gate is
shut (a document missing, water too salty) is listed apart; the rest stand in order of a figure,
by default cost per person-day over the local price of the same food, at one ration. Every line is
made by one call on workers: the answer is the same whoever works, and however alternatives are
ordered when they are named.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

import numpy as np

from sitefare.assumptions.draws import check_draws
from sitefare.assumptions.library import library_once, stamp_of
from sitefare.errors import AssumptionError, DesignError, RunError
from sitefare.questions.alternatives import Alternative, check_alternatives
from sitefare.questions.criteria import GIVEN, Criterion, criteria_of
from sitefare.questions.figures import RATIO, goodness, ordering
from sitefare.questions.lines import (
    KEPT,
    Asked,
    Known,
    Line,
    known_of,
    line_or_refusal,
    swung_of,
)
from sitefare.stages import Stage, untold
from sitefare.workers import Here, Processes, Workers

T = TypeVar("T")
R = TypeVar("R")

#: Alternatives of one first look; a farm that is sized is a task of its own. [1]
TOGETHER = 8

#: First looks that are no work for processes of their own. [1]
FEW = 4

#: Most dimensions of the sequence of draws. Beyond it rows that sites share keep the sequence, and
#: each site's own rows are drawn by their names. [1]
MOST_DIMENSIONS = 4096

#: Lines, in order, whose figure is taken apart by rows. [1]
CLOSER = 12


@dataclass(frozen=True)
class Compared:
    """Alternatives in order of a figure, those with a shut gate last, and those refused.

    `refused` says by alternative why its farm cannot be built or run safely; those named in
    `failed` are among them, but not for that: their appraisal came to no end. `criteria` are
    those of the library, for a score.
    """

    lines: tuple[Line, ...]
    refused: Mapping[str, str]
    by: str
    draws: int
    seed: int
    criteria: tuple[Criterion, ...]
    asked: Asked
    failed: tuple[str, ...] = ()

    @property
    def ranked(self) -> tuple[Line, ...]:
        """Lines whose gates are open, in order."""
        return tuple(line for line in self.lines if line.rank)


def compare(
    folder: Path,
    alternatives: Sequence[Alternative],
    draws: int,
    seed: int,
    by: str = RATIO,
    workers: Workers | None = None,
    progress: Stage = untold,
    closer: int = CLOSER,
    keep: Sequence[str] = (),
) -> Compared:
    """Appraise alternatives on common draws and put them in order of a figure.

    Parameters
    ----------
    folder : Path
        The folder of assumptions, which every worker must see under the same name.
    alternatives : sequence of Alternative
        Two or more, each once.
    draws, seed : int
        Draws, a power of two or 0 for no ranges, and their seed. [1]
    by : str
        The figure that puts them in order.
    workers : Workers, optional
        Who appraises: this process unless given.
    progress : function
        Begins every stage, and hears of tasks that end.
    closer : int
        Lines, in order, whose figure is taken apart by rows. [1]
    keep : sequence of str
        Figures whose draws are kept beside the usual ones.

    Raises
    ------
    RunError
        If there are fewer than two, one stands twice, the figure is unknown or orders nothing,
        headline rations differ, or workers fail.
    AssumptionError
        If a site, a design, a scenario, a setting or the draws are refused.
    DesignError
        If no farm can be built or run safely.
    """
    check_draws(draws, seed)
    check_alternatives(alternatives)
    ordering(by)
    folder = folder.resolve()
    stamp = stamp_of(folder)
    criteria = criteria_of(library_once(folder, stamp))
    extra = [one.figure for one in criteria if one.figure not in GIVEN]
    kept = tuple(dict.fromkeys((*KEPT, by, *keep, *extra)))
    asked = Asked(folder, stamp, draws, seed, by, kept)
    hands = _Hands(workers or Here(), progress)
    named = sorted(alternatives, key=lambda one: one.name)
    asked = replace(asked, keys=_keys(_looked(hands, asked, named)))
    apart = len(named) <= closer
    lines, refused, failed = _lines(hands, asked, named, apart=apart)
    ranked = ordered(by, lines)
    taken = ranked[:closer] if apart else _taken_apart(hands, asked, ranked[:closer])
    everyone = (*taken, *ranked[closer:])
    return Compared(everyone, refused, by, draws, seed, criteria, asked, failed)


@dataclass(frozen=True)
class _Hands:
    """Workers, and who is told of what they do."""

    workers: Workers
    progress: Stage

    def each(
        self, title: str, function: Callable[[T], R], tasks: Sequence[T]
    ) -> list[tuple[R | None, str]]:
        """Return every task's answer or failure, in the order of the tasks."""
        ended = self.progress(title, len(tasks))
        found: dict[int, tuple[R | None, str]] = {}
        for outcome in self.workers.each(function, tasks):
            found[outcome.number] = (outcome.answer, outcome.failure)
            ended(not outcome.done)
        return [found[number] for number in range(len(tasks))]


def _looked(hands: _Hands, asked: Asked, named: Sequence[Alternative]) -> list[Known]:
    """Take a first look at every alternative; all must be counted by one ration."""
    some = [named[i : i + TOGETHER] for i in range(0, len(named), TOGETHER)]
    found: list[Known] = []
    if len(some) <= FEW and isinstance(hands.workers, Processes):
        hands = replace(hands, workers=Here())  # sooner done than processes are started
    for answer, failure in hands.each("Cases read", partial(known_of, asked), some):
        if answer is None:
            raise AssumptionError(failure)
        found += answer
    rations = {one.ration for one in found}
    if len(rations) > 1:
        msg = f"sites are compared by one ration; these name {', '.join(sorted(rations))}"
        raise RunError(msg)
    return found


def _keys(known: Sequence[Known]) -> tuple[str, ...]:
    """Return the keys of the draws that all alternatives share, sorted."""
    union = sorted({key for one in known for key in one.keys})
    if len(union) > MOST_DIMENSIONS:
        union = [key for key in union if "@" not in key]
    return tuple(union)


def _lines(
    hands: _Hands, asked: Asked, named: Sequence[Alternative], *, apart: bool
) -> tuple[list[Line], dict[str, str], tuple[str, ...]]:
    """Appraise every alternative; what bars one bars no other."""
    lines: list[Line] = []
    refused: dict[str, str] = {}
    failed: list[str] = []
    found = hands.each("Alternatives appraised", partial(line_or_refusal, asked, apart), named)
    for one, (line, failure) in zip(named, found, strict=True):
        if isinstance(line, Line):
            lines.append(line)
            continue
        refused[one.name] = failure if line is None else line
        failed += [one.name] if line is None else []
    if not lines:
        words = "; ".join(f"{name}: {why}" for name, why in refused.items())
        if failed:
            msg = f"no alternative could be appraised: {words}"
            raise RunError(msg)
        msg = f"no farm can be built as asked: {words}"
        raise DesignError(msg)
    return lines, refused, tuple(failed)


def ordered(by: str, lines: Sequence[Line]) -> list[Line]:
    """Return lines in order with their ranks; equal ones share theirs, a shut gate has none."""
    made: list[Line] = []
    for i, line in enumerate(sorted(lines, key=partial(_place, by)), 1):
        equal = bool(made) and _place(by, made[-1])[:2] == _place(by, line)[:2]
        rank = made[-1].rank if equal else i
        made.append(replace(line, rank=0 if line.shut else rank))
    return made


def _place(by: str, line: Line) -> tuple[bool, float, str]:
    """Put gates that are shut last, then the best first, no answer after all answers."""
    worth = float(goodness(by, np.array(line.usd(by))))
    return bool(line.shut), -worth, line.name


def _taken_apart(hands: _Hands, asked: Asked, lines: Sequence[Line]) -> list[Line]:
    """Add what moves the figure of each line."""
    if not lines:
        return []
    tasks = [line.alternative for line in lines]
    found = hands.each("Taken apart by assumption", partial(swung_of, asked), tasks)
    made: list[Line] = []
    for line, (answer, failure) in zip(lines, found, strict=True):
        if answer is None:
            msg = f"{line.name}: {failure}"
            raise RunError(msg)
        made.append(replace(line, sensitive_to=answer[0], swung=answer[1]))
    return made
