"""What the money stage hands to questions and outputs."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sitefare.arrays import Array
from sitefare.money.breakeven import BreakEvens
from sitefare.money.capital import Budget
from sitefare.money.indicators import ProjectView
from sitefare.money.loans import Loan
from sitefare.money.market import Sale
from sitefare.money.rates import roots
from sitefare.money.targets import Asked
from sitefare.money.views import MoneyView


@dataclass(frozen=True)
class CapitalItem:
    """One line of the capital budget, first draw, at appraisal-date prices.

    `landed_cost` is delivered and installed [money]; `share` is of the whole budget [1];
    `life` in years, 0 where it is not replaced.
    """

    key: str
    item: str
    category: str
    quantity: float
    per: str
    unit_price: float
    landed_cost: float
    share: float
    life: float
    origin: str
    essential: bool


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


@dataclass(frozen=True)
class Running:
    """How lines of running cost and income behave.

    `price_group` names the price group of a line, `price_paths` the nominal path of a group,
    (draws, months + 1). `behaviour` says of each operating line whether it is fixed, variable,
    step or mixed; `fixed_costs` is the nominal part of it, positive, that is paid whatever the
    harvest [money]. `markets` says by food what the market outside takes, leaves and pays.
    """

    price_group: Mapping[str, str]
    price_paths: Mapping[str, Array]
    behaviour: Mapping[str, str]
    fixed_costs: Mapping[str, Array]
    markets: Mapping[str, Sale]

    def path(self, name: str) -> Array:
        """Return the nominal price path of a line. [1]"""
        return self.price_paths[self.price_group[name]]


@dataclass(frozen=True)
class Finances:
    """The farm's money; life arrays are (draws, months + 1), indicators (draws, 1).

    `funding` holds the funders' lines. `statements` holds `income`, `cash_flow` and
    `balance` (assets, liabilities and equity all positive), `notes`, and the cash lines by
    activity; `yearly` makes years and printed lines of them. In `indicators` nan is undefined and
    +inf is never; `reasons` says why for the first draw. `value_of_food_given` and
    `given_in_kind` (unpaid hours, land lent) are nominal values that are no cash. `inflation`
    deflates nominal money. `budget` is the capital budget at appraisal-date prices.
    `rates_status` is 0, 1 or 2 for no, one or several rates of return of each draw. `loans` holds
    each loan's schedule; `capital_need` is what is to be funded by month; `first_cohort_cost` is
    feed and fingerlings bought before the first fish leave, (draws, 1). `running` says how the
    lines of running cost and income behave. `views` holds the lines of the project, nominal,
    equity and economic view; `debt_cover` is cover of debt service by project year, nan where
    nothing is repaid; `break_evens` holds what each multiplier moves; `figures` are the real
    flows, people and kilograms behind the unmarked indicators; `asked` is what funders measure the
    plan by.
    """

    funding: Mapping[str, Array]
    statements: Mapping[str, Mapping[str, Array]]
    budget: Budget
    indicators: Mapping[str, Array]
    reasons: Mapping[str, str]
    value_of_food_given: Array
    given_in_kind: Array
    inflation: Array
    project_cash: Array
    rates_status: Array
    loans: Mapping[str, Loan]
    capital_need: Array
    first_cohort_cost: Array
    running: Running
    views: Mapping[str, MoneyView]
    debt_cover: Array
    break_evens: BreakEvens
    figures: ProjectView
    asked: Asked

    @cached_property
    def lines(self) -> Mapping[str, Array]:
        """The project view's nominal cash lines, money in positive, before any funding. [money]"""
        lines = self.views["project"].lines
        return {name: np.broadcast_to(x, self.project_cash.shape) for name, x in lines.items()}

    @cached_property
    def capital_items(self) -> tuple[CapitalItem, ...]:
        """The capital budget of the first draw for the bill annex. [money]"""
        return capital_items(self.budget)

    @cached_property
    def rates_roots(self) -> tuple[float, ...]:
        """Every rate of return of the first draw. [1/year]"""
        return tuple(float(rate) for rate in roots(self.figures.net[0]))

    @property
    def line_group(self) -> Mapping[str, str]:
        """Put each line in one of the groups of `flows.GROUPS`."""
        return self.views["project"].group

    @property
    def cash_balance(self) -> Array:
        """Cash at month ends with the funding planned. [money]"""
        return np.cumsum(self.statements["cash_flow"]["net"], axis=1)

    @property
    def project_cash_real(self) -> Array:
        """Net project cash in constant prices. [money]"""
        return self.figures.net

    @property
    def cumulative_real(self) -> Array:
        """Project cash so far in constant prices. [money]"""
        return np.cumsum(self.figures.net, axis=1)

    @property
    def nominal_yearly(self) -> Array:
        """Net project cash by project year, (draws, years + 1). [money]"""
        return self.figures.timeline.by_year(self.project_cash)

    @property
    def real_yearly(self) -> Array:
        """Net project cash in constant prices by project year, (draws, years + 1). [money]"""
        return self.figures.timeline.by_year(self.figures.net)

    def at_date(self, name: str) -> Array:
        """Return an operating or income line at appraisal-date prices, money in positive. [money]

        Neither inflation nor its group's real drift is in it.
        """
        return self.lines[name] / self.running.path(name)
