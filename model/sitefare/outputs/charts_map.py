"""Where do the places of a screen lie, and where is a figure best?

A plain map in degrees, with no outlines: longitude across, latitude up, so that it needs no data
from outside. Many places are gathered into cells of the map, each with its median place.
"""

import math

import altair as alt
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import NARROW, WIDE, Chart, Picture

#: Most marks drawn; more places are gathered into cells. [1]
MARKS = 150

#: Cells across the map when places are gathered. [1]
CELLS = 12

#: Part of the larger span that is left free around the places. [1]
MARGIN = 0.06


def places_map(
    frame: pd.DataFrame, quantity: str, formats: Formats, *, less_is_better: bool
) -> Picture:
    """Return places on a map, coloured by a figure.

    Parameters
    ----------
    frame : DataFrame with columns place, longitude, latitude, value
        One line a place, the best first; lines without longitude or value are left out. [degree,
        any unit]
    quantity : str
        What is drawn, with its unit.
    formats : Formats
        The document's formatters.
    less_is_better : bool
        Whether dark is little.

    Raises
    ------
    RunError
        If no place has a longitude, a latitude and a value.
    """
    data = frame.dropna(subset=["longitude", "latitude", "value"]).reset_index(drop=True)
    if data.empty:
        msg = "no place has a longitude and a value, so there is nothing to map"
        raise RunError(msg)
    marks = gathered(data) if len(data) > MARKS else data.assign(count=1)
    marks["words"] = [
        f"{place}: {formats.number(value)}" + (f", median of {count} places" if count > 1 else "")
        for place, value, count in zip(marks["place"], marks["value"], marks["count"], strict=True)
    ]
    best, last = data.iloc[0], data.iloc[-1]
    title = f"{best['place']} stands first with {formats.number(best['value'])}"
    alt_text = (
        f"Map of {len(data)} places, {quantity}: first {best['place']} "
        f"({formats.number(best['value'])}), last {last['place']} "
        f"({formats.number(last['value'])}); latitudes {formats.number(data['latitude'].min())} to "
        f"{formats.number(data['latitude'].max())}, longitudes "
        f"{formats.number(data['longitude'].min())} to {formats.number(data['longitude'].max())}."
    )

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _map(marks, quantity, less_is_better=less_is_better, narrow=narrow)

    return Picture(title, alt_text, draw, formats.language)


def gathered(data: pd.DataFrame) -> pd.DataFrame:
    """Gather places into cells; each keeps the name and the figure of its median place."""
    span = max(_span(data["longitude"]), _span(data["latitude"])) or 1.0
    step = span / CELLS
    cell = [
        (math.floor(x / step), math.floor(y / step))
        for x, y in zip(data["longitude"], data["latitude"], strict=True)
    ]
    found = []
    for (across, up), group in data.groupby(pd.Series(cell)):
        middle = group.sort_values(["value", "place"]).iloc[(len(group) - 1) // 2]
        found.append({
            "place": middle["place"],
            "value": middle["value"],
            "longitude": (across + 0.5) * step,
            "latitude": (up + 0.5) * step,
            "count": len(group),
        })  # fmt: skip
    return pd.DataFrame(found)


def _span(values: "pd.Series[float]") -> float:
    return float(values.max() - values.min())


def _map(marks: pd.DataFrame, quantity: str, *, less_is_better: bool, narrow: bool) -> Chart:
    margin = MARGIN * max(_span(marks["longitude"]), _span(marks["latitude"]), 1e-3)

    def ends(name: str) -> alt.Scale:
        low, high = float(marks[name].min()) - margin, float(marks[name].max()) + margin
        return alt.Scale(domain=[low, high], nice=False, zero=False)

    width = NARROW if narrow else WIDE
    middle = math.radians(float(marks["latitude"].mean()))
    tall = (_span(marks["latitude"]) + 2 * margin) / max(math.cos(middle), 0.2)
    wide = _span(marks["longitude"]) + 2 * margin
    colours = [theme.PALETTE["deep"], theme.BAND]
    fill = alt.Scale(range=colours if less_is_better else colours[::-1])
    ticks = alt.Axis(tickCount=5 if narrow else 8, grid=True)
    legend = alt.Legend(orient="bottom", titleLimit=width, gradientLength=width // 2)
    drawn: Chart = (
        alt.Chart(marks)
        .mark_circle(opacity=1, stroke=theme.PALETTE["deep"], strokeWidth=1)
        .encode(
            x=alt.X("longitude:Q", title="Longitude [°]", scale=ends("longitude"), axis=ticks),
            y=alt.Y("latitude:Q", title="Latitude [°]", scale=ends("latitude"), axis=ticks),
            fill=alt.Fill("value:Q", title=quantity, scale=fill, legend=legend),
            size=alt.Size("count:Q", scale=alt.Scale(range=[90, 400]), legend=None),
            description="words:N",
        )
        .properties(
            height=int(min(max(width * tall / wide, 160), 1.4 * width if narrow else 0.8 * width))
        )
    )
    return drawn
