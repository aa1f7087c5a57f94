"""What do the flows come to: is it worth it, when does it pay back, what does a person cost?

Unmarked indicators are the project view: after tax, before funding, constant prices of the
appraisal date. min_dscr, loan_life_cover, grant_needed, subsidy_year_after_grant and
peak_funding are the funding view; other views are in `views` and `economic`. `…_year` is a mean
over full-production years at appraisal-date prices, so that neither inflation nor real drift is
in it. nan is undefined, +inf is never.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.money.discounting import (
    capital_recovery,
    discount_factors,
    modified_rate,
    payback,
    present_value,
    topping_up,
)
from sitefare.money.loans import Loan
from sitefare.money.project import total
from sitefare.money.rates import SEVERAL, Rates, rates_of_return, roots
from sitefare.money.targets import (
    Asked,
    deepest_month,
    grant_for_cash,
    grant_for_cover,
    grant_for_return,
)
from sitefare.timeline import Timeline

COSTS = ("capital", "replacement", "operating", "working_capital", "tax")


@dataclass(frozen=True)
class ProjectView:
    """Real flows by group and what indicators need beside them; (draws, months + 1).

    `at_date` holds `operating` costs, their parts `fixed` and `unpaid`, and `income` at
    appraisal-date prices, real drift left out, for yearly figures; `elsewhere` is income from
    outside the people served; the values price the whole harvest at the farm gate; `persons` are
    people fed by ration; `full` picks full-production years.
    """

    group: Mapping[str, Array]
    at_date: Mapping[str, Array]
    elsewhere: Array
    vegetable_value: Array
    fish_value: Array
    vegetable_kg: Array
    fish_kg: Array
    persons: Mapping[str, Array]
    headline: str
    reserve: Array
    rate: Array
    reinvestment: Array
    full: slice
    timeline: Timeline

    @cached_property
    def net(self) -> Array:
        """Net real flow of the project. [money]"""
        return total(self.group.values())

    @cached_property
    def factors(self) -> Array:
        """Real discount factors. [1]"""
        return discount_factors(self.rate, self.timeline.months + 1)

    def yearly_mean(self, flow: Array) -> Array:
        """Mean yearly sum over full-production years, (draws, 1). [same unit/year]"""
        years = self.timeline.by_year(flow)[:, self.full]
        mean: Array = np.mean(years, axis=1, keepdims=True)
        return mean


def ratio(top: Array, bottom: Array, empty: float) -> Array:
    """Divide, with `empty` where the bottom is not above zero. [unit of top ÷ bottom]"""
    good = bottom > 0
    return np.where(good, top / np.where(good, bottom, 1.0), empty)


def worth(view: ProjectView) -> tuple[dict[str, Array], Rates]:
    """Return npv, rates of return, paybacks and benefit–cost ratio."""
    flow, factors = view.net, view.factors
    value = {name: present_value(x, factors) for name, x in view.group.items()}
    costs = -sum((value[name] for name in COSTS), np.zeros((1, 1)))
    before_sale = flow - view.group["residual"]
    rates = rates_of_return(flow)
    npv = present_value(flow, factors)
    answer = {
        "npv": npv,
        "npv_without_residual": npv - value["residual"],
        "irr": rates.rate,
        "mirr": modified_rate(flow, view.rate, view.reinvestment),
        "payback_years": payback(before_sale),
        "discounted_payback_years": payback(before_sale * factors),
        "benefit_cost_ratio": ratio(value["income"] + value["residual"], costs, np.nan),
    }
    return answer, rates


def project_costs(view: ProjectView) -> Array:
    """Return all project costs by month, residual value not taken off, positive. [money]"""
    return -total(view.group[name] for name in COSTS)


def unit_costs(view: ProjectView) -> dict[str, Array]:
    """Return levelised costs: joint costs shared by farm-gate value, by mass beside. [money/kg]

    Present value of costs ÷ present value of output (Short, Packey & Holt 1995).
    """
    factors = view.factors
    costs = present_value(project_costs(view), factors)
    value_v = present_value(view.vegetable_value, factors)
    value_f = present_value(view.fish_value, factors)
    kg_v, kg_f = present_value(view.vegetable_kg, factors), present_value(view.fish_kg, factors)
    share = ratio(value_v, value_v + value_f, np.nan)
    return {
        "levelised_cost_vegetables_kg": ratio(costs * share, kg_v, np.nan),
        "levelised_cost_fish_kg": ratio(costs * (1.0 - share), kg_f, np.nan),
        "levelised_cost_by_mass_kg": ratio(costs, kg_v + kg_f, np.nan),
    }


def person_costs(view: ProjectView) -> dict[str, Array]:
    """Return cost per person-day, gross and net of sales elsewhere, by ration. [money/day]

    The headline ration also stands without its name.
    """
    factors = view.factors
    costs = present_value(project_costs(view), factors)
    net = costs - present_value(view.elsewhere, factors)
    answer = {}
    for name, persons in view.persons.items():
        days = present_value(persons, factors) * MEAN_MONTH
        answer[f"cost_per_person_day.{name}"] = ratio(costs, days, np.inf)
        answer[f"cost_per_person_day_net.{name}"] = ratio(net, days, np.inf)
    for name in ("cost_per_person_day", "cost_per_person_day_net"):
        answer[name] = answer[f"{name}.{view.headline}"]
    return answer


def equivalent_annual_cost(view: ProjectView) -> Array:
    """Return the level yearly sum worth as much as all project costs, residual kept. [money/year]

    Present value × capital recovery factor over the appraisal (NIST Handbook 135).
    """
    costs = present_value(project_costs(view), view.factors)
    return costs * capital_recovery(view.rate, np.full((1, 1), float(view.timeline.years)))


def yearly(view: ProjectView) -> dict[str, Array]:
    """Return capital and what a full-production year costs and brings. [money, money/year]"""
    capex = -np.sum(view.group["capital"], axis=1, keepdims=True)
    cost = view.yearly_mean(view.at_date["operating"])
    fixed = view.yearly_mean(view.at_date["fixed"])
    sales = view.yearly_mean(view.at_date["income"])
    people = view.yearly_mean(view.persons[view.headline]) / 12.0
    return {
        "capex": capex,
        "capex_per_person": ratio(capex, people, np.inf),
        "operating_cost_year": cost,
        "fixed_cost_year": fixed,
        "variable_cost_year": cost - fixed,
        "sales_year": sales,
        "operating_cost_recovery": ratio(sales, cost, np.nan),
        "replacement_reserve_year": view.reserve,
    }


def cover_by_year(available: Array, service: Array, repaid: Array, timeline: Timeline) -> Array:
    """Return cover of debt service by year, nan in years that repay nothing, (draws, years + 1)."""
    due, back = timeline.by_year(service), timeline.by_year(repaid)
    repays = (back > 0) & (due > 0)
    return np.where(repays, timeline.by_year(available) / np.where(repays, due, 1.0), np.nan)


def debt_cover(by_year: Array) -> Array:
    """Return the least yearly cover of debt service, nan without debt, (draws, 1). [1]"""
    least = np.min(np.where(np.isnan(by_year), np.inf, by_year), axis=1, keepdims=True)
    return np.where(np.isfinite(least), least, np.nan)


def servicing(service: Array, drawn: Array, construction: int) -> Array:
    """Pick the months that pay for debt once it is built and drawn, first period's to last. [1]

    Where debt is paid by the quarter or year, the months before the first payment belong to it.
    """
    month = np.arange(service.shape[1])
    begun = np.max(np.where(drawn > 0, month, construction), axis=1, keepdims=True)
    begun = np.maximum(begun, construction)
    due = (service > 0) & (month > begun)
    first = np.argmax(due, axis=1)[:, None]
    second = np.argmax(due & (month > first), axis=1)[:, None]
    before = np.where(second > first, 2 * first - second, begun)
    last = np.max(np.where(due, month, 0), axis=1, keepdims=True)
    inside = (month > np.maximum(before, begun)) & (month <= last)
    picked: Array = (inside & np.any(due, axis=1, keepdims=True)).astype(np.float64)
    return picked


def loan_life_cover(available: Array, debt: Loan, construction: int) -> Array:
    """Return cash available through the loans' life over the debt, both at its own cost. [1]

    Loan-life cover ratio (Yescombe 2014, Principles of Project Finance): present value, at the
    rate that the debt costs each month, loss by the exchange rate counted, of cash in the months
    of service, over the present value of the service, which is the debt when its service begins.
    nan without debt.
    """
    loans = debt.balance
    opening = np.concatenate([np.zeros((loans.shape[0], 1)), loans[:, :-1]], axis=1)
    charged = debt.interest + debt.exchange_loss
    cost = np.where(opening > 0, charged / np.where(opening > 0, opening, 1.0), 0.0)
    factors = servicing(debt.service, debt.drawn, construction) / np.cumprod(1.0 + cost, axis=1)
    return ratio(present_value(available, factors), present_value(debt.service, factors), np.nan)


def funding_view(
    view: ProjectView,
    statement: Mapping[str, Array],
    before_funding: Array,
    inflation: Array,
    *,
    debt: Loan,
    asked: Asked,
) -> tuple[dict[str, Array], Array]:
    """Return what the funders' side asks, from the nominal cash-flow statement; cover by year.

    subsidy_year_after_grant is cash cost, tax, debt service and replacement reserve less sales
    of a full-production year at appraisal-date prices, where positive; grant_needed is the sum
    at month 0 that must come on top of the funding planned so that nominal cash never falls
    below the least kept, no overdraft used; peak_funding is the same with no funding at all,
    least kept left out.
    """
    repaid = -statement["loans_repaid"]
    service = repaid - statement["interest"] - statement["loan_fees"]
    after_tax = statement["sales"] + statement["operating_costs"] + statement["tax"]
    available = after_tax + statement["working_capital"] + statement["replacements"]
    cover = cover_by_year(available, service, repaid, view.timeline)
    cash = view.at_date["income"] - view.at_date["operating"] + view.at_date["unpaid"]
    owed = (statement["tax"] - service) / inflation
    surplus = view.yearly_mean(cash + owed) - view.reserve
    return {
        "peak_funding": topping_up(np.cumsum(before_funding, axis=1)),
        "peak_funding_month": deepest_month(before_funding),
        "min_dscr": debt_cover(cover),
        "loan_life_cover": loan_life_cover(available, debt, view.timeline.construction),
        "grant_needed": grant_for_cash(asked.cash, asked.floor),
        "grant_needed_equity_return": grant_for_return(
            asked.cash, statement["equity"], asked.equity_return, inflation
        ),
        "grant_needed_debt_cover": grant_for_cover(
            available, service, repaid, statement["loans_drawn"], asked.debt_cover, view.timeline
        ),
        "subsidy_year_after_grant": np.maximum(-surplus, 0.0),
    }, cover


@dataclass(frozen=True)
class Solved:
    """Rates of return of one view, and the flow behind them."""

    rates: Rates
    flow: Array


def reasons(
    answers: Mapping[str, Array], solved: Mapping[str, Solved], years: int
) -> dict[str, str]:
    """Say in words why an indicator of the first draw has no finite answer.

    `solved` holds the rates behind each indicator that is a rate of return.
    """
    words = {
        "min_dscr": "no loan is repaid",
        "loan_life_cover": "no loan is repaid",
        "capex_per_person": "nobody is fed",
        "benefit_cost_ratio_equity": "the owners never put money in",
    } | {name: no_rate(one) for name, one in solved.items()}
    missing = [name for name, x in answers.items() if not np.isfinite(x[0, 0])]
    return {name: words.get(name) or _kind(name, answers[name], years) for name in missing}


def _kind(name: str, answer: Array, years: int) -> str:
    """Say why an indicator of some kind has no answer."""
    break_even = (
        "never: more of it brings no more than it costs"
        if np.isposinf(answer[0, 0])
        else "even free of charge, the rest costs more than the project brings"
    )
    kinds = {
        "mirr": "money flows only one way",
        "payback_years": f"not within {years} years",
        "discounted_payback_years": f"not within {years} years",
        "cost_per_person": "nobody is fed",
        "break_even": break_even,
    }
    found = [text for start, text in kinds.items() if name.startswith(start)]
    return found[0] if found else "there is nothing to divide by"


def no_rate(one: Solved) -> str:
    """Say why the first draw has no single rate of return, with every rate there is."""
    changes = int(one.rates.sign_changes[0, 0])
    told = f"the flow changes sign {changes} times"
    if int(one.rates.status[0, 0]) == SEVERAL:
        found = ", ".join(f"{100 * r:.2f} %" for r in roots(one.flow[0]))
        return f"several rates give a net present value of zero: {found}; {told}"
    return f"no rate between −99 % and +1,000 % gives a net present value of zero; {told}"
