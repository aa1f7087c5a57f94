"""The farm's money, end to end: budget, operation, income, tax, funding, statements, answers.

`lines` are the project view before any funding; its tax is reckoned as if unfunded. The
statements start from the same flows, with what is really paid, and reckon their own tax.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.breakeven import BreakEvens, Plan, break_even
from sitefare.money.economic import Market, economic_view, economic_worth
from sitefare.money.flows import (
    GROUPS,
    Flows,
    at_date,
    group_sums,
    money_flows,
    project_lines,
    running,
)
from sitefare.money.funding import PlanInputs, Uses, funding
from sitefare.money.indicators import (
    ProjectView,
    Solved,
    equivalent_annual_cost,
    funding_view,
    person_costs,
    reasons,
    unit_costs,
    worth,
    yearly,
)
from sitefare.money.overdraft import TreasuryInputs, facility
from sitefare.money.prices import fisher
from sitefare.money.project import EconomyInputs, ProjectInputs, draws_of, full_years, total, whole
from sitefare.money.result import Finances
from sitefare.money.statements import Books, statements, without_overdraft
from sitefare.money.targets import Asked, TargetInputs
from sitefare.money.views import (
    MoneyView,
    OwnersInputs,
    equity_view,
    equity_worth,
    nominal_view,
    nominal_worth,
)
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

__all__ = ["GROUPS", "books_of", "finances"]


def finances(
    values: Values, design: Design, flows: FarmFlows, fed: PeopleFed, timeline: Timeline
) -> Finances:
    """Return the money of one case or of many draws.

    Parameters
    ----------
    values : mapping
        Resolved values by name; money in the site's currency at the appraisal date.
    design : Design
        Sizes of the farm, fixed in every draw.
    flows : FarmFlows
        Physical flows by month.
    fed : PeopleFed
        Where the harvest goes and whom it feeds.
    timeline : Timeline
        The project's clock.

    Returns
    -------
    Finances
        Lines, statements, capital budget and indicators. [money]

    Raises
    ------
    AssumptionError
        If a value is missing, an essential item is removed or funding exceeds the need.
    """
    project = build(ProjectInputs, values)
    made = money_flows(values, design, flows, fed, timeline)
    lines, group = project_lines(made)
    alone = MoneyView(
        lines, group, made.paths.inflation, project.discount_rate, project.reinvestment_rate,
        group_sums(made),
    )  # fmt: skip
    view = _view(project, made, flows, fed, alone=alone, timeline=timeline)
    books = books_of(values, project, made, timeline)
    closed = statements(books)
    asked = _asked(values, books, closed["cash_flow"]["net"])
    views = _views(values, made, alone, closed["cash_flow"], flows, fed, timeline)
    even = _break_evens(values, made, views["project"], fed)
    answers, solved, cover = _answers(view, views, books, closed, asked, even)
    return Finances(
        funding=books.funding.flows,
        statements=closed,
        budget=made.parts,
        indicators=answers,
        reasons=reasons(answers, solved, timeline.years),
        value_of_food_given=made.income.given,
        given_in_kind=np.broadcast_to(made.operating.given, alone.net.shape),
        inflation=made.paths.inflation,
        project_cash=alone.net,
        rates_status=solved["irr"].rates.status.astype(np.float64),
        loans=books.funding.loans,
        capital_need=np.broadcast_to(books.funding.need, alone.net.shape),
        first_cohort_cost=made.tied_up.first_cohort,
        running=running(made),
        views=views,
        debt_cover=cover,
        break_evens=even,
        figures=view,
        asked=asked,
    )


def _asked(values: Values, books: Books, net: Array) -> Asked:
    target = build(TargetInputs, values)
    cash = without_overdraft(books) if books.agreed.open else net
    return Asked(cash, books.agreed.floor, target.equity_return, target.debt_cover)


def _views(
    values: Values,
    made: Flows,
    alone: MoneyView,
    statement: Mapping[str, Array],
    flows: FarmFlows,
    fed: PeopleFed,
    timeline: Timeline,
) -> dict[str, MoneyView]:
    """Return the money by view, from the project's."""
    deflator, rate, again = alone.deflator, alone.rate, alone.reinvestment
    inflation = build(EconomyInputs, values).inflation
    market = Market(
        alone.lines, alone.group, made.operating.taxable, made.parts, made.tied_up, made.income,
        made.paths,
    )  # fmt: skip
    own = build(OwnersInputs, values).discount_rate
    return {
        "project": alone,
        "nominal": nominal_view(alone, fisher(rate, inflation), fisher(again, inflation)),
        "equity": equity_view(statement, deflator, own, again),
        "economic": economic_view(values, market, flows, fed, again, timeline),
    }


