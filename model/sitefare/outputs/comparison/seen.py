"""What every section of a comparison reads: its lines in order, their names, what was found.

A document shows the first `SHOWN` lines and says how many more there are; files hold all.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.naming import listed, names_of
from sitefare.outputs.document import plain
from sitefare.outputs.numbers import Formats
from sitefare.questions.comparing import Compared
from sitefare.questions.edge import OnEdge, edge
from sitefare.questions.figures import figure
from sitefare.questions.lines import Line
from sitefare.questions.ranking import Ranked, ranks
from sitefare.questions.regret import Regrets, regret

#: Lines that a document shows.
SHOWN = 20

#: Letters that mark alternatives whose gate is shut.
LETTERS = "abcdefghijklmnopqrstuvwxyz"

#: Share of the site facts asked below which an alternative is told as resting on defaults. [1]
HALF = 0.5


@dataclass(frozen=True)
class Seen:
    """A comparison as the sections of its document see it; weights are the caller's own."""

    compared: Compared
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

    @cached_property
    def names(self) -> Mapping[str, str]:
        """The printed name of each alternative by its key."""
        return names_of(self.compared.lines)

    def name(self, line: Line) -> str:
        """Return the printed name of an alternative."""
        return self.names[line.name]

    @cached_property
    def marks(self) -> Mapping[str, str]:
        """The rank of each alternative as a mark, or a letter where it has none, by its key."""
        shut = [line.name for line in self.compared.lines if not line.rank]
        letters = {name: _letters(n) for n, name in enumerate(shut)}
        return {line.name: letters.get(line.name, str(line.rank)) for line in self.compared.lines}

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
        """Write a chance; an en dash where there is none."""
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
        if len(on) == 1:
            return f"No other feeds more people than {cheap}, and none feeds them for less"
        return (
            f"{len(on)} of {len(self.edge)} are beaten by no other on cost and people both: "
            f"{cheap} is cheapest, {most} feeds most people"
        )

    @cached_property
    def regrets(self) -> Regrets:
        """Regret of every alternative whose gates are open, in order."""
        return regret(self.compared)

    @property
    def regret_words(self) -> str:
        """Say what choosing the first costs where another turns out better; empty with none."""
        found = {one.line.name: one for one in self.regrets.lines}
        if self.first is None or not self.compared.draws or len(found) < 2:  # noqa: PLR2004
            return ""
        mean = found[self.first.line.name].mean
        who = plain(self.name(self.first.line))
        if not math.isfinite(mean):
            words = f"In some draws {who} has no answer where another has one"
        elif mean == 0.0:
            words = f"{who} is the best in every draw: choosing it is never regretted"
        else:
            words = (
                f"On average over the draws {who} turns out {plain(self.difference(mean))} worse than "
                "whichever is best in each"
            )
        least = self.regrets.least_mean
        if least is None or least.name == self.first.line.name:
            return f"{words}." if mean == 0.0 else f"{words}; no other is regretted less."
        return f"{words}; {plain(self.name(least))} is regretted less."

    def difference(self, x: float) -> str:
        """Write a difference of the figure that orders, two figures, with its unit."""
        unit = self.measure.unit
        number = self.formats.number(x * self.measure.factor, 2)
        return f"{number} {unit}".strip()

    @cached_property
    def weak(self) -> tuple[str, ...]:
        """Places that supply fewer than half of the site facts asked, in order."""
        return tuple(
            dict.fromkeys(x.place for x in self.compared.lines if rests_on_defaults(x))
        )

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
