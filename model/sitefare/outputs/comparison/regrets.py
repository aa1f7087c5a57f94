"""How much worse does each choice turn out than the best one would have been?"""

import math

import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs.charts_regret import regrets as drawn_regrets
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table, plain
from sitefare.questions.lines import Line


def regrets(seen: Seen) -> list[Block]:
    """Return what regret is, its chart and its table."""
    heading = Heading(1, "Regret", "regret")
    if not seen.compared.draws:
        return [heading, Paragraph("Regret is told over draws; none were asked for.")]
    if len(seen.regrets.lines) < 2:  # noqa: PLR2004
        return [
            heading,
            Paragraph("Regret is told between two or more alternatives that are ranked."),
        ]
    blocks: list[Block] = [heading, Paragraph(_meaning(seen))]
    figure = _figure(seen)
    if figure:
        blocks.append(figure)
    return [*blocks, _table(seen)]


def _meaning(seen: Seen) -> str:
    """Explain regret by the first alternative, and name the choices that it leads to."""
    words = (
        "Each draw is one way the future could turn out. In each, one alternative is best; the regret of another "
        f"is how much worse it is there, by {seen.measure.lower}. Its mean is what not knowing the future costs "
        "whoever chooses it; its worst is the most it can be beaten by (Savage 1951)."
    )
    mean, worst = seen.regrets.least_mean, seen.regrets.least_worst
    if mean is None or worst is None:
        high = seen.regrets.least_high
        told = (
            f"; **{plain(seen.name(high))}** is regretted least in nine of ten draws"
            if high
            else ""
        )
        return f"{words} Every alternative has draws without an answer{told}."
    if any(none for _, none in seen.answered_regrets.values()):
        return f"{words} {_answered(seen, mean)}"
    if mean.name == worst.name:
        return (
            f"{words} **{plain(seen.name(mean))}** is regretted least on average and at worst: who plays safe "
            "and who plays the odds choose alike."
        )
    return (
        f"{words} **{plain(seen.name(mean))}** is regretted least on average; **{plain(seen.name(worst))}** is "
        "the choice of who would not be far wrong in any draw."
    )


def _answered(seen: Seen, mean: Line) -> str:
    """Name the least regret of those with an answer in every draw, and in nine of ten draws."""
    words = f"**{plain(seen.name(mean))}** is regretted least of those that have an answer in every draw"
    high = seen.regrets.least_high
    if high is None or high.name == mean.name:
        return f"{words}."
    most = next(one.high for one in seen.regrets.lines if one.line.name == high.name)
    none = seen.answered_regrets[high.name][1]
    return (
        f"{words}; **{plain(seen.name(high))}** is in nine of ten draws, with at most "
        f"{plain(seen.difference(most))}, but is without an answer in {seen.share(none)} of draws."
    )


def _figure(seen: Seen) -> Figure | None:
    """Draw mean regret and its high; nothing where none has a number."""
    factor = seen.measure.factor
    shown = {one.line.name for one in seen.shown}
    rows = [
        {
            "name": seen.name(one.line),
            "mean": seen.answered_regrets[one.line.name][0] * factor,
            "high": one.high * factor,
            "none": seen.answered_regrets[one.line.name][1],
        }
        for one in seen.regrets.lines
        if one.line.name in shown
    ]
    unit = seen.measure.unit or "of the figure"
    try:
        picture = drawn_regrets(
            pd.DataFrame(rows), seen.measure.title, unit, seen.formats, seen.measure.gap
        )
    except RunError:
        return None
    return Figure(
        picture,
        f"Regret in {seen.measure.lower}: the mean over draws, and what 1 draw in 10 exceeds.",
        anchor="regret-figure",
    )


def _table(seen: Seen) -> Table:
    """Return mean, high and worst regret of the alternatives shown."""
    shown = {one.line.name for one in seen.shown}
    lacking = any(none for _, none in seen.answered_regrets.values())
    columns = (
        Column("Alternative", weight=2.8),
        Column("On average", seen.measure.short_unit, "right", weight=1),
        Column("More than this in 1 draw of 10", seen.measure.short_unit, "right", weight=1.2),
        Column("At worst", seen.measure.short_unit, "right", weight=1),
        *([Column("Draws without an answer", align="right", weight=1)] if lacking else []),
    )
    rows = tuple(
        (
            seen.marked(one.line),
            _told(seen, seen.answered_regrets[one.line.name][0]),
            *(_told(seen, x) for x in (one.high, one.worst)),
            *([seen.share(seen.answered_regrets[one.line.name][1])] if lacking else []),
        )
        for one in seen.regrets.lines
        if one.line.name in shown
    )
    note = (
        "The average is over draws with an answer, where at least 95 % have one. A draw is without one where this alternative feeds nobody by "
        "the ration and another feeds some: no figure can say how much worse that is."
        if lacking
        else ""
    )
    return Table(columns, rows, "Regret of each choice", note, wide=True, anchor="regret-table")


def _told(seen: Seen, x: float) -> str:
    """Write a regret; in words where there is no answer to regret by."""
    if not math.isfinite(x):
        return "no end"
    return seen.formats.number(x * seen.measure.factor, 2)
