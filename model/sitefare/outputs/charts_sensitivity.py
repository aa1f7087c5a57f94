"""How an answer moves: bars of groups, its run along one assumption, its field over two."""

import math
from typing import Any

import altair as alt
import numpy as np
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    each,
    haloed,
    lowered,
    name_axis,
    names_above,
    records,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture
from sitefare.questions.curves import Curve, Piece, Surface

#: Shades of a field, low to high. [sRGB]
SHADES = [theme.PALETTE["ochre"], "#f3e2c2", "#e8eef2", theme.PALETTE["deep"]]


def _axis(quantity: str, word: str, unit: str) -> str:
    """Name an axis with its unit."""
    inside = " ".join(part for part in (word, unit) if part)
    return f"{quantity} [{inside}]" if inside else quantity


def group_bars(
    frame: pd.DataFrame, base: float, formats: Formats, *, quantity: str, unit: str = ""
) -> Picture:
    """Return P10 to P90 of an answer when the assumptions of one group alone are drawn.

    Parameters
    ----------
    frame : DataFrame with columns name, low, high
        One row a group, widest first. [unit of the answer]
    base : float
        The answer with every input at its middle. [unit of the answer]
    """
    require(frame, "name low high", once="name")
    kept = frame[np.isfinite(frame["low"]) & np.isfinite(frame["high"])].reset_index(drop=True)
    if kept.empty or not math.isfinite(base):
        msg = f"bars of groups need an answer of {quantity} at base and at the ends"
        raise RunError(msg)
    divisor, word = scale_of([*kept["low"], *kept["high"], base])

    def show(x: float) -> str:
        return formats.number(x, unit=unit) if unit else formats.money(x)

    data = pd.DataFrame(
        {
            "name": [wrapped(str(name), 32) for name in kept["name"]],
            "low": kept["low"] / divisor,
            "high": kept["high"] / divisor,
        }
    )
    data["first"] = [formats.number(x) for x in data["low"]]
    data["last"] = [formats.number(x) for x in data["high"]]
    data["told"] = [
        f"{name}: 8 in 10 draws {formats.span(low, high, show)}"
        for name, low, high in zip(kept["name"], kept["low"], kept["high"], strict=True)
    ]
    title = _axis(quantity, word, unit or formats.currency)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _groups(data, base / divisor, title, narrow=narrow)

    first = max(records(kept), key=lambda bar: bar["high"] - bar["low"])
    most = formats.span(first["low"], first["high"], show)
    finding = f"{quantity} moves most with {lowered(str(first['name']))}: {most}"
    bars = "; ".join(
        f"{bar['name']}: {formats.span(bar['low'], bar['high'], show)}" for bar in records(kept)
    )
    words = f"{finding}. P10 to P90 when one group alone is drawn; base {show(base)}. {bars}."
    return Picture(finding, words, draw, formats.language)


def _groups(data: pd.DataFrame, base: float, title: str, *, narrow: bool) -> Chart:
    """Draw bars of groups with figures at their ends and a line at the base case."""
    order = list(data["name"])
    ends = [float(x) for x in (*data["low"], *data["high"], base)]
    room = (0.26 if narrow else 0.16) * (max(ends) - min(ends)) or 1.0
    x = alt.X(
        "low:Q",
        title=title,
        scale=alt.Scale(domain=[min(ends) - room, max(ends) + room], nice=False),
        axis=alt.Axis(format=",~r", tickCount=4 if narrow else 6, grid=True),
    )
    y = name_axis(order, narrow=narrow)
    # A bar without width keeps a hairline of its own.
    sky = theme.PALETTE["sky"]
    bars = alt.Chart(data).mark_bar(color=sky, stroke=sky, strokeWidth=1.5)
    text: dict[str, Any] = {"fontSize": 11, "color": theme.MUTED, "aria": False}
    lows = alt.Chart(data[["name", "low", "first"]]).mark_text(align="right", dx=-5, **text)
    highs = alt.Chart(data[["name", "high", "last"]]).mark_text(align="left", dx=5, **text)
    rule = alt.Chart(pd.DataFrame({"base": [base]}))
    layers = [
        bars.encode(y=y, x=x, x2="high:Q", description=TOLD),
        rule.mark_rule(color=theme.INK, strokeWidth=1.2, aria=False).encode(x="base:Q"),
        *haloed(lows.encode(y=y, x=x, text="first:N")),
        *haloed(highs.encode(y=y, x="high:Q", text="last:N")),
    ]
    layers += names_above(data, order) if narrow else []
    return alt.layer(*layers).properties(height=row_step(len(order), narrow=narrow))


