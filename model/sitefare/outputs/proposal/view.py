"""What every section of a proposal reads: the appraisal, its ranges, its swings, its formats."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cached_property

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import Array
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import DECLARED, Values, build
from sitefare.assumptions.evidence import Evidence, evidence
from sitefare.assumptions.proposer import ProposalInputs
from sitefare.assumptions.rows import Row
from sitefare.money.discounting import discount_factors
from sitefare.money.project import ProjectInputs, full_year_mean, full_years
from sitefare.outputs.citations import MOST, behind
from sitefare.outputs.design_sheet import DesignSheet
from sitefare.outputs.document import plain
from sitefare.outputs.numbers import NBSP, Formats
from sitefare.people.need import GROUP_WORDS
from sitefare.questions.reasonableness import Band, bands
from sitefare.questions.stress import Stresses, stress
from sitefare.questions.tornado import Tornado, tornado
from sitefare.questions.uncertainty import Uncertainty

#: Longest label of a row in charts and tables. [characters]
LABEL = 76

#: A row's name in a sentence of the model.
NAME = r"[a-z_]+(?:\.[a-z_]+)+"

#: Rows that move money only when the staff gains or loses a whole person.
STEPPED = ("task", "labour")

#: Tables whose meanings begin with what they are of, a colon after it: both are said.
TOPICAL = ("garden", "haulage", "shipping")


@dataclass(frozen=True)
class View:
    """One appraisal as the sections of a proposal see it."""

    appraisal: Appraisal
    drawn: Uncertainty
    ends: Mapping[str, Array]
    formats: Formats

    def value(self, name: str) -> float:
        """Return an indicator at base; nan or inf where there is no answer."""
        return float(self.appraisal.indicators[name][0, 0])

    def shown(self, name: str, how: Callable[[float], str]) -> str:
        """Write an indicator at base, or its reason."""
        return self.formats.answer(self.value(name), how, self.appraisal.reasons.get(name))

    def behind(self, *patterns: str, most: int = MOST) -> str:
        """Cite the sources behind the rows in use whose names fit, a space before it."""
        case = self.appraisal.case
        rows = (
            row
            for name, row in case.given.items()
            if case.uses(name) and any(fnmatchcase(name, pattern) for pattern in patterns)
        )
        return behind(rows, most)

    def people(self, count: float) -> str:
        """Write a count of people: two figures, three from a hundred on."""
        return self.formats.number(count, 3 if count >= 100 else 2)  # noqa: PLR2004

    def rate(self, name: str) -> str:
        """Write a rate of return; below zero it only says that the money is not recovered."""
        recovered = float(self.appraisal.finances.project_cash_real.sum()) >= 0
        if self.value(name) < 0 or not recovered:
            return "below zero: the money is not recovered"
        return self.shown(name, self.formats.share)

    def band_figure(self, band: Band) -> str:
        """Write a figure held against a band; in words where there is none."""
        if not band.applies:
            return "does not apply"
        if np.isinf(band.figure):
            return "no answer: nobody is fed"
        return self.formats.number(band.figure, 2, band.unit)

    def span(self, name: str, how: Callable[[float], str]) -> str:
        """Write an indicator's P10–P90 and median, or nothing without draws."""
        spread = self.drawn.spreads.get(name)
        if spread is None:
            return ""
        if spread.low is None and spread.high is None:
            return ""
        words = self.formats.span(spread.low, spread.high, how)
        if spread.median is not None:
            words += f"; median {how(spread.median)}"
        return words

    def full_mean(self, flow: Array) -> float:
        """Return the mean yearly sum of a life flow over full-production years. [unit/year]"""
        return float(full_year_mean(self.project, self.appraisal.case.timeline, flow)[0, 0])

    def full_season(self, flow: Array) -> Array:
        """Return a life flow's mean by calendar month over full-production years, (12,)."""
        timeline = self.appraisal.case.timeline
        first = 12 * (self.full.start - 1) + 1
        months = np.arange(first, timeline.months + 1)
        calendar = timeline.calendar[months]
        row = np.broadcast_to(flow, (1, timeline.months + 1))[0, months]
        return np.array([row[calendar == m].mean() for m in range(12)])

    def outside(self, name: str) -> str:
        """Say how many draws do as well as the base, where the base lies outside P10–P90."""
        spread, x = self.drawn.spreads.get(name), self.value(name)
        if spread is None or spread.low is None or spread.high is None or not np.isfinite(x):
            return ""
        if spread.low <= x <= spread.high or spread.median is None:
            return ""
        below = self.drawn.chance(name, x)
        share = self.formats.share(below if x < spread.low else 1.0 - below)
        side = "as low as" if x < spread.low else "as high as"
        return f"only {share} of the draws come {side} the base case"

    @cached_property
    def full(self) -> slice:
        """Project years of full production."""
        return full_years(self.project, self.appraisal.case.timeline)

    @cached_property
    def project(self) -> ProjectInputs:
        """The appraisal's own choices."""
        return build(ProjectInputs, self.base)

    @cached_property
    def discounting(self) -> Array:
        """Real discount factors along the life, (months + 1,). [1]"""
        months = self.appraisal.case.timeline.months
        factors: Array = discount_factors(self.project.discount_rate, months + 1)[0]
        return factors

    @cached_property
    def bands(self) -> tuple[Band, ...]:
        """Figures held against published bands."""
        return bands(self.appraisal)

    @cached_property
    def base(self) -> Values:
        """The case's values at base."""
        return base_values(self.appraisal.case)

    @cached_property
    def proposer(self) -> ProposalInputs:
        """Who asks, who owns, how far the work has come."""
        return build(ProposalInputs, self.base)

    @cached_property
    def evidence(self) -> Evidence:
        """Documents held, requested and missing."""
        return evidence(self.base)

    @cached_property
    def cost_tornado(self) -> Tornado:
        """Bars of cost per person-day."""
        return tornado(self.appraisal.plan, "cost_per_person_day", self.ends)

    @cached_property
    def npv_tornado(self) -> Tornado:
        """Bars of net present value."""
        return tornado(self.appraisal.plan, "npv", self.ends)

    @cached_property
    def sheet(self) -> DesignSheet:
        """The builder's design sheet."""
        return DesignSheet(self.appraisal.case, self.appraisal.design, self.appraisal.flows)

    @cached_property
    def stresses(self) -> Stresses:
        """What named events do to the base case."""
        return stress(self.appraisal.plan)

    @property
    def place(self) -> str:
        """The place's name as printed."""
        return self.appraisal.case.rows["place.name"].text

    @property
    def ration(self) -> str:
        """The headline ration in words."""
        return self.appraisal.fed.rations[self.appraisal.fed.headline].title

    @property
    def pays(self) -> bool:
        """Whether the farm is worth its cost in cash."""
        return self.value("npv") >= 0

    @property
    def price_date(self) -> str:
        """Month of the appraisal, to which every price is brought."""
        return self.appraisal.case.timeline.label(0)


