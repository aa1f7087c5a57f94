"""The farm's money, end to end: budget, operation, income, tax, funding, statements, answers.

`lines` are the project view before any funding; its tax is reckoned as if unfunded. The
statements start from the same flows, with what is really paid, and reckon their own tax.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.allowances import Timing
from sitefare.money.capital import Budget, CapitalFlows, budget, capital_flows
from sitefare.money.funding import PlanInputs, Uses, funding
from sitefare.money.income import Income, income
from sitefare.money.indicators import (
    ProjectView,
    funding_view,
    person_costs,
    reasons,
    unit_costs,
    worth,
    yearly,
)
from sitefare.money.operating import Operating, operating
from sitefare.money.overdraft import TreasuryInputs, facility
from sitefare.money.prices import PricePaths, price_paths
from sitefare.money.project import ProjectInputs, draws_of, full_years, total, whole
from sitefare.money.rates import Rates, roots
from sitefare.money.repairs import storm_repairs, with_storms
from sitefare.money.result import CapitalItem, Finances, Running
from sitefare.money.statements import Books, disposal, statements, without_overdraft
from sitefare.money.targets import TargetInputs
from sitefare.money.tax import TaxRules, income_tax, tax_rules, timing_differences
from sitefare.money.vat import VatInputs, awaiting, rate_lost, reclaimed
from sitefare.money.working_capital import WorkingCapital, with_refunds, working_capital
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
    rules: TaxRules
    timing: Timing


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
    given = total(made.operating.unpaid.values())
    answers, rates = _answers(view, cash, books, closed, build(TargetInputs, values))
    return Finances(
        lines=lines,
        line_group=group,
        funding=books.funding.flows,
        statements=closed,
        capital_items=capital_items(made.parts),
        indicators=answers,
        reasons=reasons(answers, rates, view),
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
        loans=books.funding.loans,
        capital_need=np.broadcast_to(books.funding.need, cash.shape),
        first_cohort_cost=made.tied_up.first_cohort,
        rates_roots=tuple(float(r) for r in roots(view.net[0])),
        running=_running(made),
    )


def _answers(
    view: ProjectView,
    cash: Array,
    books: Books,
    closed: Mapping[str, Mapping[str, Array]],
    target: TargetInputs,
) -> tuple[dict[str, Array], Rates]:
    """Return every indicator as (draws, 1), and the rates of return behind irr."""
    worths, rates = worth(view)
    found = {**worths, **yearly(view), **unit_costs(view), **person_costs(view)}
    found |= funding_view(
        view,
        closed["cash_flow"],
        # Cash before funding leaves out the value of what is given in kind.
        cash + total(books.operating.unpaid.values()),
        books.inflation,
        own_cash=without_overdraft(books) if books.agreed.open else closed["cash_flow"]["net"],
        floor=books.agreed.floor,
        target=target,
    )
    draws = draws_of(cash, closed["balance"]["cash"], *worths.values())
    return {name: np.broadcast_to(x, (draws, 1)) for name, x in found.items()}, rates


def _flows(
    values: Values, design: Design, flows: FarmFlows, fed: PeopleFed, timeline: Timeline
) -> _Flows:
    paths = price_paths(values, timeline)
    parts = budget(values, design)
    capital = capital_flows(values, parts, paths, timeline)
    local = {key: build(LocalPriceInputs, values, key).price for key in fed.served_kg}
    earned = income(values, design, flows, fed, local=local, paths=paths, timeline=timeline)
    costs = operating(values, design, parts, flows, fed, paths=paths, timeline=timeline)
    costs = with_storms(costs, storm_repairs(values, parts, paths, timeline))
    costs = costs.taxed(1.0 + rate_lost(build(VatInputs, values)))
    tied_up = working_capital(
        values,
        earned.elsewhere,
        costs.on_credit,
        costs.stocked,
        spares=(parts.works, paths["equipment"]),
        fish=(costs.lines["feed"] + costs.lines["fingerlings"], flows),
        timeline=timeline,
    )
    tied_up = with_refunds(tied_up, refunds(values, capital, costs))
    profit = total(earned.lines.values()) - total(costs.lines.values()) + tied_up.fish_profit
    profit = profit - capital.depreciation + disposal(capital)
    rules, timing = tax_rules(values), timing_differences(values, capital, timeline)
    sales = total(earned.lines.values())
    tax = income_tax(profit + timing.profit, rules, timeline, sales).paid
    return _Flows(parts, capital, costs, earned, tied_up, tax, paths, rules, timing)


def _running(made: _Flows) -> Running:
    natures = made.operating.natures
    return Running(
        price_group=price_groups(made),
        price_paths=made.paths.group,
        behaviour={name: nature.behaviour for name, nature in natures.items()},
        fixed_costs=made.operating.fixed,
        markets=made.income.markets,
    )


def price_groups(made: _Flows) -> dict[str, str]:
    """Return the price group of each operating and income line."""
    natures = made.operating.natures
    return {name: nature.group for name, nature in natures.items()} | dict(made.income.group)


def at_date(made: _Flows) -> dict[str, Array]:
    """Return running costs, parts of them and income, at appraisal-date prices. [money]

    Neither inflation nor real drift is in them.
    """
    groups = price_groups(made)
    parts = {
        "operating": made.operating.lines,
        "unpaid": made.operating.unpaid,
        "fixed": made.operating.fixed,
        "income": made.income.lines,
    }
    return {name: made.paths.at_date(lines, groups) for name, lines in parts.items()}


def refunds(values: Values, capital: CapitalFlows, costs: Operating) -> Array:
    """Return value-added tax paid that is still to be refunded, at month ends. [money]"""
    terms = build(VatInputs, values)
    bought = total(costs.lines[name] for name, taxed in costs.taxable.items() if taxed)
    paid = total(capital.initial.values()) + capital.replacement + bought
    return awaiting(reclaimed(terms, paid), terms.wait)


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
    real = made.paths.real
    return ProjectView(
        group={name: real(flow) for name, flow in grouped.items()},
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


def _books(values: Values, project: ProjectInputs, made: _Flows, timeline: Timeline) -> Books:
    capital, costs, plan = made.capital, made.operating, build(PlanInputs, values)
    start_up = max(whole(project.start_up_months), whole(plan.start_up))
    running = total(made.income.lines.values()) - total(costs.lines.values())
    running = running + total(costs.unpaid.values())
    running = running + made.tied_up.cash - capital.replacement
    early = timeline.month <= timeline.construction + start_up
    building = total(capital.initial.values()) + capital.land
    # What comes in while building, such as tax refunded, pays for works before funders do.
    need = np.maximum(building - running * early, 0.0)
    works = np.minimum(building, need)
    own = np.sum(need, axis=1, keepdims=True)
    planned = np.where(plan.need > 0, plan.need, own)
    paid = funding(values, Uses(works, need - works, planned, start_up), timeline)
    cash_costs = total(costs.lines.values()) - total(costs.unpaid.values())
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
        "vat": ("Value-added tax not recovered", parts.vat),
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
