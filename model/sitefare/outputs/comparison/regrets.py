"""How much worse does each choice turn out than the best one would have been?"""

import math

import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs.charts_regret import regrets as drawn_regrets
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table, plain


def regrets(seen: Seen) -> list[Block]:
    """Return what regret is, its chart and its table."""
    heading = Heading(1, "Regret", "regret")
    if not seen.compared.draws:
        return [heading, Paragraph("Regret is told over draws; none were asked for.")]
    if len(seen.regrets.lines) < 2:  # noqa: PLR2004
        return [heading, Paragraph("Regret is told between two or more alternatives that are ranked.")]
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
        return f"{words} Every alternative has draws without an answer."
    if mean.name == worst.name:
        return (
            f"{words} **{plain(seen.name(mean))}** is regretted least on average and at worst: who plays safe "
            "and who plays the odds choose alike."
        )
    return (
        f"{words} **{plain(seen.name(mean))}** is regretted least on average; **{plain(seen.name(worst))}** is "
        "the choice of who would not be far wrong in any draw."
    )


def _figure(seen: Seen) -> Figure | None:
    """Draw mean regret and its high; nothing where none has a number."""
    factor = seen.measure.factor
    shown = {one.line.name for one in seen.shown}
    rows = [
        {"name": seen.name(one.line), "mean": one.mean * factor, "high": one.high * factor}
        for one in seen.regrets.lines
        if one.line.name in shown
    ]
    unit = seen.measure.unit or "of the figure"
    try:
        picture = drawn_regrets(pd.DataFrame(rows), seen.measure.title, unit, seen.formats)
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
    columns = (
        Column("Rank", weight=0.6),
        Column("Alternative", weight=2.6),
        Column("On average", seen.measure.short_unit, "right", weight=1),
        Column("More than this in 1 draw of 10", seen.measure.short_unit, "right", weight=1.2),
        Column("At worst", seen.measure.short_unit, "right", weight=1),
    )
    rows = tuple(
        (
            seen.mark(one.line),
            seen.name(one.line),
            *(_told(seen, x) for x in (one.mean, one.high, one.worst)),
        )
        for one in seen.regrets.lines
        if one.line.name in shown
    )
    return Table(columns, rows, "Regret of each choice", wide=True, anchor="regret-table")


def _told(seen: Seen, x: float) -> str:
    """Write a regret; in words where there is no answer to regret by."""
    if not math.isfinite(x):
        return "no answer"
    return seen.formats.number(x * seen.measure.factor, 2)
