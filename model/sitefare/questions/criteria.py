"""By which criteria are alternatives scored, and what does each weigh?

The criteria stand in common/criterion.csv, one scale for all alternatives: a site's or a
scenario's folder cannot change them. A weight is a swing weight: what going from the worst to the
best of a criterion is worth beside the same step of the others (von Winterfeldt and Edwards 1986).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.case import Case
from sitefare.assumptions.declaration import build_all, inputs, quantity, text
from sitefare.assumptions.files import nearest
from sitefare.assumptions.library import Library
from sitefare.errors import AssumptionError, RunError
from sitefare.questions.figures import ordering

#: Criteria that are no figure of the model, all better for more: the user's need score, and the
#: shares of site facts supplied and of documents held.
NEED, FACTS, PAPERS = "need", "facts_supplied", "documents_held"
GIVEN = (NEED, FACTS, PAPERS)


@inputs("criterion", keyed=True, measure="weight")
class CriterionInputs:
    """One criterion of the score; money is in US dollars."""

    title: str = text(doc="The criterion in words.")
    figure: str = text(
        doc="A figure of the model, or need, facts_supplied or documents_held.",
    )
    worst: str = text(
        doc="Value that scores 0; blank for the worst of the alternatives compared.", optional=True
    )
    best: str = text(
        doc="Value that scores 1; blank for the best of the alternatives compared.", optional=True
    )
    weight: Array = quantity(
        "1", low=0, varies="choice", doc="Weight of the step from worst to best beside the others'."
    )


@dataclass(frozen=True)
class Criterion:
    """One criterion: its figure, weight, and the ends of its scale if stated, None if not."""

    key: str
    title: str
    figure: str
    weight: float
    better: str
    worst: float | None
    best: float | None
    source: str


def criteria_of(library: Library) -> tuple[Criterion, ...]:
    """Return the criteria of a library, in the order of their table.

    Raises
    ------
    AssumptionError
        If a criterion names no figure that orders, or the ends of its scale are refused.
    """
    rows = library.common.rows
    values: dict[str, Array | str] = {
        name: row.text if row.spec.kind == "text" else np.full((1, 1), row.base)
        for name, row in rows.items()
        if name.startswith("criterion.")
    }
    made = build_all(CriterionInputs, values)
    return tuple(
        _criterion(key, one, rows[f"criterion.{key}.weight"].where, _cited(library, key))
        for key, one in made.items()
    )


def check_criteria(case: Case) -> None:
    """Refuse a case whose site, design, scenario or settings change a criterion.

    Raises
    ------
    AssumptionError
        Naming the row and where it stands.
    """
    for name, row in case.rows.items():
        if name.startswith("criterion.") and row.layer != "common":
            msg = (
                f"{row.where}: {name}: criteria are the same for all alternatives; change them in "
                "common/criterion.csv, or give a weight with the question"
            )
            raise AssumptionError(msg)


def _cited(library: Library, key: str) -> str:
    """Name the source of a criterion's weight."""
    row = library.common.rows[f"criterion.{key}.weight"]
    words = library.sources[row.source].citation
    return f"{words}, {row.locator}" if row.locator else words


def _criterion(key: str, one: CriterionInputs, where: str, source: str) -> Criterion:
    """Check one criterion."""
    try:
        better = "more" if one.figure in GIVEN else ordering(one.figure).better
        worst, best = _number(one.worst), _number(one.best)
    except (RunError, ValueError) as error:
        msg = f"{where}: criterion.{key}: {error}"
        raise AssumptionError(msg) from None
    if (worst is None) != (best is None):
        msg = f"{where}: criterion.{key}: give both worst and best, or neither"
        raise AssumptionError(msg)
    if worst is not None and best is not None and (best > worst) != (better == "more"):
        ends = f"worst is {worst:g} and best {best:g}"
        msg = f"{where}: criterion.{key}: {better} of it is better, but {ends}"
        raise AssumptionError(msg)
    return Criterion(
        key, one.title, one.figure, float(one.weight[0, 0]), better, worst, best, source
    )


def _number(words: str) -> float | None:
    """Read an end of a scale; None for a blank."""
    if not words:
        return None
    number = float(words)
    if not np.isfinite(number):
        msg = f"'{words}' is no number"
        raise ValueError(msg)
    return number


def weighted(criteria: tuple[Criterion, ...], given: Mapping[str, float]) -> tuple[Criterion, ...]:
    """Return criteria with the caller's weights in place of the table's.

    Raises
    ------
    RunError
        If a weight names no criterion or is no number from 0, or all are 0.
    """
    known = [one.key for one in criteria]
    for key, weight in given.items():
        if key not in known:
            hint = nearest(key, known) or f"; those there are {', '.join(known)}"
            msg = f"weight {key}: '{key}' is not a criterion{hint}"
            raise RunError(msg)
        if not (np.isfinite(weight) and weight >= 0):
            msg = f"weight {key}: a number from 0 is accepted; found {weight:g}"
            raise RunError(msg)
    source = "given with the question"
    made = tuple(
        replace(one, weight=given[one.key], source=source) if one.key in given else one
        for one in criteria
    )
    if not any(one.weight > 0 for one in made):
        msg = "a score needs at least one criterion whose weight is above 0"
        raise RunError(msg)
    return made
