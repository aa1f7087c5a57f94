"""What do the headline amounts come to in the currency that funders report in?

Local amounts in constant prices of the appraisal date are divided by the spot rate of that date,
once; nothing else is converted.
"""

import math

from sitefare.outputs.document import Block, Column, Table, plain
from sitefare.outputs.proposal.view import View
from sitefare.outputs.results import REPORTING
from sitefare.questions.dictionary import INDICATORS

#: Headline amounts, in the order a funder reads.
HEADLINES = (
    "capex",
    "cost_per_person_day",
    "operating_cost_year",
    "sales_year",
    "subsidy_year_after_grant",
    "npv",
    "levelised_cost_vegetables_kg",
    "levelised_cost_fish_kg",
)


def converted(view: View, amount: float) -> float:
    """Return a local amount in the reporting currency, at the spot rate. [reporting currency]"""
    return amount / view.appraisal.case.exchange_rate


def twofold(view: View) -> bool:
    """Say whether the farm's currency is another than the one reported in."""
    return view.appraisal.case.currency != REPORTING


def also(view: View, name: str) -> str:
    """Write an indicator in the reporting currency before what follows, if another."""
    if not twofold(view) or not math.isfinite(view.value(name)):
        return ""
    return f"{view.formats.money(converted(view, view.value(name)), REPORTING)}; "


def both(view: View, amount: float) -> tuple[float, ...]:
    """Return the cell that follows a local amount: the same in the reporting currency, if another."""
    return (converted(view, amount),) if twofold(view) else ()


def reporting_column(view: View, header: str) -> tuple[Column, ...]:
    """Return the column of those cells."""
    return (Column(header, REPORTING, "right", view.formats.amount),) if twofold(view) else ()


def two_currencies(view: View) -> list[Block]:
    """Return the table of headline amounts in both currencies, with the rate behind it."""
    if not twofold(view):
        return []
    f, case = view.formats, view.appraisal.case
    row = case.rows["economy.exchange_rate"]
    rows = tuple(
        (INDICATORS[name].title, view.value(name), converted(view, view.value(name)))
        for name in HEADLINES
    )
    columns = (
        Column("Amount"),
        Column("Local currency", f.currency, "right", f.amount, weight=1.0),
        Column("Reporting currency", REPORTING, "right", f.amount, weight=1.0),
    )
    held = f", as held in {row.as_of}" if row.as_of else ""
    note = (
        f"Divided by the spot rate of the appraisal date: {f.number(case.exchange_rate)} {f.currency} for "
        f"1 {REPORTING}{held} ({plain(row.source or row.basis)}; [register](#register)). Prices of {view.price_date}."
    )
    table = Table(
        columns, rows, "Headline amounts in two currencies", note, anchor="two-currencies"
    )
    return [table]
