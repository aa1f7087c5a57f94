"""How likely is it that the farm disappoints, and when would its cash run out?

Each chance is the share of draws in which something happens; a draw without an answer (no
payback, nobody fed) counts as a disappointment.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import Array, order_statistic
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build, inputs, quantity
from sitefare.questions.sampling_error import SHARES, Between, chance
from sitefare.questions.uncertainty import Uncertainty, first_short
from sitefare.sizing import SizeInputs


@inputs("promise")
class PromiseInputs:
    """What is promised to funders and to the people served."""

    payback: Array = quantity("year", low=0, high=60, varies="choice", doc="Payback asked for")
    people: Array = quantity(
        "person",
        low=0,
        varies="choice",
        doc="People promised food by the headline ration; 0: those the plan is sized for",
    )


@dataclass(frozen=True)
class Promise:
    """Payback asked for [year] and people promised [person], and where their number is from."""

    payback: float
    people: float
    people_from: str


@dataclass(frozen=True)
class Chance:
    """One way to disappoint: its name, in words, its share of draws with sampling error."""

    key: str
    words: str
    share: Between


@dataclass(frozen=True)
class CashEnd:
    """When cash runs out, by draws.

    `ever` is the share in which it does; `months` the first month without cash at P10, P50 and
    P90, None where later than the appraisal; `by_year` the share in which it first happens in
    each project year, (years + 1,) [1]; `base` the month of the base case, None for never.
    """

    ever: Between
    months: Mapping[float, int | None]
    by_year: Array
    base: int | None


def promise(appraisal: Appraisal) -> Promise:
    """Return what is promised: people of the promise, else the size asked, else the base case."""
    values = base_values(appraisal.case)
    given, size = build(PromiseInputs, values), build(SizeInputs, values)
    payback, people = (float(x[0, 0]) for x in (given.payback, given.people))
    if people > 0:
        return Promise(payback, people, "promised")
    if size.basis == "people":
        return Promise(payback, float(size.people[0, 0]), "the farm is sized for")
    fed = float(appraisal.indicators["people_fed"][0, 0])
    return Promise(payback, fed, "of the base case")


def chances(appraisal: Appraisal, drawn: Uncertainty) -> tuple[Chance, ...]:
    """Return the ways to disappoint, with their chances; none without draws."""
    if drawn.count == 0 or drawn.first_short is None:
        return ()
    asked, found = promise(appraisal), drawn.draws
    # Rounding of the last digits is no disappointment.
    people = asked.people * (1.0 - 1e-9)
    missed = {
        "loss": (found["npv"] < 0, "the net present value is below zero"),
        "payback": (
            ~(found["payback_years"] <= asked.payback),
            f"the money is not back within {asked.payback:g} years",
        ),
        "cash": (np.isfinite(drawn.first_short), "cash runs out with the funding planned"),
        "people": (
            ~(found["people_fed"] >= people),
            f"fewer people are fed than the {asked.people:.3g} {asked.people_from}",
        ),
        "alternative": (
            ~(found["cost_per_person_day"] <= found["alternative_cost_person_day"]),
            "a person-day costs more than the same food bought locally",
        ),
    }
    if not people > 0:
        missed.pop("people")  # fewer than nobody cannot be
    return tuple(Chance(key, words, chance(happened)) for key, (happened, words) in missed.items())


def cash_end(appraisal: Appraisal, drawn: Uncertainty) -> CashEnd | None:
    """Return when cash runs out in the draws; None without draws."""
    if drawn.first_short is None:
        return None
    timeline = appraisal.case.timeline
    first = drawn.first_short[:, 0]
    ordered = np.sort(first)
    months = {share: _month(order_statistic(ordered, share)) for share in SHARES}
    short = first[np.isfinite(first)].astype(np.int64)
    counts = np.bincount(timeline.year[short], minlength=timeline.years + 1)
    base = first_short(appraisal.finances.cash_balance)
    return CashEnd(
        chance(np.isfinite(first)), months, counts / first.size, _month(float(base[0, 0]))
    )


def _month(x: float) -> int | None:
    """Return a month number, None for never."""
    return int(x) if np.isfinite(x) else None
