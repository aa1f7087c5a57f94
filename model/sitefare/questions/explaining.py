"""What is this indicator made of, and which assumptions are behind each term?

The terms come from the money of one case. The rows named beside a term are those whose own
range, low to high with everything else at base, moves that term most: all of them are swung in
one vectorised appraisal, so the list is of what the model really reads, not of what was noted.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal, Plan, appraise, appraise_blocks, draws_in, stacked
from sitefare.arrays import Array
from sitefare.assumptions.case import swung_values
from sitefare.errors import AssumptionError
from sitefare.money.explain import Terms, terms_of
from sitefare.questions.dictionary import INDICATORS

#: Rows named beside a term, and the least pull beside the strongest row's that is named.
NAMED, LEAST = 4, 0.01


@dataclass(frozen=True)
class Term:
    """One term: the line, its group, its amount in the indicator's unit, rows by pull."""

    name: str
    group: str
    amount: float
    rows: tuple[str, ...]


@dataclass(frozen=True)
class Explanation:
    """An indicator of one case and what makes it; `terms`, of `terms_unit`, add up to `total`.

    `beside` holds other shares a reviewer asks for, `path` cumulative money by project year.
    """

    indicator: str
    title: str
    unit: str
    terms_unit: str
    value: float
    reason: str
    terms: tuple[Term, ...]
    total: float
    words: str
    path: tuple[float, ...]
    beside: Mapping[str, float]


def physical(appraisal: Appraisal, indicator: str) -> Terms | None:
    """Return the terms of a physical yearly figure that is a plain sum, else None."""
    flows, mean = appraisal.flows, appraisal.finances.figures.yearly_mean
    sums: dict[str, tuple[Mapping[str, Array], float]] = {
        "vegetables_marketable_kg_year": (flows.crop_kg, 1.0),
        "electricity_kwh_year": (flows.electricity_kwh, 1.0),
        "jobs_fte": (flows.role_hours, 1.0),
    }
    if indicator not in sums:
        return None
    parts, factor = sums[indicator]
    answer = appraisal.indicators[indicator]
    found = {name: factor * mean(x) for name, x in parts.items()}
    whole = sum(found.values(), np.zeros((1, 1)))
    terms = {n: x / np.where(whole == 0, 1.0, whole) * answer for n, x in found.items()}
    words = "mean of full-production years by part"
    return Terms(terms, dict.fromkeys(terms, "physical"), answer, words)


def found_terms(appraisal: Appraisal, indicator: str) -> Terms:
    """Return the terms of any indicator that is explained.

    Raises
    ------
    AssumptionError
        If the indicator is not known, or is no sum of terms.
    """
    if indicator not in appraisal.indicators:
        msg = f"'{indicator}' is not an indicator; `sitefare appraise` prints them all"
        raise AssumptionError(msg)
    made = physical(appraisal, indicator)
    return made if made is not None else terms_of(appraisal.finances, indicator)


def pulls(plan: Plan, indicator: str, terms: Iterable[str]) -> tuple[list[str], dict[str, Array]]:
    """Return the uncertain rows and how far each moves every term, (rows,) by term.

    Where a swing has no such term (no loan, no answer), it does not move it.
    """
    rows = [plan.case.rows[name] for name in plan.case.uncertain]
    ranged = [(r.name, r.low, r.high) for r in rows if r.low is not None and r.high is not None]
    if not ranged:
        return [], {}
    # A rate moves with the row: its terms are compared at the view's own discount rate.
    held = indicator.replace("irr", "npv").replace("equity_nominal", "equity")
    moves = [(name, x) for name, low, high in ranged for x in (low, high)]
    values = swung_values(plan.case, moves)
    blocks = [found_terms(made, held).terms for made in appraise_blocks(plan, values)]
    draws = draws_in(values)
    none = np.full((1, 1), np.nan)
    ends = {name: stacked([b.get(name, none) for b in blocks], draws)[:, 0] for name in terms}
    return [name for name, _, _ in ranged], {n: np.abs(x[1::2] - x[::2]) for n, x in ends.items()}


def behind(names: list[str], pull: Array) -> tuple[str, ...]:
    """Name the rows that move a term most, largest first."""
    clean = np.nan_to_num(pull, nan=0.0, posinf=0.0)
    order = np.argsort(-clean, kind="stable")[:NAMED]
    return tuple(names[i] for i in order if clean[i] > LEAST * clean[order[0]])


def explain(plan: Plan, indicator: str, *, with_rows: bool = True) -> Explanation:
    """Explain one indicator of a plan at its base values, with the rows behind each term.

    Without rows it takes one appraisal; with them, two for each uncertain row, all at once.
    """
    appraisal = appraise(plan)
    made = found_terms(appraisal, indicator)
    names, moved = pulls(plan, indicator, made.terms) if with_rows else ([], {})
    terms = []
    for name, x in made.terms.items():
        amount = float(x[0, 0])
        if amount != 0:
            rows = behind(names, moved[name]) if names else ()
            terms.append(Term(name, made.group.get(name, ""), amount, rows))
    told = INDICATORS.get(indicator.partition(".")[0])
    unit = told.unit if told else "money"
    return Explanation(
        indicator,
        told.title if told else indicator,
        unit.replace("money", plan.case.currency),
        (made.unit or unit).replace("money", plan.case.currency),
        float(appraisal.indicators[indicator][0, 0]),
        appraisal.reasons.get(indicator, ""),
        tuple(sorted(terms, key=lambda term: -abs(term.amount))),
        float(np.broadcast_to(made.total, (1, 1))[0, 0]),
        made.words,
        () if made.path is None else tuple(float(x) for x in made.path[0]),
        {name: float(x[0, 0]) for name, x in made.beside.items()},
    )
