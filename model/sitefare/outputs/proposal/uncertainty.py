"""What could happen: figures of the draws with their sampling errors, chances, fans of cash."""

import numpy as np
import pandas as pd

from sitefare.assumptions.correlation import Pair, in_force
from sitefare.assumptions.rows import declared_field
from sitefare.outputs.charts_uncertainty import fan as fan_chart
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table, plain
from sitefare.outputs.numbers import scale_of
from sitefare.outputs.proposal.outcomes import outcomes
from sitefare.outputs.proposal.view import View, printed_unit, raised, row_words, shortened
from sitefare.outputs.results import unit_in
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.fan import Fan
from sitefare.questions.middle import pulls
from sitefare.questions.outlook import CHANCE_ERROR, FIGURE_ERROR, Outlook, outlook
from sitefare.questions.outlook import Figure as Told
from sitefare.questions.sampling_error import Between

#: Indicators of the table, in order.
SHOWN = (
    "people_fed",
    "cost_per_person_day",
    "alternative_cost_person_day",
    "capex",
    "operating_cost_year",
    "sales_year",
    "npv",
    "payback_years",
    "grant_needed",
    "subsidy_year_after_grant",
    "vegetables_marketable_kg_year",
    "fish_live_kg_year",
    "water_makeup_m3_year",
    "electricity_kwh_year",
)

#: Share of draws below which a year's failures are summed with later ones. [1]
TOLD = 0.005


def uncertainty(view: View) -> list[Block]:
    """Return the section on what could happen."""
    head = Heading(1, "What could happen", "uncertainty")
    found = outlook(view.appraisal, view.drawn)
    if found is None:
        return [head, Paragraph("No draws were asked for: this document tells no ranges.")]
    return [
        head,
        Paragraph(_opening(view, found)),
        _figures(view, found),
        Paragraph(middle_words(view, found)),
        *outcomes(view),
        Heading(2, "How likely it is to disappoint, and when cash runs out", "chances"),
        Paragraph(cash_words(view, found)),
        _chances(view, found),
        *_years_table(view, found),
        *_fans(view, found),
        Paragraph(
            f"{enough_words(view, found)} [](#together-table) holds what moves together."
            if _acting(view)
            else enough_words(view, found)
        ),
    ]


def together(view: View) -> list[Block]:
    """Return the annex of assumptions that are drawn together; nothing without draws."""
    if not view.drawn.count:
        return []
    return [Heading(1, "Annex: what moves together", "together", annex=True), *_together(view)]


def _opening(view: View, found: Outlook) -> str:
    """Say what a draw is and what an error means."""
    f = view.formats
    return (
        f"In each of {f.count(found.count)} draws every one of "
        f"{f.count(len(view.appraisal.case.uncertain))} uncertain assumptions takes a value of its "
        "own range [@keelin_2016], and each yearly event happens or not. The farm stays as designed. ± is the "
        "sampling error: in 95 of 100 cases endless draws would give a figure no further away. It "
        "says nothing of how good the ranges are."
    )


def _frame(found: Fan) -> pd.DataFrame:
    """Return a fan as the chart takes it."""
    lines = {f"p{round(100 * edge)}": found.line(edge) for edge in (0.1, 0.25, 0.5, 0.75, 0.9)}
    return pd.DataFrame({"year": range(found.base.size), **lines, "base": found.base})


def _figures(view: View, found: Outlook) -> Table:
    """Return the table of indicators with their sampling errors."""
    told = [found.figures[name] for name in SHOWN]
    rows = [_row(view, one) for one in told if _answered(one)]
    columns = (
        Column("Figure", weight=2.6),
        *(Column(head, align="right") for head in ("Base", "P10", "P50", "P90", "Mean")),
    )
    without = [
        f"{INDICATORS[one.name].title}: {raised(one.reason or 'no answer in the draws')}."
        for one in told
        if not _answered(one)
    ]
    counted = f"People are counted by {view.ration}."
    return Table(
        columns,
        tuple(rows),
        "Figures of the draws, each with its sampling error",
        plain(" ".join([counted, *without])),
        wide=True,
        anchor="outlook-table",
    )


def _answered(one: Told) -> bool:
    """Say whether any percentile has an answer."""
    return any(end.value is not None for end in one.ends.values())


