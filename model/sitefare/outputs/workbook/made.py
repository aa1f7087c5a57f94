"""What every sheet of the workbook is made from: one appraisal and the money behind it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from sitefare.appraisal import Appraisal, Plan, appraise
from sitefare.arrays import Array
from sitefare.assumptions.case import Case, Reading, base_values
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.flows import farm_flows
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.finances import books_of
from sitefare.money.flows import Flows, money_flows
from sitefare.money.project import ProjectInputs
from sitefare.money.statements import Books, statements
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline


@dataclass(frozen=True)
class Made:
    """One appraisal of one case, and its money taken apart; every array has one draw.

    `spans` are low and high of indicators in so many `draws`, empty without; `missing` lists the
    evidence without which the documents are a draft.
    """

    appraisal: Appraisal
    values: Values
    spans: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    draws: int = 0
    draft: bool = True
    missing: tuple[str, ...] = ()

    def ends(self, name: str) -> tuple[float | None, float | None] | None:
        """Return low and high of an indicator in draws, or nothing."""
        return self.spans.get(name)

    @property
    def plan(self) -> Plan:
        """The plan appraised."""
        return self.appraisal.plan

    @property
    def case(self) -> Case:
        """The case appraised."""
        return self.appraisal.case

    @property
    def timeline(self) -> Timeline:
        """The project's clock."""
        return self.case.timeline

    @property
    def design(self) -> Design:
        """The farm's sizes."""
        return self.appraisal.design

    @property
    def flows(self) -> FarmFlows:
        """What goes in and out of the farm, multipliers applied."""
        return self.appraisal.flows

    @property
    def fed(self) -> PeopleFed:
        """Whom the harvest feeds."""
        return self.appraisal.fed

    @property
    def currency(self) -> str:
        """Code of the site's currency, in which all money stands."""
        return self.case.currency

    @cached_property
    def unadjusted(self) -> FarmFlows:
        """What the farm gives before any multiplier of `adjust`."""
        return farm_flows(self.values, self.design, self.timeline)

    @cached_property
    def money(self) -> Flows:
        """The farm's money before funding, nominal."""
        return money_flows(self.values, self.design, self.flows, self.fed, self.timeline)

    @cached_property
    def project(self) -> ProjectInputs:
        """The appraisal's own choices."""
        return build(ProjectInputs, self.values)

    @cached_property
    def books(self) -> Books:
        """What the statements are made of."""
        return books_of(self.values, self.project, self.money, self.timeline)

    @cached_property
    def statements(self) -> dict[str, Mapping[str, Array]]:
        """Income statement, cash flow, balance sheet by month."""
        return statements(self.books)

    @cached_property
    def farm_rows(self) -> frozenset[str]:
        """Names of the rows that the farm itself reads: their cells stay locked."""
        reading = Reading(self.values)
        farm_flows(reading, self.design, self.timeline)
        return frozenset(reading.names)


def made_of(plan: Plan, values: Values | None = None) -> Made:
    """Appraise a plan at its base values, or at given ones, and take its money apart."""
    values = base_values(plan.case) if values is None else values
    return Made(appraise(plan, values), values)
