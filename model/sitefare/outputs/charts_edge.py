"""The chart of two criteria: what a person-day costs against how many people are fed.

An alternative stands on the efficient edge where no other feeds as many people for less; the
edge is drawn as steps. Dots carry the numbers of the table of alternatives; names stand beside
them where there is room.
"""

import math
from typing import Any

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import each, haloed, legend, require, wrapped
from sitefare.outputs.labels import LINE, TOLD, nice_span
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import NARROW, WIDE, Chart, Picture
from sitefare.outputs.placing import SIDES, sides

#: What a dot is, as the legend says it.
EDGE, BEHIND, SHUT = "on the edge", "behind another", "not ranked: a gate is shut"

#: Colours of a dot and of the number in it, by what it is. [sRGB]
LOOKS = {
    EDGE: (theme.PALETTE["deep"], theme.PAPER),
    BEHIND: (theme.SHADE, theme.INK),
    SHUT: (theme.PAPER, theme.INK),
}

#: Height of the drawing by width, what the axis at the left takes. [px]
TALL, TALL_NARROW, LEFT = 400, 420, 62

#: A dot's area [px²] and half its width [px]; and where there are many.
DOT, MANY_DOT = (420.0, 12.0), (270.0, 9.5)

#: Alternatives from which only those on the edge are named, and from which dots are smaller.
MANY = 9

#: Dearest range drawn over the dearest dot; what lies beyond leaves the chart. [1]
BEYOND = 1.5

#: Letters of a name in one line beside a dot.
LETTERS = 24


