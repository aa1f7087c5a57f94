"""Sheet Tax: income tax twice, as if the project were unfunded and as the statements owe it.

Tax is reckoned on a project year's profit, in the column of the year's last month; what is
carried from year to year is held in the months between. So a month's tax reads no later month,
and the overdraft, whose interest tax relieves, makes no circle.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.money.flows import Flows
from sitefare.money.project import total
from sitefare.money.statements import Earned, disposal, earned, in_step
from sitefare.money.tax import IncomeTax, TaxRules, by_month
from sitefare.outputs.workbook.carry_back import CarryBack, carry_back_items
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.made import Made

#: Rules that decide which cells stand here: formulas follow them in part.
LOCKED = ("tax.loss_years", "tax.carry_back_years", "project.construction")


@dataclass(frozen=True)
class Assessment:
    """One reckoning of tax: prefix of its keys, what is taxed and what the model charges.

    `profit` and `sales` are by month, (1, months + 1) [money]; `first` is the first year of
    operation.
    """

    key: str
    profit: Array
    sales: Array
    tax: IncomeTax
    rules: TaxRules
    first: int
    currency: str

    @property
    def rates(self) -> tuple[Array, Array]:
        """Rate in force [1] and least tax [money] by project year, (years + 1,) each."""
        year, rules = np.arange(self.years + 1), self.rules
        rest = (year >= self.first) & (year < self.first + rules.holiday_years)
        rate = np.where(rest, np.ravel(rules.holiday_rate)[0], np.ravel(rules.rate)[0])
        least = np.where(rest, 0.0, np.ravel(rules.minimum_share)[0])
        return rate, least * np.maximum(self.turnover, 0.0)

    @property
    def years(self) -> int:
        """Project years."""
        return int((self.profit.shape[1] - 1) // 12)

    @property
    def gain(self) -> Array:
        """Profit by project year, month 0 with year 1, year 0 empty, (years + 1,). [money]"""
        by_year = self.profit[0, 1:].reshape(self.years, 12).sum(axis=1)
        by_year[0] += self.profit[0, 0]
        return np.concatenate([[0.0], by_year])

    @property
    def turnover(self) -> Array:
        """Sales by project year, (years + 1,). [money]"""
        by_year = self.sales[0, 1:].reshape(self.years, 12).sum(axis=1)
        return np.concatenate([self.sales[0, :1], by_year])

    @property
    def used(self) -> Array:
        """Earlier losses that each year uses, (years + 1,). [money]"""
        return np.array([float(np.sum(x)) for x in self.tax.uses.forward])

    def losses(self) -> Array:
        """Losses of each year still open after each year, (years of loss, years + 1). [money]"""
        count = self.years + 1
        table = self.tax.uses.table()[:, :, 0]
        open_, limit = np.zeros((count, count)), self.rules.loss_years
        for year in range(1, count):
            open_[:, year] = open_[:, year - 1]
            open_[year, year] = max(-self.gain[year], 0.0) - table[year, :year].sum()
            if limit:
                open_[: max(year - limit, 1), year] = 0.0
            open_[:year, year] -= table[:year, year]
        return open_


def held(by_year: Array) -> Array:
    """Lay what each year ends with along the months, held till the next year's end."""
    years = by_year.size - 1
    laid = np.concatenate([np.zeros(12), np.repeat(by_year[1:], 12)])[: 12 * years + 1]
    return laid[None, :]


def at_ends(by_year: Array) -> Array:
    """Lay what falls in each year's last month along the months, nothing in others."""
    laid = np.zeros((1, 12 * (by_year.size - 1) + 1))
    laid[:, 12::12] = by_year[1:]
    return laid


def so_far(flow: Array, *, opening: bool) -> Array:
    """Sum a monthly flow from each year's start; month 0 counts with year 1 if `opening`."""
    sums = flow[0, 1:].reshape(-1, 12).cumsum(axis=1)
    sums[0] += flow[0, 0] if opening else 0.0
    return np.concatenate([flow[0, :1], sums.ravel()])[None, :]


