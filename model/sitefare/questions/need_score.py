"""How great is the need at a site, by the user's own score and its source?

The model has no view of need: a score stands in a site's folder with the scale it is on and the
source it is from, or it is not known. More is more need.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.case import Case
from sitefare.assumptions.declaration import inputs, quantity, text


@inputs("humanitarian_need")
class NeedScoreInputs:
    """A site's need as its user scores it."""

    score: Array = quantity(
        "1", low=0, varies="choice",
        doc="Need by the scale named, more for more need; a site that gives none has no score.",
    )  # fmt: skip
    scale: str = text(doc="The scale that the score is on, such as phases 1 to 5.", optional=True)


@dataclass(frozen=True)
class Need:
    """A site's need score, the scale it is on, and its source in words."""

    score: float
    scale: str
    source: str


def need_of(case: Case) -> Need | None:
    """Return the need score that a site, a scenario or a setting gives; None where none does."""
    row = case.rows["humanitarian_need.score"]
    if row.layer == "common" or not np.isfinite(row.base):
        return None
    words = case.library.sources[row.source].citation
    where = f"{words}, {row.locator}" if row.locator else words
    return Need(row.base, case.rows["humanitarian_need.scale"].text, where)
