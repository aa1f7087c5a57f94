"""How much income tax is charged, and when is it paid?

Tax is reckoned on each project year's profit; month 0 counts with year 1. A loss is relieved
first against earlier years, where carry-back is allowed, then against later ones: the oldest
loss first and, by each, the oldest year first, up to a share of each year's profit and for the
years the law gives. In a tax holiday the profit bears a reduced rate and losses are used up all
the same, which is the cautious reading. A minimum tax is a share of the year's sales, outside
the holiday. Tax is paid some months after the year ends; what is then open when the appraisal
ends is paid in its last month. Tax is positive, a refund negative.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

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


@dataclass(frozen=True)
class Relief:
    """How losses were used, by project year, year 0 (always empty) first. [money]

    `used` is (draws, years of loss + 1, years of use + 1); `open` (draws, years + 1) what is
    left of each year's loss when the appraisal ends, of those that have not lapsed.
    """

    used: Array
    open: Array


@dataclass(frozen=True)
class IncomeTax:
    """Tax by month, (draws, months + 1). [money]

    `charged` falls in the last month of its year, `paid` some months later.
    """

    charged: Array
    paid: Array
    relief: Relief


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
    """Fill places in order until `asked` is spent: room (draws, places), asked (draws, 1)."""
    before = np.cumsum(room, axis=1) - room
    filled: Array = np.clip(asked - before, 0.0, room)
    return filled


def relieve(gain: Array, rules: TaxRules) -> Relief:
    """Use losses against profits, yearly (draws, years + 1). [money]

    26 CFR 1.172-4 and 1.172-6: a year's loss goes to the earliest year it may be carried to.
    """
    draws, count = gain.shape
    used = np.zeros((draws, count, count))
    left = np.maximum(-gain, 0.0)
    room = np.broadcast_to(rules.loss_share, (draws, 1)) * np.maximum(gain, 0.0)
    for year in range(1, count):
        first = max(year - rules.carry_back_years, 1)
        if first < year:
            back = in_turn(room[:, first:year], left[:, year : year + 1])
            used[:, year, first:year] = back
            room[:, first:year] -= back
            left[:, year] = np.maximum(left[:, year] - np.sum(back, axis=1), 0.0)
        oldest = max(year - rules.loss_years, 1) if rules.loss_years else 1
        left[:, :oldest] = 0.0
        forward = in_turn(left[:, oldest:year], room[:, year : year + 1])
        used[:, oldest:year, year] = forward
        left[:, oldest:year] -= forward
        room[:, year] = np.maximum(room[:, year] - np.sum(forward, axis=1), 0.0)
    return Relief(used, left)


def due_by_year(gain: Array, turnover: Array, rules: TaxRules, first: int) -> tuple[Array, Relief]:
    """Return tax charged by year, refunds taken off in the year of the loss, and the relief.

    `gain` and `turnover` are yearly, (draws, years + 1); `first` is the first year of operation.
    """
    year = np.arange(gain.shape[1])
    holiday = (year >= first) & (year < first + rules.holiday_years)
    rate = np.where(holiday, rules.holiday_rate, rules.rate)
    least = np.where(holiday, 0.0, rules.minimum_share * np.maximum(turnover, 0.0))
    relief = relieve(gain, rules)
    taxable = np.maximum(gain, 0.0)
    charged = np.zeros(np.broadcast_shapes(gain.shape, rate.shape, least.shape))
    forward = np.triu(np.ones((gain.shape[1], gain.shape[1])))
    assessed = taxable - np.sum(relief.used * forward, axis=1)
    charged += np.maximum(rate * assessed, least)
    for back in range(2, gain.shape[1]) if rules.carry_back_years else ():
        # The loss of this year reopens earlier ones.
        reopened = assessed - relief.used[:, back, :] * (year < back)
        refund = np.maximum(rate * assessed, least) - np.maximum(rate * reopened, least)
        charged[:, back] -= np.sum(refund, axis=1)
        assessed = reopened
    return charged, relief


def income_tax(
    profit: Array, rules: TaxRules, timeline: Timeline, sales: Array | None = None
) -> IncomeTax:
    """Return tax charged and paid on a monthly taxable profit, (draws, months + 1). [money]

    Allowances are already inside the profit; `sales` bear the minimum tax.
    """
    draws = draws_of(profit, rules.rate, rules.loss_share)
    yearly = np.broadcast_to(timeline.by_year(profit), (draws, timeline.years + 1)).copy()
    yearly[:, 1] += yearly[:, 0]
    yearly[:, 0] = 0.0
    turnover = np.zeros((1, 1)) if sales is None else timeline.by_year(sales)
    opening = int(timeline.year[min(timeline.construction + 1, timeline.months)])
    due, relief = due_by_year(yearly, turnover, rules, opening)
    charged = np.zeros((draws, timeline.months + 1))
    paid = np.zeros((draws, timeline.months + 1))
    charged[:, 12::12] = due[:, 1:]
    for year in range(1, timeline.years + 1):
        paid[:, min(12 * year + rules.payment_lag, timeline.months)] += due[:, year]
    return IncomeTax(charged, paid, relief)
