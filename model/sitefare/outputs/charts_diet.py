"""Charts of the diet: what the ration covers, and how many people each month could feed."""

from typing import Any

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    each,
    haloed,
    lowered,
    month_axis,
    months,
    name_axis,
    names_above,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD, nice_span, room_for
from sitefare.outputs.month_lines import month_lines
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Share of a requirement where a diet bar is cut; its label keeps the figure. [1]
CUT = 1.5

#: Height of the lines by month. [px]
HEIGHT = 240

#: Share of the highest point under which a line's label stands above it. [1]
LOW = 0.2

#: Drawn share from which a label would run into the line at 100; it moves beyond. [%]
NEAR = 80


def diet(frame: pd.DataFrame, formats: Formats, ration: str = "", title: str = "") -> Picture:
    """Return the share of each daily requirement that the harvest covers.

    Parameters
    ----------
    frame : DataFrame with columns what, share and, if known, low, high
        Nutrient and covered share of its requirement, 1 is all; `low` and `high` are the least
        and the most of any month. [1]
    formats : Formats
        The document's formatters.
    ration : str
        The ration that people are counted by.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "what share", once="what")
    data = _bars(frame, formats)
    shares = [formats.share(x) for x in data["share"]]
    order = list(data["name"])

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
        x = alt.X(
            "drawn:Q",
            title="Share of the daily requirement [%]",
            scale=alt.Scale(domain=[0, CUT * 100 * 1.2], nice=False),
            axis=alt.Axis(values=[0, 25, 50, 75, 100, 125, 150], grid=True),
        )
        bars = rows.mark_bar(color=theme.PALETTE["sage"]).encode(x=x, description=TOLD)
        words = rows.mark_text(align="left", dx=6, aria=False).encode(
            x=alt.X("label_at:Q"), text="words:N"
        )
        months = rows.mark_rule(color=theme.INK, strokeWidth=2, aria=False).encode(
            x=alt.X("low_drawn:Q"), x2="high_drawn:Q"
        )
        whole = (
            alt.Chart(pd.DataFrame({"all": [100.0]}))
            .mark_rule(color=theme.INK, strokeWidth=1.2, strokeDash=[4, 3], aria=False)
            .encode(x="all:Q")
        )
        band = [months] if "low" in data else []
        layers = [bars, whole, *band, *haloed(words), *(names_above(data, order) if narrow else [])]
        return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))

    most, least = data.iloc[0], data.iloc[-1]
    finding = title or (
        f"The ration covers {formats.share(most['share'])} of {lowered(most['what'])} "
        f"and {formats.share(least['share'])} of {lowered(least['what'])}"
    )
    parts = "; ".join(f"{what} {share}" for what, share in zip(data["what"], shares, strict=True))
    counted = f" for people counted by {ration}" if ration else ""
    return Picture(finding, f"Bars of diet covered{counted}: {parts}.", draw, formats.language)


def _bars(frame: pd.DataFrame, formats: Formats) -> pd.DataFrame:
    """Lay the bars of a diet out: widest first, cut, with words and where they stand."""
    data = frame.sort_values("share", ascending=False, kind="stable").reset_index(drop=True)
    shares = [formats.share(x) for x in data["share"]]
    data["words"] = [
        f"{share} ▶" if x > CUT else share for x, share in zip(data["share"], shares, strict=True)
    ]
    data["told"] = [
        f"{row.what}: {formats.share(row.share)} of the daily requirement"
        + (
            f", {formats.span(row.low, row.high, formats.share)} by month"
            if {"low", "high"} <= set(data)
            else ""
        )
        for row in each(data)
    ]
    data["drawn"] = data["share"].clip(upper=CUT) * 100
    for end in ("low", "high"):
        if end in data:
            data[f"{end}_drawn"] = data[end].clip(upper=CUT) * 100
    tips = data["high_drawn"] if "high" in data else data["drawn"]
    data["label_at"] = [101.0 if NEAR < x <= 100 else x for x in tips]  # noqa: PLR2004
    data["name"] = [wrapped(str(what), 30) for what in data["what"]]
    return data


def people_by_month(
    frame: pd.DataFrame, counted: float, formats: Formats, *, ration: str = "", title: str = ""
) -> Picture:
    """Return the people that each part of a ration could feed by month, and the number counted.

    Parameters
    ----------
    frame : DataFrame with columns month, what, people
        Calendar month from 1, the part of the ration, people it alone would feed. [person]
    counted : float
        The people counted. [person]
    formats : Formats
        The document's formatters.
    ration : str
        The ration that people are counted by.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what people")
    data, names = months(frame, formats)
    parts = [str(what) for what in dict.fromkeys(data["what"])]
    data["told"] = [
        f"{row.what}, {row.month_name}: enough for {formats.number(row.people, 2)} people"
        for row in each(data)
    ]
    span = nice_span([0.0, counted, *(float(x) for x in data["people"])])
    low = data.iloc[int(data["people"].to_numpy().argmin())]
    words = f"{formats.number(counted, 2)} counted"
    under = counted > LOW * float(data["people"].max())

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        axis = ("people", "People", span, HEIGHT)
        lines = month_lines(data, parts, names, axis, narrow=narrow)
        end = alt.value("width" if narrow else alt.ExprRef(f"width - {room_for(parts):g}"))
        marks = _counted(counted, words, end, under=under)
        return alt.layer(marks[0], *lines, *marks[1:]).properties(height=HEIGHT)

    month = formats.month_in_sentence(int(low["month"]))
    finding = title or (
        f"{low['what']} of {month} would feed {formats.number(low['people'], 2)}, the fewest"
    )
    told = "; ".join(
        f"{part}: "
        + ", ".join(
            f"{row['month_name']} {formats.number(row['people'], 2)}"
            for _, row in data[data["what"] == part].iterrows()
        )
        for part in parts
    )
    by = f" by {ration}" if ration else ""
    alt_text = f"Lines of the people each part would feed{by}, month by month. {told}."
    return Picture(finding, alt_text, draw, formats.language)


