"""Do the books close? Monthly income statement, cash flow and balance sheet.

Nominal money, (draws, months + 1). Cash flow is told by activity (IAS 7): interest paid, grants,
loans, the overdraft and the reserve account are financing. Capital grants are deferred income,
released with the depreciation of what construction bought (IAS 20). Interest and fees are part
of the assets until construction ends (IAS 23) and written off by the end; what is charged later
is a cost of its month. Tax is charged in the last month of its year and owed until paid.
Deferred tax is not recognised, which departs from IAS 12 where allowances run ahead of
depreciation; `notes` give its amount. Fish in the tanks stand at cost. In the last month assets
and working capital are realised and loans repaid.

Another module adds to the books by an `Extra` line; each must balance by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import numpy as np

from sitefare.arrays import Array
from sitefare.money.allowances import Timing
from sitefare.money.capital import CapitalFlows
from sitefare.money.funding import Funding
from sitefare.money.income import Income
from sitefare.money.later import Later
from sitefare.money.operating import Operating
from sitefare.money.overdraft import Facility, Overdraft, settled
from sitefare.money.project import total
from sitefare.money.tax import IncomeTax, TaxRules, income_tax
from sitefare.money.working_capital import WorkingCapital
from sitefare.timeline import Timeline

Activity = Literal["operating", "investing", "financing"]
ACTIVITIES: tuple[Activity, ...] = ("operating", "investing", "financing")
Sheet = dict[str, Array]


@dataclass(frozen=True)
class Extra:
    """A line that another module adds to the books, (draws, months + 1); money in positive.

    `cash` is received (or paid, negative) in its activity; `profit` is earned (or lost,
    negative), taxed unless said otherwise; `asset` and `claim` are balances at month ends. A
    balance must be the sum of what moved it: an asset grows by profit less cash, a claim by cash
    less profit. So VAT to be refunded is cash and an asset, fish at cost profit and an asset, a
    reserve account cash and an asset, an overdraft cash and a claim, a loss of exchange profit
    and a claim, a fee cash and profit. [money]
    """

    activity: Activity = "operating"
    cash: Array | None = None
    profit: Array | None = None
    asset: Array | None = None
    claim: Array | None = None
    taxed: bool = True


@dataclass(frozen=True)
class Books:
    """What the statements are made of; operating cost is what is paid in cash."""

    capital: CapitalFlows
    operating: Operating
    income: Income
    tied_up: WorkingCapital
    funding: Funding
    agreed: Facility
    inflation: Array
    rules: TaxRules
    timing: Timing
    timeline: Timeline
    extra: Mapping[str, Extra] = field(default_factory=dict)

    @property
    def cash_costs(self) -> dict[str, Array]:
        """Operating lines as paid, what is given in kind left out. [money]"""
        given = self.operating.unpaid
        lines = self.operating.lines.items()
        return {name: cost - given[name] if name in given else cost for name, cost in lines}

    @cached_property
    def released(self) -> Array:
        """Capital grants taken to income, in step with depreciation. [money]"""
        return grants_released(self.funding, self.capital)

    @cached_property
    def written_off(self) -> Array:
        """What is written off in the month, interest of building included. [money]"""
        return self.capital.depreciation + interest_written_off(self)

    @property
    def borrowing_cost(self) -> Array:
        """Interest and fees of the months of building, part of the assets. [money]"""
        return self.funding.debt.capitalised

    def added(self, part: Literal["cash", "profit", "asset", "claim"]) -> dict[str, Array]:
        """One part of every extra line that has it. [money]"""
        found = {name: getattr(line, part) for name, line in self.extra.items()}
        return {name: x for name, x in found.items() if x is not None}


def in_step(granted: Array, with_: Array, capital: CapitalFlows) -> Array:
    """Return grants taken to income in step with a write-off of what construction bought.

    What is left, such as the part spent on land, comes in the last month. [money]
    """
    spent = np.sum(capital.works + capital.land, axis=1, keepdims=True)
    released: Array = granted * with_ / np.where(spent > 0, spent, 1.0)
    released[:, -1:] += granted - np.sum(released, axis=1, keepdims=True)
    return released


def grants_released(funding: Funding, capital: CapitalFlows) -> Array:
    """Return capital grants taken to income, in step with depreciation. [money]"""
    granted = np.sum(funding.capital_grants, axis=1, keepdims=True)
    return in_step(granted, capital.depreciation_initial, capital)


def interest_written_off(books: Books) -> Array:
    """Return the write-off of interest capitalised while building, even to the end. [money]"""
    added = np.sum(books.borrowing_cost, axis=1, keepdims=True)
    running = books.timeline.running
    monthly: Array = added * running / np.sum(running)
    return monthly


def disposal(capital: CapitalFlows) -> Array:
    """Return the gain on what is sold in the last month over its book value. [money]"""
    gain: Array = capital.residual + capital.land_sale - capital.written_off
    gain[:, -1:] -= np.sum(capital.land, axis=1, keepdims=True)
    return gain


def taxable_profit(books: Books, before_tax: Array) -> Array:
    """Return booked profit with the law's allowances in place of depreciation. [money]

    Capital grants are taxed in step with the allowances on what they paid for.
    """
    capital, timing = books.capital, books.timing
    untaxed = [x.profit for x in books.extra.values() if x.profit is not None and not x.taxed]
    profit = before_tax + timing.profit - total(untaxed)
    if timing.initial.shape[1] == 1:
        return profit
    granted = np.sum(books.funding.capital_grants, axis=1, keepdims=True)
    taxed = in_step(granted, capital.depreciation_initial + timing.initial, capital)
    return profit + taxed - books.released


def income_lines(books: Books, overdraft_interest: Array) -> dict[str, Array]:
    """Return income and cost before tax by line, costs negative. [money]"""
    funding, capital = books.funding, books.capital
    lines = dict(books.income.lines)
    lines["grants_for_running"] = funding.running_grants
    lines["capital_grants_released"] = books.released
    lines |= {name: -cost for name, cost in books.cash_costs.items()}
    lines["depreciation"] = -books.written_off
    lines["fish_in_tanks"] = books.tied_up.fish_profit
    lines["interest"] = -(funding.debt.interest + overdraft_interest)
    lines["loan_fees"] = -funding.debt.fees
    lines["exchange_loss"] = -funding.debt.exchange_loss
    lines["gain_on_disposal"] = disposal(capital)
    return lines | books.added("profit")


@dataclass(frozen=True)
class Earned:
    """Profit before tax and the part of it that is taxed, by month, and the tax. [money]"""

    before_tax: Array
    taxable: Array
    tax: IncomeTax

    @property
    def profit(self) -> Array:
        """Profit after tax. [money]"""
        return self.before_tax - self.tax.charged


def earned(books: Books, overdraft_interest: Array) -> Earned:
    """Return what the farm earns: the income statement without its lines. [money]"""
    funding, operating = books.funding, books.operating
    given = (books.income.total, funding.running_grants, books.released)
    costs = (operating.total - operating.given, books.written_off)
    debt = (funding.debt.interest, funding.debt.fees, funding.debt.exchange_loss)
    beside = (books.tied_up.fish_profit, disposal(books.capital), *books.added("profit").values())
    before_tax = total((*given, *beside)) - total((*costs, *debt, overdraft_interest))
    taxable = taxable_profit(books, before_tax)
    tax = income_tax(taxable, books.rules, books.timeline, books.income.total)
    return Earned(before_tax, taxable, tax)


def income_statement(books: Books, made: Earned, overdraft_interest: Array) -> Sheet:
    """Return the lines, then `profit_before_tax`, `tax` and `profit`. [money]"""
    end = {"profit_before_tax": made.before_tax, "tax": -made.tax.charged, "profit": made.profit}
    return income_lines(books, overdraft_interest) | end


def notes(books: Books, made: Earned) -> Sheet:
    """Return the taxable profit, and the tax put off by allowances ahead of depreciation. [money]

    Grants likewise put tax off. It is a liability that the balance sheet leaves out; losses to
    carry forward stand apart.
    """
    put_off = books.rules.rate * np.cumsum(made.before_tax - made.taxable, axis=1)
    return {"taxable_profit": made.taxable, "deferred_tax_not_recognised": put_off}


def cash_by_activity(books: Books, tax: Array, drawn: Overdraft) -> dict[Activity, Sheet]:
    """Return cash lines by activity, money in positive. [money]"""
    funding, capital = books.funding, books.capital
    lines: dict[Activity, Sheet] = {
        "operating": {
            "sales": books.income.total,
            "operating_costs": books.operating.given - books.operating.total,
            "working_capital": books.tied_up.cash,
            "tax": -tax,
        },
        "investing": {
            "capital": -capital.works,
            "land": capital.land_sale - capital.land,
            "replacements": -capital.replacement,
            "equipment_sold": capital.residual,
        },
        "financing": {
            "grants": funding.grants_received,
            "equity": funding.equity,
            "loans_drawn": funding.debt.drawn,
            "loans_repaid": -funding.debt.repaid,
            "interest": -funding.debt.interest_paid,
            "loan_fees": -funding.debt.fees_paid,
            "reserve_account": -np.diff(funding.reserve, axis=1, prepend=0.0),
            "overdraft": drawn.drawn,
            "overdraft_interest": -drawn.interest,
        },
    }
    for name, flow in books.added("cash").items():
        lines[books.extra[name].activity][name] = flow
    return lines


def cash_flow_statement(by_activity: Mapping[Activity, Sheet]) -> Sheet:
    """Return every cash line, activity by activity, and `net`, their sum. [money]"""
    lines = {name: x for part in by_activity.values() for name, x in part.items()}
    return {**lines, "net": total(lines.values())}


def balance_sheet(books: Books, cash: Array, made: Earned, drawn: Overdraft) -> Sheet:
    """Return assets and `total_assets`, then claims and `total_claims`, at month ends. [money]

    All are positive; a refund of tax that is due stands as a negative claim, so does a grant
    earned before it is paid.
    """
    funding, capital = books.funding, books.capital
    bought = capital.works + capital.replacement + books.borrowing_cost
    used = books.written_off + capital.written_off
    land = np.cumsum(capital.land, axis=1)
    land[:, -1] = 0.0
    released = books.released + funding.running_grants
    deferred = funding.grants_received - released
    assets = {
        "cash": np.cumsum(cash, axis=1),
        "reserve_account": funding.reserve,
        "receivables": books.tied_up.receivables,
        "stock": books.tied_up.stock,
        "equipment_and_works": np.cumsum(bought - used, axis=1),
        "land": land,
        **books.added("asset"),
    }
    claims = {
        "payables": books.tied_up.payables,
        "tax_payable": np.cumsum(made.tax.charged - made.tax.paid, axis=1),
        "loans": funding.debt.balance,
        "overdraft": drawn.balance,
        "deferred_grants": np.cumsum(deferred, axis=1),
        **books.added("claim"),
        "equity_paid_in": np.cumsum(funding.equity, axis=1),
        "retained_profit": np.cumsum(made.profit, axis=1),
    }
    sums = total(assets.values()), total(claims.values())
    return {**assets, "total_assets": sums[0], **claims, "total_claims": sums[1]}


def statements(books: Books) -> dict[str, Mapping[str, Array]]:
    """Return `income`, `cash_flow`, `balance`, `notes`, and the cash lines of each activity."""
    drawn = settled(lambda interest: _free(books, interest), books.agreed, books.timeline.years)
    made = earned(books, drawn.interest)
    by_activity = cash_by_activity(books, made.tax.paid, drawn)
    cash = cash_flow_statement(by_activity)
    return {
        "income": Later(lambda: income_statement(books, made, drawn.interest)),
        "cash_flow": cash,
        "balance": Later(lambda: balance_sheet(books, cash["net"], made, drawn)),
        "notes": Later(lambda: notes(books, made)),
        **{str(activity): lines for activity, lines in by_activity.items()},
    }


def without_overdraft(books: Books) -> Array:
    """Return net cash of the plan with no overdraft at all. [money]"""
    return _free(books, np.zeros((1, 1)))


def _free(books: Books, overdraft_interest: Array) -> Array:
    """Return net cash before the overdraft, tax relief on its interest counted. [money]"""
    none = Overdraft(np.zeros((1, 1)), np.zeros((1, 1)))
    tax = earned(books, overdraft_interest).tax.paid
    return cash_flow_statement(cash_by_activity(books, tax, none))["net"]


def assets_of(balance: Mapping[str, Array]) -> list[str]:
    """List the asset lines of a balance sheet: those that stand before their total."""
    names = list(balance)
    return names[: names.index("total_assets")]


def gap(balance: Mapping[str, Array]) -> Array:
    """Return assets less claims over the largest asset of the row, worst month; (draws, 1). [1]"""
    lines = np.broadcast_arrays(*[balance[name] for name in assets_of(balance)])
    size = np.max(np.abs(lines), axis=(0, 2))[:, None]
    apart = balance["total_assets"] - balance["total_claims"]
    worst = np.max(np.abs(apart), axis=1, keepdims=True)
    return np.asarray(worst / np.where(size > 0, size, 1.0), dtype=np.float64)
