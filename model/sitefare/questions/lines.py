"""What does one alternative answer, as one small line beside others?

A line is made in one call, here or by a worker: plain values that travel, and draws of only those
figures that a comparison asks. All lines of a comparison take their draws from one union of keys,
so that what alternatives share is the same number in each of them, draw by draw.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from sys import intern
from typing import Any

import numpy as np

from sitefare.appraisal import Appraisal, Plan, appraise
from sitefare.arrays import Array
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.evidence import evidence
from sitefare.assumptions.library import library_once
from sitefare.errors import AssumptionError, DesignError
from sitefare.questions.alternatives import Alternative
from sitefare.questions.criteria import check_criteria
from sitefare.questions.figures import (
    COMPARED,
    RATIO,
    SUBSIDY,
    is_money,
    with_compared,
)
from sitefare.questions.gates import Gate, gates
from sitefare.questions.need_score import Need, need_of
from sitefare.questions.reported import results
from sitefare.questions.tornado import Bar, swings, width
from sitefare.questions.uncertainty import Spread, Uncertainty, spread, uncertainty
from sitefare.sizing import plan_for

#: Figures whose draws every comparison keeps. With 1,024 draws a figure is 8 kB a line.
KEPT = (
    "people_fed",
    "cost_per_person_day",
    RATIO,
    "npv",
    "capex",
    "capex_per_person",
    "subsidy_year_after_grant",
    SUBSIDY,
)

#: Rows that a line names as moving its figure most.
WIDEST = 5


@dataclass(frozen=True)
class Asked:
    """What all lines of a comparison are made by; `kept` are the figures whose draws stay.

    `stamp` tells the contents of the folder apart, so that no worker takes old ones for new.
    """

    folder: Path
    stamp: str
    draws: int
    seed: int
    by: str
    kept: tuple[str, ...]
    keys: tuple[str, ...] = ()


@dataclass(frozen=True)
class RationLine:
    """People fed and cost of a person-day by one ration at base; `cost_day` in local money."""

    title: str
    basis: str
    people: float
    cost_day: float


@dataclass(frozen=True)
class Swung:
    """One figure at both ends of every uncertain row, all others at base, by key of draws.

    `low` and `high` are the figure in local money, nan where undefined, (keys,).
    """

    figure: str
    keys: tuple[str, ...]
    low: Array
    high: Array


@dataclass(frozen=True)
class Line:
    """One alternative of a comparison. Money is the site's; `usd` and its like give dollars.

    `values` hold every indicator at base and the figures that only a comparison asks; `draws` of
    those kept, (draws,); `spreads` of all. `facts` and `papers` count those supplied or held, of
    those asked. `sensitive_to` are the widest bars of the figure that orders, `swung` all of
    them; both are only there for the first lines. `rank` is 0 where a gate is shut.
    """

    alternative: Alternative
    place: str
    currency: str
    exchange_rate: float
    date: str
    input_hash: str
    demonstration: bool
    values: Mapping[str, float]
    draws: Mapping[str, Array]
    spreads: Mapping[str, Spread]
    gates: tuple[Gate, ...]
    ration: str
    rations: Mapping[str, RationLine]
    facts: tuple[int, int]
    papers: tuple[int, int]
    need: Need | None
    results: dict[str, Any]
    sensitive_to: tuple[Bar, ...] = ()
    swung: Swung | None = None
    rank: int = 0

    @property
    def name(self) -> str:
        """The alternative's key."""
        return self.alternative.name

    @property
    def shut(self) -> list[Gate]:
        """Gates that keep it out of the ranking."""
        return [gate for gate in self.gates if gate.state == "shut"]

    def rate(self, figure: str) -> float:
        """Return what a figure is divided by to be compared: the exchange rate, or 1."""
        return self.exchange_rate if is_money(figure) else 1.0

    def usd(self, figure: str) -> float:
        """Return a figure at base, money in US dollars at the appraisal-date rate."""
        return self.values[figure] / self.rate(figure)

    def usd_draws(self, figure: str) -> Array:
        """Return a figure's draws, (draws,), money in US dollars at the appraisal-date rate."""
        return np.asarray(self.draws[figure] / self.rate(figure))

    def usd_ends(self, figure: str) -> tuple[float | None, float | None]:
        """Return a figure's 1-in-10 low and high, money in US dollars; None where there is none."""
        found = self.spreads.get(figure)
        if found is None:
            return None, None
        low, high = (None if x is None else x / self.rate(figure) for x in (found.low, found.high))
        return low, high


@dataclass(frozen=True)
class Known:
    """What a first look at an alternative tells: the keys its draws may need, its ration."""

    keys: tuple[str, ...]
    ration: str


@lru_cache(maxsize=16)
def _case(folder: Path, stamp: str, alternative: Alternative) -> Case:
    """Resolve an alternative, once for a while."""
    return alternative.case(library_once(folder, stamp))