def run(
    found: Curve,
    formats: Formats,
    *,
    name: str,
    quantity: str,
    units: tuple[str, str],
    target: float | None = None,
) -> Picture:
    """Return an answer along one assumption, its base marked, and a target if there is one.

    Parameters
    ----------
    name, quantity : str
        The assumption and the answer in words.
    units : (str, str)
        Units of both.
    """
    known = np.isfinite(found.answers)
    if not known.any():
        msg = f"{quantity} has no answer along {name}"
        raise RunError(msg)
    divisor, word = scale_of(found.answers[known])
    data = pd.DataFrame({"x": found.points[known], "y": found.answers[known] / divisor})
    marks = pd.DataFrame({"x": [found.row.base], "y": [found.base / divisor]})
    data["told"] = [
        f"{formats.number(x, unit=units[0])}: {formats.number(y * divisor, unit=units[1])}"
        for x, y in zip(data["x"], data["y"], strict=True)
    ]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        x = alt.X("x:Q", title=_axis(name, "", units[0]), scale=alt.Scale(zero=False))
        y = alt.Y(
            "y:Q",
            title=_axis(quantity, word, units[1]),
            scale=alt.Scale(zero=False),
            axis=alt.Axis(
                titleAngle=0, titleAlign="left", titleAnchor="end", titleY=-14, grid=True
            ),
        )
        layers = _along(data, marks, x, y)
        if target is not None:
            rule = alt.Chart(pd.DataFrame({"y": [target / divisor]}))
            dashed = rule.mark_rule(color=theme.PALETTE["brick"], strokeDash=[5, 4], aria=False)
            layers.append(dashed.encode(y=y))
        return alt.layer(*layers).properties(height=240 if narrow else 300)

    low, high = data["y"].min() * divisor, data["y"].max() * divisor

    def show(z: float) -> str:
        return formats.number(z, unit=units[1])

    span = formats.span(low, high, show)
    over = formats.span(
        float(data["x"].min()), float(data["x"].max()), lambda z: formats.number(z, unit=units[0])
    )
    finding = f"{quantity} runs over {span} along {lowered(name)}"
    return Picture(
        finding,
        f"{finding}, {over}; {show(found.base)} at base, {formats.number(found.row.base)}.",
        draw,
        formats.language,
    )


def _along(data: pd.DataFrame, marks: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Return a line with its points and the base case's."""
    deep = theme.PALETTE["deep"]
    line = alt.Chart(data).mark_line(color=deep, strokeWidth=2.4, aria=False)
    steps = alt.Chart(data).mark_point(filled=True, size=26, opacity=1, color=deep)
    point = alt.Chart(marks).mark_point(
        filled=True, size=110, opacity=1, color=theme.PALETTE["ochre"], aria=False
    )
    return [
        line.encode(x=x, y=y),
        steps.encode(x=x, y=y, description=TOLD),
        point.encode(x=x, y=y),
    ]


def field(
    found: Surface,
    pieces: tuple[Piece, ...],
    formats: Formats,
    *,
    names: tuple[str, str],
    quantity: str,
    units: tuple[str, str, str],
    target: float,
) -> Picture:
    """Return an answer over two assumptions as shades, with the line where it meets a target.

    Parameters
    ----------
    names, quantity : str
        The two assumptions and the answer in words.
    units : (str, str, str)
        Units of all three.
    """
    known = found.answers[np.isfinite(found.answers)]
    if not known.size:
        msg = f"{quantity} has no answer over {names[0]} and {names[1]}"
        raise RunError(msg)
    divisor, word = scale_of(known)
    (a, a2), (b, b2) = (_cells(x) for x in (found.first_values, found.second_values))
    data = pd.DataFrame(
        {
            "x": np.repeat(a, b.size), "x2": np.repeat(a2, b.size), "y": np.tile(b, a.size),
            "y2": np.tile(b2, a.size), "z": found.answers.ravel() / divisor,
        }
    )  # fmt: skip
    data = data[np.isfinite(data["z"])]
    data = data.assign(
        told=[
            f"{formats.number((c.x + c.x2) / 2, unit=units[0])} and "
            f"{formats.number((c.y + c.y2) / 2, unit=units[1])}: "
            f"{formats.number(c.z * divisor, unit=units[2])}"
            for c in each(data)
        ]
    )
    line = pd.DataFrame(
        [(p[0], p[1], q[0], q[1]) for p, q in pieces[:60]], columns=["x", "y", "x2", "y2"]
    )

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        scale = alt.Scale(zero=False, nice=False)
        x = alt.X("x:Q", title=_axis(names[0], "", units[0]), scale=scale)
        y = alt.Y("y:Q", title=_axis(names[1], "", units[1]), scale=scale)
        shade = alt.Color(
            "z:Q",
            scale=alt.Scale(range=SHADES),
            legend=alt.Legend(title=_axis(quantity, word, units[2])),
        )
        cells = alt.Chart(data).mark_rect()
        layers = [cells.encode(x=x, x2="x2:Q", y=y, y2="y2:Q", color=shade, description=TOLD)]
        if not line.empty:
            drawn = alt.Chart(line).mark_rule(
                color=theme.PALETTE["brick"], strokeWidth=2.4, aria=False
            )
            layers.append(drawn.encode(x=x, x2="x2:Q", y=y, y2="y2:Q"))
        return alt.layer(*layers).properties(height=280 if narrow else 340)

    def show(z: float) -> str:
        return formats.number(z, unit=units[2])

    met = "meets" if pieces else "nowhere meets"
    finding = f"{quantity} {met} {show(target)} between these {names[0]} and {lowered(names[1])}"
    span = formats.span(float(known.min()), float(known.max()), show)
    words = f"{finding}; over the field it runs over {span}, {show(found.base)} at base."
    return Picture(finding, words, draw, formats.language)


def _cells(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the lower and upper edges of cells round values. [same unit]"""
    half = np.diff(x) / 2.0
    edges = np.concatenate([[x[0] - half[0]], x[:-1] + half, [x[-1] + half[-1]]])
    return edges[:-1], edges[1:]
