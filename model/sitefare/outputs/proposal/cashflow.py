"""Cash flow and payback: the project's own view, year by year, and how its worth is made."""

import numpy as np
import pandas as pd

from sitefare.arrays import order_statistic
from sitefare.outputs import charts
from sitefare.outputs.document import Block, Cell, Column, Figure, Heading, Paragraph, Table
from sitefare.outputs.proposal.paying import market_words, views_table
from sitefare.outputs.proposal.view import View


def cash(view: View) -> list[Block]:
    """Return the section on cash flow and payback."""
    f, money = view.formats, view.appraisal.finances
    years = view.appraisal.case.timeline.years
    frame = pd.DataFrame(
        {
            "year": range(years + 1),
            "net": money.real_yearly[0],
            "cumulative": money.cumulative_real[0, ::12],
        }
    )
    if view.drawn.cumulative is not None:
        ordered = np.sort(view.drawn.cumulative, axis=0)
        for end, share in (("low", 0.1), ("high", 0.9)):
            frame[end] = [order_statistic(year, share) for year in ordered.T]
    loss = ""
    if view.drawn.count:
        chance = view.drawn.chance("npv", 0.0)
        loss = f" In {f.share(chance)} of {f.count(view.drawn.count)} draws the net present value is below zero."
    rate = f.share(view.appraisal.case.rows["project.discount_rate"].base)
    return [
        Heading(1, "Cash flow and payback", "cash"),
        Paragraph(
            f"The project's own figures: after tax, before any grant, equity or loan, in "
            f"{view.price_date} prices. Discounted at {rate} real{view.behind('project.discount_rate')}, the net present value is "
            f"**{view.shown('npv', f.money)}**. Rate of return: {view.rate('irr')}; modified: "
            f"{view.rate('mirr')}. Payback: {view.shown('payback_years', f.years)}; discounted: "
            f"{view.shown('discounted_payback_years', f.years)}. Benefit–cost ratio: "
            f"{view.shown('benefit_cost_ratio', lambda x: f.number(x, 2))}.{loss}{market_words(view)}"
        ),
        Paragraph(rates_words(view), "small"),
        Figure(
            charts.cash(frame, f),
            "Net and cumulative project cash by year, constant prices"
            + ("; the band is P10–P90 of the draws." if view.drawn.count else "."),
        ),
        views_table(view),
    ]


def rates_words(view: View) -> str:
    """List every rate at which the net present value is zero, and say what to make of them."""
    f, found = view.formats, view.appraisal.finances.rates_roots
    if not found:
        return (
            "No rate of return between −99 % and +1,000 % a year makes the net present value zero: "
            "the money is not recovered at any."
        )
    rates = ", ".join(f.decimal(100.0 * rate, 0, "%") for rate in found)
    if len(found) == 1:
        return (
            f"One rate between −99 % and +1,000 % a year makes the net present value zero: {rates}."
        )
    return (
        f"{f.count(len(found))} rates between −99 % and +1,000 % a year make the net present value zero: "
        f"{rates}. None of them is the rate of return; the modified rate stands in its place."
    )


def project_years(view: View) -> list[Block]:
    """Return the project's years: net cash and its present value, and cash of chosen years."""
    return [_present_values(view), _statement(view)]


def _present_values(view: View) -> Table:
    """Return net cash and its present value for every year, residual value apart."""
    f, money, timeline = view.formats, view.appraisal.finances, view.appraisal.case.timeline
    rate = view.appraisal.case.rows["project.discount_rate"].base
    factors = view.discounting
    residual = np.zeros(timeline.months + 1)
    for line, flow in money.lines.items():
        if money.line_group[line] == "residual":
            residual += (flow / money.inflation)[0]
    net = money.project_cash_real[0] - residual
    real, present = (timeline.by_year(x[None, :])[0] for x in (net, net * factors))
    running = np.cumsum(present)
    rows: list[tuple[Cell, ...]] = [
        (f"{y}", float(real[y]), float(present[y]), float(running[y]))
        for y in range(timeline.years + 1)
    ]
    left = float((residual * factors).sum())
    rows += [
        ("Residual value", float(residual.sum()), left, float(running[-1]) + left),
        ("Net present value", None, float(present.sum()) + left, None),
    ]
    columns = (
        Column("Project year"),
        Column("Net cash", f.currency, "right", f.amount),
        Column("Present value", f.currency, "right", f.amount),
        Column("Summed", f.currency, "right", f.amount),
    )
    return Table(
        columns,
        tuple(rows),
        f"Net cash and present value by year, {view.price_date} prices, before funding",
        f"Monthly flows discounted at {f.share(rate)} real a year; year 0 is the appraisal month.",
        wide=True,
        anchor="present-table",
        strong_rows=(len(rows) - 1,),
        layout="folded",
    )


#: Project years that the printed statement shows, as far as the period goes.
SHOWN_YEARS = (0, 1, 2, 3, 5, 10, 15)


def _statement(view: View) -> Table:
    """Return the nominal project cash flow by line group for chosen years."""
    f, money, timeline = view.formats, view.appraisal.finances, view.appraisal.case.timeline
    years = [y for y in SHOWN_YEARS if y <= timeline.years]
    names = {
        "income": "Sales",
        "operating": "Operating cost",
        "tax": "Tax",
        "working_capital": "Working capital",
        "capital": "Capital",
        "replacement": "Replacements",
        "residual": "Residual value",
    }
    sums = {group: np.zeros(timeline.years + 1) for group in names}
    for line, flow in money.lines.items():
        sums[money.line_group[line]] += timeline.by_year(flow)[0]
    rows: list[tuple[Cell, ...]] = [
        (words, *(float(sums[g][y]) for y in years)) for g, words in names.items()
    ]
    rows.append(("Net cash flow", *(float(sum(x[y] for x in sums.values())) for y in years)))
    columns = (
        Column("Line"),
        *(Column(f"Year {y}", f.currency, "right", f.amount) for y in years),
    )
    return Table(
        columns,
        tuple(rows),
        "Project cash flow in chosen years, money of the day, before funding",
        "Nominal: with inflation and real price drift. Year 0 is the month of the appraisal date.",
        wide=True,
        anchor="cash-table",
        strong_rows=(len(rows) - 1,),
    )