def _row(view: View, one: Told) -> tuple[str, ...]:
    """Write one indicator's row in a unit that keeps its figures short."""
    ends = list(one.ends.values())
    unit = printed_unit(unit_in(INDICATORS[one.name].unit, view.appraisal.case.currency))
    values = [abs(x) for x in (one.base, *(end.value or 0.0 for end in ends)) if np.isfinite(x)]
    divisor, word = scale_of(values)
    words = " ".join(x for x in (word, unit) if x)
    title = INDICATORS[one.name].title + (f", {words}" if words else "")
    base = view.formats.number(one.base / divisor, 3) if np.isfinite(one.base) else "–"
    return (title, base, *(_between(view, end, divisor) for end in (*ends, one.mean)))


def _between(view: View, found: Between, divisor: float) -> str:
    """Write a figure with its sampling error."""
    if found.value is None:
        return "–"
    text = view.formats.number(found.value / divisor, 3)
    if found.half is None:
        return text
    return f"{text} ±{view.formats.number(found.half / divisor, 2)}"


def middle_words(view: View, found: Outlook) -> str:
    """Say how far the base case lies from the middle of the draws, and why."""
    f, one = view.formats, found.figures["cost_per_person_day"]
    middle = one.ends[0.5].value
    if middle is None or not np.isfinite(one.base):
        return "The middle of the draws has no cost per person-day to hold the base case against."
    upward = middle > one.base
    below = view.drawn.chance(one.name, one.base)
    pulled = pulls(view.appraisal.plan, view.ends, one.name, upward=upward)
    rows = "; ".join(row_words(p.bar.row) for p in pulled)
    mean = "" if one.mean.value is None else f" and the mean {f.money(one.mean.value)}"
    why = (
        "The base case takes every assumption at its middle and spends the contingency, and the "
        "farm is sized once for it: what falls short acts in full, while what turns out better is "
        "capped by tanks, beds and the scarcer food of the ration."
    )
    most = f" The most lopsided assumptions alone: {rows}." if rows else ""
    return (
        f"A person-day costs {f.money(one.base)} in the base case; the middle of the draws is "
        f"{f.money(middle)}{mean}, and {f.share(below)} of draws are cheaper than the base case. "
        f"{why}{plain(most)}"
    )


def _chances(view: View, found: Outlook) -> Table:
    """Return the chances with their sampling errors."""
    rows = tuple(
        (chance.words[0].upper() + chance.words[1:], *share_words(view, chance.share))
        for chance in found.chances
    )
    columns = (
        Column("What happens", weight=3),
        Column("Chance", align="right"),
        Column("Sampling error", "95 %", "right", weight=1.4),
    )
    return Table(
        columns,
        rows,
        "Chances, as shares of the draws",
        wide=True,
        anchor="chances-table",
        layout="half",
    )


def share_words(view: View, share: Between) -> tuple[str, str]:
    """Write a chance and the interval of its sampling error, one decimal of a per cent."""
    f = view.formats

    def percent(x: float | None) -> str:
        return f.decimal(None if x is None else 100 * x, 1, "%")

    return f.share(share.value), f.span(share.low, share.high, percent)


def _fans(view: View, found: Outlook) -> list[Block]:
    """Draw the fans of project cash and of the cash held."""
    return [
        Figure(
            fan_chart(_frame(found.cash), view.formats, "Cumulative project cash"),
            "Project cash so far in constant prices, before funding, by year; each year's own "
            "percentiles, which no single draw follows.",
            anchor="fan-figure",
            half=True,
        ),
        Figure(
            fan_chart(_frame(found.balance), view.formats, "Cash held"),
            "Cash at year ends with the funding planned, money of the day; below zero the plan "
            "has failed and the line says what would be missing.",
            anchor="balance-figure",
            half=True,
        ),
    ]