@lru_cache(maxsize=16)
def _plan(folder: Path, stamp: str, alternative: Alternative) -> Plan:
    """Size an alternative's farm, once for a while."""
    return plan_for(_case(folder, stamp, alternative))


def known_of(asked: Asked, some: Sequence[Alternative]) -> list[Known]:
    """Take a first look at some alternatives, before any farm is sized.

    The keys are those of all rows with a range: the rows that a farm reads, once sized, are among
    them, and nobody has to size it to know them.

    Raises
    ------
    AssumptionError
        If a site, a design, a scenario or a setting is refused, one of them changes a criterion,
        or the figure that orders is by a ration that is not there.
    """
    found = []
    for one in some:
        case = _case(asked.folder, asked.stamp, one)
        check_criteria(case)
        figure, _, ration = asked.by.partition(".")
        if ration and f"ration.{ration}.title" not in case.rows:
            msg = f"{one.name}: '{ration}' is not a ration, so there is no {figure} by it"
            raise AssumptionError(msg)
        keys = tuple(case.key(name) for name in case.uncertain)
        found.append(Known(keys, case.rows["people.headline"].text))
    return found


def line_or_refusal(asked: Asked, apart: bool, alternative: Alternative) -> Line | str:  # noqa: FBT001
    """Appraise one alternative, and take its figure apart if asked; or say why it is refused."""
    try:
        line = line_of(asked, alternative)
    except DesignError as error:
        return str(error)
    if not apart:
        return line
    bars, swung = swung_of(asked, alternative)
    return replace(line, sensitive_to=bars, swung=swung)


def line_of(asked: Asked, alternative: Alternative) -> Line:
    """Appraise one alternative.

    Raises
    ------
    DesignError
        If its farm cannot be built or run safely.
    """
    plan = _plan(asked.folder, asked.stamp, alternative)
    drawn = uncertainty(plan, asked.draws, asked.seed, asked.keys)
    return _line(asked, alternative, appraise(plan), drawn)


def _line(asked: Asked, alternative: Alternative, base: Appraisal, drawn: Uncertainty) -> Line:
    """Put one alternative's line together."""
    case = base.case
    found = with_compared(base.indicators)
    drawn_all = with_compared(drawn.draws) if drawn.count else {}
    spreads = dict(drawn.spreads)
    for name in COMPARED if drawn.count else ():
        spreads[name] = spread(drawn_all[name], "nobody is fed")
    papers = evidence(base_values(case)).items.values()
    return Line(
        alternative=alternative,
        place=case.rows["place.name"].text,
        currency=case.currency,
        exchange_rate=case.exchange_rate,
        date=case.timeline.label(0),
        input_hash=case.input_hash,
        demonstration=case.demonstration,
        values={name: float(x[0, 0]) for name, x in found.items()},
        draws={name: drawn_all[name][:, 0].copy() for name in asked.kept if name in drawn_all},
        spreads=spreads,
        gates=gates(case, base),
        ration=base.fed.rations[base.fed.headline].title,
        rations=_rations(base),
        facts=(sum(given for _, given in case.facts), len(case.facts)),
        papers=(sum(one.status == "held" for one in papers), len(papers)),
        need=need_of(case),
        results=results(base, drawn),
    )


def _rations(base: Appraisal) -> dict[str, RationLine]:
    """Return people fed and cost by every ration at base."""
    found = base.indicators
    return {
        name: RationLine(
            ration.title,
            ration.basis,
            float(found[f"people_fed.{name}"][0, 0]),
            float(found[f"cost_per_person_day.{name}"][0, 0]),
        )
        for name, ration in base.fed.rations.items()
    }


def swung_of(asked: Asked, alternative: Alternative) -> tuple[tuple[Bar, ...], Swung]:
    """Return the widest bars of the figure that orders, and both ends of every row of it."""
    plan = _plan(asked.folder, asked.stamp, alternative)
    names = plan.case.uncertain
    found = with_compared(swings(plan))[asked.by][:, 0].reshape(-1, 2)
    bars = [
        Bar(plan.case.rows[name], float(low), float(high))
        for name, (low, high) in zip(names, found, strict=True)
    ]
    widest = sorted(bars, key=lambda bar: (-width(bar.low_result, bar.high_result), bar.row.name))
    keys = tuple(intern(plan.case.key(name)) for name in names)
    low, high = (np.ascontiguousarray(found[:, i]) for i in range(2))
    return tuple(widest[:WIDEST]), Swung(asked.by, keys, low, high)


def plan_once(asked: Asked, alternative: Alternative) -> Plan:
    """Return the plan of an alternative, sized once for a while."""
    return _plan(asked.folder, asked.stamp, alternative)
