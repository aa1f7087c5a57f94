"""The chart of other routes: what a person-day of the same food costs by each of them."""

import math

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    each,
    haloed,
    legend,
    lowered,
    name_axis,
    names_above,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Who brings the food, as the legend says it.
FARM, OTHER = "the farm", "another way"

#: Ratio of costs below which one is not told as dearer. [1]
SAME = 1.05


def routes(frame: pd.DataFrame, formats: Formats, ration: str = "", title: str = "") -> Picture:
    """Return the cost of a person-day by route on a logarithmic axis, with 8-in-10 ranges.

    Parameters
    ----------
    frame : DataFrame with columns route, value, low, high, farm
        Cost with its P10 and P90, none where there are no draws; `farm` is true for the farm's
        own rows. The first of them is the farm that the finding speaks of.
        [money/person/day]
    formats : Formats
        The document's formatters.
    ration : str
        The ration that every route brings.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "route value low high farm", once="route")
    data = frame[frame["value"].map(lambda x: math.isfinite(x) and x > 0)]
    data = data.sort_values("value", ascending=False, kind="stable").reset_index(drop=True)
    require(data, "route value low high farm")
    for end in ("low", "high"):
        known = [_known(x) for x in data[end]]
        data[end] = [
            x if ok else v for x, ok, v in zip(data[end], known, data["value"], strict=True)
        ]
    data["who"] = [FARM if x else OTHER for x in data["farm"]]
    data["words"] = [formats.amount(x) for x in data["value"]]
    data["told"] = [
        f"{row.route}: {formats.money(row.value)} a person-day, 8 in 10 draws "
        f"{formats.span(row.low, row.high, formats.amount)}"
        for row in each(data)
    ]
    data["name"] = [wrapped(str(route), 28) for route in data["route"]]
    ticks = one_two_five(float(data["low"].min()), float(data["high"].max()))
    unit = f"{formats.currency} a person-day"
    axis = f"Cost [{unit}, logarithmic]"

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _routes(data, axis, ticks, narrow=narrow)

    parts = "; ".join(
        f"{row['route']} {row['words']} "
        f"({formats.span(row['low'], row['high'], formats.amount) or 'no range'})"
        for _, row in data.iterrows()
    )
    counted = f" of {lowered(ration)}" if ration else ""
    told = f"Dots with 8-in-10 ranges of the cost{counted} in {unit}: {parts}."
    return Picture(title or finding(frame, formats), told, draw, formats.language)


def _known(x: float | None) -> bool:
    """Tell whether an end of a range can be drawn."""
    return x is not None and math.isfinite(x) and x > 0


def finding(frame: pd.DataFrame, formats: Formats) -> str:
    """Say how the farm's cost stands to that of the other routes."""
    farms = [bool(x) for x in frame["farm"]]
    values = [float(x) for x in frame["value"]]
    farm = next(x for x, own in zip(values, farms, strict=True) if own)
    others = [x for x, own in zip(values, farms, strict=True) if not own and math.isfinite(x)]
    if not math.isfinite(farm):
        return "The farm feeds nobody by this ration; other ways can"
    if not others:
        return "No other way is known to bring the same food"
    times = sorted(farm / x for x in others)
    if times[0] >= SAME:
        span = formats.span(times[0], times[-1], lambda x: formats.number(x, 2))
        return f"The farm costs {span} times what other ways to the same food cost"
    dearer = sum(x < 1.0 for x in times)
    if dearer == len(times):
        return "The farm costs less than every other way to the same food"
    if not dearer:
        return "The farm costs about what the dearest other way to the same food costs"
    return f"The farm costs less than {dearer} of {len(times)} other ways to the same food"


def one_two_five(low: float, high: float) -> list[float]:
    """Return the round numbers 1, 2, 5, 10 … that hold a range of positive numbers. [same unit]"""
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    steps = [m * 10.0**e for e in range(first, last + 1) for m in (1.0, 2.0, 5.0)]
    below = [x for x in steps if x <= low]
    above = [x for x in steps if x >= high]
    return [x for x in steps if max(below) <= x <= min(above)]


def _routes(data: pd.DataFrame, axis: str, ticks: list[float], *, narrow: bool) -> Chart:
    order = list(data["name"])
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
    scale = alt.Scale(type="log", domain=[ticks[0], ticks[-1]], nice=False)
    shown = ticks if len(ticks) < 8 or not narrow else ticks[::2]  # noqa: PLR2004
    x = alt.X(
        "value:Q", title=axis, scale=scale, axis=alt.Axis(values=shown, grid=True, format=",~r")
    )
    drawn = [who for who in (FARM, OTHER) if who in set(data["who"])]
    looks = {FARM: theme.PALETTE["brick"], OTHER: theme.PALETTE["deep"]}
    colour = alt.Scale(domain=drawn, range=[looks[who] for who in drawn])
    who = alt.Color("who:N", scale=colour, legend=legend(narrow=narrow, offset=26))
    lines = rows.mark_rule(strokeWidth=3, opacity=0.45, aria=False).encode(
        x=alt.X("low:Q", scale=scale), x2="high:Q", color=who
    )
    dots = rows.mark_circle(size=130, opacity=1).encode(x=x, color=who, description=TOLD)
    words = rows.mark_text(dy=17 if narrow else -14, aria=False).encode(x=x, text="words:N")
    layers = [lines, dots, *haloed(words), *(names_above(data, order) if narrow else [])]
    # On a telephone the figure stands under its dot: a row needs room for it.
    room = 12 + (8 * len(data) if narrow else 0)
    return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow) + room)
