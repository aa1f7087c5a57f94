"""Which distribution model reaches most people, recovers most cash, and costs least a person?

The farm's harvest stays as it is; each model of the table takes its turn at handing the food
over, with its own days, portions, losses, costs and payments. One appraisal is made for each, so
that the model in force shows the appraisal's own figures. This is asked of a base appraisal, or
of a few draws, never inside the pipeline.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

from sitefare.appraisal import FULL_TIME, Appraisal
from sitefare.arrays import Array
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import Values, build
from sitefare.money.discounting import present_value
from sitefare.money.finances import finances
from sitefare.money.income import farm_gate
from sitefare.money.indicators import project_costs, ratio
from sitefare.money.market import PriceSeasonInputs, season
from sitefare.money.project import ProjectInputs, full_year_mean, total
from sitefare.money.reach_cost import delivery_hours, line_titles
from sitefare.money.result import Finances
from sitefare.money.supplies import PriceInputs
from sitefare.money.vat import VatInputs, rate_lost
from sitefare.people.fed import people_fed
from sitefare.people.handover import IN_FORCE, Model, models
from sitefare.people.reach import (
    Reach,
    exclusion_error,
    inclusion_error,
    reached,
    targeting_performance,
)
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline


@dataclass(frozen=True)
class Handed:
    """One model's year of full production, (draws, 1); money at appraisal-date prices.

    `persons` are reached directly, `indirect` in their households; `person_days` a year.
    `cash_recovered` is what the people served pay in a year; `programme_pays` the value of
    vouchers, a transfer that funding brings, at farm-gate prices; `delivery_cost` what handing
    over takes in a year, carriage in it, part of the project's cost. `per_person` is present
    value of all project costs over person-years reached, `per_day` over person-days; `…_net`
    subtract only sales outside the food of the people served. `per_ration_day` is the headline
    indicator with this model. `rest` is the share of the food handed over beyond the portions
    counted. `exclusion`, `inclusion` and `performance` say how well the people meant are found.
    """

    model: Model
    in_force: bool
    fed: PeopleFed
    money: Finances
    reach: Reach
    persons: Array
    indirect: Array
    person_days: Array
    cash_recovered: Array
    programme_pays: Array
    delivery_cost: Array
    delivery_posts: Array
    per_person: Array
    per_person_net: Array
    per_day: Array
    per_day_net: Array
    per_ration_day: Array
    rest: Array
    exclusion: Array
    inclusion: Array
    performance: Array


def side_by_side(appraisal: Appraisal, values: Values | None = None) -> tuple[Handed, ...]:
    """Return every distribution model of the table on one farm, in the table's order.

    Parameters
    ----------
    appraisal : Appraisal
        The appraisal of a plan at `values`.
    values : mapping, optional
        The values it was made at; the case's base values when none are given.

    Raises
    ------
    AssumptionError
        If a model of the table does not hold together.
    """
    if values is None:
        values = base_values(appraisal.case)
    return tuple(handed(appraisal, values, model) for model in models(values).values())


def in_force(appraisal: Appraisal, values: Values | None = None) -> Handed:
    """Return the figures of the model in force alone.

    Raises
    ------
    AssumptionError
        As `side_by_side`.
    """
    if values is None:
        values = base_values(appraisal.case)
    return handed(appraisal, values, models(values)[str(values[IN_FORCE])])


def handed(appraisal: Appraisal, values: Values, model: Model) -> Handed:
    """Return what one model makes of the farm's harvest."""
    plan, timeline, flows = appraisal.plan, appraisal.case.timeline, appraisal.flows
    own = str(values[IN_FORCE]) == model.key
    turn = dict(values) | {IN_FORCE: model.key}
    fed, money = appraisal.fed, appraisal.finances
    if not own:
        fed = people_fed(turn, flows, timeline, bed_area=plan.design.bed_area)
        money = finances(turn, plan.design, flows, fed, timeline)
    found = reached(turn, fed, model, timeline)
    yearly = partial(full_year_mean, build(ProjectInputs, turn), timeline)
    persons, target = yearly(found.persons) / 12.0, found.target
    outside = persons * model.inputs.inclusion_error
    view, handed_kg = money.figures, yearly(found.handed_kg)
    costs = present_value(project_costs(view), view.factors)
    net = costs - present_value(view.elsewhere, view.factors)
    years = present_value(found.persons, view.factors) / 12.0
    days = present_value(found.person_days, view.factors)
    inside = persons - outside
    return Handed(
        model=model,
        in_force=own,
        fed=fed,
        money=money,
        reach=found,
        persons=persons,
        indirect=yearly(found.indirect) / 12.0,
        person_days=yearly(found.person_days),
        cash_recovered=yearly(money.at_date("paid_by_people_served")),
        programme_pays=yearly(_vouchers(turn, model, fed, flows.crop_kg, timeline)),
        delivery_cost=yearly(_delivery(turn, model, fed, money)),
        delivery_posts=yearly(delivery_hours(turn, fed, timeline)) / FULL_TIME,
        per_person=ratio(costs, years, float("inf")),
        per_person_net=ratio(net, years, float("inf")),
        per_day=ratio(costs, days, float("inf")),
        per_day_net=ratio(net, days, float("inf")),
        per_ration_day=money.indicators["cost_per_person_day"],
        rest=1.0 - ratio(yearly(found.eaten_kg), handed_kg, 1.0),
        exclusion=exclusion_error(inside, target.meant),
        inclusion=inclusion_error(outside, persons),
        performance=targeting_performance(
            1.0 - inclusion_error(outside, persons), target.meant / target.population
        ),
    )


def gate_value(values: Values, fed: PeopleFed, crops: Iterable[str], timeline: Timeline) -> Array:
    """Return the farm-gate value of the food handed over by month, price of the date. [money]

    `crops` name what is no fish; prices follow the site's season.
    """
    pattern = build(PriceSeasonInputs, values)
    by_kind = {True: season(pattern.vegetables, timeline), False: season(pattern.fish, timeline)}
    named = set(crops)
    return total(
        kg * farm_gate(values, key) * by_kind[key in named] for key, kg in fed.served_kg.items()
    )


def _vouchers(
    values: Values, model: Model, fed: PeopleFed, crops: Iterable[str], timeline: Timeline
) -> Array:
    """Return the value of vouchers redeemed by month; nothing where the model has none. [money]"""
    if model.inputs.voucher == "no":
        return timeline.running * 0.0
    unpaid = 1.0 - model.inputs.paid_share
    return gate_value(values, fed, crops, timeline) * unpaid


def _delivery(values: Values, model: Model, fed: PeopleFed, money: Finances) -> Array:
    """Return what handing over costs by month at appraisal-date prices, carriage in it. [money]"""
    lost = 1.0 + rate_lost(build(VatInputs, values))
    brought = build(PriceInputs, values).distribution * model.inputs.carriage * lost
    lines = [name for name in line_titles(values) if name in money.lines]
    spent = total(-money.at_date(name) for name in lines)
    return brought * total(fed.served_kg.values()) + spent
