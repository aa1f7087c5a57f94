"""How long the funding must last, what loans cost, other views of the money, the statements."""

from collections.abc import Callable

import numpy as np
import pandas as pd

from sitefare.money.explain import terms_of
from sitefare.money.loans import all_in_rate
from sitefare.money.project import whole
from sitefare.money.yearly import statement_lines
from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Cell,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.lines import printed_line, term_name
from sitefare.outputs.proposal.view import View
from sitefare.questions.dictionary import INDICATORS

#: Years of the printed statements.
STATEMENT_YEARS = (1, 2, 5)

TITLES = {"income": "Income", "cash_flow": "Cash flow", "balance": "Balance sheet, at year end"}

#: What lines are gathered into where a cost is drawn, by how their names start.
PURPOSES = {
    "capital_": "Building",
    "wages": "Wages",
    "electricity": "Energy",
    "generator": "Energy",
    "heating": "Energy",
    "feed": "Feed and fingerlings",
    "fingerlings": "Feed and fingerlings",
    "planting": "Seed, dosing and packing",
    "dosing": "Seed, dosing and packing",
    "packing": "Seed, dosing and packing",
    "water": "Water and sludge",
    "discharge": "Water and sludge",
    "sludge": "Water and sludge",
}

#: Part of a price below which a fall is told.
TOLD = 0.995


def purpose(name: str) -> str:
    """Say what a line of cost is for, in words."""
    return next((w for start, w in PURPOSES.items() if name.startswith(start)), term_name(name))


def until_fish(view: View) -> str:
    """Say how long the funding must last and when the need is deepest."""
    f, money = view.formats, view.appraisal.finances
    rows = ("project.start_up_months", "funding_plan.start_up")
    months = max(whole(np.asarray(view.base[name], dtype=np.float64)) for name in rows)
    first = float(money.first_cohort_cost[0, 0])
    said = (
        f"The funding must last {months} months of operation, until the first fish are sold; "
        f"their feed and fingerlings cost {f.money(first)}."
    )
    deepest, last = int(view.value("peak_funding_month")), view.appraisal.case.timeline.months
    ends = deepest >= last - 1
    end = ", when the appraisal ends: cash falls through all its years" if ends else ""
    return f"{said} The need is deepest in month {deepest}{end}."


def loan_table(view: View) -> list[Block]:
    """Return what each loan costs, the rate with fees in; nothing without a loan."""
    f, money = view.formats, view.appraisal.finances
    rows: list[tuple[Cell, ...]] = []
    for key, loan in money.loans.items():
        drawn, repaid = (float(x[0].sum()) for x in (loan.drawn, loan.repaid))
        if drawn > 0:
            cost = float((loan.interest_paid + loan.fees_paid)[0].sum())
            rate = f.answer(float(all_in_rate(loan)[0, 0]), f.share, "none")
            rows.append((str(view.base[f"funding.{key}.title"]), drawn, cost, repaid, rate))
    columns = (
        Column("Loan"),
        Column("Lent", f.currency, "right", f.amount),
        Column("Interest and fees paid", f.currency, "right", f.amount),
        Column("Repaid", f.currency, "right", f.amount),
        Column("All-in rate a year", align="right"),
    )
    note = "Repaid holds interest added to the loan. The all-in rate counts interest and fees."
    table = Table(columns, tuple(rows), "Loans, money of the day", note, anchor="loans-table")
    return [table] if rows else []


def market_words(view: View) -> str:
    """Say where the farm's own supply lowers prices or finds no buyer, in full years."""
    f, said = view.formats, []
    for food, one in view.appraisal.finances.running.markets.items():
        sold, unsold = view.full_mean(one.sold), view.full_mean(one.unsold)
        if sold <= 0:
            continue
        price = view.full_mean(one.sold * one.price_factor) / sold
        words = f"{f.share(1.0 - price)} off the price of {food}" if price < TOLD else ""
        lost = f"no buyer for {f.share(unsold / (sold + unsold))} of {food}"
        parts = [x for x in (words, lost if unsold > (1.0 - TOLD) * sold else "") if x]
        said.extend(parts)
    if not said:
        return ""
    told = ", ".join(plain(x.replace("_", " ")) for x in said)
    return f" The farm's own supply weighs on the markets it sells to: {told}."


