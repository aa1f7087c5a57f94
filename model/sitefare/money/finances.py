"""The farm's money, end to end: budget, operation, income, tax, funding, statements, answers.

`lines` are the project view before any funding; its tax is reckoned as if unfunded. The
statements start from the same flows, with what is really paid, and reckon their own tax.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.breakeven import BreakEvens, Plan, break_even
from sitefare.money.capital import Budget, CapitalFlows, budget, capital_flows
from sitefare.money.economic import Market, economic_view, economic_worth
from sitefare.money.funding import funding
from sitefare.money.income import Income, income
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
from sitefare.money.operating import Operating, operating
from sitefare.money.prices import PricePaths, fisher, price_paths
from sitefare.money.project import EconomyInputs, ProjectInputs, draws_of, full_years, total, whole
from sitefare.money.rates import roots
from sitefare.money.result import CapitalItem, Finances
from sitefare.money.statements import Books, disposal, statements
from sitefare.money.tax import TaxInputs, income_tax
from sitefare.money.views import (
    MoneyView,
    OwnersInputs,
    equity_view,
    equity_worth,
    nominal_view,
    nominal_worth,
)
from sitefare.money.working_capital import WorkingCapital, working_capital
from sitefare.people.alternative import LocalPriceInputs
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

GROUPS = ("capital", "replacement", "operating", "income", "working_capital", "tax", "residual")


@dataclass(frozen=True)
class _Flows:
    """The farm's money before funding, nominal; costs positive as their modules give them."""

    parts: Budget
    capital: CapitalFlows
    operating: Operating
    income: Income
    tied_up: WorkingCapital
    tax: Array
    paths: PricePaths
    tax_of: Callable[[Array], Array]


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
    made = _flows(values, design, flows, fed, timeline)
    lines, group = project_lines(made)
    grouped = _by_group(lines, group)
    view = _view(project, made, flows, fed, grouped=grouped, timeline=timeline)
    books = _books(values, project, made, timeline)
    closed = statements(books)
    cash = total(lines.values())
    # Cash before funding leaves out the value of what is given in kind.
    given = total(made.operating.unpaid.values())
    views = _views(values, project, made, lines, group, closed["cash_flow"], flows, fed, timeline)
    answers, solved, cover = _answers(view, views, cash, cash + given, closed)
    rates = solved["irr"].rates
    even = _break_evens(values, made, views["project"], fed)
    shape = (draws_of(*answers.values()), 1)
    answers |= {name: np.broadcast_to(x, shape) for name, x in even.answers.items()}
    return Finances(
        lines=lines,
        line_group=group,
        funding=books.funding.flows,
        statements=closed,
        capital_items=capital_items(made.parts),
        indicators=answers,
        reasons=reasons(answers, solved, timeline.years),
        value_of_food_given=made.income.given,
        given_in_kind=np.broadcast_to(given, cash.shape),
        cash_balance=closed["balance"]["cash"],
        inflation=made.paths.inflation,
        project_cash=cash,
        project_cash_real=view.net,
        cumulative_real=np.cumsum(view.net, axis=1),
        nominal_yearly=timeline.by_year(cash),
        real_yearly=timeline.by_year(view.net),
        rates_status=rates.status.astype(np.float64),
        rates_roots=tuple(float(r) for r in roots(view.net[0])),
        views=views,
        debt_cover=cover,
        break_evens=even,
        figures=view,
    )


def _views(
    values: Values,
    project: ProjectInputs,
    made: _Flows,
    lines: Mapping[str, Array],
    group: Mapping[str, str],
    statement: Mapping[str, Array],
    flows: FarmFlows,
    fed: PeopleFed,
    timeline: Timeline,
) -> dict[str, MoneyView]:
    """Return the money by view: project, nominal, equity, economic."""
    deflator, rate, again = made.paths.inflation, project.discount_rate, project.reinvestment_rate
    inflation = build(EconomyInputs, values).inflation
    market = Market(lines, group, made.parts, made.tied_up.stock, made.paths)
    own = build(OwnersInputs, values).discount_rate
    alone = MoneyView(lines, group, deflator, rate, again)
    return {
        "project": alone,
        "nominal": nominal_view(alone, fisher(rate, inflation), fisher(again, inflation)),
        "equity": equity_view(statement, deflator, own, again),
        "economic": economic_view(values, market, flows, fed, again, timeline),
    }


def _answers(
    view: ProjectView,
    views: Mapping[str, MoneyView],
    cash: Array,
    before_funding: Array,
    closed: Mapping[str, Mapping[str, Array]],
) -> tuple[dict[str, Array], dict[str, Solved], Array]:
    """Return indicators (draws, 1), the rates of return behind some, debt cover by year."""
    worths, rates = worth(view)
    solved = {"irr": Solved(rates, view.net)}
    found = {**worths, **yearly(view), **unit_costs(view), **person_costs(view)}
    found["equivalent_annual_cost"] = equivalent_annual_cost(view)
    asked, cover = funding_view(
        view,
        closed["cash_flow"],
        closed["balance"]["loans"],
        before_funding,
        views["project"].deflator,
    )
    found |= asked
    for name, worth_of in (
        ("nominal", nominal_worth),
        ("equity", equity_worth),
        ("economic", economic_worth),
    ):
        more, behind = worth_of(views[name])
        found |= more
        solved |= behind
    draws = draws_of(cash, closed["balance"]["cash"], *worths.values())
    return {name: np.broadcast_to(x, (draws, 1)) for name, x in found.items()}, solved, cover