def first_year(made: Made) -> int:
    """Return the first year of operation."""
    time = made.timeline
    return int(time.year[min(time.construction + 1, time.months)])


def clock_items(made: Made) -> Iterator[Item]:
    """Yield what both reckonings share: year ends, the holiday, the rates in force."""
    time, rules = made.timeline, made.money.rules
    first = first_year(made)
    ends = at_ends(np.ones(time.years + 1))
    in_holiday = (time.year >= first) & (time.year < first + rules.holiday_years)
    rate = np.where(in_holiday, rules.holiday_rate, rules.rate)
    least = np.where(in_holiday, 0.0, rules.minimum_share)
    yield Heading("Years and rates")
    yield Line(
        "tax.year_end", "1 in the last month of a project year", "1",
        "IF(AND({month}>0,MOD({month},12)=0),1,0)", ends, kind="count",
    )  # fmt: skip
    yield Scalar(
        "tax.first_year", "First year of operation", "year",
        f"ROUNDUP(MIN({{in:project.construction}}+1,{time.months})/12,0)", float(first),
        kind="count",
    )  # fmt: skip
    yield Line(
        "tax.holiday", "1 in a tax holiday", "1",
        "IF(AND({year}>={tax.first_year},"
        "{year}<{tax.first_year}+ROUND({in:tax.holiday_years},0)),1,0)",
        in_holiday.astype(np.float64), kind="count",
    )  # fmt: skip
    yield Line(
        "tax.rate", "Rate of income tax", "1",
        "IF({tax.holiday}=1,{in:tax.holiday_rate},{in:economy.income_tax})", rate, kind="share",
    )  # fmt: skip
    yield Line(
        "tax.least_share", "Least tax, of the year's sales", "1",
        "IF({tax.holiday}=1,0,{in:tax.minimum_share})", least, kind="share",
    )  # fmt: skip


def assessed_items(one: Assessment, sales: str) -> Iterator[Item]:
    """Yield the tax on a monthly taxable profit, `{key}.profit`, which stands already."""
    key, money = one.key, one.currency
    start = "AND({month}>1,MOD({month},12)=1)"
    yield Line(
        f"{key}.year_profit", "Taxable profit since the year began", money,
        f"IF({start},0,{{{key}.year_profit<}})+{{{key}.profit}}", so_far(one.profit, opening=True),
        note="month 0 counts with year 1",
    )  # fmt: skip
    yield Line(
        f"{key}.year_sales", "Sales since the year began", money,
        f"IF(MOD({{month}},12)=1,0,{{{key}.year_sales<}})+{{{sales}}}",
        so_far(one.sales, opening=False),
    )  # fmt: skip
    room = np.maximum(one.gain, 0.0) * float(np.ravel(one.rules.loss_share)[0])
    yield Line(
        f"{key}.room", "Profit of the year that earlier losses may offset", money,
        f"IF({{tax.year_end}}=1,{{in:tax.loss_share}}*MAX({{{key}.year_profit}},0),0)",
        at_ends(room),
    )  # fmt: skip
    back = CarryBack(
        key, one.rules.carry_back_years, *one.rates, one.gain, one.used, room, one.tax, money
    )
    yield from carry_back_items(back, part=1)
    yield from (vintage_items(one, back) if one.rules.loss_years else pool_items(one, back))
    assessed = np.maximum(one.gain, 0.0) - one.used
    yield Line(
        f"{key}.assessed", "Profit taxed", money,
        f"IF({{tax.year_end}}=1,MAX({{{key}.year_profit}},0)-{{{key}.used}},0)",
        at_ends(assessed), total=True,
    )  # fmt: skip
    yield from carry_back_items(back, part=2)
    refund = f"-{{{key}.refund}}" if back.years else ""
    yield Line(
        f"{key}.charged", "Tax charged, in the year's last month", money,
        f"IF({{tax.year_end}}=1,MAX({{tax.rate}}*{{{key}.assessed}},"
        f"{{tax.least_share}}*MAX({{{key}.year_sales}},0)),0){refund}",
        one.tax.charged, total=True, strong=True,
    )  # fmt: skip
    yield from paid_items(one)


