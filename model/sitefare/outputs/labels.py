"""Words beside marks: names at the ends of lines and stacks, and what each mark tells of itself.

A mark that stands for data carries a sentence in the column `told`; Vega writes it as the mark's
aria-label, and the page shows it where the pointer or the keyboard rests.
"""

import math
from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import haloed

#: Height that one line of words takes, and the width of a letter, on average. [px]
LINE, LETTER = 16.0, 7.0

#: Steps of an axis at most, and the part of a step that a mark may lie beyond its end. [1]
STEPS, OVER = 7.0, 0.04

#: Marks smaller than this carry no words beside them; they keep their sentence. [1]
FINE = 1e-9

#: The palette in the order in which series stand on or under one another.
STACKED = ("deep", "sky", "brick", "ochre", "plum", "sage", "mist")

#: What a mark tells of itself.
TOLD = alt.Description("told:N")


def nice_span(values: Sequence[float], *, zero: bool = True) -> tuple[float, float]:
    """Return whole steps of 1, 2 or 5 times a power of ten around values. [same unit]"""
    known = [x for x in values if math.isfinite(x)] or [0.0]
    low, high = min(known), max(known)
    if zero:
        low, high = min(low, 0.0), max(high, 0.0)
    if high - low <= FINE * max(abs(low), abs(high)):
        half = max(abs(low) * 0.1, 0.5)
        low, high = (0.0, 2 * half) if zero and low == 0.0 else (low - half, high + half)
    step = _step((high - low) / STEPS)
    return math.floor(low / step + OVER) * step, math.ceil(high / step - OVER) * step


def _step(rough: float) -> float:
    """Return the least of 1, 2 or 5 times a power of ten that is not under a size. [same unit]"""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(n * power for n in (1, 2, 5, 10) if n * power >= rough * (1.0 - FINE))


def ticks_of(span: tuple[float, float]) -> list[float]:
    """Return whole steps between the ends of an axis. [same unit]"""
    step = _step((span[1] - span[0]) / STEPS)
    first, last = (round(end / step) for end in span)
    return [step * n for n in range(first, last + 1)]


def apart(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places near those wanted, a gap apart, in their order, within the ends where they fit.

    Parameters
    ----------
    wanted : sequence of float
        Where each would stand alone. [same unit]
    gap, low, high : float
        The least distance between two, and the ends. [same unit]
    """
    order = sorted(range(len(wanted)), key=lambda n: (wanted[n], n))
    places = [0.0] * len(wanted)
    floor = low
    for n in order:
        places[n] = max(wanted[n], floor)
        floor = places[n] + gap
    roof = high
    for n in reversed(order):
        places[n] = min(places[n], roof)
        roof = places[n] - gap
    return places


def room_for(names: Sequence[str]) -> float:
    """Return the width that the longest of some names takes beside a chart, with its key. [px]"""
    return LETTER * max(len(str(name)) for name in names) + 26.0


def shortened_range(room: float) -> list[Any]:
    """Return the range of an x scale that leaves room at the right. [px]"""
    return [0, alt.ExprRef(f"width - {room:g}")]


def at_right(room: float, shift: float = 0.0) -> Any:  # noqa: ANN401
    """Return the place of words in the room at the right. [px]"""
    return alt.value(alt.ExprRef(f"width - {room - shift:g}"))


def named_ends(
    names: Sequence[str],
    wanted: Sequence[float],
    colours: Sequence[str],
    span: tuple[float, float],
    height: float,
) -> list[alt.Chart]:
    """Return a key and a name at the right of a chart for each series, where its mark ends.

    Parameters
    ----------
    names, colours : sequences of str
        The series and their colours.
    wanted : sequence of float
        Where each series ends. [unit of the y axis]
    span : (float, float)
        The y axis's ends. [same unit]
    height : float
        The chart's height. [px]
    """
    gap = LINE * (span[1] - span[0]) / height
    places = apart(wanted, gap, span[0] + 0.3 * gap, span[1] - 0.3 * gap)
    rows = pd.DataFrame({"label": list(names), "place": places})
    room = room_for(names)
    base = alt.Chart(rows)
    y = alt.Y("place:Q")
    scale = alt.Scale(domain=list(names), range=list(colours))
    keys = base.mark_square(size=100, opacity=1, aria=False).encode(
        x=at_right(room, 12), y=y, fill=alt.Fill("label:N", scale=scale, legend=None)
    )
    words = base.mark_text(align="left", baseline="middle", aria=False).encode(
        x=at_right(room, 22), y=y, text="label:N"
    )
    return [keys, *haloed(words)]


def keys_above(names: Sequence[str], colours: Sequence[str]) -> alt.Chart:
    """Return a layer that draws nothing but the legend of marks with colours of their own."""
    scale = alt.Scale(domain=list(names), range=list(colours))
    made: alt.Chart = (
        alt.Chart(pd.DataFrame({"label": list(names)}))
        .mark_square(size=0, opacity=0, aria=False)
        .encode(color=alt.Color("label:N", scale=scale, legend=alt.Legend(columns=2)))
    )
    return made


def series_scale(names: Sequence[str]) -> alt.Scale:
    """Return the colours of named series, in the palette's order."""
    return alt.Scale(domain=list(names), range=colours_of(names))


def colours_of(names: Sequence[str]) -> list[str]:
    """Return a colour a name; neighbours differ in lightness, so that grey print parts them.

    What is gathered as 'Other' is mist. [sRGB]
    """
    whole = [theme.PALETTE[name] for name in STACKED]
    return [
        theme.PALETTE["mist"] if name == "Other" else whole[n % len(whole)]
        for n, name in enumerate(names)
    ]