def _break_evens(values: Values, made: _Flows, project: MoneyView, fed: PeopleFed) -> BreakEvens:
    taxed = bool(np.any(build(EconomyInputs, values).income_tax > 0))
    plan = Plan(project, made.capital, made.tied_up, made.tax_of, taxed)
    return break_even(values, plan, fed, made.income.elsewhere)


def _flows(
    values: Values, design: Design, flows: FarmFlows, fed: PeopleFed, timeline: Timeline
) -> _Flows:
    paths = price_paths(values, timeline)
    parts = budget(values, design)
    capital = capital_flows(values, parts, paths, timeline)
    local = {key: build(LocalPriceInputs, values, key).price for key in fed.served_kg}
    earned = income(values, design.species, flows, fed, local=local, paths=paths)
    costs = operating(values, design, parts, flows, fed, paths=paths, timeline=timeline)
    tied_up = working_capital(values, earned.elsewhere, costs.on_credit, costs.stocked)
    profit = total(earned.lines.values()) - total(costs.lines.values())
    profit = profit - capital.depreciation + disposal(capital)
    rate, loss_share = build(EconomyInputs, values).income_tax, build(TaxInputs, values).loss_share

    def tax_of(more: Array | float) -> Array:
        return income_tax(profit + more, rate, loss_share, timeline)

    return _Flows(parts, capital, costs, earned, tied_up, tax_of(0.0), paths, tax_of)


def project_lines(made: _Flows) -> tuple[dict[str, Array], dict[str, str]]:
    """Return the project view's cash lines, money in positive, and the group of each. [money]"""
    capital = made.capital
    spent = {f"capital_{name}": -flow for name, flow in capital.initial.items()}
    groups: dict[str, dict[str, Array]] = {
        "capital": {**spent, "capital_land": -capital.land},
        "replacement": {"replacements": -capital.replacement},
        "operating": {name: -cost for name, cost in made.operating.lines.items()},
        "income": dict(made.income.lines),
        "working_capital": {"working_capital": made.tied_up.cash},
        "tax": {"tax": -made.tax},
        "residual": {"residual_equipment": capital.residual, "residual_land": capital.land_sale},
    }
    flat = {n: x for part in groups.values() for n, x in part.items()}
    shape = (draws_of(*flat.values()), made.tax.shape[1])
    lines = {n: np.broadcast_to(x, shape) for n, x in flat.items()}
    return lines, {name: group for group, part in groups.items() for name in part}


def _by_group(lines: Mapping[str, Array], group: Mapping[str, str]) -> dict[str, Array]:
    return {g: total(x for name, x in lines.items() if group[name] == g) for g in GROUPS}


def _view(
    project: ProjectInputs,
    made: _Flows,
    flows: FarmFlows,
    fed: PeopleFed,
    *,
    grouped: Mapping[str, Array],
    timeline: Timeline,
) -> ProjectView:
    bill, real = made.parts.bill, made.paths.real
    lasting = bill.life > 0
    wear = bill.cost[:, lasting] / bill.life[lasting]
    return ProjectView(
        group={name: real(flow) for name, flow in grouped.items()},
        elsewhere=real(made.income.elsewhere),
        vegetable_value=real(made.income.vegetable_value),
        fish_value=real(made.income.fish_value),
        vegetable_kg=total(flows.crop_kg.values()),
        fish_kg=flows.fish_live_kg,
        persons={name: ration.persons for name, ration in fed.rations.items()},
        headline=fed.headline,
        reserve=np.sum(wear, axis=1, keepdims=True) * made.parts.uplift,
        rate=project.discount_rate,
        reinvestment=project.reinvestment_rate,
        full=full_years(project, timeline),
        timeline=timeline,
    )


def _books(values: Values, project: ProjectInputs, made: _Flows, timeline: Timeline) -> Books:
    capital, costs, start_up = made.capital, made.operating, whole(project.start_up_months)
    running = total(made.income.lines.values()) - total(costs.lines.values())
    running = running + total(costs.unpaid.values())
    running = running + made.tied_up.cash - capital.replacement
    early = timeline.month <= timeline.construction + start_up
    deficits = np.maximum(-running, 0.0) * early
    paid = funding(
        values, total(capital.initial.values()) + capital.land, deficits, start_up, timeline
    )
    rate, loss_share = build(EconomyInputs, values).income_tax, build(TaxInputs, values).loss_share
    return Books(capital, costs, made.income, made.tied_up, paid, rate, loss_share, timeline)


def capital_items(parts: Budget) -> tuple[CapitalItem, ...]:
    """List the capital budget of the first draw for the bill annex. [money]"""
    total = float(parts.total[0, 0])
    bill = parts.bill
    items = [
        CapitalItem(
            key,
            str(item.title),
            str(item.category),
            float(bill.quantity[n]),
            str(item.per),
            float(bill.cost[0, n] / bill.quantity[n]),
            float(bill.cost[0, n]),
            float(bill.cost[0, n]) / total,
            float(bill.life[n]),
            str(item.origin),
            item.essential == "yes",
        )
        for n, (key, item) in enumerate(bill.items)
    ]
    added = {
        "unlisted": ("Items not listed", parts.unlisted),
        "overrun": ("Overrun of the reference class", parts.overrun),
        "design": ("Design, tender and supervision", parts.design),
        "contingency": ("Contingency", parts.contingency),
        "land": ("Land", parts.land),
    }
    sums = [(key, title, float(x[0, 0])) for key, (title, x) in added.items()]
    return (
        *items,
        *(
            CapitalItem(key, title, key, 1.0, "sum", x, x, x / total, 0.0, "local", essential=False)
            for key, title, x in sums
            if x != 0
        ),
    )
