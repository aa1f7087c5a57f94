"""The chart of bad events: how often each comes, what it takes, and what that is on average."""

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    haloed,
    name_axis,
    names_above,
    records,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture


def events(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return events by the part of a year's output that each takes on average.

    Parameters
    ----------
    frame : DataFrame with columns event, chance, lost, takes
        Chance in a year [1], share of the year's output it takes when it comes [1], and what
        that output is, such as 'fish'.
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "event chance lost takes", once="event")
    data = frame.assign(mean=100.0 * frame["chance"] * frame["lost"])
    data = data.sort_values("mean", ascending=False, kind="stable").reset_index(drop=True)
    data["words"] = [
        f"{formats.share(row['chance'])} a year × {formats.share(row['lost'])} of {row['takes']}"
        for row in records(data)
    ]
    data["told"] = [
        f"{row['event']}: comes with {formats.share(row['chance'])} chance a year and takes "
        f"{formats.share(row['lost'])} of a year's {row['takes']}, "
        f"{formats.number(row['mean'], 2, '%')} on average"
        for row in records(data)
    ]
    data["name"] = [wrapped(str(event), 28) for event in data["event"]]
    order, most = list(data["name"]), float(data["mean"].max()) or 1.0

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
        scale = alt.Scale(domain=[0, most * (2.3 if narrow else 1.7)], nice=False)
        x = alt.X(
            "mean:Q",
            title="Taken in an average year [% of output]",
            scale=scale,
            axis=alt.Axis(tickCount=4, format=",~r", grid=True),
        )
        bars = rows.mark_bar(color=theme.PALETTE["brick"]).encode(x=x, description=TOLD)
        words = rows.mark_text(align="left", dx=6, aria=False).encode(x="mean:Q", text="words:N")
        layers = [bars, *haloed(words), *(names_above(data, order) if narrow else [])]
        return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))

    told = "; ".join(str(x) for x in data["told"])
    alt_text = f"Bars of output that events take in an average year. {told}."
    return Picture(title or _finding(data, formats), alt_text, draw, formats.language)


def _finding(data: pd.DataFrame, formats: Formats) -> str:
    """Say which event takes most on average."""
    first = records(data)[0]
    if first["mean"] <= 0.0:
        return "No event takes anything from an average year"
    return (
        f"“{first['event']}” takes most on average: {formats.number(first['mean'], 2, '%')} of a "
        f"year's {first['takes']}"
    )
