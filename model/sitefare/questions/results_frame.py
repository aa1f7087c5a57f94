"""Which results will be counted, against what target in which year, how, and by whom?

The rows stand in results.csv: level, indicator, baseline, means, frequency, who, cost,
assumption. A row that names a figure of the model takes its yearly targets from the appraisal;
one that names none is to be measured. Outcomes such as a food consumption score or the diversity
of diets are measured in households and never modelled: their targets are left blank.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import FULL_TIME, Appraisal
from sitefare.arrays import Array
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import (
    Values,
    build,
    build_all,
    choice,
    inputs,
    quantity,
    text,
)
from sitefare.assumptions.files import nearest
from sitefare.errors import AssumptionError
from sitefare.farm import alternative
from sitefare.money.project import ProjectInputs, full_years, total
from sitefare.people.reach import GroupReach, by_group
from sitefare.questions.logged import CommunityInputs, wages_paid
from sitefare.questions.reaching import Handed, in_force

LEVELS = ("output", "outcome", "impact")


@inputs("results", keyed=True, measure="cost")
class ResultInputs:
    """One row of the results table."""

    level: str = choice(*LEVELS, doc="Output, outcome or impact.")
    title: str = text(doc="The indicator in words.")
    short: str = text(doc="The indicator in two or three words, for narrow tables.")
    indicator: str = text(
        doc="Figure of the model that sets its targets; blank where it is to be measured.",
        optional=True,
    )
    unit_words: str = text(doc="Unit in print.")
    baseline: str = text(
        doc="Where it stands before the project; blank for a survey.", optional=True
    )
    means: str = text(doc="Means of verification.")
    frequency: str = text(doc="How often it is collected.")
    who: str = text(doc="Who collects it.")
    assumption: str = text(doc="What must hold for it to mean what it says.")
    cost: Array = quantity(
        "money/year", low=0, varies="choice", doc="Cost of collecting it, a year."
    )


@dataclass(frozen=True)
class Result:
    """A row with its targets by project year, nan where there is none; cost in local money."""

    key: str
    row: ResultInputs
    targets: tuple[float, ...]
    cost: float

    @property
    def modelled(self) -> bool:
        """Whether its targets come from the appraisal."""
        return bool(self.row.indicator)


@dataclass(frozen=True)
class ResultsFrame:
    """The results table: the project years shown, its rows, and people by group.

    `years` are years 1, 2 and 3, the first of full production, and the last.
    """

    years: tuple[int, ...]
    first_full: int
    results: tuple[Result, ...]
    groups: tuple[GroupReach, ...]
    handed: Handed

    @property
    def cost(self) -> float:
        """Cost of collecting all of it, a year. [money/year]"""
        return sum(one.cost for one in self.results)


def years_shown(appraisal: Appraisal) -> tuple[tuple[int, ...], int]:
    """Return years 1, 2, 3, the first of full production and the last; and the first full one."""
    timeline = appraisal.case.timeline
    first = full_years(build(ProjectInputs, base_values(appraisal.case)), timeline).start
    asked = {1, 2, 3, first, timeline.years}
    return tuple(sorted(y for y in asked if 1 <= y <= timeline.years)), first


def results_frame(appraisal: Appraisal, handed: Handed | None = None) -> ResultsFrame:
    """Return the results table of the first draw.

    Parameters
    ----------
    appraisal : Appraisal
        A base appraisal.
    handed : Handed, optional
        The model in force; worked out when not given.

    Raises
    ------
    AssumptionError
        If a row names a figure that is not known.
    """
    values = base_values(appraisal.case)
    way = in_force(appraisal, values) if handed is None else handed
    years, first = years_shown(appraisal)
    yearly = yearly_figures(appraisal, values, way)
    results = tuple(_result(key, row, yearly, years) for key, row in _rows(values).items())
    groups = tuple(by_group(values, way.reach, way.persons, way.indirect))
    return ResultsFrame(years, first, results, groups, way)


def _rows(values: Values) -> dict[str, ResultInputs]:
    """Return the rows, outputs first, then outcomes, then impact."""
    table = build_all(ResultInputs, values)
    return {k: row for level in LEVELS for k, row in table.items() if row.level == level}


def _result(
    key: str, row: ResultInputs, yearly: Mapping[str, Array], years: tuple[int, ...]
) -> Result:
    """Read one row's targets."""
    cost = float(row.cost[0, 0])
    if not row.indicator:
        return Result(key, row, tuple(float("nan") for _ in years), cost)
    if row.indicator not in yearly:
        msg = (
            f"results.{key}.indicator: '{row.indicator}' is not one of {', '.join(yearly)}"
            f"{nearest(row.indicator, yearly)}"
        )
        raise AssumptionError(msg)
    found = np.broadcast_to(yearly[row.indicator], (1, max(years)))
    return Result(key, row, tuple(float(found[0, y - 1]) for y in years), cost)


def yearly_figures(appraisal: Appraisal, values: Values, way: Handed) -> dict[str, Array]:
    """Return every figure that a row may name, by project year from 1, (draws, years).

    Money is at appraisal-date prices. People by ration and people reached are means of the
    year's months.
    """
    flows, fed, money = appraisal.flows, appraisal.fed, appraisal.finances
    timeline, view = appraisal.case.timeline, appraisal.finances.figures
    people = build(CommunityInputs, values)

    def year(flow: Array) -> Array:
        return timeline.by_year(np.broadcast_to(flow, (len(flow), timeline.months + 1)))[:, 1:]

    hours = total(flows.role_hours.values())
    costs, sales = year(view.at_date["operating"]), year(view.at_date["income"])
    found = {
        "people_reached": year(way.reach.persons) / 12.0,
        "people_reached_indirectly": year(way.reach.indirect) / 12.0,
        "person_days": year(way.reach.person_days),
        **{f"people_fed.{k}": year(r.persons) / 12.0 for k, r in fed.rations.items()},
        "vegetables_kg": year(total(flows.crop_kg.values())),
        "fish_kg": year(flows.fish_live_kg),
        "food_handed_over_kg": year(total(fed.served_kg.values())),
        "cash_recovered": year(money.at_date("paid_by_people_served")),
        "sales": sales,
        "operating_cost_recovery": 100.0 * sales / np.where(costs > 0.0, costs, np.inf),
        "jobs_fte": year(hours) / FULL_TIME,
        "wages_to_community": year(wages_paid(appraisal, values)) * people.local_staff,
        "water_m3": year(flows.water_makeup_m3),
        "electricity_kwh": year(flows.electricity_total_kwh),
        **_against_field(appraisal, year),
    }
    found["people_fed"] = found[f"people_fed.{fed.headline}"]
    return found


def _against_field(appraisal: Appraisal, year: Callable[[Array], Array]) -> dict[str, Array]:
    """Return water saved by year against a field here, nan before anything grows. [m3/year]"""
    flows = appraisal.flows
    crops = {key: year(x) for key, x in flows.crop_kg.items()}
    makeup = year(flows.water_makeup_m3)
    fish = year(flows.fish_live_kg)
    found = alternative.compared(flows.field, crops, fish, makeup, appraisal.design.footprint)
    return {"water_saved_m3": found.water - makeup * found.covered}
