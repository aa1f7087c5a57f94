"""How much income tax is charged, and when is it paid?

Tax is reckoned on each project year's profit; month 0 counts with year 1. A loss is relieved
first against earlier years, where carry-back is allowed, then against later ones: the oldest
loss first and, by each, the oldest year first, up to a share of each year's profit and for the
years the law gives. In a tax holiday the profit bears a reduced rate and losses are used up all
the same, which is the cautious reading. A minimum tax is a share of the year's sales, outside
the holiday. Tax is paid some months after the year ends; what is then open when the appraisal
ends is paid in its last month. Tax is positive, a refund negative.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity
from sitefare.money.allowances import Timing, classes, timing
from sitefare.money.capital import CapitalFlows
from sitefare.money.project import EconomyInputs, draws_of, whole
from sitefare.timeline import Timeline


@inputs("tax")
class TaxInputs:
    """Rules of the income tax, and of duty."""

    duty_exempt: Any = choice("no", "yes", doc="Project exempt from import duty.", fact="optional")
    loss_share: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of a year's profit that earlier losses may offset.",
        fact="optional",
    )
    loss_years: Array = quantity(
        "year",
        low=0,
        high=60,
        varies="choice",
        doc="Years a loss may be carried forward: 0 for no limit.",
        fact="optional",
    )
    carry_back_years: Array = quantity(
        "year",
        low=0,
        high=20,
        varies="choice",
        doc="Years a loss may be carried back.",
        fact="optional",
    )
    holiday_years: Array = quantity(
        "year",
        low=0,
        high=60,
        varies="choice",
        doc="Tax holiday: years from the first year of operation.",
        fact="optional",
    )
    holiday_rate: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Rate of income tax in the holiday.",
        fact="optional",
    )
    minimum_share: Array = quantity(
        "1",
        low=0,
        high=0.2,
        varies="choice",
        doc="Minimum tax, as a share of the year's sales.",
        fact="optional",
    )
    payment_lag: Array = quantity(
        "month",
        low=0,
        high=24,
        varies="choice",
        doc="Delay of tax payment: months after the year ends.",
        fact="optional",
    )
    convention: Any = choice(
        "monthly",
        "full_year",
        "half_year",
        "mid_quarter",
        doc="First-year convention: part of the year for which an asset is written off.",
        fact="optional",
    )


@dataclass(frozen=True)
class TaxRules:
    """The law as one case meets it; rates and shares (draws, 1), the rest whole numbers. [1]

    `loss_years` 0 is no limit.
    """

    rate: Array
    loss_share: Array
    loss_years: int = 0
    carry_back_years: int = 0
    holiday_years: int = 0
    holiday_rate: Array | float = 0.0
    minimum_share: Array | float = 0.0
    payment_lag: int = 0

    @property
    def taxes(self) -> bool:
        """Whether any tax may fall due in any draw."""
        rates = (self.rate, self.holiday_rate, self.minimum_share)
        return any(bool(np.any(np.asarray(rate) > 0)) for rate in rates)

    def of_draws(self, draws: npt.NDArray[np.intp]) -> "TaxRules":
        """Return the rules of the draws given, in their order, one or more times."""
        named = ("rate", "loss_share", "holiday_rate", "minimum_share")
        picked: dict[str, Any] = {
            name: _picked(_across(getattr(self, name)), draws).T for name in named
        }
        return replace(self, **picked)


@dataclass(frozen=True)
class Relief:
    """How losses were used, by project year, year 0 (always empty) first. [money]

    `used` is (draws, years of loss + 1, years of use + 1); `open` (draws, years + 1) what is
    left of each year's loss when the appraisal ends, of those that have not lapsed.
    """

    used: Array
    open: Array


@dataclass(frozen=True)
class Uses:
    """Losses used year by year, each (years of loss, draws), and what is left of them. [money]

    `forward[y]` are the losses of the years from `oldest[y]` that year y uses, `back[y]` the parts
    of its own loss that the years from `first[y]` use. Years stand first, so that a year's draws
    lie together.
    """

    forward: list[Array]
    oldest: list[int]
    back: list[Array]
    first: list[int]
    open: Array

    def table(self) -> Array:
        """Return every use, (years of loss + 1, years of use + 1, draws). [money]"""
        count, draws = self.open.shape
        used = np.zeros((count, count, draws))
        for year in range(count):
            ahead, behind = self.forward[year], self.back[year]
            used[self.oldest[year] : self.oldest[year] + len(ahead), year] = ahead
            used[year, self.first[year] : self.first[year] + len(behind)] = behind
        return used


@dataclass(frozen=True)
class IncomeTax:
    """Tax by month, (draws, months + 1). [money]

    `charged` falls in the last month of its year, `paid` some months later.
    """

    charged: Array
    paid: Array
    uses: Uses

    @property
    def relief(self) -> Relief:
        """How losses were used. [money]"""
        return _relief(self.uses)


def tax_rules(values: Values) -> TaxRules:
    """Return the income tax rules of the case."""
    law = build(TaxInputs, values)
    return TaxRules(
        build(EconomyInputs, values).income_tax,
        law.loss_share,
        whole(law.loss_years),
        whole(law.carry_back_years),
        whole(law.holiday_years),
        law.holiday_rate,
        law.minimum_share,
        whole(law.payment_lag),
    )


def timing_differences(values: Values, capital: CapitalFlows, timeline: Timeline) -> Timing:
    """Return how the tax law's allowances differ from the books' depreciation. [money]"""
    convention = str(build(TaxInputs, values).convention)
    return timing(classes(values), capital.purchases, convention, timeline)


def in_turn(room: Array, asked: Array) -> Array:
    """Fill places in order until `asked` is spent: room (places, draws), asked (draws,)."""
    before = np.cumsum(room, axis=0) - room
    filled: Array = np.minimum(np.maximum(asked - before, 0.0), room)
    return filled


def relieve(gain: Array, rules: TaxRules) -> Relief:
    """Use losses against profits, yearly (draws, years + 1). [money]

    26 CFR 1.172-4 and 1.172-6: a year's loss goes to the earliest year it may be carried to.
    """
    return _relief(uses_of(np.ascontiguousarray(gain.T), rules))


def _relief(uses: Uses) -> Relief:
    return Relief(np.transpose(uses.table(), (2, 0, 1)), uses.open.T)


def uses_of(gain: Array, rules: TaxRules) -> Uses:
    """Use losses against profits as `relieve` says, years first: gain (years + 1, draws)."""
    count = gain.shape[0]
    left = np.maximum(-gain, 0.0)
    room = _across(rules.loss_share) * np.maximum(gain, 0.0)
    none = np.zeros((0, gain.shape[1]))
    made = Uses([none] * count, [1] * count, [none] * count, [1] * count, left)
    for year in range(1, count):
        first = max(year - rules.carry_back_years, 1)
        if first < year:
            back = in_turn(room[first:year], left[year])
            made.back[year], made.first[year] = back, first
            room[first:year] -= back
            left[year] = np.maximum(left[year] - np.sum(back, axis=0), 0.0)
        oldest = max(year - rules.loss_years, 1) if rules.loss_years else 1
        left[:oldest] = 0.0
        if not np.any(room[year]):
            continue
        forward = in_turn(left[oldest:year], room[year])
        made.forward[year], made.oldest[year] = forward, oldest
        left[oldest:year] -= forward
        room[year] = np.maximum(room[year] - np.sum(forward, axis=0), 0.0)
    return made


def _across(x: Array | float) -> Array:
    """Turn a number, or one a draw (draws, 1), into a row of draws. [same unit]"""
    return np.reshape(np.asarray(x, dtype=np.float64), (1, -1))


def due_by_year(gain: Array, turnover: Array, rules: TaxRules, first: int) -> tuple[Array, Uses]:
    """Return tax charged by year, refunds taken off in the year of the loss, and the relief.

    Years stand first: `gain`, `turnover` and the tax are (years + 1, draws); `first` is the first
    year of operation.
    """
    year = np.arange(gain.shape[0])[:, None]
    holiday = (year >= first) & (year < first + rules.holiday_years)
    rate = np.where(holiday, _across(rules.holiday_rate), _across(rules.rate))
    share = np.where(holiday, 0.0, _across(rules.minimum_share))
    least = share * np.maximum(turnover, 0.0) if np.any(share) else np.zeros((1, 1))
    uses = uses_of(gain, rules)
    assessed = np.maximum(gain, 0.0)
    for at, forward in enumerate(uses.forward):
        assessed[at] -= np.sum(forward, axis=0)
    charged: Array = np.maximum(rate * assessed, least)
    for back in range(2, gain.shape[0]) if rules.carry_back_years else ():
        # The loss of this year reopens earlier ones.
        reopened = assessed.copy()
        at, used = uses.first[back], uses.back[back]
        reopened[at : at + len(used)] -= used
        refund = np.maximum(rate * assessed, least) - np.maximum(rate * reopened, least)
        charged[back] -= np.sum(refund, axis=0)
        assessed = reopened
    return charged, uses


@dataclass(frozen=True)
class YearlyTax:
    """What tax the plan is charged by project year, and would be if it earned more.

    Years stand first: taxable `profit`, month 0 counted with year 1, and `sales` are
    (years + 1, draws). Parts of the plan that add to them in proportion need no months. [money]
    """

    profit: Array
    sales: Array
    rules: TaxRules
    timeline: Timeline

    @property
    def months(self) -> list[int]:
        """The month in which each year's tax is paid, year 1 first."""
        lag, last = self.rules.payment_lag, self.timeline.months
        return [min(12 * year + lag, last) for year in range(1, self.timeline.years + 1)]

    def by_year(self, flow: Array) -> Array:
        """Return a flow by project year, (years + 1, draws). [money]"""
        laid = self.timeline.life(flow) if flow.shape[1] == 1 else flow
        return np.ascontiguousarray(self.timeline.by_year(laid).T)

    def profit_of(self, flow: Array) -> Array:
        """Return profit by project year, (years + 1, draws), month 0 with year 1. [money]"""
        years = self.by_year(flow)
        years[1] += years[0]
        years[0] = 0.0
        return years

    def due(self) -> tuple[Array, Uses]:
        """Return tax charged by project year, (years + 1, draws), and the losses used. [money]"""
        opening = int(self.timeline.year[min(self.timeline.construction + 1, self.timeline.months)])
        return due_by_year(self.profit, self.sales, self.rules, opening)

    def of_draws(self, draws: npt.NDArray[np.intp]) -> "YearlyTax":
        """Return the plan's tax with the draws given, in their order, one or more times."""
        return replace(
            self, profit=_picked(self.profit, draws), sales=_picked(self.sales, draws),
            rules=self.rules.of_draws(draws),
        )  # fmt: skip

    def with_more(self, profit: Array, sales: Array) -> "YearlyTax":
        """Return the tax of more taxable profit and sales by year, (years + 1, draws)."""
        return replace(self, profit=self.profit + profit, sales=self.sales + sales)


