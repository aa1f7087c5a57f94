"""What it costs, how it is paid for, and life after the grant."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from sitefare.arrays import Array
from sitefare.money.estimate import accuracy_words
from sitefare.outputs import charts
from sitefare.outputs.citations import cite
from sitefare.outputs.document import Block, Cell, Column, Figure, Heading, Paragraph, Table, plain
from sitefare.outputs.drawing import lowered
from sitefare.outputs.lines import printed_line
from sitefare.outputs.proposal.cashflow import project_years
from sitefare.outputs.proposal.paying import loan_table, makeup, purpose, until_fish
from sitefare.outputs.proposal.reporting import both, reporting_column, two_currencies
from sitefare.outputs.proposal.view import View, sentence
from sitefare.questions.dictionary import INDICATORS

#: Share of running costs below which a purpose is told with others. [1]
SMALL = 0.01

#: Share of capital under which a difference is one of floating point. [1]
NOTHING = 1e-9


def costs(view: View) -> list[Block]:
    """Return the section on capital and running costs."""
    f = view.formats
    return [
        Heading(1, "What it costs", "costs"),
        Paragraph(
            f"Building costs {view.shown('capex', f.money)}: "
            f"{f.money(view.value('capex') / view.appraisal.design.bed_area)} for each square metre of "
            f"bed. The estimate is class {view.proposer.estimate_class}: "
            f"{accuracy_words(view.proposer.estimate_class)}{cite(['aace_18r97'])}. The contingency does not follow the "
            "class; it is "
            f"{sentence(view.appraisal.case.rows['capital.contingency'].note)}. Every item stands in "
            f"[](#bill-table). Prices are moved to the appraisal date by index{view.behind('price_index.*')}."
        ),
        Paragraph(
            f"A full-production year costs {view.shown('operating_cost_year', f.money)} to run, with every "
            "hour at a wage, whoever works it. A kilogram of vegetables costs "
            f"{view.shown('levelised_cost_vegetables_kg', f.money)} and a kilogram of live fish "
            f"{view.shown('levelised_cost_fish_kg', f.money)}, capital included, joint costs shared by value."
        ),
        _capital_table(view),
        _purposes_table(view),
        *makeup(view),
        *two_currencies(view),
        Paragraph("Every line, the staff and the years one by one stand in [the budget](#budget)."),
    ]


def budget(view: View) -> list[Block]:
    """Return the annex of the operating budget, the staff, and the project's years."""
    return [
        Heading(1, "Annex: budget", "budget", annex=True),
        _running_table(view),
        _staff_table(view),
        *project_years(view),
    ]


def _capital_table(view: View) -> Table:
    """Return capital by part of the budget; prices that drift while building make a part."""
    f = view.formats
    parts: dict[str, float] = {}
    for item in view.appraisal.finances.capital_items:
        parts[item.category] = parts.get(item.category, 0.0) + item.landed_cost
    total = view.value("capex")
    drift = total - sum(parts.values())
    if abs(drift) > NOTHING * total:
        parts["Real price drift until it is built"] = drift
    lines: list[tuple[Cell, ...]] = [
        (printed_line(name), cost, *both(view, cost), f.share(cost / total))
        for name, cost in parts.items()
    ]
    lines.append(("Capital cost", total, *both(view, total), f.share(1.0)))
    columns = (
        Column("Part"),
        Column("Cost", f.currency, "right", f.amount),
        *reporting_column(view, "Cost"),
        Column("Share", align="right"),
    )
    return Table(
        columns,
        tuple(lines),
        f"Capital cost by part, {view.price_date} prices",
        "Delivered and installed, freight and duty included.",
        wide=True,
        anchor="capital-table",
        strong_rows=(len(lines) - 1,),
        layout="folded",
    )


def _running(view: View) -> dict[str, float]:
    """Return running cost lines of a full year, positive, largest first."""
    money = view.appraisal.finances
    lines = {
        name: -view.full_mean(money.at_date(name))
        for name in money.lines
        if money.line_group[name] == "operating"
    }
    return dict(sorted(((n, x) for n, x in lines.items() if abs(x) > 0), key=lambda p: -p[1]))


