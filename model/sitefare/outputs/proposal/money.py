"""What it costs, how it is paid for, and life after the grant."""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.money.estimate import accuracy_words
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table, plain
from sitefare.outputs.lines import printed_line
from sitefare.outputs.proposal.paying import loan_table, makeup, until_fish
from sitefare.outputs.proposal.view import View, sentence
from sitefare.questions.dictionary import INDICATORS


def costs(view: View) -> list[Block]:
    """Return the section on capital and running costs."""
    f = view.formats
    return [
        Heading(1, "What it costs", "costs"),
        Paragraph(
            f"Building costs {view.shown('capex', f.money)}: "
            f"{f.money(view.value('capex') / view.appraisal.design.bed_area)} for each square metre of "
            f"bed. The estimate is class {view.proposer.estimate_class}: "
            f"{accuracy_words(view.proposer.estimate_class)}. The contingency does not follow the "
            "class; it is "
            f"{sentence(view.appraisal.case.rows['capital.contingency'].note)}. Every item stands in "
            "[](#bill-table)."
        ),
        _capital_table(view),
        Paragraph(
            f"A full-production year costs {view.shown('operating_cost_year', f.money)} to run, with every "
            "hour at a wage, whoever works it. A kilogram of vegetables costs "
            f"{view.shown('levelised_cost_vegetables_kg', f.money)} and a kilogram of live fish "
            f"{view.shown('levelised_cost_fish_kg', f.money)}, capital included, joint costs shared by value."
        ),
        _running_table(view),
        _staff_table(view),
        makeup(view),
    ]


def _capital_table(view: View) -> Table:
    """Return capital by part of the budget."""
    f = view.formats
    parts: dict[str, float] = {}
    for item in view.appraisal.finances.capital_items:
        parts[item.category] = parts.get(item.category, 0.0) + item.landed_cost
    total = sum(parts.values())
    lines = [(printed_line(name), cost, f.share(cost / total)) for name, cost in parts.items()]
    lines.append(("Capital cost", total, f.share(1.0)))
    columns = (
        Column("Part"),
        Column("Cost", f.currency, "right", f.amount),
        Column("Share", align="right"),
    )
    return Table(
        columns,
        tuple(lines),
        f"Capital cost by part, {view.price_date} prices",
        "Delivered and installed, freight and duty included.",
        anchor="capital-table",
        strong_rows=(len(lines) - 1,),
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


def _running_table(view: View) -> Table:
    """Return the operating budget of a full year."""
    f, lines = view.formats, _running(view)
    total = sum(lines.values())
    kind = view.appraisal.finances.running.behaviour
    rows = [
        (printed_line(name), kind.get(name, ""), cost, f.share(cost / total))
        for name, cost in lines.items()
    ]
    rows.append(("Operating cost", "", total, f.share(1.0)))
    columns = (
        Column("Line"),
        Column("Kind"),
        Column("Cost a year", f.currency, "right", f.amount),
        Column("Share", align="right"),
    )
    return Table(
        columns,
        tuple(rows),
        f"Operating budget of a full-production year, {view.price_date} prices",
        "Fixed: paid whatever is harvested. Step: paid by the people employed. Variable: follows fish, "
        "plants and harvest. Mixed: pumps, fans and heat are fixed, air for fish, lamps and the cold store "
        f"variable. Fixed and step costs come to {view.shown('fixed_cost_year', f.money)}.",
        anchor="running-table",
        strong_rows=(len(rows) - 1,),
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
        _uses_table(view, paid.statements["cash_flow"]),
        *loan_table(view),
        Paragraph("Income, cash flow and balance sheet of three years stand in [](#books-table)."),
    ]


def _uses_table(view: View, flow: Mapping[str, Array]) -> Table:
    """Return sources and uses side by side; both columns end in the same sum."""
    f = view.formats
    sources = {"Grants": "grants", "Owner's equity": "equity", "Loans drawn": "loans_drawn"}
    rows = [(f"Source: {words}", float(flow[key][0].sum())) for words, key in sources.items()]
    total = sum(x for _, x in rows)
    works = -float(flow["capital"][0].sum())
    land = -float(np.minimum(flow["land"][0], 0.0).sum())
    uses = [
        ("Use: building, contingency included", works),
        ("Use: land", land),
        ("Use: rent and deficits until start-up ends", total - works - land),
    ]
    shown = [
        row
        for row in (*rows, ("All sources", total), *uses, ("All uses", sum(x for _, x in uses)))
        if row[1]
    ]
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
