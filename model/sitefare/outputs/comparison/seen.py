"""What every section of a comparison reads: its lines in order, their names, what was found.

A document shows the first `SHOWN` lines and says how many more there are; files hold all.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from sitefare.errors import RunError
from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.naming import listed, names_of
from sitefare.outputs.document import plain
from sitefare.outputs.numbers import Formats
from sitefare.questions.comparing import Compared
from sitefare.questions.edge import OnEdge, edge
from sitefare.questions.figures import figure, goodness
from sitefare.questions.lines import Line
from sitefare.questions.ranking import Ranked, drawn_worths, ranks
from sitefare.questions.regret import Regrets, regret, regret_of
from sitefare.questions.turning import Against
from sitefare.questions.uncertainty import UNDEFINED_AT_MOST
from sitefare.questions.weighing import Weighed, weighing

#: Lines that a document shows.
SHOWN = 20

#: Letters that mark alternatives whose gate is shut.
LETTERS = "abcdefghijklmnopqrstuvwxyz"

#: Chances from here on would be rounded to one. [1]
NEARLY = 0.995

#: Share of the site facts asked below which an alternative is told as resting on defaults. [1]
HALF = 0.5


@dataclass(frozen=True)
class Seen:
    """A comparison as the sections of its document see it.

    `turned` is what would change the order; `weights` are the caller's own.
    """

    compared: Compared
    turned: tuple[Against, ...]
    formats: Formats
    weights: Mapping[str, float]

    @cached_property
    def ranked(self) -> tuple[Ranked, ...]:
        """Alternatives whose gates are open, in order, with their chances."""
        return ranks(self.compared, self.compared.by)

    @cached_property
    def all(self) -> tuple[Ranked, ...]:
        """Every alternative: those ranked, in order, then those with a gate shut."""
        shut = [line for line in self.compared.lines if not line.rank]
        return (*self.ranked, *(Ranked(line, 0, None, None, None) for line in shut))

    @property
    def shown(self) -> tuple[Ranked, ...]:
        """The alternatives that the document shows."""
        return self.all[:SHOWN]

    @property
    def hidden(self) -> str:
        """Say how many alternatives the document does not show; empty where it shows all."""
        more = len(self.all) - len(self.shown)
        if not more:
            return ""
        return (
            f"The document shows the first {SHOWN} of {len(self.all)} alternatives; the other {more} stand in "
            "comparison.csv, comparison.parquet and comparison.json beside it."
        )

    @cached_property
    def first(self) -> Ranked | None:
        """The alternative that comes first; None where none ranked has an answer."""
        if self.ranked and math.isfinite(self.ranked[0].line.usd(self.compared.by)):
            return self.ranked[0]
        return None

    @property
    def would_be_first(self) -> tuple[Line, ...]:
        """Alternatives with a shut gate that would come before the first if it were open."""
        by, shut = self.compared.by, [line for line in self.compared.lines if not line.rank]
        if self.first is None:
            return ()
        least = goodness(by, np.array(self.first.line.usd(by)))
        return tuple(x for x in shut if goodness(by, np.array(x.usd(by))) > least)

    @cached_property
    def names(self) -> Mapping[str, str]:
        """The printed name of each alternative by its key."""
        return names_of(self.compared.lines)

    def name(self, line: Line) -> str:
        """Return the printed name of an alternative."""
        return self.names[line.name]

    def marked(self, line: Line) -> str:
        """Return an alternative's mark and name, as the first cell of a table's row."""
        words = f"{self.mark(line)}. {self.name(line)}"
        if not line.rank:
            return f"{words} (not ranked)"
        same = self.compared.lines[line.rank - 1]
        return words if same.name == line.name else f"{words} (equal to {self.mark(same)})"

    @cached_property
    def marks(self) -> Mapping[str, str]:
        """The place of each alternative in the order, or a letter where it has none, by its key."""
        ranked = [line.name for line in self.compared.lines if line.rank]
        shut = [line.name for line in self.compared.lines if not line.rank]
        places = {name: str(n) for n, name in enumerate(ranked, 1)}
        return places | {name: _letters(n) for n, name in enumerate(shut)}

    def mark(self, line: Line) -> str:
        """Return the mark of an alternative."""
        return self.marks[line.name]

    @property
    def measure(self) -> Measure:
        """The figure that puts the alternatives in order."""
        return Measure(self.compared.by, self.formats)

    @property
    def better_words(self) -> str:
        """Say which end of the order comes first."""
        return "the least first" if figure(self.compared.by).better == "less" else "the most first"

    @property
    def ration(self) -> str:
        """The one ration that people are counted by."""
        return self.compared.lines[0].ration

    def share(self, x: float | None) -> str:
        """Write a chance; an en dash where there is none, and no certainty that is not one."""
        if x is not None and NEARLY <= x < 1.0:
            return f"over {self.formats.share(0.99)}"
        return self.formats.share(x)

    @cached_property
    def edge(self) -> tuple[OnEdge, ...]:
        """Alternatives whose gates are open beside the efficient edge, in order."""
        return edge(self.compared)

    @property
    def edge_words(self) -> str:
        """Say which alternatives no other beats on cost and people both; empty with none."""
        on = [one for one in self.edge if one.on_edge]
        if not on:
            return ""
        by_cost = sorted(on, key=lambda one: (one.cost, -one.people))
        cheap, most = (self.name(one.line) for one in (by_cost[0], by_cost[-1]))
        whole = len(self.edge) == len(self.compared.lines)
        if len(on) == 1:
            other = "No other" if whole else "Of those ranked no other"
            return f"{other} feeds more people than {cheap}, and none feeds them for less"
        which = "" if whole else " ranked"
        return (
            f"{len(on)} of {len(self.edge)}{which} are beaten by no other on cost and people both: "
            f"{cheap} is cheapest, {most} feeds most people"
        )

    @cached_property
    def regrets(self) -> Regrets:
        """Regret of every alternative whose gates are open, in order."""
        return regret(self.compared)

    @cached_property
    def answered_regrets(self) -> Mapping[str, tuple[float, float]]:
        """Mean regret over the draws with an answer, and the share without, by key; none undrawn.

        A draw counts as without where another alternative has an answer. Where more than 5 % are
        without, the rest tell no mean: it is inf. [unit], [1]
        """
        worth = drawn_worths(self.compared.ranked, self.compared.by)
        if worth is None:
            return {}
        table = regret_of(worth)
        known = np.isfinite(table)
        count = np.maximum(known.sum(axis=0), 1)
        mean = np.where(known, table, 0.0).sum(axis=0) / count
        return {
            line.name: (
                float(mean[i]) if known[:, i].mean() >= 1.0 - UNDEFINED_AT_MOST else math.inf,
                float(1 - known[:, i].mean()),
            )
            for i, line in enumerate(self.compared.ranked)
        }

    @property
    def regret_words(self) -> str:
        """Say what choosing the first costs where another turns out better; empty with none."""
        if self.first is None or len(self.answered_regrets) < 2:  # noqa: PLR2004
            return ""
        mean, none = self.answered_regrets[self.first.line.name]
        who = plain(self.name(self.first.line))
        if mean == none == 0.0:
            return f"{who} is the best in every draw: choosing it is never regretted."
        words = (
            f"On average {who} turns out {plain(self.difference(mean))} {self.measure.gap} whichever is "
            "best in a draw"
        )
        if none:
            words += f"; in {self.share(none)} of draws it has no answer where another has"
        least = self.regrets.least_mean
        if least is None:
            return f"{words}."
        if least.name == self.first.line.name:
            return f"{words}; no other is regretted less."
        other = plain(self.difference(self.answered_regrets[least.name][0]))
        has = "always has one, and is" if none else "is regretted less,"
        return f"{words}. {plain(self.name(least))} {has} {other} {self.measure.gap} the best on average."

    @cached_property
    def weighed(self) -> Weighed | str:
        """Scores by the weights stated, or why there is none."""
        try:
            return weighing(self.compared, self.weights)
        except RunError as error:
            return str(error)

    @cached_property
    def by_name(self) -> Mapping[str, Mapping[str, Any]]:
        """What each question found of an alternative, by its key: ranked, edge, regret, score."""
        scores = () if isinstance(self.weighed, str) else self.weighed.scores
        asked: dict[str, Sequence[Any]] = {
            "ranked": self.ranked,
            "edge": self.edge,
            "regret": self.regrets.lines,
            "score": scores,
        }
        found: dict[str, dict[str, Any]] = {}
        for question, answers in asked.items():
            for one in answers:
                found.setdefault(one.line.name, {})[question] = one
        return found

    @cached_property
    def outside(self) -> tuple[Line, ...]:
        """Alternatives whose base lies outside its own range by the figure that orders."""
        return tuple(line for line in self.compared.lines if self.is_outside(line))

    def is_outside(self, line: Line) -> bool:
        """Say whether the base lies outside the range of 8 in 10 draws."""
        low, high = line.usd_ends(self.compared.by)
        base = line.usd(self.compared.by)
        return math.isfinite(base) and (
            (low is not None and base < low) or (high is not None and base > high)
        )

    def as_good(self, line: Line) -> str:
        """Say in how many draws an alternative does as well as at base."""
        by = self.compared.by
        draws, base = goodness(by, line.usd_draws(by)), goodness(by, np.array(line.usd(by)))
        return self.share(float(np.mean(draws >= base)))

    def difference(self, x: float) -> str:
        """Write a difference of the figure that orders, two figures, with its unit."""
        unit = self.measure.unit
        number = self.formats.number(x * self.measure.factor, 2)
        return f"{number} {unit}".strip()

    @cached_property
    def weak(self) -> tuple[str, ...]:
        """Places that supply fewer than half of the site facts asked, in order."""
        return tuple(dict.fromkeys(x.place for x in self.compared.lines if rests_on_defaults(x)))

    def finite(self, x: float) -> float | None:
        """Return a number, None where it is none or has no end."""
        return x if math.isfinite(x) else None

    def listed(self, lines: list[Line], most: int = 4) -> str:
        """Name alternatives as a sentence does, ready for the tiny markup."""
        return plain(listed([self.name(line) for line in lines], most))


def rests_on_defaults(line: Line) -> bool:
    """Say whether fewer than half of the site facts asked are supplied."""
    supplied, asked = line.facts
    return supplied < HALF * asked


def _letters(n: int) -> str:
    """Return a, b, … z, aa, ab … for the alternatives that have no rank."""
    last = LETTERS[n % len(LETTERS)]
    return last if n < len(LETTERS) else _letters(n // len(LETTERS) - 1) + last
