"""What do the flows come to: is it worth it, when does it pay back, what does a person cost?

Unmarked indicators are the project view: after tax, before funding, constant prices of the
appraisal date. min_dscr, grant_needed, subsidy_year_after_grant and peak_funding are the funding
view. `…_year` is a mean over full-production years at appraisal-date prices, so that
neither inflation nor real drift is in it. nan is undefined, +inf is never.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.money.discounting import (
    discount_factors,
    modified_rate,
    payback,
    present_value,
    topping_up,
)
from sitefare.money.rates import SEVERAL, Rates, rates_of_return, roots
from sitefare.money.targets import (
    TargetInputs,
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

    @property
    def net(self) -> Array:
        """Net real flow of the project. [money]"""
        return sum(self.group.values(), np.zeros((1, 1)))

    @property
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
    return -sum((view.group[name] for name in COSTS), np.zeros((1, 1)))


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


def debt_cover(available: Array, service: Array, repaid: Array, timeline: Timeline) -> Array:
    """Return the least yearly cover of debt service in years that repay, nan without debt. [1]"""
    due, back = timeline.by_year(service), timeline.by_year(repaid)
    cover = np.where(back > 0, timeline.by_year(available) / np.where(due > 0, due, 1.0), np.inf)
    least = np.min(cover, axis=1, keepdims=True)
    return np.where(np.isfinite(least), least, np.nan)


def funding_view(
    view: ProjectView,
    statement: Mapping[str, Array],
    before_funding: Array,
    inflation: Array,
    *,
    own_cash: Array,
    floor: Array,
    target: TargetInputs,
) -> dict[str, Array]:
    """Return what the funders' side asks, from the nominal cash-flow statement.

    subsidy_year_after_grant is cash cost, tax, debt service and replacement reserve less sales
    of a full-production year at appraisal-date prices, where positive; grant_needed is the sum
    at month 0 that must come on top of the funding planned so that nominal cash never falls
    below the least kept, no overdraft used; peak_funding is the same with no funding at all,
    least kept left out. `own_cash` is net cash without any overdraft, `floor` the least kept.
    """
    repaid = -statement["loans_repaid"]
    service = repaid - statement["interest"] - statement["loan_fees"]
    after_tax = statement["sales"] + statement["operating_costs"] + statement["tax"]
    available = after_tax + statement["working_capital"] + statement["replacements"]
    cash = view.at_date["income"] - view.at_date["operating"] + view.at_date["unpaid"]
    owed = (statement["tax"] - service) / inflation
    surplus = view.yearly_mean(cash + owed) - view.reserve
    return {
        "peak_funding": topping_up(np.cumsum(before_funding, axis=1)),
        "peak_funding_month": deepest_month(before_funding),
        "min_dscr": debt_cover(available, service, repaid, view.timeline),
        "grant_needed": grant_for_cash(own_cash, floor),
        "grant_needed_equity_return": grant_for_return(
            own_cash, statement["equity"], target.equity_return, inflation
        ),
        "grant_needed_debt_cover": grant_for_cover(
            available, service, repaid, statement["loans_drawn"], target.debt_cover, view.timeline
        ),
        "subsidy_year_after_grant": np.maximum(-surplus, 0.0),
    }


def reasons(answers: Mapping[str, Array], rates: Rates, view: ProjectView) -> dict[str, str]:
    """Say in words why an indicator of the first draw has no finite answer."""
    years = view.timeline.years
    words = {
        "irr": _no_rate(rates, view),
        "mirr": "money flows only one way",
        "payback_years": f"not within {years} years",
        "discounted_payback_years": f"not within {years} years",
        "min_dscr": "no loan is repaid",
        "capex_per_person": "nobody is fed",
    }
    missing = [name for name, x in answers.items() if not np.isfinite(x[0, 0])]
    nobody = {name: "nobody is fed" for name in missing if name.startswith("cost_per_person")}
    return (
        dict.fromkeys(missing, "there is nothing to divide by")
        | nobody
        | {name: text for name, text in words.items() if name in missing}
    )


def _no_rate(rates: Rates, view: ProjectView) -> str:
    changes = int(rates.sign_changes[0, 0])
    told = f"the flow changes sign {changes} times"
    if int(rates.status[0, 0]) == SEVERAL:
        found = ", ".join(f"{100 * r:.2f} %" for r in roots(view.net[0]))
        return f"several rates give a net present value of zero: {found}; {told}"
    return f"no rate between −99 % and +1,000 % gives a net present value of zero; {told}"
