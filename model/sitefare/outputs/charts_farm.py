"""Charts of what the farm does through the calendar year."""

from collections.abc import Callable

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import grouped, legend, month_axis, months, ordered, require
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture


def harvest(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return the monthly harvest stacked by crop and fish.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, kg
        Mean marketable harvest of each calendar month. [kg/month]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what kg")
    data = frame.rename(columns={"kg": "amount"})
    total = formats.number(data["amount"].sum(), unit="kg")
    peak, trough = _extremes(data, formats, "kg")
    finding = title or f"About {total} a year, from {trough} to {peak}"
    return _stack(data, formats, finding, "Harvest [kg/month]", "kg")


def water(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return monthly water stacked by use or source.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, amount
        Water of each calendar month. [m3/month]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what amount")
    peak, trough = _extremes(frame, formats, "m³")
    finding = title or f"Water runs from {trough} to {peak}"
    return _stack(frame, formats, finding, "Water [m³/month]", "m³")


def energy(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return monthly electricity stacked by purpose or source.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, amount
        Electricity of each calendar month. [kWh/month]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what amount")
    totals = frame.groupby("what")["amount"].sum().sort_values(ascending=False)
    part = formats.share(totals.iloc[0] / totals.sum()) if totals.sum() else "–"
    year = formats.number(totals.sum(), unit="kWh")
    finding = title or f"{totals.index[0]}: {part} of {year} a year, the most of any use"
    return _stack(frame, formats, finding, "Electricity [kWh/month]", "kWh")


def temperatures(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return indoor, outdoor and water temperature by month, with bands where given.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, celsius and, if known, low, high
        Monthly means, and the band to shade. [degC]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what celsius")
    names = list(dict.fromkeys(frame["what"].astype(str)))
    ends = frame.groupby("what")["celsius"].agg(["min", "max"])
    parts = [
        f"{name} {formats.span(ends['min'][name], ends['max'][name], _degrees(formats))}"
        for name in names
    ]
    finding = title or f"{parts[-1]} through the year"
    data, order = months(frame, formats)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        x = month_axis(order, narrow=narrow)
        color = alt.Color("what:N", scale=theme.series(names), legend=legend(narrow=narrow))
        y = alt.Y("celsius:Q", title="Temperature [°C]", scale=alt.Scale(zero=False))
        lines = (
            alt.Chart(data)
            .mark_line(strokeWidth=2.5, point=alt.OverlayMarkDef(size=34))
            .encode(
                x=x, y=y, color=color, strokeDash=alt.StrokeDash("what:N", sort=names, legend=None)
            )
        )
        if "low" not in data:
            return alt.layer(lines).properties(height=260)
        band = (
            alt.Chart(data.dropna(subset=["low", "high"]))
            .mark_area(opacity=0.14)
            .encode(x=x, y=alt.Y("low:Q"), y2="high:Q", color=color)
        )
        return alt.layer(band, lines).properties(height=260)

    alt_text = f"Lines of monthly mean temperature. {'; '.join(parts)}."
    return Picture(finding, alt_text, draw, formats.language)


def _stack(data: pd.DataFrame, formats: Formats, finding: str, axis: str, unit: str) -> Picture:
    if not data["amount"].any():
        finding = f"Nothing in any month: {axis[:1].lower()}{axis[1:]}"
    data, order = months(grouped(data, "amount"), formats)
    names = ordered(data, "amount")
    data = data.assign(rank=[names.index(what) for what in data["what"]])

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        color = alt.Color("what:N", scale=theme.series(names), legend=legend(narrow=narrow))
        bars: alt.Chart = (
            alt.Chart(data)
            .mark_bar(stroke=theme.PAPER, strokeWidth=0.8)
            .encode(
                x=month_axis(order, narrow=narrow),
                y=alt.Y("amount:Q", title=axis, axis=alt.Axis(tickCount=5, format=",~r")),
                color=color,
                order=alt.Order("rank:Q"),
            )
            .properties(height=260)
        )
        return bars

    peak, trough = _extremes(data, formats, unit)
    year = ", ".join(
        f"{name} {formats.number(data.loc[data['what'] == name, 'amount'].sum(), unit=unit)}"
        for name in names
    )
    alt_text = f"Stacked bars by month, from {trough} to {peak}. In a year: {year}."
    return Picture(finding, alt_text, draw, formats.language)


def _extremes(data: pd.DataFrame, formats: Formats, unit: str) -> tuple[str, str]:
    """Return the largest and the smallest month in words."""
    sums = data.groupby("month")["amount"].sum()
    by_month = {int(str(month)): float(amount) for month, amount in sums.items()}

    def said(month: int) -> str:
        return f"{formats.number(by_month[month], unit=unit)} in {formats.month_name(month)}"

    return said(max(by_month, key=lambda m: by_month[m])), said(
        min(by_month, key=lambda m: by_month[m])
    )


def _degrees(formats: Formats) -> Callable[[float], str]:
    return lambda x: formats.decimal(x, 0, "°C")
