"""What the answer rests on: single assumptions, groups of them, and where the decision turns."""

from collections.abc import Callable

import numpy as np
import pandas as pd

from sitefare.outputs import charts
from sitefare.outputs.charts_sensitivity import group_bars
from sitefare.outputs.document import (
    Block,
    Bullets,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.view import View, row_value, row_words
from sitefare.questions.grouping import GroupTornado, group_tornado
from sitefare.questions.switching import (
    ALL,
    Switch,
    Switches,
    decision,
    switching,
    together,
    within_reach,
)
from sitefare.questions.tornado import Bar, Tornado, with_steps

#: Bars shown, rows of the switching table, and bars searched for switching values.
TOP, NEAREST, SEARCHED = 12, 6, 64

#: Draws of a group in a document, and the gap over its size that its three figures ask for.
DRAWS, CLOSE = 128, 1e-5

#: The decisions of the table: indicator, and the table's line above its rows.
DECISIONS = {
    "npv": "The project is worth its cost",
    "cost_per_person_day": "A person-day costs no more than the same food bought locally",
    "people_fed": "People fed fall below nine in ten of those planned",
}


#: The line of a decision that no assumption changes alone.
NONE = ("No assumption alone", "–", "never", "–", "–")


def sensitivity(view: View) -> list[Block]:
    """Return tornados, as chart and table, bars of groups, and switching values."""
    plan, currency = view.appraisal.plan, view.appraisal.case.currency
    cost = with_steps(plan, view.cost_tornado, TOP)
    npv = with_steps(plan, view.npv_tornado, TOP)
    groups = group_tornado(plan, ("cost_per_person_day", "npv"), DRAWS, 1)
    per = f"{currency}/person-day"
    return [
        Heading(1, "What moves the answer", "sensitivity"),
        Paragraph(
            f"Each of {len(cost.bars)} uncertain assumptions is swung alone from its 1-in-10 low to "
            "its 1-in-10 high, all else at base. Swings show what matters, not what will happen: "
            "assumptions move together in the draws behind the ranges elsewhere. Where a row is "
            "redrawn every year (all years alike), its bar is of one mood for all years, which no "
            "draw has."
        ),
        *([table(view, cost)] if np.isfinite(cost.base) else []),
        *_cost(view, cost, per),
        figure(view, npv, "Net present value", currency),
        *_steps(cost, npv),
        Heading(2, "Groups of assumptions", "sensitivity-groups"),
        *_groups(view, groups["cost_per_person_day"], "Cost per person-day", per),
        *_groups(view, groups["npv"], "Net present value", ""),
        *_switching(view),
    ]


def _cost(view: View, found: Tornado, unit: str) -> list[Block]:
    """Return the bars of cost per person-day; where it has no answer at base, say so."""
    if not np.isfinite(found.base):
        some = any(np.isfinite([bar.low_result, bar.high_result]).any() for bar in found.bars)
        alone = "some assumptions alone would" if some else "no assumption alone would"
        return [
            Paragraph(
                "Cost per person-day has no bars: at base values nobody is fed by the headline ration "
                f"({plain(view.ration)}), and {alone} change that within their 1-in-10 ends."
            )
        ]
    return [figure(view, found, "Cost per person-day", unit)]


def label(bar: Bar) -> str:
    """Name a bar: what the row means, marked where only a jump makes the bar."""
    words = row_words(bar.row).replace(" (acts by whole people)", "")
    return f"{words} (a step)" if bar.step else words


def distinct(names: list[str], bars: list[Bar]) -> list[str]:
    """Tell names apart that read alike, by the row behind each."""
    return [
        name if names.count(name) == 1 else f"{name} [{bar.row.name}]"
        for name, bar in zip(names, bars, strict=True)
    ]


def figure(view: View, found: Tornado, quantity: str, unit: str) -> Figure:
    """Draw the top bars; an end without answer is drawn beyond the others and says so."""
    f, currency = view.formats, view.appraisal.case.currency
    bars = list(found.bars[:TOP])
    frame = pd.DataFrame(
        {
            "name": distinct([label(bar) for bar in bars], bars),
            "low_value": [row_value(bar.row, bar.row.low, currency, f) for bar in bars],
            "high_value": [row_value(bar.row, bar.row.high, currency, f) for bar in bars],
            "low_result": [bar.low_result for bar in bars],
            "high_result": [bar.high_result for bar in bars],
        }
    )
    picture = charts.tornado(frame, found.base, f, quantity=quantity, unit=unit, top=TOP)
    words = f"{quantity} when one assumption moves at a time, the widest {TOP}"
    base = f.money(found.base) if unit in ("", f.currency) else f.number(found.base, unit=unit)
    return Figure(
        picture, f"{words} of {len(found.bars)}; the line is the base case, {base}.", half=True
    )


def table(view: View, found: Tornado) -> Table:
    """Return the top bars as a table."""
    f, currency = view.formats, view.appraisal.case.currency
    lines = tuple(
        (
            label(bar),
            row_value(bar.row, bar.row.low, currency, f),
            row_value(bar.row, bar.row.high, currency, f),
            f.answer(bar.low_result, f.amount, "nobody is fed"),
            f.answer(bar.high_result, f.amount, "nobody is fed"),
            bar.row.basis,
        )
        for bar in found.bars[:TOP]
    )
    columns = (
        Column("Assumption"),
        Column("Low", align="right"),
        Column("High", align="right"),
        Column("At low", f"{currency}/person-day", "right"),
        Column("At high", f"{currency}/person-day", "right"),
        Column("Basis"),
    )
    return Table(
        columns, lines, "Cost per person-day at each end", wide=True, anchor="swings-table"
    )


def _steps(*found: Tornado) -> list[Block]:
    """Explain the mark of a step, where a bar shown has it."""
    if not any(bar.step for one in found for bar in one.bars[:TOP]):
        return []
    return [
        Paragraph(
            "A bar marked as a step is made by one worker or batch more or less and by nothing "
            "else: a little less of a swing may move nothing at all.",
            "small",
        )
    ]


def _groups(view: View, found: GroupTornado, quantity: str, unit: str) -> list[Block]:
    """Draw the groups' bars."""
    frame = pd.DataFrame(
        [(bar.group, bar.low_result, bar.high_result) for bar in found.bars if bar.width > 0],
        columns=["name", "low", "high"],
    ).astype({"low": float, "high": float})
    finite = frame[np.isfinite(frame["low"]) & np.isfinite(frame["high"])]
    if finite.empty or not np.isfinite(found.base):
        return []
    f = view.formats
    base = f.money(found.base) if unit in ("", f.currency) else f.number(found.base, unit=unit)
    picture = group_bars(finite, found.base, f, quantity=quantity, unit=unit)
    return [
        Figure(
            picture,
            f"{quantity}: 8 in 10 of {found.draws} draws lie within a bar when the assumptions of one "
            f"group alone are drawn together; the line is the base case, {base}.",
            half=True,
        )
    ]


def _switching(view: View) -> list[Block]:
    """Return where the decision turns: the nearest rows of each decision."""
    plan = view.appraisal.plan
    lines: list[tuple[str, ...]] = []
    heads: list[int] = []
    said: list[str] = []
    for indicator, words in DECISIONS.items():
        now = view.value(indicator)
        if not np.isfinite(now) or (indicator == "people_fed" and now <= 0.0):
            continue
        asked = decision(plan, indicator)
        names = within_reach(plan, asked, view.ends, SEARCHED)
        if not names:
            continue
        found = switching(plan, asked, names, close=CLOSE)
        heads.append(len(lines))
        lines.append((words, "", "", "", ""))
        lines += [_line(view, x) for x in found.found[:NEAREST]] or [NONE]
        said.append(_said(view, found, words))
    columns = (
        Column("Assumption", weight=2.6),
        Column("Now", align="right", weight=1),
        Column("Switches at", align="right", weight=1),
        Column("Change", align="right", weight=0.8),
        Column("How likely", weight=1.2),
    )
    return [
        Heading(2, "Where the decision turns", "switching"),
        Paragraph(
            "A switching value is where one assumption, alone, changes the decision. It is searched "
            "up to five times as far as the 1-in-10 end, within physical bounds."
        ),
        Bullets(tuple(said)),
        Table(
            columns,
            tuple(lines),
            "Nearest switching values of each decision, one assumption at a time",
            "How likely: the chance of a value as far out or farther by the assumption's own range. "
            "An assumption that is redrawn every year is moved in all years alike, which no draw does.",
            wide=True,
            head_rows=tuple(heads),
            anchor="switching-table",
        ),
    ]


def _line(view: View, x: Switch) -> tuple[str, str, str, str, str]:
    """Return one row's line."""
    f, currency = view.formats, view.appraisal.case.currency
    words = row_words(x.row).replace(" (acts by whole people)", "")
    return (
        f"{words} (a step)" if x.jump else words,
        row_value(x.row, x.row.base, currency, f),
        row_value(x.row, x.value, currency, f),
        _signed(x.change, f.share),
        likelihood(x, f.share),
    )


def _signed(x: float, how: Callable[[float], str]) -> str:
    """Write a relative change with its sign; a dash where the base is nothing."""
    if not np.isfinite(x):
        return "–"
    return f"+{how(x)}" if x > 0 else how(x)


def likelihood(x: Switch, how: Callable[[float], str]) -> str:
    """Say how likely a value as far out is, by the row's own range."""
    if x.value is None or not np.isfinite(x.place):
        return "no range given"
    if x.row.varies == "year":
        return "not in all years"
    beyond = x.place if x.value < x.row.base else 1.0 - x.place
    if beyond <= 0.0101:  # noqa: PLR2004
        return "below 1 in 100"
    return f"{how(beyond)}{'' if x.inside else ', beyond 1 in 10'}"


def _said(view: View, found: Switches, words: str) -> str:
    """Say how many rows change a decision alone, or what comes nearest, and what it takes."""
    f, count = view.formats, len(found.found)
    inside = sum(x.inside for x in found.found)
    start = f"**{words}.** "
    if count:
        turns = "One assumption changes" if count == 1 else f"{count} assumptions change"
        within = "none" if inside == 0 else "all" if inside == count > 1 else f"{inside}"
        of_them = f", {within} of them within the 1-in-10 ends"
        if count == 1:
            of_them = f", {'within' if inside else 'beyond'} its 1-in-10 end"
        return f"{start}{turns} this alone{of_them}."
    best = found.rows[0]
    closed = 1.0 - abs(best.best_answer / found.gap)
    nearest = row_words(best.row).replace(" (acts by whole people)", "")
    at = row_value(best.row, best.best, view.appraisal.case.currency, f)
    (all_rows,) = together(view.appraisal.plan, found.decision, view.ends, (ALL,), CLOSE)
    odds = (
        "even all of them at their good 1-in-100 ends do not"
        if all_rows.likelihood is None
        else f"all of them together would, each at its good 1-in-{1.0 / all_rows.likelihood:.0f} end"
    )
    return (
        f"{start}No assumption alone changes this; {nearest.lower()} at {at} would close "
        f"{f.share(closed)} of the gap, and {odds}."
    )
