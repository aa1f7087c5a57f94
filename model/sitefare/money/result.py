"""What the money stage hands to questions and outputs."""

from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.arrays import Array
from sitefare.money.breakeven import BreakEvens
from sitefare.money.indicators import ProjectView
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


@dataclass(frozen=True)
class Finances:
    """The farm's money; life arrays are (draws, months + 1), indicators (draws, 1).

    `lines` are the project view's nominal cash lines, money in positive, before any funding;
    `line_group` puts each in capital, replacement, operating, income, working_capital, tax or
    residual. `funding` holds the funders' lines. `statements` holds `income`, `cash_flow` and
    `balance` (assets, liabilities and equity all positive). In `indicators` nan is undefined and
    +inf is never; `reasons` says why for the first draw. `value_of_food_given` and
    `given_in_kind` (unpaid hours, land lent) are nominal values that are no cash. `inflation`
    deflates nominal money. `rates_status` is 0, 1 or 2 for no, one or several rates of return
    of each draw, and `rates_roots` lists every rate of the first draw. `project_cash_real`
    and `cumulative_real` are the project view in constant prices; `nominal_yearly` and
    `real_yearly` sum it by project year, (draws, years + 1). `views` holds the lines of the
    project, nominal, equity and economic view; `debt_cover` is cover of debt service by project
    year, nan where nothing is repaid; `break_evens` holds what each multiplier moves; `figures`
    are the real flows, people and kilograms behind the unmarked indicators.
    """

    lines: Mapping[str, Array]
    line_group: Mapping[str, str]
    funding: Mapping[str, Array]
    statements: Mapping[str, Mapping[str, Array]]
    capital_items: tuple[CapitalItem, ...]
    indicators: Mapping[str, Array]
    reasons: Mapping[str, str]
    value_of_food_given: Array
    given_in_kind: Array
    cash_balance: Array
    inflation: Array
    project_cash: Array
    project_cash_real: Array
    cumulative_real: Array
    nominal_yearly: Array
    real_yearly: Array
    rates_status: Array
    rates_roots: tuple[float, ...]
    views: Mapping[str, MoneyView]
    debt_cover: Array
    break_evens: BreakEvens
    figures: ProjectView
