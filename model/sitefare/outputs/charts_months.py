"""Charts of water and electricity through the calendar year, stacked by use or by source."""

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    grouped,
    legend,
    lowered,
    month_axis,
    months,
    ordered,
    require,
)
from sitefare.outputs.labels import (
    TOLD,
    colours_of,
    named_ends,
    nice_span,
    room_for,
    series_scale,
    shortened_range,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Height of the stacks. [px]
HEIGHT = 260

#: How far the fullest month lies over the leanest before it is told. [1]
UNEVEN = 1.15

#: Share from which a part is nearly all. [1]
NEARLY = 0.99

#: What is gathered of the smallest series.
OTHER = "Other"


def water(frame: pd.DataFrame, formats: Formats, title: str = "", by: str = "use") -> Picture:
    """Return monthly water stacked by use or source.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, amount
        Water of each calendar month. [m3/month]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    by : str
        What the series are: 'use' or 'source'.
    """
    return _stack(frame, formats, title, ("water", "m³", by))


def energy(frame: pd.DataFrame, formats: Formats, title: str = "", by: str = "use") -> Picture:
    """Return monthly electricity stacked by use or source.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, amount
        Electricity of each calendar month. [kWh/month]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    by : str
        What the series are: 'use' or 'source'.
    """
    return _stack(frame, formats, title, ("electricity", "kWh", by))


def _stack(
    frame: pd.DataFrame, formats: Formats, title: str, what: tuple[str, str, str]
) -> Picture:
    """Return stacked bars; `what` holds what is stacked, its unit and what the series are."""
    require(frame, "month what amount")
    noun, unit, by = what
    finding, extremes = month_words(frame, formats, noun, unit, by)
    data, order = months(grouped(frame, "amount", OTHER), formats)
    names = [n for n in ordered(data, "amount") if n != OTHER]
    names += [OTHER] if OTHER in set(data["what"]) else []
    data = data.assign(
        rank=[names.index(name) for name in data["what"]],
        told=[
            f"{name}, {month}: {formats.number(x, unit=unit)}"
            for name, month, x in zip(data["what"], data["month_name"], data["amount"], strict=True)
        ],
    )
    axis = f"{noun.capitalize()} [{unit}/month]"

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _stacked(data, order, names, axis, narrow=narrow)

    year = "; ".join(
        f"{name} {formats.number(data.loc[data['what'] == name, 'amount'].sum(), unit=unit)}"
        for name in names
    )
    alt_text = f"Stacked bars of {noun} by {by} and month. {finding}. {extremes} In a year: {year}."
    return Picture(title or finding, alt_text, draw, formats.language)


def _stacked(
    data: pd.DataFrame, order: list[str], names: list[str], axis: str, *, narrow: bool
) -> Chart:
    sums = data.groupby("month")["amount"].sum()
    span = nice_span([float(x) for x in sums])
    x = month_axis(order, narrow=narrow)
    if not narrow:
        x["scale"] = alt.Scale(range=shortened_range(room_for(names)), paddingInner=0.12)
    color = alt.Color(
        "what:N",
        scale=series_scale(names),
        legend=legend(narrow=True) if narrow else None,
    )
    y = alt.Y(
        "amount:Q",
        title=axis,
        scale=alt.Scale(domain=list(span), nice=False),
        axis=alt.Axis(tickCount=5, format=",~r"),
    )
    bars = (
        alt.Chart(data)
        .mark_bar(stroke=theme.PAPER, strokeWidth=0.8)
        .encode(x=x, y=y, color=color, order=alt.Order("rank:Q"), description=TOLD)
    )
    layers = [bars]
    if not narrow:
        last = data[data["month"] == data["month"].max()].set_index("what")["amount"]
        tops = pd.Series([float(last.get(name, 0.0)) for name in names]).cumsum()
        halves = [float(last.get(name, 0.0)) / 2.0 for name in names]
        ends = [top - half for top, half in zip(tops, halves, strict=True)]
        layers += named_ends(names, ends, colours_of(names), span, HEIGHT)
    return alt.layer(*layers).properties(height=HEIGHT)


def month_words(
    frame: pd.DataFrame, formats: Formats, noun: str, unit: str, by: str
) -> tuple[str, str]:
    """Return the finding of a year by month, and its fullest and leanest month in a sentence."""
    sums = frame.groupby("month")["amount"].sum()
    totals = frame.groupby("what")["amount"].sum()
    year = float(totals.sum())
    if year <= 0.0:
        return f"No {noun} in any month", "Every month is zero."
    first, most_of = str(totals.idxmax()), float(totals.max())
    part = _part(most_of / year, formats)
    whole = f"{formats.number(year, unit=unit)} of {noun} a year"
    lead = f"{part} of {whole} {'goes to' if by == 'use' else 'comes from'} {lowered(first)}"
    high, low = int(str(sums.idxmax())), int(str(sums.idxmin()))
    most, least = float(sums.max()), float(sums.min())
    names = (formats.month_in_sentence(high), formats.month_in_sentence(low))
    extremes = (
        f"The most is {formats.number(most, unit=unit)} in {names[0]}, the least "
        f"{formats.number(least, unit=unit)} in {names[1]}."
    )
    if least <= 0.0:
        return f"{lead}; most in {names[0]}, none in {names[1]}", extremes
    if most < UNEVEN * least:
        return f"{lead}; every month takes much the same", extremes
    times = formats.number(most / least, 2)
    return f"{lead}; {names[0]} takes {times} times {names[1]}", extremes


def _part(share: float, formats: Formats) -> str:
    """Write a share of a whole; one that only rounds to all is nearly all. [1]"""
    if share >= 1.0 - 1e-9:
        return "All"
    return "Nearly all" if share > NEARLY else formats.share(share)