def _picked(x: Array, draws: npt.NDArray[np.intp]) -> Array:
    """Pick draws, the last axis; what is the same in every draw stays. [same unit]"""
    return x if x.shape[-1] == 1 else np.take(x, draws, axis=-1)


def yearly_tax(
    profit: Array, rules: TaxRules, timeline: Timeline, sales: Array | None = None
) -> YearlyTax:
    """Return the yearly tax on a monthly taxable profit, (draws, months + 1). [money]

    Allowances are already inside the profit; `sales` bear the minimum tax.
    """
    made = YearlyTax(np.zeros((1, 1)), np.zeros((1, 1)), rules, timeline)
    shape = (timeline.years + 1, draws_of(profit, rules.rate, rules.loss_share))
    yearly = np.broadcast_to(made.profit_of(profit), shape)
    return replace(made, profit=yearly, sales=made.sales if sales is None else made.by_year(sales))


def income_tax(
    profit: Array, rules: TaxRules, timeline: Timeline, sales: Array | None = None
) -> IncomeTax:
    """Return tax charged and paid on a monthly taxable profit, (draws, months + 1). [money]

    Allowances are already inside the profit; `sales` bear the minimum tax.
    """
    return by_month(yearly_tax(profit, rules, timeline, sales))


def by_month(tax: YearlyTax) -> IncomeTax:
    """Lay tax by year along the life, (draws, months + 1). [money]"""
    due, uses = tax.due()
    charged, paid = (np.zeros((due.shape[1], tax.timeline.months + 1)) for _ in range(2))
    charged[:, 12::12] = due[1:].T
    for year, month in enumerate(tax.months, 1):
        paid[:, month] += due[year]
    return IncomeTax(charged, paid, uses)
