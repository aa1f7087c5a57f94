"""Charts of what could happen: fans of cash by year."""

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import each, records, require
from sitefare.outputs.labels import (
    TOLD,
    keys_above,
    named_ends,
    nice_span,
    room_for,
    shortened_range,
)
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

WIDE_BAND, HALF_BAND = "8 in 10 draws", "Half of the draws"
MIDDLE, BASE = "Middle of the draws", "Base case"

#: The drawn edges of the bands, and the chart's height. [px]
EDGES, HEIGHT = ("p10", "p25", "p75", "p90"), 280

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
    axis = f"{quantity} [{f'{word} ' if word else ''}{formats.currency}]"
    data["told"] = [
        f"Year {int(row.year)}: middle {formats.money(row.p50)}, 8 in 10 draws "
        f"{formats.span(row.p10, row.p90, formats.money)}, base case {formats.money(row.base)}"
        for row in each(frame)
    ]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _fan(data, axis, narrow=narrow)

    last = frame.sort_values("year").iloc[-1]
    span = formats.span(float(last["p10"]), float(last["p90"]), formats.money)
    year = int(last["year"])
    finding = f"{quantity} ends at {span} in 8 of 10 draws"
    told = (
        f"Fan of {quantity[0].lower()}{quantity[1:]} by project year. In year {year} half of the "
        f"draws lie between {formats.money(float(last['p25']))} and "
        f"{formats.money(float(last['p75']))}, the middle is {formats.money(float(last['p50']))} "
        f"and the base case {formats.money(float(last['base']))}; 8 in 10 lie in {span}."
    )
    return Picture(title or finding, told, draw, formats.language)


def _fan(data: pd.DataFrame, axis: str, *, narrow: bool) -> Chart:
    names = [WIDE_BAND, HALF_BAND, MIDDLE, BASE]
    colours = dict(
        zip(names, [theme.BAND, INNER, theme.PALETTE["brick"], theme.PALETTE["deep"]], strict=True)
    )
    span = nice_span([float(x) for end in (*EDGES, "p50", "base") for x in data[end]])
    x = alt.X(
        "year:Q",
        title="Project year",
        axis=alt.Axis(format="d", tickMinStep=1, tickCount=6 if narrow else 15),
        scale=alt.Scale(nice=False),
    )
    if not narrow:
        x["scale"] = alt.Scale(nice=False, range=shortened_range(room_for(names)))
    y_axis = alt.Axis(format=",~r", tickCount=6)
    y_scale = alt.Scale(domain=list(span), nice=False)
    # Every layer shares one set of rows, so that a long life can be drawn.
    base = alt.Chart(data).encode(x=x)

    def band(name: str, low: str, high: str) -> alt.Chart:
        y = alt.Y(f"{low}:Q", title=axis, axis=y_axis, scale=y_scale)
        mark = base.mark_area(opacity=1, color=colours[name], aria=False)
        made: alt.Chart = mark.encode(y=y, y2=f"{high}:Q")
        return made

    zero = (
        alt.Chart(pd.DataFrame({"zero": [0.0]}))
        .mark_rule(color=theme.INK, strokeWidth=1, aria=False)
        .encode(y="zero:Q")
    )
    ochre = theme.PALETTE["ochre"]
    edges = [
        base.mark_line(color=ochre, strokeWidth=1, aria=False).encode(y=f"{end}:Q") for end in EDGES
    ]
    middle = base.mark_line(color=colours[MIDDLE], strokeWidth=2.5, aria=False)
    points = base.mark_point(color=colours[MIDDLE], size=28, filled=True, opacity=1)
    planned = base.mark_line(color=colours[BASE], strokeWidth=2, strokeDash=[6, 4], aria=False)
    layers = [
        band(WIDE_BAND, "p10", "p90"),
        band(HALF_BAND, "p25", "p75"),
        *edges,
        zero,
        middle.encode(y="p50:Q"),
        points.encode(y="p50:Q", description=TOLD),
        planned.encode(y="base:Q"),
    ]
    if narrow:
        layers.append(keys_above(names, list(colours.values())))
    if not narrow:
        last = max(records(data), key=lambda row: float(row["year"]))
        ends = [float(last[end]) for end in ("p10", "p25", "p50", "base")]
        layers += named_ends(names, ends, list(colours.values()), span, HEIGHT)
    chart: Chart = alt.layer(*layers).properties(height=HEIGHT)
    return chart