def _purposes_table(view: View) -> Table:
    """Return running costs of a full year gathered by purpose."""
    f = view.formats
    gathered: dict[str, float] = {}
    for name, cost in _running(view).items():
        what = purpose(name)
        gathered[what] = gathered.get(what, 0.0) + cost
    total = sum(gathered.values())
    ordered = sorted(gathered.items(), key=lambda pair: -pair[1])
    small = [name for name, cost in ordered if cost < SMALL * total]
    kept = [(name, cost) for name, cost in ordered if name not in small]
    if small:
        rest = sum(gathered[name] for name in small)
        kept.append((f"{len(small)} smaller lines", rest))
    rows = [(name, cost, f.share(cost / total)) for name, cost in kept]
    rows.append(("Operating cost", total, f.share(1.0)))
    columns = (
        Column("Purpose"),
        Column("Cost a year", f.currency, "right", f.amount),
        Column("Share", align="right"),
    )
    return Table(
        columns,
        tuple(rows),
        f"Running costs of a full-production year, {view.price_date} prices",
        f"Fixed and step costs come to {view.shown('fixed_cost_year', f.money)}.",
        wide=True,
        anchor="purposes-table",
        strong_rows=(len(rows) - 1,),
        layout="folded",
    )


def _running_table(view: View) -> Table:
    """Return the operating budget of a full year."""
    f, lines = view.formats, _running(view)
    total = sum(lines.values())
    kind = view.appraisal.finances.running.behaviour
    rows: list[tuple[Cell, ...]] = [
        (printed_line(name), kind.get(name, ""), cost, *both(view, cost), f.share(cost / total))
        for name, cost in lines.items()
    ]
    rows.append(("Operating cost", "", total, *both(view, total), f.share(1.0)))
    columns = (
        Column("Line"),
        Column("Kind"),
        Column("Cost a year", f.currency, "right", f.amount),
        *reporting_column(view, "Cost a year"),
        Column("Share", align="right"),
    )
    return Table(
        columns,
        tuple(rows),
        f"Operating budget of a full-production year, {view.price_date} prices",
        "Fixed: paid whatever is harvested. Step: paid by the people employed. Variable: follows fish, "
        "plants and harvest. Mixed: pumps, fans and heat are fixed, air for fish, lamps and the cold store "
        "variable.",
        wide=True,
        anchor="running-table",
        strong_rows=(len(rows) - 1,),
        layout="folded",
    )


def _staff_table(view: View) -> Table:
    """Return posts, hours asked of them and hours paid."""
    f, flows = view.formats, view.appraisal.flows
    rows = []
    paid_hours = float(np.asarray(view.base["wage.paid_hours"], dtype=np.float64)[0, 0]) * 12
    for role, posts in flows.workers.items():
        most = float(np.max(posts[0]))
        asked = view.full_mean(flows.role_hours[role])
        paid = view.full_mean(posts) / 12 * paid_hours
        rows.append((role.capitalize(), f.count(most), f.count(asked), f.count(paid)))
    columns = (
        Column("Post"),
        Column("People", "in the fullest year", "right"),
        Column("Hours of work", "a year", "right"),
        Column("Hours paid", "a year", "right"),
    )
    note = (
        "Whole people are paid, in leaner years fewer, with leave cover and never fewer than two trained people, since fish need "
        "care every day of the year; a larger farm fills their hours better."
    )
    return Table(
        columns, tuple(rows), "Staff of a full-production year", note, anchor="staff-table"
    )


def funding(view: View) -> list[Block]:
    """Return the section on who pays."""
    f, paid = view.formats, view.appraisal.finances
    years = view.appraisal.case.timeline.years
    cover = view.value("min_dscr")
    debt = ""
    if np.isfinite(cover):
        words = "the farm cannot serve the loan" if cover < 1 else "the farm serves the loan"
        debt = f" Lowest yearly debt cover is {f.number(cover, 2)} times: {words}."
    gap = view.value("grant_needed")
    more = (
        f"On top of the funding planned, {f.money(gap)} more in hand at the start would carry the farm through all "
        f"{years} years with cash never below zero."
        if gap > 0
        else f"The funding planned carries the farm through all {years} years."
    )
    return [
        Heading(1, "How it is paid for", "funding"),
        Paragraph(
            f"Without any funding the deepest cash need is {view.shown('peak_funding', f.money)}, in money of the day. "
            f"{until_fish(view)} {more}{debt}"
        ),
        *_who_pays(view, paid.statements["cash_flow"]),
        *loan_table(view),
        Paragraph("Income, cash flow and balance sheet of three years stand in [](#books-table)."),
    ]


