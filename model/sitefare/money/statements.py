"""Do the books close? Monthly income statement, cash flow and balance sheet.

Nominal money, (draws, months + 1). Capital grants are deferred income, released with the
depreciation of what construction bought (IAS 20); interest capitalised while building is part
of the assets and written off by the end. Fish in the tanks stand at cost. In the last month
assets and working capital are realised and loans repaid.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.money.capital import CapitalFlows
from sitefare.money.funding import Funding
from sitefare.money.income import Income
from sitefare.money.operating import Operating
from sitefare.money.overdraft import Facility, Overdraft, settled
from sitefare.money.project import total
from sitefare.money.tax import income_tax
from sitefare.money.working_capital import WorkingCapital
from sitefare.timeline import Timeline


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
    tax_rate: Array
    loss_share: Array
    timeline: Timeline

    @property
    def cash_costs(self) -> dict[str, Array]:
        """Operating lines as paid, what is given in kind left out. [money]"""
        given = self.operating.unpaid
        lines = self.operating.lines.items()
        return {name: cost - given[name] if name in given else cost for name, cost in lines}


def grants_released(funding: Funding, capital: CapitalFlows) -> Array:
    """Return capital grants taken to income, in step with depreciation. [money]"""
    granted = np.sum(funding.capital_grants, axis=1, keepdims=True)
    spent = np.sum(total(capital.initial.values()) + capital.land, axis=1, keepdims=True)
    released: Array = granted * capital.depreciation_initial / np.where(spent > 0, spent, 1.0)
    released[:, -1:] += granted - np.sum(released, axis=1, keepdims=True)
    return released


def interest_written_off(funding: Funding, timeline: Timeline) -> Array:
    """Return the write-off of interest capitalised while building, even to the end. [money]"""
    added = np.sum(funding.debt.capitalised, axis=1, keepdims=True)
    monthly: Array = added * timeline.running / np.sum(timeline.running)
    return monthly


def disposal(capital: CapitalFlows) -> Array:
    """Return the gain on what is sold in the last month over its book value. [money]"""
    gain: Array = capital.residual + capital.land_sale - capital.written_off
    gain[:, -1:] -= np.sum(capital.land, axis=1, keepdims=True)
    return gain


def income_statement(books: Books, overdraft_interest: Array) -> dict[str, Array]:
    """Return income and cost by line, costs negative; `profit` is after tax. [money]"""
    funding, capital = books.funding, books.capital
    lines = dict(books.income.lines)
    lines["grants_for_running"] = funding.running_grants
    lines["capital_grants_released"] = grants_released(funding, capital)
    lines |= {name: -cost for name, cost in books.cash_costs.items()}
    written_off = interest_written_off(funding, books.timeline)
    lines["depreciation"] = -(capital.depreciation + written_off)
    lines["fish_in_tanks"] = books.tied_up.fish_profit
    lines["interest"] = -(funding.debt.interest + overdraft_interest)
    lines["loan_fees"] = -funding.debt.fees
    lines["exchange_loss"] = -funding.debt.exchange_loss
    lines["gain_on_disposal"] = disposal(capital)
    before_tax = total(lines.values())
    tax = income_tax(before_tax, books.tax_rate, books.loss_share, books.timeline)
    return {**lines, "tax": -tax, "profit": before_tax - tax}


def cash_flow_statement(books: Books, tax: Array, drawn: Overdraft) -> dict[str, Array]:
    """Return cash by purpose, money in positive; `net` is their sum. [money]"""
    funding, capital = books.funding, books.capital
    lines = {
        "sales": total(books.income.lines.values()),
        "operating_costs": -total(books.cash_costs.values()),
        "working_capital": books.tied_up.cash,
        "tax": tax,
        "capital": -total(capital.initial.values()),
        "land": capital.land_sale - capital.land,
        "replacements": -capital.replacement,
        "equipment_sold": capital.residual,
        "grants": funding.grants_received,
        "equity": funding.equity,
        "loans_drawn": funding.debt.drawn,
        "loans_repaid": -funding.debt.repaid,
        "interest": -funding.debt.interest_paid,
        "loan_fees": -funding.debt.fees_paid,
        "reserve_account": -np.diff(funding.reserve, axis=1, prepend=0.0),
        "overdraft": drawn.drawn,
        "overdraft_interest": -drawn.interest,
    }
    return {**lines, "net": total(lines.values())}


def balance_sheet(books: Books, cash: Array, profit: Array, drawn: Overdraft) -> dict[str, Array]:
    """Return assets, then liabilities and equity, at month ends; all positive. [money]"""
    funding, capital = books.funding, books.capital
    bought = total(capital.initial.values()) + capital.replacement + funding.debt.capitalised
    used = capital.depreciation + interest_written_off(funding, books.timeline)
    land = np.cumsum(capital.land, axis=1)
    land[:, -1] = 0.0
    earned = grants_released(funding, capital) + funding.running_grants
    deferred = funding.grants_received - earned
    return {
        "cash": np.cumsum(cash, axis=1),
        "reserve_account": funding.reserve,
        "receivables": books.tied_up.receivables,
        "stock": books.tied_up.stock,
        "equipment_and_works": np.cumsum(bought - used - capital.written_off, axis=1),
        "land": land,
        "payables": books.tied_up.payables,
        "loans": funding.debt.balance,
        "overdraft": drawn.balance,
        "deferred_grants": np.cumsum(deferred, axis=1),
        "equity_paid_in": np.cumsum(funding.equity, axis=1),
        "retained_profit": np.cumsum(profit, axis=1),
    }


ASSETS = ("cash", "reserve_account", "receivables", "stock", "equipment_and_works", "land")
CLAIMS = (
    "payables", "loans", "overdraft", "deferred_grants", "equity_paid_in", "retained_profit",
)  # fmt: skip


def statements(books: Books) -> dict[str, dict[str, Array]]:
    """Return `income`, `cash_flow` and `balance`."""
    drawn = settled(lambda interest: _free(books, interest), books.agreed, books.timeline.years)
    earned = income_statement(books, drawn.interest)
    cash = cash_flow_statement(books, earned["tax"], drawn)
    balance = balance_sheet(books, cash["net"], earned["profit"], drawn)
    return {"income": earned, "cash_flow": cash, "balance": balance}


def without_overdraft(books: Books) -> Array:
    """Return net cash of the plan with no overdraft at all. [money]"""
    return _free(books, np.zeros((1, 1)))


def _free(books: Books, overdraft_interest: Array) -> Array:
    """Return net cash before the overdraft, tax relief on its interest counted. [money]"""
    none = Overdraft(np.zeros((1, 1)), np.zeros((1, 1)))
    tax = income_statement(books, overdraft_interest)["tax"]
    return cash_flow_statement(books, tax, none)["net"]


def gap(balance: Mapping[str, Array]) -> Array:
    """Return assets less claims over the largest asset of the row, worst month; (draws, 1). [1]"""
    assets = total(balance[name] for name in ASSETS)
    claims = total(balance[name] for name in CLAIMS)
    size = np.max(np.abs([balance[name] for name in ASSETS]), axis=(0, 2))[:, None]
    worst = np.max(np.abs(assets - claims), axis=1, keepdims=True)
    return np.asarray(worst / np.where(size > 0, size, 1.0), dtype=np.float64)
