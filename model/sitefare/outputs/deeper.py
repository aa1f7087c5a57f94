"""What stands behind the ranges: shares by a design, the worth of knowing, curves and fields.

A proposal has no room for these; the notebook of draws shows them. Shares come from a design of
its own, so that what acts together is counted; a curve follows the strongest assumption, a field
the two strongest.
"""

import numpy as np

from sitefare.outputs.charts_sensitivity import field, run
from sitefare.outputs.document import Block, Column, Document, Figure, Heading, Paragraph, Table
from sitefare.outputs.proposal.check_first import influence_picture
from sitefare.outputs.proposal.view import View, printed_unit, row_unit, row_words
from sitefare.outputs.results import unit_in
from sitefare.outputs.uncertain import Study
from sitefare.questions.check_first import check_first
from sitefare.questions.curves import curve, isoline, surface
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.influence_design import designed
from sitefare.questions.tornado import tornado


def deeper(study: Study, indicator: str, design: int) -> Document:
    """Build the document of what stands behind an indicator's range.

    Parameters
    ----------
    study : Study
        Draws of one case.
    indicator : str
        The indicator followed, such as npv.
    design : int
        Draws of each set of the design, a power of two; 0 leaves it out. [1]
    """
    view = study.view
    blocks = [
        *_shares(view, indicator, design),
        *_worth(view),
        *_moved(view, indicator),
    ]
    return Document(study.document.metadata, tuple(blocks))


def _shares(view: View, indicator: str, design: int) -> list[Block]:
    """Return shares of the spread by group, alone and with others, from a design."""
    if design == 0:
        return []
    plan, seed = view.appraisal.plan, view.drawn.seed
    found = designed(plan, [indicator], design, seed).get(indicator)
    head = Heading(1, "Where the spread comes from", "design-shares")
    if found is None:
        return [head, Paragraph(f"{_title(indicator)} is the same in every draw.")]
    f, count = view.formats, len(found.groups) + 2
    words = (
        f"{f.count(count)} sets of {f.count(design)} draws, each group exchanged in turn. Alone: "
        "what would go if the group were known. With others: what would stay if it alone were not. "
        f"Shared out is {found.scale.words}. Groups acting together make "
        f"{f.share(max(found.left, 0.0))}."
    )
    picture = influence_picture(found, f, totals=True)
    caption = f"{_title(indicator)}: share of the spread by group."
    return [head, Paragraph(words), Figure(picture, caption, anchor="design-chart")]


def _worth(view: View) -> list[Block]:
    """Return what knowing everything is worth, by the funder's level."""
    found = check_first(view.appraisal, view.drawn)
    if found is None or not found.by_level:
        return []
    unit = "capital cost lost" if found.stake.payoff == "npv" else "local price"
    lines = tuple((level, worth.value, worth.error) for level, worth in found.by_level)
    f = view.formats
    columns = (
        Column("Level", f"times {unit}", "right", lambda x: f.number(x, 2)),
        Column("Worth at most", f.currency, "right", f.amount),
        Column("Standard error", f.currency, "right", f.amount),
    )
    words = (
        "The most that knowing every assumption before deciding could bring on average, by the "
        "level at which a funder would decide. It is greatest where yes and no are even."
    )
    table = Table(columns, lines, "Worth of knowing everything", anchor="worth-table")
    return [Heading(1, "What knowing is worth", "worth"), Paragraph(words), table]


def _moved(view: View, indicator: str) -> list[Block]:
    """Return a curve along the strongest assumption and a field over the two strongest."""
    plan, f = view.appraisal.plan, view.formats
    bars = tornado(plan, indicator, view.ends).bars
    rows = [b.row for b in bars if 0.0 < b.width < np.inf and b.row.varies == "life"][:2]
    if len(rows) < 2:  # noqa: PLR2004
        return []
    quantity = _title(indicator)
    unit = printed_unit(unit_in(INDICATORS[indicator.partition(".")[0]].unit, f.currency))
    names = (row_words(rows[0]), row_words(rows[1]))
    units = (row_unit(rows[0], f.currency), row_unit(rows[1], f.currency))
    target = 0.0 if indicator.startswith("npv") else view.value(indicator)
    line = curve(plan, rows[0].name, indicator)
    both = surface(plan, (rows[0].name, rows[1].name), indicator)
    pieces = isoline(both.first_values, both.second_values, both.answers, target)
    along = run(line, f, name=names[0], quantity=quantity, units=(units[0], unit), target=target)
    over = field(
        both, pieces, f, names=names, quantity=quantity, units=(*units, unit), target=target
    )
    return [
        Heading(1, "Along the strongest assumptions", "curves"),
        Figure(along, "The dot is the base case, the dashed line the target.", anchor="curve"),
        Figure(over, "The line, where there is one, is where the target is met.", anchor="field"),
    ]


def _title(indicator: str) -> str:
    """Name an indicator."""
    return INDICATORS[indicator.partition(".")[0]].title