def printed_unit(unit: str) -> str:
    """Write a unit for print: raised digits, nothing for plain numbers."""
    return raised("" if unit == "1" else unit).replace("degC", "°C").replace("*", "·")


def raised(words: str) -> str:
    """Raise the digits of square and cubic metres, and space out per cent."""
    words = re.sub(r"\bm2\b", "m²", re.sub(r"\bm3\b", "m³", words))
    return re.sub(r"(\d)%", rf"\1{NBSP}%", words)


def row_words(row: Row) -> str:
    """Name a row in words: its meaning, and the key of a keyed one."""
    parts = row.name.split(".")
    words = row.spec.doc.split(";")[0].split(",")[0]
    words = (words if parts[0] in TOPICAL else words.split(":")[0]).rstrip(".")
    if parts[0] in STEPPED:
        words = f"{shortened(words)} (acts by whole people)"
        return f"{parts[1].replace('_', ' ').capitalize()}: {words}" if len(parts) > 2 else words  # noqa: PLR2004
    if len(parts) == 2:  # noqa: PLR2004
        return shortened(words) + (" (all years alike)" if row.varies == "year" else "")
    return f"{shortened(words)} ({GROUP_WORDS.get(parts[1], parts[1].replace('_', ' '))})"


def sentence(words: str) -> str:
    """Escape a sentence of the model for print: units with raised digits, no names of rows."""
    return plain(raised(unnamed(words)))


def unnamed(words: str) -> str:
    """Drop names of rows that stand in brackets, and say others by what they mean."""
    words = re.sub(rf" \({NAME}(?:, {NAME})*\)", "", words)
    return re.sub(rf"\b{NAME}\b", lambda found: _meaning(found.group()), words)


def _meaning(name: str) -> str:
    """Return what a row of a name means, the name itself where no such row is declared."""
    head, *_, field = name.split(".")
    spec = DECLARED[head].specs.get(field) if head in DECLARED else None
    if spec is None:
        return name
    return f"“{spec.doc[0].lower()}{spec.doc[1:].rstrip('.')}”"


def shortened(words: str) -> str:
    """Cut words to a label's length, at a space."""
    if len(words) <= LABEL:
        return words
    return words[:LABEL].rsplit(" ", 1)[0] + " …"


def row_unit(row: Row, currency: str) -> str:
    """Return a row's unit as printed."""
    return printed_unit(row.spec.unit.replace("money", currency))


def row_value(row: Row, number: float | None, currency: str, formats: Formats) -> str:
    """Write a value of a row with its unit; a share as per cent."""
    if number is None:
        return "–"
    if row.spec.unit == "1/year":
        return f"{formats.share(number)} a year"
    if row.spec.unit == "1" and row.spec.high <= 1:
        return formats.share(number)
    return formats.number(number, 3, row_unit(row, currency))
