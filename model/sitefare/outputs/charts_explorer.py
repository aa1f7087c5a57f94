"""Charts that follow the sliders: the base case beside what it is moved to."""

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    lowered,
    name_axis,
    names_above,
    records,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

BASE, MOVED = "As planned", "As moved"

#: The bar of what is not drawn by name.
ALL_ELSE = "All else"


def cash_beside(frame: pd.DataFrame, formats: Formats) -> Picture:
    """Return cumulative cash by project year, as planned and as moved.

    Parameters
    ----------
    frame : DataFrame with columns year, planned, moved
        Cumulative project cash in constant prices. [money]
    formats : Formats
        The document's formatters.
    """
    require(frame, "year planned moved", once="year")
    divisor, word = scale_of(frame[["planned", "moved"]].to_numpy().ravel())
    unit = f"{word.capitalize()} {formats.currency}" if word else formats.currency
    data = scaled(frame, divisor)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        colour = alt.Color(
            "series:N",
            scale=alt.Scale(domain=[BASE, MOVED], range=[theme.MUTED, theme.PALETTE["deep"]]),
            legend=alt.Legend(columns=1 if narrow else 2, symbolType="stroke"),
        )
        x = alt.X("year:O", title="Project year")
        lines = [
            alt.Chart(data.assign(series=name))
            .mark_line(strokeWidth=2.5, strokeDash=[5, 4] if name == BASE else [1, 0], aria=False)
            .encode(x=x, color=colour, y=alt.Y(f"{field}:Q", title=unit))
            for name, field in ((BASE, "planned"), (MOVED, "moved"))
        ]
        zero = alt.Chart(pd.DataFrame({"zero": [0.0]})).mark_rule(color=theme.INK, aria=False)
        return alt.layer(*lines, zero.encode(y="zero:Q")).properties(height=220)

    last = frame.iloc[-1]
    finding = (
        f"Cumulative cash ends at {formats.money(last['moved'])}, "
        f"as planned at {formats.money(last['planned'])}"
    )
    return Picture(finding, f"Two lines of cumulative cash by year. {finding}.", draw)


def scaled(frame: pd.DataFrame, divisor: float) -> pd.DataFrame:
    """Return a frame of `planned` and `moved` amounts in thousands or millions. [money]"""
    return frame.assign(planned=frame["planned"] / divisor, moved=frame["moved"] / divisor)


def costs_beside(frame: pd.DataFrame, formats: Formats) -> Picture:
    """Return what a person-day costs, part by part, as planned and as moved.

    Parameters
    ----------
    frame : DataFrame with columns what, planned, moved
        Parts of the cost of a person-day. [money/person/day]
    formats : Formats
        The document's formatters.
    """
    require(frame, "what planned moved", once="what")
    data = frame.assign(name=[wrapped(str(x), 30) for x in frame["what"]])
    order = list(data["name"])

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
        axis = alt.X("moved:Q", title=f"{formats.currency} a person-day")
        bars = rows.mark_bar(color=theme.PALETTE["deep"], height={"band": 0.5}).encode(x=axis)
        ticks = rows.mark_tick(color=theme.PALETTE["ochre"], thickness=3, height={"band": 0.9})
        layers = [bars, ticks.encode(x="planned:Q")]
        layers += names_above(data, order) if narrow else []
        return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))

    named = [row for row in records(frame) if row["what"] != ALL_ELSE]
    most = max(named or records(frame), key=lambda row: float(row["moved"]))
    part = f"{lowered(most['what'])} costs most: {formats.money(most['moved'])}"
    finding = f"Of a person-day, {part}"
    words = "Bars of the parts of the cost of a person-day; a tick marks each as planned."
    return Picture(finding, f"{words} {finding}.", draw)


def with_rows(spec: Mapping[str, Any], frame: pd.DataFrame, column: str) -> dict[str, Any]:
    """Put other numbers into a drawing of the same shape: the data sets that hold a column.

    Parameters
    ----------
    frame : DataFrame
        Rows in the order of the drawing's own; its columns replace those of the same name.
    column : str
        A column by which the data sets to change are known.
    """
    changed = {}
    for key, rows in spec.get("datasets", {}).items():
        if rows and column in rows[0]:
            new = frame.to_dict("records")
            pairs = zip(rows, new, strict=True)
            changed[key] = [old | {k: v for k, v in one.items() if k in old} for old, one in pairs]
        else:
            changed[key] = rows
    return {**spec, "datasets": changed}
