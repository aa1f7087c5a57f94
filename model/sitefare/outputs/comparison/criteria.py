"""Who is beaten on both counts at once: people fed, and what a person-day costs?"""

import math

import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs.charts_edge import edge
from sitefare.outputs.comparison.measure import people
from sitefare.outputs.comparison.naming import listed
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table
from sitefare.questions.edge import COST, PEOPLE, OnEdge


def criteria(seen: Seen) -> list[Block]:
    """Return the chart of two criteria and the table that says who is behind whom."""
    blocks: list[Block] = [
        Heading(1, "Cost against people fed", "criteria"),
        Paragraph(
            "An alternative is behind another that feeds as many people for less, or more people for no more. "
            "Those behind no other make the efficient edge, drawn as steps: along it more people cost more "
            "each, and choosing among them is a choice between cost and people."
        ),
    ]
    figure = _figure(seen)
    if figure is None:
        return [*blocks, Paragraph("No alternative has a cost of a person-day to draw.")]
    return [*blocks, figure, *([_table(seen)] if seen.edge else [])]


def _figure(seen: Seen) -> Figure | None:
    """Draw people against cost for the alternatives shown; nothing where none has a cost."""
    beside = {one.line.name: one for one in seen.edge}
    rows = []
    for one in seen.shown:
        line = one.line
        found = beside.get(line.name)
        (people_low, people_high), (cost_low, cost_high) = (
            line.usd_ends(name) for name in (PEOPLE, COST)
        )
        rows.append(
            {
                "number": seen.mark(line), "name": seen.name(line),
                "people": line.usd(PEOPLE), "cost": line.usd(COST),
                "people_low": people_low, "people_high": people_high,
                "cost_low": cost_low, "cost_high": cost_high,
                "on_edge": found is not None and found.on_edge,
                "by": seen.name(found.by[0]) if found and found.by else "",
                "gated": not line.rank,
            }
        )  # fmt: skip
    words = seen.edge_words
    try:
        picture = edge(pd.DataFrame(rows), seen.formats, seen.ration, words)
    except RunError:
        return None
    thin = "Thin lines hold 8 in 10 draws. " if seen.compared.draws else ""
    caption = (
        f"Cost of a person-day in US dollars against people fed. {thin}The dashed steps are the "
        "efficient edge. Numbers are ranks, letters have none; a covered dot hides its own."
    )
    return Figure(picture, caption, anchor="edge-figure")


def _table(seen: Seen) -> Table:
    """Return who is on the edge, how often, and who is behind whom."""
    shown = {one.line.name for one in seen.shown}
    lines = [one for one in seen.edge if one.line.name in shown or one.on_edge]
    drawn = any(one.chance is not None for one in lines)
    columns = (
        Column("Alternative", weight=2.8),
        Column("People fed", align="right", weight=0.9),
        Column("Cost", "USD a person-day", "right", weight=1),
        Column("Stands", weight=1.6),
        *([Column("Chance of the edge", align="right", weight=1)] if drawn else []),
    )
    rows = tuple(
        (
            seen.marked(one.line),
            people(one.people, seen.formats),
            seen.formats.amount(one.cost),
            _stands(seen, one),
            *([seen.share(one.chance)] if drawn else []),
        )
        for one in lines
    )
    return Table(columns, rows, "Who is behind whom", wide=True, anchor="edge-table")


def _stands(seen: Seen, one: OnEdge) -> str:
    """Say where one stands beside the edge."""
    if one.on_edge:
        return "on the edge"
    if not math.isfinite(one.cost):
        return "feeds nobody by this ration"
    return f"behind {listed([seen.mark(x) for x in one.by])}"
