"""Lines through the calendar year that carry their names at their ends.

The months' points tell themselves; the line between them is drawn, not told.
"""

from collections.abc import Sequence

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import legend, month_axis
from sitefare.outputs.labels import (
    TOLD,
    named_ends,
    room_for,
    shortened_range,
)

#: Dashes by series, so that lines are told apart without colour.
DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3], [4, 1], [1, 3], [10, 4])


def month_lines(
    data: pd.DataFrame,
    names: Sequence[str],
    order: Sequence[str],
    axis: tuple[str, str, tuple[float, float], float],
    *,
    narrow: bool,
) -> list[alt.Chart]:
    """Return the layers of lines by month.

    Parameters
    ----------
    data : DataFrame with columns month, month_name, what, told and the drawn field
        One row a series and month.
    names, order : sequences of str
        The series and the twelve months, in order.
    axis : (str, str, (float, float), float)
        The drawn field, the axis's title, its ends and the chart's height [px].
    """
    field, title, span, height = axis
    x = month_axis(list(order), narrow=narrow)
    if not narrow:
        x["scale"] = alt.Scale(range=shortened_range(room_for(names)))
    y = alt.Y(
        f"{field}:Q",
        title=title,
        scale=alt.Scale(domain=list(span), nice=False),
        axis=alt.Axis(tickCount=6, format=",~r"),
    )
    colours = list(theme.PALETTE.values())[: len(names)]
    scale = theme.series(list(names))
    color = alt.Color("what:N", scale=scale, legend=None)
    dash = alt.StrokeDash(
        "what:N",
        scale=alt.Scale(domain=list(names), range=list(DASHES[: len(names)])),
        legend=None,
    )
    if narrow:
        key = legend(narrow=True)
        key.symbolType, key.symbolStrokeWidth = "stroke", 3
        color = alt.Color("what:N", scale=scale, legend=key)
    base = alt.Chart(data)
    line = base.mark_line(strokeWidth=2.5, aria=False).encode(
        x=x, y=y, color=color, strokeDash=dash
    )
    points = base.mark_point(size=38, filled=True, opacity=1).encode(
        x=x, y=y, color=alt.Color("what:N", scale=scale, legend=None), description=TOLD
    )
    if narrow:
        return [line, points]
    last = data[data["month"] == data["month"].max()].set_index("what")[field]
    ends = [float(last[name]) for name in names]
    return [line, points, *named_ends(names, ends, colours, span, height)]