def _counted(counted: float, words: str, end: Any, *, under: bool) -> list[alt.Chart]:  # noqa: ANN401
    """Return the dashed line at the people counted, and its words under or over it."""
    base = alt.Chart(pd.DataFrame({"counted": [counted], "words": [words]}))
    line = base.mark_rule(color=theme.INK, strokeDash=[5, 4], aria=False)
    text = base.mark_text(
        align="left",
        baseline="top" if under else "bottom",
        dx=4,
        dy=4 if under else -4,
        aria=False,
    ).encode(x=alt.value(0), y="counted:Q", text="words:N")
    return [line.encode(x=alt.value(0), x2=end, y="counted:Q"), *haloed(text)]


def cover_by_month(frame: pd.DataFrame, formats: Formats, who: str, title: str = "") -> Picture:
    """Return the share of each requirement covered by calendar month, as shaded cells with figures.

    Parameters
    ----------
    frame : DataFrame with columns what, month, share
        Nutrient, calendar month from 1, covered share of the requirement. [1]
    formats : Formats
        The document's formatters.
    who : str
        Whose requirement it is, in words.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "what month share")
    data, names = months(frame, formats)
    data["what"] = [str(what)[:1].upper() + str(what)[1:] for what in data["what"]]
    order = list(dict.fromkeys(data["what"]))
    data["shade"] = data["share"].clip(upper=1.0)
    data["told"] = [
        f"{row.what}, {row.month_name}: {formats.share(row.share)} of the need covered"
        for row in each(data)
    ]
    data["percent"] = [f"{100 * x:.0f}" for x in data["share"]]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        cells = alt.Chart(data).encode(
            x=month_axis(names, narrow=narrow),
            y=alt.Y(
                "what:N",
                sort=order,
                title=None,
                axis=alt.Axis(labelColor=theme.INK, labelPadding=4),
            ),
        )
        shade = alt.Scale(domain=[0, 1], range=[theme.PAPER, theme.SHADE], interpolate="rgb")
        boxes = cells.mark_rect(stroke=theme.LINE, strokeWidth=1).encode(
            color=alt.Color("shade:Q", scale=shade, legend=None), description=TOLD
        )
        words = cells.mark_text(fontSize=9 if narrow else 11.5, aria=False).encode(text="percent:N")
        return alt.layer(boxes, words).properties(height=24 * len(order))

    least = data.iloc[int(data["share"].to_numpy().argmin())]
    finding = title or (
        f"Of {who}'s needs, {lowered(least['what'])} is covered least: "
        f"{formats.share(least['share'])} in {names[int(least['month']) - 1]}"
    )
    told = "; ".join(
        f"{what} {formats.span(part['share'].min(), part['share'].max(), formats.share)}"
        for what, part in data.groupby("what", sort=False)
    )
    alt_text = f"Cells of the per cent of {who}'s daily requirements covered, by month: {told}."
    return Picture(finding, alt_text, draw, formats.language)