def makeup(view: View) -> list[Block]:
    """Draw what makes up a person-day and a kilogram, lines gathered by purpose."""
    names = {
        "cost_per_person_day": "person-day",
        "levelised_cost_vegetables_kg": "kg of vegetables",
        "levelised_cost_fish_kg": "kg of live fish",
    }
    told = {n: unit for n, unit in names.items() if np.isfinite(view.value(n))}
    blocks: list[Block] = []
    if "cost_per_person_day" not in told:
        blocks.append(
            Paragraph(
                "A person-day has no cost to take apart: nobody is fed by the headline ration."
            )
        )
    if not told:
        return blocks
    parts: dict[str, dict[str, float]] = {}
    for indicator in told:
        for what, x in _parts(view, indicator).items():
            parts.setdefault(what, dict.fromkeys(told, 0.0))[indicator] += x
    frame = pd.DataFrame([{"what": what, **costs} for what, costs in parts.items()])
    spans = [
        f"{view.formats.span(found.low, found.high, view.formats.amount)} per {unit}"
        for n, unit in told.items()
        if (found := view.drawn.spreads.get(n)) is not None and found.low is not None
    ]
    drawn = f" 8 in 10 draws, all costs: {'; '.join(spans)}." if spans else ""
    return [
        *blocks,
        Figure(
            charts.cost_table(frame, view.formats, told),
            "Present value of each cost over present value of person-days or kilograms, before sales "
            "are taken off; the figures of a column add up to its last. Costs of both foods are shared "
            f"by what they bring, so all columns have one pattern.{drawn}",
            anchor="makeup-figure",
        ),
    ]


def _parts(view: View, indicator: str) -> dict[str, float]:
    """Return the terms of a cost, gathered by purpose. [money per unit]"""
    amounts: dict[str, float] = {}
    for name, x in terms_of(view.appraisal.finances, indicator).terms.items():
        what, cost = purpose(name), float(x[0, 0])
        if np.isfinite(cost) and cost:
            amounts[what] = amounts.get(what, 0.0) + cost
    return amounts


def views_table(view: View) -> Table:
    """Return worth to owners and to the country, and what would make the project pay."""
    f = view.formats

    def times(x: float) -> str:
        return f"{f.number(x, 3)} times the plan"

    def per_kg(x: float) -> str:
        return f"{f.money(x)}/kg"

    names = (
        ("npv_equity", f.money),
        ("irr_equity", f.share),
        ("npv_economic", f.money),
        ("irr_economic", f.share),
        ("benefit_cost_ratio_economic", lambda x: f.number(x, 2)),
        ("equivalent_annual_cost", f.money),
        ("break_even_price", times),
        ("break_even_price_main_food", per_kg),
        ("break_even_yield", times),
        ("break_even_occupancy", times),
        ("break_even_capital", times),
        ("break_even_wages", times),
    )
    rows = tuple((INDICATORS[n].title, _answer(view, n, how)) for n, how in names)
    return Table(
        (Column("Figure", weight=2), Column("Answer", weight=3)),
        rows,
        f"Worth to owners and to the country, and what would have to be true, {view.price_date} prices",
        "Owners: cash after grants, loans and tax. Country: no taxes or duty, imports and unskilled hours at "
        "shadow prices, food at the local price, emissions at a carbon price. Each break-even moves one thing "
        "alone until the net present value is zero; by-products and power sold stay, and the yield leaves out "
        f"that a market pays less for more. Country's rules: {view.behind('economic.*').strip()}.",
        wide=True,
        anchor="views-table",
        layout="folded",
    )


def _answer(view: View, name: str, how: Callable[[float], str]) -> str:
    """Write a figure, or why it has none; a rate only where a view's money is recovered."""
    if name.startswith("irr_"):
        flow = view.appraisal.finances.views[name.removeprefix("irr_")].flow[0]
        if float(flow.sum()) < 0:
            return "below zero: the money is not recovered"
    if name.startswith("break_even") and not np.isfinite(view.value(name)):
        return view.appraisal.reasons[name]
    return view.shown(name, how)


def books(view: View) -> list[Block]:
    """Return the annex of statements."""
    f, timeline = view.formats, view.appraisal.case.timeline
    lines = statement_lines(view.appraisal.finances.statements, timeline, STATEMENT_YEARS)
    years = [y for y in STATEMENT_YEARS if y <= timeline.years]
    rows: list[tuple[Cell, ...]] = []
    heads, strong, before = [], [], ""
    for line in lines:
        if line.statement != before:
            heads.append(len(rows))
            rows.append((TITLES[line.statement], *("" for _ in years)))
        before = line.statement
        if line.strong:
            strong.append(len(rows))
        rows.append((printed_line(line.name), *line.amounts))
    columns = (
        Column("Line", weight=3),
        *(Column(f"Year {y}", f.currency, "right", f.amount, weight=1) for y in years),
    )
    shown = ", ".join(f"{y}" for y in years)
    return [
        Heading(1, "Annex: statements", "books", annex=True),
        Paragraph(
            "The farm's books with the funding planned, in money of the day. Grants for works are taken to "
            "income as what they paid for wears out [@ias_20]; interest while building is part of the works. Fish stand at cost."
        ),
        Table(
            columns,
            tuple(rows),
            f"Income, cash flow and balance sheet of project years {shown}",
            "Year 1 holds the month of the appraisal date. Figures are rounded one by one.",
            wide=True,
            anchor="books-table",
            layout="folded",
            strong_rows=tuple(strong),
            head_rows=tuple(heads),
        ),
    ]
