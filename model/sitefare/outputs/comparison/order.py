"""In which order do the alternatives stand, and how far apart are they?"""

import math

import pandas as pd

from sitefare.outputs import charts
from sitefare.outputs.comparison.measure import Measure, people
from sitefare.outputs.comparison.naming import place_of
from sitefare.outputs.comparison.seen import Seen, rests_on_defaults
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table, plain
from sitefare.questions.figures import RATIO
from sitefare.questions.lines import Line

#: Money that stands side by side, after the figure that orders.
MONEY = (
    "cost_per_person_day",
    "alternative_cost_person_day",
    "capex",
    "npv",
    "subsidy_year_after_grant",
)

#: Half the width of the 95 % range of a chance of one half, times the root of the draws. [1]
HALF_WIDTH = 1.96 * 0.5

#: Mark of an alternative some of whose site facts are defaults.
DEFAULTS = "†"


def order(seen: Seen) -> list[Block]:
    """Return the table in order, the money beside it, and the ranges side by side."""
    own = "." in seen.compared.by  # the figure names a ration of its own
    judged = "But for the figure that orders, all are judged" if own else "All are judged"
    blocks: list[Block] = [
        Heading(1, "The order", "order"),
        Paragraph(
            f"{judged} by one ration, {plain(seen.ration)}, and on the same draws, so that what they "
            "share cancels. Gates come before ranks: an alternative with a gate shut is listed, not "
            f"ranked. Ranks follow {seen.measure.lower}, {seen.better_words}."
        ),
        order_table(seen),
    ]
    if seen.hidden:
        blocks.append(Paragraph(seen.hidden, "small"))
    blocks.append(money_table(seen))
    figure = ranges(seen)
    return [*blocks, figure] if figure else blocks


def order_table(seen: Seen) -> Table:
    """Return the alternatives in order: the figure, its range, how surely, on what facts."""
    ratio, drawn = seen.compared.by == RATIO, seen.compared.draws > 0
    fed = seen.compared.by == "people_fed"
    three = any(one.chance_first_three is not None for one in seen.shown)
    columns = (
        Column("Alternative", weight=3),
        Column(seen.measure.title, seen.measure.short_unit, "right", weight=1.2),
        *([Column("P10–P90", align="right", weight=1.1)] if drawn else []),
        *([Column("Chance of being best", align="right", weight=1.0)] if drawn else []),
        *([Column("Chance of the first three", align="right", weight=1.0)] if three else []),
        *([] if ratio else [Column("Cost over the local price", align="right", weight=1.1)]),
        *([] if fed else [Column("People fed", align="right", weight=0.9)]),
        Column("Need score", align="right", weight=0.9),
        Column("Site facts supplied", align="right", weight=1.0),
    )
    rows = tuple(
        (
            seen.marked(one.line),
            seen.measure.number(one.line.usd(seen.compared.by)),
            *([seen.measure.span(*one.line.usd_ends(seen.compared.by)) or "–"] if drawn else []),
            *([seen.share(one.chance_best)] if drawn else []),
            *([seen.share(one.chance_first_three)] if three else []),
            *([] if ratio else [Measure(RATIO, seen.formats).number(one.line.usd(RATIO))]),
            *([] if fed else [people(one.line.usd("people_fed"), seen.formats)]),
            seen.formats.number(one.line.need.score) if one.line.need else "not given",
            facts_words(one.line),
        )
        for one in seen.shown
    )
    return Table(
        columns, rows, "Alternatives in order", _note(seen), wide=True, anchor="order-table"
    )


def facts_words(line: Line) -> str:
    """Say how many site facts are supplied, with a mark where some are defaults."""
    supplied, asked = line.facts
    mark = f" {DEFAULTS}" if rests_on_defaults(line) else ""
    return f"{supplied} of {asked}{mark}"


def _note(seen: Seen) -> str:
    """Say what the marks stand for, and where need scores are from."""
    lines = [one.line for one in seen.shown]
    words = [f"People are counted by {plain(seen.ration)}."]
    if seen.compared.draws:
        off = 100 * HALF_WIDTH / math.sqrt(seen.compared.draws)
        words.append(
            f"With {seen.formats.count(seen.compared.draws)} draws a chance is known to within about "
            f"{seen.formats.number(off, 1)} points."
        )
    if seen.outside:
        words.append(
            "Where a base lies outside its own range, draws are mostly worse than planned: the month that feeds fewest "
            "counts, and in draws another month may be it."
        )
    if any(map(rests_on_defaults, lines)):
        words.append(
            f"{DEFAULTS} Rests on defaults: fewer than half of the facts asked are supplied, so it is known "
            "less well than its range shows."
        )
    return " ".join([*words, _need_words(seen, lines)])


def _need_words(seen: Seen, lines: list[Line]) -> str:
    """Tell the need scores with their scales and sources."""
    by: dict[tuple[str, str], dict[str, float]] = {}
    for line in lines:
        if line.need:
            scores = by.setdefault((line.need.scale, line.need.source), {})
            scores[place_of(line)] = line.need.score
    parts = [
        f"{', '.join(f'{plain(place)} {seen.formats.number(x)}' for place, x in scores.items())}"
        + (f", on {plain(scale)}" if scale else "")
        + f" (source: {plain(source.rstrip('.'))})"
        for (scale, source), scores in by.items()
    ]
    if not parts:
        return "Nobody has given a need score."
    return f"Need scores are the user's: {'; '.join(parts)}."


def money_table(seen: Seen) -> Table:
    """Return money side by side in US dollars, each at its own appraisal-date rate."""
    measures = [Measure(name, seen.formats) for name in MONEY]
    rows = tuple(
        (seen.marked(line), *(m.number(line.usd(m.name)) for m in measures))
        for line in (one.line for one in seen.shown)
    )
    heads = {"alternative_cost_person_day": "Same food bought locally"}
    columns = (
        Column("Alternative", weight=3),
        *(Column(heads.get(m.name, m.title), m.short_unit, "right", weight=1.1) for m in measures),
    )
    rates = dict.fromkeys(
        f"{seen.formats.number(line.exchange_rate)} {line.currency} a USD ({line.date})"
        for line in (one.line for one in seen.shown)
        if line.currency != "USD"
    )
    note = "Money in US dollars at each appraisal-date rate" + (
        f": {'; '.join(rates)}." if rates else "."
    )
    return Table(columns, rows, "Money side by side", note, wide=True, anchor="money-table")


def ranges(seen: Seen) -> Figure | None:
    """Draw the figure that orders with its ranges; nothing where nobody has one."""
    by = seen.compared.by
    factor = seen.measure.factor
    rows = []
    for one in seen.shown:
        value = one.line.usd(by) * factor
        ends = [x if x is None else x * factor for x in one.line.usd_ends(by)]
        known = seen.finite(value)
        if any(end is not None for end in ends):  # without an end it is drawn as far as is known
            ends = [known if end is None else end for end in ends]
        low, high = ends
        rows.append(
            {"site": seen.name(one.line), "value": known, "low": low, "high": high,
             "gated": not one.line.rank}
        )  # fmt: skip
    frame = pd.DataFrame(rows)
    if frame["value"].isna().all():
        return None
    reference = {"reference": 1.0, "reference_label": "local price"} if by == RATIO else {}
    picture = charts.sites(frame, seen.measure.title, seen.measure.unit, seen.formats, **reference)  # type: ignore[arg-type]
    held = ", and the range that holds 8 in 10 draws" if seen.compared.draws else ""
    return Figure(picture, f"{seen.measure.title}: base{held}.", anchor="ranges-figure")