def pool_items(one: Assessment, back: CarryBack) -> Iterator[Item]:
    """Yield losses carried forward without limit, as one sum."""
    key, open_ = one.key, one.losses().sum(axis=0)
    carried = f"-{{{key}.carried_back}}" if back.years else ""
    yield Line(
        f"{key}.used", "Earlier losses used", one.currency,
        f"IF({{tax.year_end}}=1,MIN({{{key}.losses<}},{{{key}.room}}),0)", at_ends(one.used),
        total=True,
    )  # fmt: skip
    yield Line(
        f"{key}.losses", "Losses carried forward", one.currency,
        f"IF({{tax.year_end}}=1,{{{key}.losses<}}-{{{key}.used}}"
        f"+MAX(-{{{key}.year_profit}},0){carried},{{{key}.losses<}})", held(open_),
    )  # fmt: skip


def vintage_items(one: Assessment, back: CarryBack) -> Iterator[Item]:
    """Yield losses that lapse, each year's apart: the oldest is used first."""
    key, money, open_ = one.key, one.currency, one.losses()
    years, limit = range(1, one.years + 1), one.rules.loss_years
    carried = f"-{{{key}.carried_back}}" if back.years else ""
    for n in years:
        alive = np.concatenate([[0.0], open_[n, :-1]])
        alive[n + limit + 1 :] = 0.0
        yield Line(
            f"{key}.alive.{n}", f"Loss of year {n} that may still be used", money,
            f"IF({{tax.year_end}}=1,IF({{year}}-{n}>ROUND({{in:tax.loss_years}},0),0,"
            f"{{{key}.loss.{n}<}}),0)", at_ends(alive),
        )  # fmt: skip
    everything = "+".join(f"{{{key}.alive.{n}}}" for n in years)
    yield Line(
        f"{key}.used", "Earlier losses used", money, f"MIN({everything},{{{key}.room}})",
        at_ends(one.used), total=True,
    )  # fmt: skip
    older = "0"
    for n in years:
        spent = f"MAX(0,MIN({{{key}.alive.{n}}},{{{key}.used}}-({older})))"
        yield Line(
            f"{key}.loss.{n}", f"Loss of year {n} carried forward", money,
            f"IF({{tax.year_end}}=1,IF({{year}}={n},MAX(-{{{key}.year_profit}},0){carried},"
            f"{{{key}.alive.{n}}}-{spent}),{{{key}.loss.{n}<}})", held(open_[n]),
        )  # fmt: skip
        older = f"{older}+{{{key}.alive.{n}}}" if n > 1 else f"{{{key}.alive.{n}}}"


def paid_items(one: Assessment) -> Iterator[Item]:
    """Yield when tax is paid: some months after the year, what is open in the last month then."""
    key, last = one.key, one.profit.shape[1] - 1
    lag = "ROUND({in:tax.payment_lag},0)"
    charged = f"INDEX({{{key}.charged..}},{{month}}-{lag}+1)"
    owed = np.cumsum(one.tax.charged - one.tax.paid, axis=1)
    yield Line(
        f"{key}.paid", "Tax paid", one.currency,
        f"IF({{month}}={last},{{{key}.payable<}}+{{{key}.charged}},"
        f"IF({{month}}>={lag},{charged},0))", one.tax.paid, total=True, strong=True,
    )  # fmt: skip
    yield Line(
        f"{key}.payable", "Tax owed at month end", one.currency,
        f"{{{key}.payable<}}+{{{key}.charged}}-{{{key}.paid}}", owed,
    )  # fmt: skip