def _answers(
    view: ProjectView,
    views: Mapping[str, MoneyView],
    books: Books,
    closed: Mapping[str, Mapping[str, Array]],
    asked: Asked,
    even: BreakEvens,
) -> tuple[dict[str, Array], dict[str, Solved], Array]:
    """Return indicators (draws, 1), the rates of return behind some, debt cover by year."""
    worths, rates = worth(view)
    solved = {"irr": Solved(rates, view.net)}
    found = {**worths, **yearly(view), **unit_costs(view), **person_costs(view), **even.answers}
    found["equivalent_annual_cost"] = equivalent_annual_cost(view)
    # Cash before funding leaves out the value of what is given in kind.
    cash = views["project"].net + books.operating.given
    more, cover = funding_view(
        view, closed["cash_flow"], cash, books.inflation, debt=books.funding.debt, asked=asked
    )
    found |= more
    for name, worth_of in (
        ("nominal", nominal_worth),
        ("equity", equity_worth),
        ("economic", economic_worth),
    ):
        more, behind = worth_of(views[name])
        found |= more
        solved |= behind
    draws = draws_of(cash, closed["cash_flow"]["net"], *found.values())
    return {name: np.broadcast_to(x, (draws, 1)) for name, x in found.items()}, solved, cover


def _break_evens(values: Values, made: Flows, project: MoneyView, fed: PeopleFed) -> BreakEvens:
    plan = Plan(
        project,
        made.capital,
        made.tied_up,
        made.taxed,
        moving=made.operating.moving,
        taxable=made.operating.taxable,
        timing=made.timing.profit,
    )
    return break_even(values, plan, fed, made.income.elsewhere)


def _view(
    project: ProjectInputs,
    made: Flows,
    flows: FarmFlows,
    fed: PeopleFed,
    *,
    alone: MoneyView,
    timeline: Timeline,
) -> ProjectView:
    real = made.paths.real
    return ProjectView(
        group={name: real(alone.sum_of(name)) for name in GROUPS},
        at_date=at_date(made),
        elsewhere=real(made.income.elsewhere),
        vegetable_value=real(made.income.vegetable_value),
        fish_value=real(made.income.fish_value),
        vegetable_kg=total(flows.crop_kg.values()),
        fish_kg=flows.fish_live_kg,
        persons={name: ration.persons for name, ration in fed.rations.items()},
        headline=fed.headline,
        reserve=made.parts.reserve,
        rate=project.discount_rate,
        reinvestment=project.reinvestment_rate,
        full=full_years(project, timeline),
        timeline=timeline,
    )


def books_of(values: Values, project: ProjectInputs, made: Flows, timeline: Timeline) -> Books:
    """Return what the statements are made of: the farm's money and its funding."""
    capital, costs, plan = made.capital, made.operating, build(PlanInputs, values)
    start_up = max(whole(project.start_up_months), whole(plan.start_up))
    running = made.income.total - costs.total + costs.given
    running = running + made.tied_up.cash - capital.replacement
    early = timeline.month <= timeline.construction + start_up
    building = capital.works + capital.land
    # What comes in while building, such as tax refunded, pays for works before funders do.
    need = np.maximum(building - running * early, 0.0)
    works = np.minimum(building, need)
    own = np.sum(need, axis=1, keepdims=True)
    planned = np.where(plan.need > 0, plan.need, own)
    paid = funding(values, Uses(works, need - works, planned, start_up), timeline)
    cash_costs = costs.total - costs.given
    agreed = facility(build(TreasuryInputs, values), planned, cash_costs, timeline)
    return Books(
        capital,
        costs,
        made.income,
        made.tied_up,
        paid,
        agreed,
        made.paths.inflation,
        made.rules,
        made.timing,
        timeline,
    )
