"""Parts that several charts share: month axes, wrapped names, bars that name themselves.

On a telephone a horizontal bar carries its name above it, so that bars keep the width.
"""

import textwrap
from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.numbers import NBSP, Formats

#: Height of one horizontal bar's row, by drawing. [px]
ROW_WIDE, ROW_NARROW = 34, 50

#: Letters of a name in one line over its bar on a telephone; longer ones take two. [1]
NARROW_LETTERS = 50

#: Series a stack shows before the rest becomes one. [1]
STACKED = 6


def require(frame: pd.DataFrame, columns: str, once: str = "", *, empty: bool = False) -> None:
    """Refuse a frame that cannot be drawn: columns missing, no rows, a name that stands twice.

    Raises
    ------
    RunError
        If `columns` (names apart by spaces) are not all there, there is no row (unless `empty`
        is allowed), or the column `once` repeats a name.
    """
    missing = [name for name in columns.split() if name not in frame]
    if missing:
        msg = f"a chart needs the columns {columns}; missing: {', '.join(missing)}"
        raise RunError(msg)
    if frame.empty and not empty:
        msg = f"a chart of {columns} has no rows"
        raise RunError(msg)
    if once and frame[once].duplicated().any():
        twice = frame.loc[frame[once].duplicated(), once].iloc[0]
        msg = f"a chart's rows are told apart by {once}, and '{twice}' stands twice"
        raise RunError(msg)


def months(frame: pd.DataFrame, formats: Formats) -> tuple[pd.DataFrame, list[str]]:
    """Add the month's short name and return it with the twelve names in order."""
    names = [formats.month_name(month) for month in range(1, 13)]
    return frame.assign(month_name=[names[int(m) - 1] for m in frame["month"]]), names


def month_axis(names: list[str], *, narrow: bool) -> alt.X:
    """Return the calendar axis; a telephone shows every other name."""
    axis = alt.Axis(title=None, labelAngle=0, labelOverlap=True, ticks=False)
    if narrow:
        axis = alt.Axis(title=None, labelAngle=0, values=names[::2], ticks=False)
    return alt.X("month_name:O", sort=names, axis=axis)


def grouped(frame: pd.DataFrame, amount: str, other: str = "Other") -> pd.DataFrame:
    """Keep the largest series of a stack and sum the rest into one."""
    totals = frame.groupby("what")[amount].sum().sort_values(ascending=False)
    kept = set(totals.index if len(totals) <= STACKED + 1 else totals.index[:STACKED])
    what = [name if name in kept else other for name in frame["what"]]
    summed = frame.assign(what=what).groupby(["month", "what"])[amount].sum()
    return summed.reset_index()


def ordered(frame: pd.DataFrame, amount: str) -> list[str]:
    """Return the series of a stack, largest first."""
    totals = frame.groupby("what")[amount].sum().sort_values(ascending=False, kind="stable")
    return [str(name) for name in totals.index]


def legend(*, narrow: bool, offset: float = 12) -> alt.Legend:
    """Return a legend above the chart that wraps into two columns on a telephone. [px]"""
    return alt.Legend(columns=2, offset=offset) if narrow else alt.Legend(offset=offset)


def wrapped(name: str, width: int) -> str:
    """Break a long name into lines for an axis, none beginning with a dot. [characters]"""
    kept = name.replace(" · ", f"{NBSP}· ")
    return "\n".join(textwrap.wrap(kept, width, break_on_hyphens=False)) or name


def name_axis(order: list[str], *, narrow: bool, field: str = "name") -> alt.Y:
    """Return the axis of named rows in the given order; no labels on a telephone."""
    lines = alt.Axis(title=None, domain=False, ticks=False, grid=False, minExtent=0)
    lines.labelExpr = "split(datum.label, '\\n')"
    two_lines = {"test": "indexof(datum.label, '\\n') > 0", "value": "bottom"}
    lines.labelBaseline = {"condition": two_lines, "value": "middle"}
    lines.labelColor, lines.labelPadding, lines.labelLineHeight = theme.INK, 10, 15
    axis = None if narrow else lines
    inner = (0.67 if _long(order) else 0.55) if narrow else 0.4
    outer = 0.55 if narrow and _long(order) else 0.3  # two lines over the first bar stay inside
    scale = alt.Scale(paddingInner=inner, paddingOuter=outer)
    return alt.Y(f"{field}:N", sort=order, axis=axis, scale=scale)


def row_step(rows: int, *, narrow: bool, order: Sequence[str] = ()) -> int:
    """Return the height of a chart with so many named rows, more for names of many lines. [px]"""
    tall = ROW_NARROW + 16 if _long(order) else ROW_NARROW
    lines = max((str(name).count("\n") + 1 for name in order), default=1)
    return rows * (tall if narrow else ROW_WIDE + 15 * max(lines - 2, 0)) + 8


def _long(order: Sequence[str]) -> bool:
    """Say whether a name takes two lines over its bar."""
    return any(len(str(name)) > NARROW_LETTERS for name in order)


def haloed(text: alt.Chart) -> list[alt.Chart]:
    """Return a text layer over its own white outline, so that lines behind it never cut it."""
    mark = text.mark.copy()
    mark.stroke, mark.strokeWidth, mark.strokeJoin = theme.PAPER, 4, "round"
    outline = text.copy()
    outline.mark = mark
    return [outline, text]


def names_above(data: pd.DataFrame, order: list[str], field: str = "name") -> list[alt.Chart]:
    """Return the layers that write each row's name above its bar."""
    names = [str(name) for name in dict.fromkeys(data[field])]
    lines = [wrapped(name.replace("\n", " "), NARROW_LETTERS).split("\n") for name in names]
    rows: list[dict[str, Any]] = [
        {field: name, "words": words, "up": len(lines[n]) - 1 - line}
        for n, name in enumerate(names)
        for line, words in enumerate(lines[n])
    ]
    layers = []
    for up in sorted({int(row["up"]) for row in rows}):
        part = pd.DataFrame([row for row in rows if row["up"] == up])
        text = (
            alt.Chart(part)
            .mark_text(align="left", baseline="bottom", dy=-13 - 15 * up, limit=350, aria=False)
            .encode(x=alt.value(0), y=name_axis(order, narrow=True, field=field), text="words:N")
        )
        layers += haloed(text)
    return layers


def lowered(words: object) -> str:
    """Lower a first capital that is not part of a short form."""
    text = str(words)
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def each(frame: pd.DataFrame) -> list[Any]:
    """Return the rows of a frame as named tuples."""
    return list(frame.itertuples(index=False))


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a frame as dictionaries by column."""
    return [{str(k): x for k, x in row.items()} for row in frame.to_dict("records")]
