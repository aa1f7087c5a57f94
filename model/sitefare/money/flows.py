"""What does the farm cost and bring before any funding, nominal, month by month?

Costs are positive as their modules give them; `project_lines` turns them into cash lines, money
in positive. Tax is reckoned as if the project were unfunded.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.allowances import Timing
from sitefare.money.capital import Budget, CapitalFlows, budget, capital_flows
from sitefare.money.income import Income, income
from sitefare.money.later import Each, paid, received
from sitefare.money.operating import Operating, operating
from sitefare.money.prices import PricePaths, price_paths
from sitefare.money.project import total
from sitefare.money.reach_cost import with_distribution
from sitefare.money.repairs import storm_repairs, with_storms
from sitefare.money.result import Running
from sitefare.money.statements import disposal
from sitefare.money.tax import (
    TaxRules,
    YearlyTax,
    by_month,
    tax_rules,
    timing_differences,
    yearly_tax,
)
from sitefare.money.vat import VatInputs, awaiting, rate_lost, reclaimed
from sitefare.money.working_capital import WorkingCapital, with_refunds, working_capital
from sitefare.people.alternative import LocalPriceInputs
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

GROUPS = ("capital", "replacement", "operating", "income", "working_capital", "tax", "residual")


@dataclass(frozen=True)
class Flows:
    """The farm's money before funding, nominal; costs positive as their modules give them.

    `taxed` is the tax by year, and what it would be if taxable profit and sales were more.
    """

    parts: Budget
    capital: CapitalFlows
    operating: Operating
    income: Income
    tied_up: WorkingCapital
    tax: Array
    paths: PricePaths
    rules: TaxRules
    timing: Timing
    taxed: YearlyTax


def money_flows(
    values: Values, design: Design, flows: FarmFlows, fed: PeopleFed, timeline: Timeline
) -> Flows:
    """Return the farm's money before funding."""
    paths = price_paths(values, timeline)
    parts = budget(values, design)
    capital = capital_flows(values, parts, paths, timeline)
    local = {key: build(LocalPriceInputs, values, key).price for key in fed.served_kg}
    earned = income(values, design, flows, fed, local=local, paths=paths, timeline=timeline)
    costs = operating(values, design, parts, flows, fed, paths=paths, timeline=timeline)
    costs = with_distribution(costs, values, fed, paths, timeline)
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
    rules, timing = tax_rules(values), timing_differences(values, capital, timeline)
    sales = earned.total
    profit = sales - costs.total + tied_up.fish_profit
    profit = profit - capital.depreciation + disposal(capital) + timing.profit

    taxed = yearly_tax(profit, rules, timeline, sales)
    tax = by_month(taxed).paid
    return Flows(parts, capital, costs, earned, tied_up, tax, paths, rules, timing, taxed)


def running(made: Flows) -> Running:
    """Return how the lines of running cost and income behave."""
    natures = made.operating.natures
    return Running(
        price_group=price_groups(made),
        price_paths=made.paths.group,
        behaviour={name: nature.behaviour for name, nature in natures.items()},
        fixed_costs=made.operating.fixed,
        markets=made.income.markets,
    )


def price_groups(made: Flows) -> dict[str, str]:
    """Return the price group of each operating and income line."""
    natures = made.operating.natures
    return {name: nature.group for name, nature in natures.items()} | dict(made.income.group)


def at_date(made: Flows) -> dict[str, Array]:
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
    paid = capital.works + capital.replacement + bought
    return awaiting(reclaimed(terms, paid), terms.wait)


def project_lines(made: Flows) -> tuple[Mapping[str, Array], dict[str, str]]:
    """Return the project view's cash lines, money in positive, and the group of each. [money]"""
    capital = made.capital
    groups: dict[str, dict[str, Callable[[], Array]]] = {
        "capital": {**works_lines(capital), "capital_land": paid(capital.land)},
        "replacement": {"replacements": paid(capital.replacement)},
        "operating": {name: paid(cost) for name, cost in made.operating.lines.items()},
        "income": {name: received(flow) for name, flow in made.income.lines.items()},
        "working_capital": {"working_capital": received(made.tied_up.cash)},
        "tax": {"tax": paid(made.tax)},
        "residual": {
            "residual_equipment": received(capital.residual),
            "residual_land": received(capital.land_sale),
        },
    }
    lines = {name: make for part in groups.values() for name, make in part.items()}
    return Each(lines), {name: group for group, part in groups.items() for name in part}


def works_lines(capital: CapitalFlows) -> dict[str, Callable[[], Array]]:
    """Return what makes the lines of works, by category. [money]"""

    def line(name: str) -> Callable[[], Array]:
        return lambda: -capital.initial[name]

    return {f"capital_{name}": line(name) for name in capital.spent}


def group_sums(made: Flows) -> dict[tuple[str, ...], Array]:
    """Return the sum of the project view's lines by group, money in positive. [money]"""
    capital = made.capital
    sums = {
        "capital": -(capital.works + capital.land),
        "replacement": -capital.replacement,
        "operating": -made.operating.total,
        "income": made.income.total,
        "working_capital": made.tied_up.cash,
        "tax": -made.tax,
        "residual": capital.residual + capital.land_sale,
    }
    return {(name,): flow for name, flow in sums.items()}