def _who_pays(view: View, flow: Mapping[str, Array]) -> list[Block]:
    """Return sources and uses as a chart and as a table; nothing to draw where nobody pays."""
    sources, uses = _sides(flow)
    frame = pd.DataFrame(
        [("source", what, x) for what, x in sources.items()]
        + [("use", what.split(",")[0], x) for what, x in uses.items()],
        columns=["side", "what", "amount"],
    )
    drawn = [
        Figure(
            charts.sources_and_uses(frame, view.formats),
            "Funding planned and what it is for, in money of the day, contingency with the building; both "
            "columns come to one sum.",
            anchor="sources-figure",
        )
    ]
    return [*(drawn if frame["amount"].any() else []), _uses_table(view, sources, uses)]


def _sides(flow: Mapping[str, Array]) -> tuple[dict[str, float], dict[str, float]]:
    """Return what each source pays and what it is for; both come to one sum. [money]"""
    keys = {"Grants": "grants", "Owner's equity": "equity", "Loans drawn": "loans_drawn"}
    sources = {words: float(flow[key][0].sum()) for words, key in keys.items()}
    works = -float(flow["capital"][0].sum())
    land = -float(np.minimum(flow["land"][0], 0.0).sum())
    uses = {
        "Building, contingency included": works,
        "Land": land,
        "Rent and deficits until start-up ends": sum(sources.values()) - works - land,
    }
    return sources, uses


def _uses_table(view: View, sources: Mapping[str, float], uses: Mapping[str, float]) -> Table:
    """Return sources and uses in one table; both parts end in the same sum."""
    f = view.formats
    rows = [
        *((f"Source: {what}", x) for what, x in sources.items()),
        ("All sources", sum(sources.values())),
        *((f"Use: {lowered(what)}", x) for what, x in uses.items()),
        ("All uses", sum(uses.values())),
    ]
    shown = [row for row in rows if row[1]]
    columns = (
        Column("Source or use"),
        Column("Amount", f"{f.currency}, money of the day", "right", f.amount),
    )
    strong = tuple(n for n, row in enumerate(shown) if row[0].startswith("All"))
    return Table(
        columns,
        tuple(shown),
        "Sources and uses of funds",
        anchor="sources-table",
        strong_rows=strong,
    )


def after_grant(view: View) -> list[Block]:
    """Return the section on life after the grant."""
    f = view.formats
    balance = view.appraisal.finances.cash_balance[0]
    below = np.flatnonzero(balance < -1e-6 * max(1.0, float(np.abs(balance).max())))
    if below.size:
        year = int(view.appraisal.case.timeline.year[below[0]])
        fails = f"With nobody to cover the gap, cash runs out in **project year {year}** ({view.appraisal.case.timeline.label(int(below[0]))})."
    else:
        fails = "With the funding planned, cash never falls below zero in the appraisal period."
    names = (
        ("operating_cost_year", f.money),
        ("sales_year", f.money),
        ("operating_cost_recovery", f.share),
        ("replacement_reserve_year", f.money),
        ("subsidy_year_after_grant", f.money),
    )
    lines = tuple((INDICATORS[n].title, view.shown(n, how), view.span(n, how)) for n, how in names)
    return [
        Heading(1, "Life after the grant", "after-grant"),
        Paragraph(
            f"Owner: {plain(view.proposer.owner)}. Power, feed, wages and replacements are paid by: "
            f"{plain(view.proposer.payer_after)}. {fails}"
        ),
        Table(
            (
                Column("Each year, full production"),
                Column("Amount", align="right"),
                Column("P10–P90; median", align="right"),
            ),
            lines,
            f"What a year needs and brings: mean of full-production years, {view.price_date} money, real price drift left out",
            anchor="after-table",
        ),
    ]