def edge(frame: pd.DataFrame, formats: Formats, ration: str = "", title: str = "") -> Picture:
    """Return alternatives by people fed and cost, with 8-in-10 ranges and the efficient edge.

    Parameters
    ----------
    frame : DataFrame with columns number, name, people, cost, on_edge, by, gated
        The number in the table; people fed by the headline ration [person]; cost of a person-day
        [money/person/day]; whether it stands on the efficient edge; the name of one that feeds
        as many for less, empty where none does; whether a gate is shut. If known, people_low,
        people_high, cost_low and cost_high: P10 and P90. Rows without a cost are told, not drawn.
    formats : Formats
        The document's formatters.
    ration : str
        The ration people are counted by.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "number name people cost on_edge by gated", once="name")
    known = [math.isfinite(c) and math.isfinite(p) for p, c in zip(frame["people"], frame["cost"],
             strict=True)]  # fmt: skip
    data, none = frame[known].reset_index(drop=True), frame[[not ok for ok in known]]
    require(data, "number name people cost")
    for end in ("people_low", "people_high", "cost_low", "cost_high"):
        own = data[end] if end in data else [None] * len(data)
        middle = data[end.split("_")[0]]
        data[end] = [v if x is None or not math.isfinite(x) else x for x, v in zip(own, middle,
                     strict=True)]  # fmt: skip
    data["what"] = [
        SHUT if gated else EDGE if on else BEHIND
        for gated, on in zip(data["gated"], data["on_edge"], strict=True)
    ]
    data["told"] = [_told(row, formats) for row in each(data)]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _edge(data, formats, narrow=narrow)

    left = "".join(f" Not drawn, as it has no cost: {name}." for name in none["name"])
    by = f", counted by {ration}" if ration else ""
    words = f"Dots of cost per person-day against people fed{by}: {'; '.join(data['told'])}.{left}"
    return Picture(title or finding(data), words, draw, formats.language)


def finding(data: pd.DataFrame) -> str:
    """Say which alternatives no other beats on both criteria."""
    ranked = data[~data["gated"].astype(bool)]
    on = ranked[ranked["on_edge"].astype(bool)].sort_values(["cost", "people"], kind="stable")
    if on.empty:
        return "No alternative with open gates has a cost to be judged by"
    cheap, most = str(on.iloc[0]["name"]), str(on.iloc[-1]["name"])
    if len(ranked) == 1:
        return f"{cheap} alone has open gates and a cost to be judged by"
    if len(on) == 1:
        return f"{cheap}: no other feeds more people, and none feeds them for less"
    ends = f"{cheap} is cheapest, {most} feeds most people"
    if len(on) == len(ranked):
        return f"None is behind another on both cost and people: {ends}"
    return f"{len(on)} of {len(ranked)} are behind no other on both cost and people: {ends}"


def steps(data: pd.DataFrame, least: float, roof: float) -> list[tuple[float, float]]:
    """Return the corners of the efficient edge, fewest people first. [person], [money/person/day]

    Up to the people of a dot, its cost is the least that anybody asks; past the last dot nobody
    feeds more, so the edge goes up to the roof.
    """
    on = data[[bool(e) and not g for e, g in zip(data["on_edge"], data["gated"], strict=True)]]
    found: list[tuple[float, float]] = []
    before = least
    for row in each(on.sort_values(["people", "cost"], kind="stable")):
        found += [(before, float(row.cost)), (float(row.people), float(row.cost))]
        before = float(row.people)
    return [*found, (before, roof)] if found else []


def _told(row: Any, formats: Formats) -> str:  # noqa: ANN401
    """Say where one alternative stands."""
    people = formats.span(row.people_low, row.people_high, formats.number)
    cost = formats.span(row.cost_low, row.cost_high, formats.amount)
    where = f"behind {row.by}" if row.by else row.what
    if row.what == SHUT:
        where = SHUT
    return (
        f"{row.number} {row.name}: {formats.number(row.people)} people ({people}) at "
        f"{formats.money(row.cost)} a person-day ({cost}), {where}"
    )


def _edge(data: pd.DataFrame, formats: Formats, *, narrow: bool) -> Chart:
    """Draw ranges, edge, dots, numbers and the names that find room."""
    wide, tall = (NARROW, TALL_NARROW) if narrow else (WIDE, TALL)
    across = nice_span([*data["people_low"], *data["people_high"], *data["people"]])
    most = float(data["cost"].max()) * BEYOND
    up = nice_span([*data["cost_low"], *(min(x, most) for x in data["cost_high"]), *data["cost"]])
    ticks = 4 if narrow else 6
    x = alt.X(
        "people:Q",
        title="People fed",
        scale=alt.Scale(domain=list(across), nice=False),
        axis=alt.Axis(grid=True, tickCount=ticks, format=",~r"),
    )
    y = alt.Y(
        "cost:Q",
        title=f"Cost [{formats.currency} a person-day]",
        scale=alt.Scale(domain=list(up), nice=False),
        axis=alt.Axis(grid=True, tickCount=ticks, format=",~r"),
    )
    corners = pd.DataFrame(steps(data, across[0], up[1]), columns=["people", "cost"])
    base = alt.Chart(data)
    size, radius = MANY_DOT if len(data) >= MANY else DOT
    thin = base.mark_rule(
        strokeWidth=2, color=theme.PALETTE["mist"], opacity=0.55, aria=False, clip=True
    )
    layers = [
        thin.encode(x=alt.X("people_low:Q"), x2="people_high:Q", y=y),
        thin.encode(x=x, y=alt.Y("cost_low:Q"), y2="cost_high:Q"),
    ]
    if len(corners):
        line = alt.Chart(corners.assign(order=range(len(corners))))
        layers.append(
            line.mark_line(
                color=theme.PALETTE["brick"], strokeWidth=2, strokeDash=[6, 3], aria=False
            ).encode(x=x, y=y, order="order:O")
        )
    shown = [what for what in LOOKS if what in set(data["what"])]
    fill = alt.Fill(
        "what:N",
        scale=alt.Scale(domain=shown, range=[LOOKS[what][0] for what in shown]),
        legend=legend(narrow=narrow),
    )
    numbers = uncovered(data, (across, up), (wide - LEFT, tall), radius)
    drawn = data.assign(number=numbers)[::-1]  # the first of a heap lies on top
    for what in (BEHIND, SHUT, EDGE):
        own = drawn[drawn["what"] == what]
        if own.empty:
            continue
        part = alt.Chart(own)
        dots = part.mark_circle(size=size, opacity=1, stroke=theme.PALETTE["deep"], strokeWidth=1.5)
        text = part.mark_text(
            color=LOOKS[what][1], fontWeight="bold", fontSize=radius + 1, aria=False
        )
        layers.append(dots.encode(x=x, y=y, fill=fill, description=TOLD))
        layers.append(text.encode(x=x, y=y, text="number:N"))
    layers += _names(data, (x, y), (across, up), (wide - LEFT, tall), radius)
    return alt.layer(*layers).properties(height=tall)


def places_of(
    data: pd.DataFrame,
    spans: tuple[tuple[float, float], tuple[float, float]],
    size: tuple[float, float],
) -> list[tuple[float, float]]:
    """Return where dots stand from the left and from the top. [px]"""
    (left, right), (bottom, top) = spans
    return [
        ((p - left) / (right - left) * size[0], (top - c) / (top - bottom) * size[1])
        for p, c in zip(data["people"], data["cost"], strict=True)
    ]


def uncovered(
    data: pd.DataFrame,
    spans: tuple[tuple[float, float], tuple[float, float]],
    size: tuple[float, float],
    radius: float,
) -> list[str]:
    """Return the numbers to write in dots: none where another that matters more covers the dot."""
    where = places_of(data, spans, size)
    first = {EDGE: 0, SHUT: 1, BEHIND: 2}
    order = sorted(range(len(data)), key=lambda n: (first[data["what"][n]], n))
    free: list[int] = []
    for n in order:
        if all(math.dist(where[n], where[m]) > radius * 1.3 for m in free):
            free.append(n)
    return [str(data["number"][n]) if n in free else "" for n in range(len(data))]


def _names(
    data: pd.DataFrame,
    axes: tuple[alt.X, alt.Y],
    spans: tuple[tuple[float, float], tuple[float, float]],
    size: tuple[float, float],
    radius: float,
) -> list[alt.Chart]:
    """Return the layers of names beside dots, those on the edge first, where there is room."""
    where = places_of(data, spans, size)
    names = [wrapped(str(name), LETTERS) for name in data["name"]]
    named = [n for n in range(len(data)) if len(data) < MANY or data["what"][n] == EDGE]
    first = sorted(named, key=lambda n: (data["what"][n] != EDGE, n))
    chosen = sides(where, names, first, size, radius)
    lines = [name.count("\n") for name in names]
    layers: list[alt.Chart] = []
    for side, more in sorted({(chosen[n], lines[n]) for n in range(len(data)) if chosen[n]}):
        rows = [n for n in range(len(data)) if (chosen[n], lines[n]) == (side, more)]
        dx, dy, align, baseline = SIDES[side]
        # Words of several lines hang from their first one.
        lift = {"middle": 0.5, "bottom": 1.0, "top": 0.0}[baseline] * more * LINE
        text = alt.Chart(data.iloc[rows].assign(label=[names[n] for n in rows])).mark_text(
            dx=dx * (radius + 4), dy=dy * (radius + 4) - lift, align=align, baseline=baseline,
            lineBreak="\n", lineHeight=LINE, aria=False,
        )  # fmt: skip
        layers += haloed(text.encode(x=axes[0], y=axes[1], text="label:N"))
    return layers
