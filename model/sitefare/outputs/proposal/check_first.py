"""What to check first: what evidence is worth, where the spread comes from, and the list."""

import pandas as pd

from sitefare.outputs import checks
from sitefare.outputs.charts_influence import influence as chart
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Picture
from sitefare.outputs.proposal.view import View, sentence
from sitefare.questions.additive import FEWEST
from sitefare.questions.check_first import CheckList
from sitefare.questions.check_first import check_first as found_checks
from sitefare.questions.influence import Influence

#: Checks in the list. [1]
COUNT = 8


def check_first(view: View) -> list[Block]:
    """Return what to check before money is spent, in order."""
    heading = Heading(1, "What to check first", "check-first")
    found = found_checks(view.appraisal, view.drawn)
    if found is None:
        why = f"The list needs at least {FEWEST} draws; this appraisal has {view.drawn.count}."
        return [heading, Paragraph(why)]
    f = view.formats
    return [
        heading,
        Paragraph(sentence(checks.decision_words(found, f))),
        Paragraph(
            f"{sentence(checks.spread_words(found, f))} Shares of the spread are those of the variance "
            "[@saltelli_2010], worth of knowing is by regression on the draws [@strong_2014]."
        ),
        Figure(
            influence_picture(found.influence, f),
            "Share of the spread by group of rows, each group by itself: its rows' own shares and "
            "what correlated rows share, so at least what is drawn. The line is one standard error "
            "each way. What is missing to 100 % comes of rows and groups acting together and of steps.",
            anchor="influence-chart",
        ),
        Paragraph(sentence(checks.order_words(found))),
        _table(found, f),
    ]


def influence_picture(found: Influence, formats: Formats, *, totals: bool = False) -> Picture:
    """Draw the shares of groups; totals only where a design of its own gave them."""
    shown = [
        s for s in found.groups if s.first > s.first_error or (totals and s.total > s.total_error)
    ]
    if not totals:
        shown.sort(key=lambda s: -s.first)
    frame = pd.DataFrame(
        {
            "name": [s.name for s in shown],
            "first": [s.first for s in shown],
            "error": [s.first_error for s in shown],
        }
    )
    if totals:
        frame["total"] = [s.total for s in shown]
    return chart(frame, checks.figure_words(found.indicator), formats)


def _table(found: CheckList, f: Formats) -> Table:
    """Return the list of checks."""
    last = (
        Column("Worth", f"{f.currency} at most", "right", f.amount, 1.2)
        if found.decides
        else Column("Share", "of the spread", "right", f.share, 1.1)
    )
    lines = tuple(
        (
            check.title,
            checks.settled_words(check),
            check.cost,
            check.weeks,
            check.worth.value if found.decides else check.soft,
        )
        for check in checks.listed(found, COUNT)
    )
    columns = (
        Column("How", weight=2.2),
        Column("Settles", weight=2.6),
        Column("Cost", f.currency, "right", f.amount, 1.1),
        Column("Time", "weeks", "right", f.count, 0.8),
        last,
    )
    note = "Costs are judgement, in the table check_cost of the assumptions; replace them with your own."
    return Table(columns, lines, "Check these first", note, wide=True, anchor="checks-table")