def sold_items(made: Made) -> Iterator[Item]:
    """Yield the gain on what is sold in the last month over its book value."""
    capital, money, last = made.money.capital, made.currency, made.timeline.months
    yield Heading("What is sold in the last month")
    yield Line(
        "tax.disposal", "Gain on what is sold", money,
        "{capital.residual}+{capital.land_sale}-{capital.written_off}"
        f"-IF({{month}}={last},SUM({{capital.land:}}),0)", disposal(capital), total=True,
    )  # fmt: skip


def differs(flows: Flows) -> bool:
    """Say whether the law's allowances differ from the books' depreciation."""
    return bool(flows.timing.profit.shape[1] > 1)


def project_profit(flows: Flows) -> Array:
    """Return the taxable profit as if the project were unfunded. [money]"""
    profit = flows.income.total - flows.operating.total + flows.tied_up.fish_profit
    profit = profit - flows.capital.depreciation + disposal(flows.capital)
    return np.asarray(profit + flows.timing.profit)


def statements_tax(made: Made) -> Earned:
    """Return what the farm earns, and its tax as the statements reckon it. [money]"""
    return earned(made.books, -made.statements["cash_flow"]["overdraft_interest"])


def taxable_items(made: Made, own: Earned) -> Iterator[Item]:
    """Yield the taxable profit of the statements: the law's allowances in place of the books'."""
    books, money, last = made.books, made.currency, made.timeline.months
    if not differs(made.money):
        yield Line(
            "tax.profit", "Taxable profit", money, "{profit.before_tax}", own.taxable, total=True
        )
        return
    granted = np.sum(books.funding.capital_grants, axis=1, keepdims=True)
    capital = books.capital
    law = capital.depreciation_initial + books.timing.initial
    spent = "(SUM({capital.works:})+SUM({capital.land:}))"
    allowed = "({capital.depreciation_initial}+{capital.timing_initial})"
    taxed = in_step(granted, law, capital)
    unsettled = taxed.copy()
    worth = np.sum(capital.works + capital.land, axis=1, keepdims=True)
    unsettled = granted * law / np.where(worth > 0, worth, 1.0)
    yield Line(
        "tax.grants_in_step", "Capital grants in step with allowances", money,
        f"SUM({{funding.capital_grants:}})*{allowed}/IF({spent}>0,{spent},1)", unsettled,
        total=True,
    )  # fmt: skip
    yield Line(
        "tax.grants_taxed", "Capital grants taxed", money,
        f"{{tax.grants_in_step}}+IF({{month}}={last},SUM({{funding.capital_grants:}})"
        "-SUM({tax.grants_in_step:}),0)", taxed, total=True,
    )  # fmt: skip
    yield Line(
        "tax.profit", "Taxable profit", money,
        "{profit.before_tax}+{capital.timing_profit}+{tax.grants_taxed}-{profit.grants_released}",
        own.taxable, total=True,
    )  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Tax."""
    flows, own = made.money, statements_tax(made)
    sales, rules, currency = flows.income.total, flows.rules, made.currency
    timing = "+{capital.timing_profit}" if differs(flows) else ""
    profit = total((project_profit(flows),))
    first = first_year(made)
    alone = Assessment("tax_project", profit, sales, by_month(flows.taxed), rules, first, currency)
    items: list[Item] = [*clock_items(made), *sold_items(made)]
    items.append(Heading("The project as if unfunded", "For the indicators before funding."))
    booked = "{income.total}-{running.total}+{tied.fish_profit}-{capital.depreciation}"
    formula = f"{booked}+{{tax.disposal}}{timing}"
    items.append(
        Line("tax_project.profit", "Taxable profit", currency, formula, profit, total=True)
    )
    items += assessed_items(alone, "income.total")
    items.append(Heading("The farm as funded", "For the statements: interest and grants count."))
    items += taxable_items(made, own)
    items += assessed_items(
        Assessment("tax", own.taxable, sales, own.tax, rules, first, currency), "income.total"
    )
    return Sheet(
        "Tax",
        "Income tax",
        "Reckoned on each project year's profit; losses are carried to later years.",
        items,
        axis="months",
        locked=frozenset(LOCKED),
    )