def cash_words(view: View, found: Outlook) -> str:
    """Say how often cash runs out and in which month it first does."""
    ending, timeline = found.cash_end, view.appraisal.case.timeline
    share, between = share_words(view, ending.ever)
    if ending.ever.value == 0.0:
        return f"With the funding planned cash runs out in no draw (sampling error: {between})."

    def when(month: int | None) -> str:
        return "never" if month is None else f"month {month} ({timeline.label(month)})"

    months = [when(ending.months[edge]) for edge in (0.1, 0.5, 0.9)]
    if len(set(months)) == 1:
        first = f"first in {months[0]} at P10, in the middle and at P90 alike"
    else:
        first = f"first in {months[0]} at P10, {months[1]} in the middle, {months[2]} at P90"
    base = when(ending.base)
    return (
        f"With the funding planned and nothing more, cash runs out in {share} of the draws "
        f"({between}): {first}. In the base case: {base}."
    )


def _years_table(view: View, found: Outlook) -> list[Block]:
    """Return the shares of draws by the year in which cash first runs out."""
    shares = found.cash_end.by_year
    years = [year for year, share in enumerate(shares) if share >= TOLD]
    if not years:
        return []
    told = view.formats.share
    rows = [
        (str(year), told(float(shares[year])), told(float(shares[: year + 1].sum())))
        for year in years
    ]
    columns = (
        Column("Project year"),
        Column("Cash first runs out", align="right"),
        Column("By then", align="right"),
    )
    note = "Years with under 0.5 % of draws are left out."
    caption = "Draws by the year without cash"
    return [
        Table(columns, tuple(rows), caption, note, wide=True, anchor="broke-table", layout="half")
    ]


def _together(view: View) -> list[Block]:
    """Return the rank correlations that act in this case."""
    acting = _acting(view)
    if not acting:
        return [Paragraph("No assumptions move together: each is drawn by itself.")]
    rows = tuple(
        (_named(pair.a), _named(pair.b), f"{view.formats.decimal(pair.rank, 1)}", pair.basis)
        for pair, _ in acting
    )
    columns = (
        Column("Assumption", weight=2),
        Column("moves with", weight=2),
        Column("Rank correlation", align="right"),
        Column("Basis"),
    )
    count = sum(len(both) for _, both in acting)
    return [
        Paragraph(
            f"{view.formats.count(count)} pairs of assumptions are drawn together; all others are "
            "drawn apart. Values that are redrawn every year stay apart too."
        ),
        Table(
            columns,
            rows,
            "Assumptions that move together",
            wide=True,
            anchor="together-table",
            layout="folded",
        ),
    ]


def _acting(view: View) -> list[tuple[Pair, list[tuple[str, str]]]]:
    """Return the correlations that act in this case, with the pairs of rows each moves."""
    case = view.appraisal.case
    keys = [case.key(name) for name in case.uncertain if case.rows[name].varies == "life"]
    return in_force(keys, case.moving_together(keys))


def _named(name: str) -> str:
    """Name a row or a group of rows in words."""
    bare, _, site = name.partition("@")
    found = declared_field(bare)
    words = bare if found is None else shortened(found[3].doc.split(";")[0].split(",")[0])
    if bare.startswith("drift."):
        words = f"Price drift: {words[0].lower()}{words[1:]}"
    key = "" if found is None or not found[1] else found[1]
    inside = ", ".join(x for x in ("each" if key == "*" else key.replace("_", " "), site) if x)
    return words.rstrip(".") + (f" ({inside})" if inside else "")


def enough_words(view: View, found: Outlook) -> str:
    """Say how large the errors are and how many draws would bring them within bounds."""
    f, made = view.formats, found.enough
    name = INDICATORS[made.name].title.lower() if made.name else ""
    points = f.decimal(100 * made.chance, 1)
    errors = (
        f"With {f.count(found.count)} draws the worst sampling error of a chance is {points} "
        f"percentage points, and that of a percentile {f.decimal(100 * made.figure, 1, '%')}"
        + (f" ({name})" if name else "")
        + " of its value or of its span P10 to P90, the larger."
    )
    bounds = (
        f"every chance within {f.count(100 * CHANCE_ERROR)} point and every percentile of the "
        f"headline figures within {f.share(FIGURE_ERROR)}"
    )
    if made.needed is None:
        return f"{errors} More draws than can be made would be needed to bring {bounds}."
    if made.needed <= found.count:
        return f"{errors} They are enough: {bounds}."
    return f"{errors} {f.count(made.needed)} draws would bring {bounds}."
