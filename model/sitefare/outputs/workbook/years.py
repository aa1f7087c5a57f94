"""Sheet Years: the statements by project year, debt cover, and cash before and after funding.

Year 0 is month 0; year n holds months 12n − 11 to 12n. A balance is that of the year's last
month.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.money.indicators import cover_by_year
from sitefare.money.statements import ACTIVITIES
from sitefare.outputs.workbook import kinds
from sitefare.outputs.workbook.frame import Heading, Item, Line, Sheet
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.statements import BALANCE, CASH, INCOME, income_values
from sitefare.outputs.workbook.tax import statements_tax

#: What a year that repays nothing shows in place of a cover.
NO_COVER = "none"

#: Decimals of balances. [1]
PLACES = 4


def summed(made: Made, key: str, label: str, values: Array, *, strong: bool = False) -> Line:
    """Return the yearly sums of a monthly line, key `years.…`."""
    time = made.timeline
    flow = np.broadcast_to(values, (1, time.months + 1))
    return Line(
        f"years.{key}", label, made.currency, f"SUMIF({{year:}},{{project_year}},{{{key}:}})",
        time.by_year(flow), total=True, strong=strong,
    )  # fmt: skip


def at_end(made: Made, key: str, label: str, values: Array, *, strong: bool = False) -> Line:
    """Return a monthly balance at each year's end, key `years.…`."""
    held = np.broadcast_to(values, (1, made.timeline.months + 1))[:, ::12]
    # Rounded, so that what sums leave over at the end is not printed as -0.
    return Line(
        f"years.{key}", label, made.currency,
        f"ROUND(INDEX({{{key}:}},1,12*{{project_year}}+1),{PLACES})",
        np.round(held, PLACES) + 0.0, strong=strong,
    )  # fmt: skip


def income_items(made: Made) -> Iterator[Item]:
    """Yield the income statement by year."""
    values, own = income_values(made), statements_tax(made)
    yield Heading("Income statement", "Month 0 stands as year 0; the tax year counts it in year 1.")
    for key, label, _ in INCOME:
        yield summed(made, f"profit.{key}", label, values[key])
    yield summed(made, "profit.before_tax", "Profit before tax", own.before_tax, strong=True)
    yield summed(made, "profit.tax", "Tax", -own.tax.charged)
    yield summed(made, "profit.profit", "Profit", own.profit, strong=True)


def cash_items(made: Made) -> Iterator[Item]:
    """Yield the cash flow by year."""
    closed = made.statements
    cash = closed["cash_flow"]
    yield Heading("Cash flow")
    overdraft = (
        ("overdraft", "Overdraft drawn or repaid", ""),
        ("overdraft_interest", "Interest on the overdraft", ""),
    )
    for activity in ACTIVITIES:
        lines = [*CASH[activity], *(overdraft if activity == "financing" else ())]
        for key, label, _ in lines:
            yield summed(made, f"cash.{key}", label, cash[key])
        whole = sum((cash[key] for key, _, _ in lines), np.zeros((1, 1)))
        yield summed(made, f"cash.{activity}_activities", f"Cash from {activity} activities", whole,
                     strong=True)  # fmt: skip
    yield summed(made, "cash.net", "Change of cash", cash["net"], strong=True)
    yield at_end(made, "cash.closing", "Cash at year end", np.cumsum(cash["net"], axis=1))


def balance_items(made: Made) -> Iterator[Item]:
    """Yield the balance sheet at year ends."""
    found = made.statements["balance"]
    yield Heading("Balance sheet", "At the end of each year.")
    for name, rows in BALANCE.items():
        for key, label, _ in rows:
            yield at_end(made, f"balance.{key}", label, found[key])
        label = "Assets" if name == "total_assets" else "Claims"
        yield at_end(made, f"balance.{name}", label, found[name], strong=True)


def cover_values(made: Made) -> tuple[Array, Array, list[float | str]]:
    """Return cash available for debt service and the service by year, and the cover."""
    cash, time = made.statements["cash_flow"], made.timeline
    repaid = -cash["loans_repaid"]
    service = repaid - cash["interest"] - cash["loan_fees"]
    available = cash["sales"] + cash["operating_costs"] + cash["tax"]
    available = available + cash["working_capital"] + cash["replacements"]
    cover = cover_by_year(available, service, repaid, time)[0]
    shown = [NO_COVER if np.isnan(x) else float(x) for x in cover]
    return time.by_year(available), time.by_year(service), shown


def cover_items(made: Made) -> Iterator[Item]:
    """Yield debt cover by year."""
    available, service, cover = cover_values(made)
    names = ("sales", "operating_costs", "tax", "working_capital", "replacements")
    yield Heading(
        "Debt cover", "In years that repay; cash after tax over interest, fees, principal."
    )
    rows = (
        ("years.available", "Cash available for debt service",
         "+".join(f"{{years.cash.{name}}}" for name in names), available),
        ("years.service", "Debt service",
         "-({years.cash.loans_repaid}+{years.cash.interest}+{years.cash.loan_fees})", service),
    )  # fmt: skip
    for key, label, formula, values in rows:
        yield Line(key, label, made.currency, formula, values, total=True)
    yield Line(
        "years.cover", "Cover", "1",
        "IF(AND(-{years.cash.loans_repaid}>0,{years.service}>0),"
        f'{{years.available}}/{{years.service}},"{NO_COVER}")', cover, kind="number", strong=True,
    )  # fmt: skip


def project_items(made: Made) -> Iterator[Item]:
    """Yield the project before funding by year, nominal and in constant prices."""
    finances = made.appraisal.finances
    real = finances.figures.net
    yield Heading("The project before funding")
    yield summed(made, "project.net", "Net cash, nominal", finances.views["project"].net)
    yield summed(made, "real.net", "Net cash, constant prices", real, strong=True)
    yield Line(
        "years.real_so_far", "Constant prices, so far", made.currency,
        "{years.real_so_far<}+{years.real.net}",
        np.cumsum(made.timeline.by_year(real), axis=1), strong=True,
    )  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Years."""
    items: list[Item] = [
        *project_items(made), *income_items(made), *cash_items(made), *balance_items(made),
        *cover_items(made), *kinds.items(made),
    ]  # fmt: skip
    return Sheet(
        "Years",
        "By project year",
        "Sums of the months; year 0 is month 0, the appraisal date.",
        items,
        axis="years",
        part="answers",
    )
