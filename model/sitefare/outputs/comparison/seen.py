"""What every section of a comparison reads: its lines in order, their names, what was found.

A document shows the first `SHOWN` lines and says how many more there are; files hold all.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.naming import names_of
from sitefare.outputs.document import plain
from sitefare.outputs.numbers import Formats
from sitefare.questions.comparing import Compared, Line
from sitefare.questions.edge import Standing, edge
from sitefare.questions.ranking import Ranked, ranks
from sitefare.questions.regret import Regrets, regret
from sitefare.questions.turning import Turn, turning
from sitefare.questions.weighing import Weighed, weigh

#: Lines that a document shows.
SHOWN = 20


@dataclass(frozen=True)
class Seen:
    """A comparison as the sections of its document see it."""

    compared: Compared
    formats: Formats
    weights: Mapping[str, float]

    @cached_property
    def ranked(self) -> tuple[Ranked, ...]:
        """Every line with its rank and chances, in order."""
        return ranks(self.compared, self.compared.by)
