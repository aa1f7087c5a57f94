"""Charts of what could happen: fans of cash by year."""

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import require
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

WIDE_BAND, HALF_BAND = "8 in 10 draws", "Half of the draws"
MIDDLE, BASE = "Middle of the draws", "Base case"

#: The band of half the draws, between the wide band's colour and ochre. [sRGB]
INNER = "#dfb766"


def fan(frame: pd.DataFrame, formats: Formats, quantity: str, title: str = "") -> Picture:
    """Return a fan of money by year: two bands, the middle of the draws and the base case.

    Parameters
    ----------
    frame : DataFrame with columns year, p10, p25, p50, p75, p90, base
        Project years from 0; percentiles of each year and the base case. [money]
    formats : Formats
        The document's formatters.
    quantity : str
        What is drawn, such as 'Cumulative cash'.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "year p10 p25 p50 p75 p90 base", once="year")
    amounts = [name for name in frame if name != "year"]
    divisor, word = scale_of(frame[amounts].to_numpy().ravel())
    data = frame.assign(**{str(name): frame[name] / divisor for name in amounts})
    axis = f"{word.capitalize()} {formats.currency}" if word else formats.currency

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _fan(data, axis, narrow=narrow)

    last = frame.sort_values("year").iloc[-1]
    span = formats.span(float(last["p10"]), float(last["p90"]), formats.money)
    year = int(last["year"])
    finding = f"8 of 10 draws end with {quantity[0].lower()}{quantity[1:]} of {span}"
    told = (
        f"Fan of {quantity[0].lower()}{quantity[1:]} by project year. In year {year} half of the "
        f"draws lie between {formats.money(float(last['p25']))} and "
        f"{formats.money(float(last['p75']))}, the middle is {formats.money(float(last['p50']))} "
        f"and the base case {formats.money(float(last['base']))}; 8 in 10 lie in {span}."
    )
    return Picture(title or finding, told, draw, formats.language)


def _fan(data: pd.DataFrame, axis: str, *, narrow: bool) -> Chart:
    names = [WIDE_BAND, HALF_BAND, MIDDLE, BASE]
    colours = [theme.BAND, INNER, theme.PALETTE["brick"], theme.PALETTE["deep"]]
    scale = alt.Scale(domain=names, range=colours)
    color = alt.Color("series:N", scale=scale, legend=alt.Legend(columns=2 if narrow else 4))
    x = alt.X(
        "year:Q",
        title="Project year",
        axis=alt.Axis(format="d", tickMinStep=1, tickCount=6 if narrow else 15),
        scale=alt.Scale(nice=False),
    )
    y_axis = alt.Axis(format=",~r", tickCount=6)

    def layer(name: str) -> alt.Chart:
        return alt.Chart(data.assign(series=name)).encode(x=x, color=color)

    def band(name: str, low: str, high: str) -> alt.Chart:
        y = alt.Y(f"{low}:Q", title=axis, axis=y_axis)
        made: alt.Chart = layer(name).mark_area(opacity=1).encode(y=y, y2=f"{high}:Q")
        return made

    zero = (
        alt.Chart(pd.DataFrame({"zero": [0.0]}))
        .mark_rule(color=theme.INK, strokeWidth=1)
        .encode(y="zero:Q")
    )
    middle = layer(MIDDLE).mark_line(strokeWidth=2.5).encode(y="p50:Q")
    base = layer(BASE).mark_line(strokeWidth=2, strokeDash=[6, 4]).encode(y="base:Q")
    wide, half = band(WIDE_BAND, "p10", "p90"), band(HALF_BAND, "p25", "p75")
    chart: Chart = alt.layer(wide, half, zero, middle, base).properties(height=280)
    return chart
