"""What is the farm worth to its owners, in nominal money, and to the country?

A view is a set of nominal lines, a deflator and a discount rate that match each other: real
rates where the deflator is inflation, nominal ones where it is 1. The project view is before
funding. Owners put in what cash falls short of and take what is over, month by month, after
debt, grants and the tax of the statements. The economic view is built in `economic`.
Money in is positive; nan is undefined, +inf is never.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.money.discounting import discount_factors, modified_rate, payback, present_value
from sitefare.money.indicators import Solved
from sitefare.money.project import total
from sitefare.money.rates import rates_of_return

#: Lines of the cash-flow statement that are the owners' own money, and the sum.
OWN = ("equity", "net")

#: Group of each line of the cash-flow statement; what is not listed is funding.
CASH_GROUPS = {
    "sales": "income",
    "operating_costs": "operating",
    "working_capital": "working_capital",
    "tax": "tax",
    "capital": "capital",
    "land": "capital",
    "replacements": "replacement",
    "equipment_sold": "residual",
}


@inputs("owners")
class OwnersInputs:
    """What the owners ask of their money."""

    discount_rate: Array = quantity(
        "1/year",
        low=-0.05,
        high=0.5,
        varies="choice",
        doc="Owners' real discount rate: what they ask for bearing the risk after lenders.",
    )


@dataclass(frozen=True)
class MoneyView:
    """Nominal lines (draws, months + 1), the group of each, deflator [1] and rates [1/year]."""

    lines: Mapping[str, Array]
    group: Mapping[str, str]
    deflator: Array
    rate: Array
    reinvestment: Array
    sums: dict[tuple[str, ...], Array] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def flow(self) -> Array:
        """Net flow in the view's prices. [money]"""
        return self.net / self.deflator

    @cached_property
    def factors(self) -> Array:
        """Discount factor over deflator by month: a nominal line times it is present value. [1]"""
        return discount_factors(self.rate, self.deflator.shape[1]) / self.deflator

    @cached_property
    def net(self) -> Array:
        """Nominal sum of all lines, group by group. [money]"""
        return total(self.sum_of(group) for group in dict.fromkeys(self.group.values()))

    def sum_of(self, *groups: str) -> Array:
        """Return the nominal sum of the lines of some groups, made once. [money]"""
        if groups not in self.sums and len(groups) > 1:
            self.sums[groups] = total(self.sum_of(group) for group in groups)
        elif groups not in self.sums:
            self.sums[groups] = total(
                self.lines[name] for name, group in self.group.items() if group in groups
            )
        return self.sums[groups]


def nominal_view(project: MoneyView, nominal_rate: Array, nominal_reinvestment: Array) -> MoneyView:
    """Return the project view in nominal money, at rates that match it."""
    one = np.ones((1, project.deflator.shape[1]))
    return replace(project, deflator=one, rate=nominal_rate, reinvestment=nominal_reinvestment)


def equity_view(
    statement: Mapping[str, Array], deflator: Array, rate: Array, reinvestment: Array
) -> MoneyView:
    """Return what owners put in and take out, from the nominal cash-flow statement."""
    lines = {name: x for name, x in statement.items() if name not in OWN}
    group = {name: CASH_GROUPS.get(name, "funding") for name in lines}
    return MoneyView(lines, group, deflator, rate, reinvestment)


def received_over_paid(flow: Array, factors: Array) -> Array:
    """Return present value of months that give over those that take, nan if none takes. [1]"""
    taken = -present_value(np.minimum(flow, 0.0), factors)
    given = present_value(np.maximum(flow, 0.0), factors)
    return np.where(taken > 0, given / np.where(taken > 0, taken, 1.0), np.nan)


def equity_worth(view: MoneyView) -> tuple[dict[str, Array], dict[str, Solved]]:
    """Return the owners' indicators in constant prices, and the rates behind them."""
    flow, in_money = view.flow, view.flow * view.deflator
    factors = discount_factors(view.rate, flow.shape[1])
    rates, nominal = rates_of_return(flow), rates_of_return(in_money)
    before_sale = flow - view.sum_of("residual") / view.deflator
    return {
        "npv_equity": present_value(flow, factors),
        "irr_equity": rates.rate,
        "mirr_equity": modified_rate(flow, view.rate, view.reinvestment),
        "payback_years_equity": payback(before_sale),
        "discounted_payback_years_equity": payback(before_sale * factors),
        "benefit_cost_ratio_equity": received_over_paid(flow, factors),
        "irr_equity_nominal": nominal.rate,
    }, {"irr_equity": Solved(rates, flow), "irr_equity_nominal": Solved(nominal, in_money)}


def nominal_worth(view: MoneyView) -> tuple[dict[str, Array], dict[str, Solved]]:
    """Return the project's indicators in nominal money, and the rates behind them."""
    flow = view.flow
    rates = rates_of_return(flow)
    return {
        "npv_nominal": present_value(flow, view.factors),
        "irr_nominal": rates.rate,
        "mirr_nominal": modified_rate(flow, view.rate, view.reinvestment),
        "payback_years_nominal": payback(flow - view.sum_of("residual")),
    }, {"irr_nominal": Solved(rates, flow)}
