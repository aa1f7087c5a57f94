"""The chart of regret: how much worse a choice turns out than the best one would have been."""

import math
from typing import Any

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    each,
    haloed,
    lowered,
    name_axis,
    names_above,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD, keys_above
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: What the bar and the line are, as the legend says it.
KEYS = ("on average", "more than this in 1 draw of 10")

#: Regret under this part of the largest one is told as none. [1]
NONE = 1e-9


def regrets(
    frame: pd.DataFrame,
    quantity: str,
    unit: str,
    formats: Formats,
    gap: str = "worse than",
    title: str = "",
) -> Picture:
    """Return mean regret as bars, with a line to the regret that 1 draw in 10 exceeds.

    Parameters
    ----------
    frame : DataFrame with columns name, mean, high, none, in the order to draw
        Mean regret over the draws with an answer, and P90 over all, inf where it has no end
        [unit]; share of draws in which only others have an answer [1]. Rows without a number are
        told, not drawn.
    quantity, unit : str
        What is regretted and its unit.
    formats : Formats
        The document's formatters.
    gap : str
        How a difference is said: 'worse than', or 'short of' where more is better.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "name mean high none", once="name")
    known = [math.isfinite(x) for x in frame["mean"]]
    data, none = frame[known].reset_index(drop=True), frame[[not ok for ok in known]]
    require(data, "name mean high")
    lacking = int((frame["none"] > 0.0).sum())
    data["end"] = [h if math.isfinite(h) else m for m, h in zip(data["mean"], data["high"],
                   strict=True)]  # fmt: skip
    # A mean that rare bad draws lift may lie beyond what 1 draw in 10 exceeds.
    data["beside"] = data[["mean", "end"]].max(axis=1)
    data["words"] = [
        f"{formats.number(m, 2)}; {formats.number(h, 2) if math.isfinite(h) else 'no end'}"
        for m, h in zip(data["mean"], data["high"], strict=True)
    ]
    data["told"] = [_told(row, f"{unit} {gap}", formats) for row in each(data)]
    data["bar"] = [wrapped(str(name), 28) for name in data["name"]]
    order = list(data["bar"])

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _regrets(data, order, f"{quantity}: worse than the best by [{unit}]", narrow=narrow)

    left = "".join(f" Without a number: {name}." for name in none["name"])
    words = f"Bars of mean regret in {lowered(quantity)}: {'; '.join(data['told'])}.{left}"
    return Picture(
        title or finding(data, f"{unit} {gap}", formats, lacking), words, draw, formats.language
    )


def _told(row: Any, gap: str, formats: Formats) -> str:  # noqa: ANN401
    """Say what choosing one alternative comes to."""
    high = (
        f"1 draw in 10 is worse by more than {formats.number(row.high, 2)}"
        if math.isfinite(row.high)
        else "1 draw in 10 or more is without an answer"
    )
    none = f"; {formats.share(row.none)} of draws are without an answer" if row.none else ""
    mean = formats.number(row.mean, 2)
    return f"{row.name}: {mean} {gap} the best on average; {high}{none}"


def finding(data: pd.DataFrame, gap: str, formats: Formats, lacking: int) -> str:
    """Say which choice is regretted least: of those that always have an answer, if any.

    `lacking` counts the choices that are without one in some draws. [1]
    """
    surest = data[data["none"] == data["none"].min()]
    least = surest.sort_values("mean", kind="stable").iloc[0]
    worse = f"{formats.number(float(least['mean']), 2)} {gap} the best"
    if float(least["none"]) > 0.0:
        share = formats.share(float(least["none"]))
        return (
            f"Each choice is without an answer in some draws, {least['name']} in fewest ({share}); "
            f"else it is {worse} on average"
        )
    if not lacking:
        largest = float(data["mean"].max())
        if largest <= 0.0:
            return "Whichever is chosen, no other would have been better in any draw"
        if float(least["mean"]) <= NONE * largest:
            return f"{least['name']} is the best in every draw: choosing it is never regretted"
        return f"{least['name']} is regretted least: on average it turns out {worse}"
    return (
        f"{least['name']} always has an answer, on average {worse}; in some draws {lacking} "
        f"{'other has' if lacking == 1 else 'others have'} none"
    )


def _regrets(data: pd.DataFrame, order: list[str], axis: str, *, narrow: bool) -> Chart:
    most = max(float(data["end"].max()), float(data["mean"].max())) or 1.0
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow, field="bar"))
    scale = alt.Scale(domain=[0, most * (1.45 if narrow else 1.2)], nice=False)
    x = alt.X(
        "mean:Q",
        title=axis.rsplit(": ", maxsplit=1)[-1].replace("worse", "Worse", 1) if narrow else axis,
        scale=scale,
        axis=alt.Axis(grid=True, tickCount=4 if narrow else 6, format=",~r"),
    )
    bars = rows.mark_bar(color=theme.PALETTE["deep"]).encode(x=x, description=TOLD)
    lines = rows.mark_rule(strokeWidth=2, color=theme.PALETTE["ochre"], aria=False).encode(
        x=x, x2="end:Q"
    )
    tips = rows.mark_tick(thickness=2, size=12, color=theme.PALETTE["ochre"], aria=False).encode(
        x="end:Q"
    )
    words = rows.mark_text(align="left", dx=6, aria=False).encode(x="beside:Q", text="words:N")
    colours = [theme.PALETTE["deep"], theme.PALETTE["ochre"]]
    layers = [keys_above(KEYS, colours), bars, lines, tips, *haloed(words)]
    layers += names_above(data, order, "bar") if narrow else []
    return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow, order=order))
