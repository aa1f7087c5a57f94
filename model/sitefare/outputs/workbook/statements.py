"""Sheet Statements: overdraft, income statement, cash flow and balance sheet by month.

Costs are negative in the income statement and the cash flow, as they are printed. Interest on
the overdraft is on its opening balance, so the tax that it relieves makes no circle.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.money.statements import ACTIVITIES, Earned, interest_written_off
from sitefare.outputs.workbook.frame import Heading, Item, Line, Sheet
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.tax import differs, statements_tax

#: Lines of the income statement: key, label, formula.
INCOME = (
    ("sales", "Sales", "{income.total}"),
    ("grants_for_running", "Grants for deficits of the first months", "{funding.running_grants}"),
    ("grants_released", "Capital grants released",
     ("{profit.grants_in_step}"
      "+IF({month}=LAST,SUM({funding.capital_grants:})-SUM({profit.grants_in_step:}),0)")),
    ("operating_costs", "Operating costs paid in cash", "-({running.total}-{running.given})"),
    ("depreciation", "Depreciation, interest of building written off with it",
     "-({capital.depreciation}+{profit.interest_written_off})"),
    ("fish_in_tanks", "Cost put on fish in the tanks", "{tied.fish_profit}"),
    ("interest", "Interest", "-({debt.interest}+{overdraft.interest})"),
    ("loan_fees", "Loan fees", "-{debt.fees}"),
    ("exchange_loss", "Loss by the exchange rate", "-{debt.exchange_loss}"),
    ("gain_on_disposal", "Gain on what is sold", "{tax.disposal}"),
)  # fmt: skip

#: Lines of the cash flow by activity: key, label, formula. The overdraft stands apart.
CASH = {
    "operating": (
        ("sales", "Sales", "{income.total}"),
        ("operating_costs", "Operating costs", "{running.given}-{running.total}"),
        ("working_capital", "Working capital", "{tied.cash}"),
        ("tax", "Tax", "-{tax.paid}"),
    ),
    "investing": (
        ("capital", "Works", "-{capital.works}"),
        ("land", "Land", "{capital.land_sale}-{capital.land}"),
        ("replacements", "Replacements", "-{capital.replacement}"),
        ("equipment_sold", "Equipment sold", "{capital.residual}"),
    ),
    "financing": (
        ("grants", "Grants", "{funding.grants}"),
        ("equity", "Equity", "{funding.equity}"),
        ("loans_drawn", "Loans drawn", "{debt.drawn}"),
        ("loans_repaid", "Loans repaid", "-{debt.repaid}"),
        ("interest", "Interest paid", "-{debt.interest_paid}"),
        ("loan_fees", "Loan fees paid", "-{debt.fees_paid}"),
        ("reserve_account", "Into the reserve account", "-({reserve.balance}-{reserve.balance<})"),
    ),
}

#: Lines of the balance sheet: key, label, formula; a sum stands after each part.
BALANCE = {
    "total_assets": (
        ("cash", "Cash; below zero where no source pays", "{cash.closing}"),
        ("reserve_account", "Debt-service reserve account", "{reserve.balance}"),
        ("receivables", "Receivables, tax to be refunded in them", "{tied.receivables}"),
        ("stock", "Stock and fish at cost", "{tied.stock}"),
        ("equipment_and_works", "Equipment and works",
         ("{balance.equipment_and_works<}+{capital.works}+{capital.replacement}"
          "+{debt.capitalised}-{capital.depreciation}-{profit.interest_written_off}"
          "-{capital.written_off}")),
        ("land", "Land", "IF({month}=LAST,0,{balance.land<}+{capital.land})"),
    ),
    "total_claims": (
        ("payables", "Payables", "{tied.payables}"),
        ("tax_payable", "Tax owed", "{tax.payable}"),
        ("loans", "Loans, interest accrued in them", "{debt.balance}"),
        ("overdraft", "Overdraft", "{overdraft.balance}"),
        ("deferred_grants", "Grants to be earned",
         ("{balance.deferred_grants<}+{funding.grants}-{profit.grants_released}"
          "-{funding.running_grants}")),
        ("equity_paid_in", "Equity paid in", "{balance.equity_paid_in<}+{funding.equity}"),
        ("retained_profit", "Profit retained", "{balance.retained_profit<}+{profit.profit}"),
    ),
}  # fmt: skip

#: The model's name of an income line, where it differs.
OF_MODEL = {"grants_released": "capital_grants_released"}


def income_values(made: Made) -> dict[str, Array]:
    """Return the lines of `INCOME`, sales and operating costs gathered into one each. [money]"""
    found, books = made.statements["income"], made.books
    sums = {
        "sales": books.income.total,
        "operating_costs": books.operating.given - books.operating.total,
    }
    return {
        key: sums[key] if key in sums else found[OF_MODEL.get(key, key)] for key, _, _ in INCOME
    }


def overdraft_items(made: Made) -> Iterator[Item]:
    """Yield the overdraft that carries the farm where cash runs short."""
    agreed, closed, money = made.books.agreed, made.statements, made.currency
    cash, last = closed["cash_flow"], made.timeline.months
    yield Heading("Overdraft", "Drawn when free cash would fall below the least kept.")
    costs = "SUMIF({year:},{year},{running.total:})-SUMIF({year:},{year},{running.given:})"
    yield Line(
        "overdraft.floor", "Least cash kept", money,
        f"IF(OR({{month}}=0,{{month}}={last}),0,{{in:treasury.minimum_months}}*({costs})/12)",
        agreed.floor,
    )  # fmt: skip
    yield Line(
        "overdraft.limit", "Limit of the overdraft", money,
        f"IF({{month}}={last},0,{{in:treasury.overdraft_share}}*{{funding.planned}})",
        agreed.limit * (made.timeline.month < last),
    )  # fmt: skip
    yield Line(
        "overdraft.interest", "Interest on the opening overdraft", money,
        "{overdraft.balance<}*((1+{in:treasury.overdraft_interest})^(1/12)-1)",
        -cash["overdraft_interest"], total=True,
    )  # fmt: skip
    yield Line(
        "overdraft.balance", "Overdraft at month end", money,
        "MAX(0,MIN({overdraft.balance<}+{overdraft.floor}-{cash.closing<}"
        "-{cash.before_overdraft}+{overdraft.interest},{overdraft.limit}))",
        closed["balance"]["overdraft"],
    )  # fmt: skip


def income_items(made: Made, own: Earned) -> Iterator[Item]:
    """Yield the income statement."""
    books, money, last = made.books, made.currency, made.timeline.months
    capital, values = books.capital, income_values(made)
    granted = np.sum(books.funding.capital_grants, axis=1, keepdims=True)
    worth = np.sum(capital.works + capital.land, axis=1, keepdims=True)
    spent = "(SUM({capital.works:})+SUM({capital.land:}))"
    yield Heading("Workings of the income statement")
    yield Line(
        "profit.interest_written_off", "Interest of building written off, evenly", money,
        "SUM({debt.capitalised:})*{running}/SUM({running:})", interest_written_off(books),
        total=True,
    )  # fmt: skip
    yield Line(
        "profit.grants_in_step", "Capital grants in step with depreciation", money,
        f"SUM({{funding.capital_grants:}})*{{capital.depreciation_initial}}/IF({spent}>0,{spent},1)",
        granted * capital.depreciation_initial / np.where(worth > 0, worth, 1.0), total=True,
    )  # fmt: skip
    yield Heading("Income statement", "Costs are negative.")
    for key, label, formula in INCOME:
        yield Line(
            f"profit.{key}", label, money, formula.replace("LAST", str(last)), values[key],
            total=True,
        )  # fmt: skip
    lines = "+".join(f"{{profit.{key}}}" for key, _, _ in INCOME)
    end = (
        ("before_tax", "Profit before tax", lines, own.before_tax),
        ("tax", "Tax", "-{tax.charged}", -own.tax.charged),
        ("profit", "Profit", "{profit.before_tax}+{profit.tax}", own.profit),
    )
    for key, label, formula, found in end:
        yield Line(f"profit.{key}", label, money, formula, found, total=True, strong=key != "tax")


def cash_items(made: Made) -> Iterator[Item]:
    """Yield the cash flow by activity, and cash at month ends."""
    closed, money = made.statements, made.currency
    cash = closed["cash_flow"]
    yield Heading("Cash flow", "Money in is positive.")
    for activity in ACTIVITIES:
        for key, label, formula in CASH[activity]:
            yield Line(f"cash.{key}", label, money, formula, cash[key], total=True)
        if activity == "financing":
            continue
        yield _activity(made, activity, [key for key, _, _ in CASH[activity]])
    before = "{cash.operating_activities}+{cash.investing_activities}"
    before += "".join(f"+{{cash.{key}}}" for key, _, _ in CASH["financing"])
    drawn = {name: cash[name] for name in ("overdraft", "overdraft_interest")}
    rows = (
        ("before_overdraft", "Cash before the overdraft", before,
         cash["net"] - drawn["overdraft"] - drawn["overdraft_interest"]),
        ("overdraft", "Overdraft drawn or repaid", "{overdraft.balance}-{overdraft.balance<}",
         drawn["overdraft"]),
        ("overdraft_interest", "Interest on the overdraft", "-{overdraft.interest}",
         drawn["overdraft_interest"]),
    )  # fmt: skip
    for key, label, formula, values in rows:
        yield Line(f"cash.{key}", label, money, formula, values, total=True)
    names = [key for key, _, _ in CASH["financing"]]
    yield _activity(made, "financing", [*names, "overdraft", "overdraft_interest"])
    yield Line(
        "cash.net", "Change of cash", money,
        "+".join(f"{{cash.{name}_activities}}" for name in ACTIVITIES), cash["net"], total=True,
        strong=True,
    )  # fmt: skip
    yield Line(
        "cash.closing", "Cash at month end", money, "{cash.closing<}+{cash.net}",
        np.cumsum(cash["net"], axis=1), strong=True,
    )  # fmt: skip


def _activity(made: Made, activity: str, keys: list[str]) -> Line:
    """Return the sum of one activity."""
    lines = made.statements[activity]
    return Line(
        f"cash.{activity}_activities", f"Cash from {activity} activities", made.currency,
        "+".join(f"{{cash.{key}}}" for key in keys),
        sum((lines[key] for key in keys), np.zeros((1, 1))), total=True, strong=True,
    )  # fmt: skip


def balance_items(made: Made) -> Iterator[Item]:
    """Yield assets and claims at month ends."""
    found, money, last = made.statements["balance"], made.currency, made.timeline.months
    yield Heading("Balance sheet", "At month ends; deferred tax is not recognised.")
    titles = {"total_assets": "Assets", "total_claims": "Claims"}
    for name, rows in BALANCE.items():
        for key, label, formula in rows:
            yield Line(
                f"balance.{key}", label, money, formula.replace("LAST", str(last)), found[key]
            )
        yield Line(
            f"balance.{name}", titles[name], money,
            "+".join(f"{{balance.{key}}}" for key, _, _ in rows), found[name], strong=True,
        )  # fmt: skip


def note_items(made: Made, own: Earned) -> Iterator[Item]:
    """Yield the tax that allowances put off, which the balance sheet leaves out."""
    if not differs(made.money):
        return
    yield Heading("Note")
    yield Line(
        "note.apart_so_far", "Booked less taxable profit so far", made.currency,
        "{note.apart_so_far<}+{profit.before_tax}-{tax.profit}",
        np.cumsum(own.before_tax - own.taxable, axis=1),
    )  # fmt: skip
    yield Line(
        "note.deferred_tax", "Tax put off and not recognised", made.currency,
        "{in:economy.income_tax}*{note.apart_so_far}",
        made.statements["notes"]["deferred_tax_not_recognised"],
    )  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Statements."""
    own = statements_tax(made)
    items: list[Item] = [
        *overdraft_items(made), *income_items(made, own), *cash_items(made),
        *balance_items(made), *note_items(made, own),
    ]  # fmt: skip
    return Sheet(
        "Statements",
        "Statements",
        "Nominal money by month; in the last month assets are sold and loans repaid.",
        items,
        axis="months",
    )
