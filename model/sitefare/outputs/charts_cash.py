"""The chart of cash: net cash of each year and what it has come to, with the band of the draws."""

import math

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import records, require
from sitefare.outputs.labels import TOLD, nice_span
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

NET, RUNNING, BAND = "Net cash in the year", "Cumulative cash", "Cumulative, 8 in 10 draws"

#: Height of the chart. [px]
HEIGHT = 280


def cash(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return yearly net cash as bars and cumulative cash as a line with its P10 to P90 band.

    Parameters
    ----------
    frame : DataFrame with columns year, net, cumulative and, if known, low, high
        Project years from 0; money of the formats' currency; low and high are the P10 and P90
        of cumulative cash. [money]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "year net cumulative", once="year")
    amounts = [name for name in ("net", "cumulative", "low", "high") if name in frame]
    divisor, word = scale_of(frame[amounts].to_numpy().ravel())
    data = frame.sort_values("year").reset_index(drop=True)
    data = data.assign(
        net_told=[
            f"Year {int(year)}: net cash {formats.money(net)}"
            for year, net in zip(data["year"], data["net"], strict=True)
        ],
        told=[_running(row, formats) for row in records(data)],
        **{name: data[name] / divisor for name in amounts},
    )
    axis = f"Cash [{f'{word} ' if word else ''}{formats.currency}]"

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _cash(data, axis, narrow=narrow)

    finding, detail = cash_words(frame, formats)
    alt_text = f"Bars of net cash by project year and a line of cumulative cash. {detail}"
    return Picture(title or finding, alt_text, draw, formats.language)


def _running(row: dict[str, float], formats: Formats) -> str:
    """Say what cumulative cash of a year is, with its band."""
    said = f"Year {int(row['year'])}: cumulative cash {formats.money(row['cumulative'])}"
    if {"low", "high"} <= set(row):
        said += f", 8 in 10 draws {formats.span(row['low'], row['high'], formats.money)}"
    return said


def _cash(data: pd.DataFrame, axis: str, *, narrow: bool) -> Chart:
    banded = {"low", "high"} <= set(data)
    names = [NET, RUNNING, *([BAND] if banded else [])]
    colours = [theme.PALETTE["sky"], theme.PALETTE["deep"], theme.BAND]
    scale = alt.Scale(domain=names, range=colours[: len(names)])
    x = alt.X(
        "year:O",
        title="Project year",
        axis=alt.Axis(labelAngle=0, labelOverlap="parity", ticks=False),
        scale=alt.Scale(type="band", paddingInner=0.3, paddingOuter=0.2),
    )
    fields = [name for name in ("net", "cumulative", "low", "high") if name in data]
    span = nice_span([float(value) for name in fields for value in data[name]])
    y_axis = alt.Axis(format=",~r", tickCount=6)
    y = alt.Y("net:Q", title=axis, axis=y_axis, scale=alt.Scale(domain=list(span), nice=False))
    color = alt.Color("series:N", scale=scale, legend=alt.Legend(columns=1 if narrow else 3))

    def layer(name: str) -> alt.Chart:
        return alt.Chart(data.assign(series=name)).encode(x=x, color=color)

    bars = layer(NET).mark_bar().encode(y=y, description=alt.Description("net_told:N"))
    line = layer(RUNNING).mark_line(strokeWidth=2.5, aria=False).encode(y="cumulative:Q")
    points = (
        layer(RUNNING)
        .mark_point(size=30, filled=True, opacity=1)
        .encode(y="cumulative:Q", description=TOLD)
    )
    zero = (
        alt.Chart(pd.DataFrame({"zero": [0.0]}))
        .mark_rule(color=theme.INK, strokeWidth=1, aria=False)
        .encode(y="zero:Q")
    )
    if not banded:
        return alt.layer(bars, zero, line, points).properties(height=HEIGHT)
    area = layer(BAND).mark_area(opacity=1, aria=False).encode(y=alt.Y("low:Q"), y2="high:Q")
    edges = [
        alt.Chart(data)
        .mark_line(color=theme.PALETTE["ochre"], strokeWidth=1, aria=False)
        .encode(x=x, y=f"{end}:Q")
        for end in ("low", "high")
    ]
    return alt.layer(area, bars, *edges, zero, line, points).properties(height=HEIGHT)


def cash_words(frame: pd.DataFrame, formats: Formats) -> tuple[str, str]:
    """Return what cumulative cash shows, and its least and its last in a sentence."""
    years = records(frame.sort_values("year"))
    lowest, last = min(years, key=lambda row: row["cumulative"]), years[-1]
    below = [row["year"] for row in years if row["cumulative"] < 0]
    drawn = {"low", "high"} <= set(last) and all(math.isfinite(last[x]) for x in ("low", "high"))
    if not below:
        finding = "Cumulative cash never falls below zero"
        if drawn and last["low"] < 0:
            finding += "; in the worst 1 in 10 draws it ends below"
    elif below[-1] == last["year"]:
        finding = f"Cash spent is not recovered within {int(last['year'])} years"
        if drawn:
            finding += (
                ", nor in 9 of 10 draws"
                if last["high"] < 0
                else ", though at least 1 in 10 draws recover it"
            )
    else:
        finding = f"Cash spent is recovered in year {int(below[-1]) + 1}"
        if drawn and last["low"] < 0:
            finding += ", but not within the period in the worst 1 in 10 draws"
    detail = (
        f"{finding}. It is lowest at {formats.money(lowest['cumulative'])} in year "
        f"{int(lowest['year'])} and ends at {formats.money(last['cumulative'])} in year "
        f"{int(last['year'])}"
    )
    if drawn:
        ends = formats.span(last["low"], last["high"], formats.money)
        detail += f"; 8 in 10 draws end at {ends}"
    return finding, f"{detail}."
