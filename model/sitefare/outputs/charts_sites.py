"""The chart of sites side by side: the compared figure, its range, and whether gates are open."""

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
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

#: What is said of a site whose gates are open, and of one where a gate failed.
GATES = ("passes the gates", "a gate failed")


def sites(
    frame: pd.DataFrame,
    quantity: str,
    unit: str,
    formats: Formats,
    *,
    title: str = "",
    reference: float | None = None,
    reference_label: str = "",
) -> Picture:
    """Return sites side by side: a dot each, its 8-in-10 range, hollow where a gate failed.

    Parameters
    ----------
    frame : DataFrame with columns site, value, low, high and, if known, gated
        The compared figure with its P10 and P90, None where an end has no answer; `gated` is
        true where a gate failed. Rows stand in the order given: the ranking is the caller's. [unit]
    quantity, unit : str
        What is compared and its unit; lower or higher is not judged here.
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    reference : float, optional
        A value to draw a line at. [unit]
    reference_label : str
        What the line is.
    """
    require(frame, "site value low high", once="site")
    data = frame.reset_index(drop=True)
    known = "gated" in data
    failed = [bool(x) for x in data["gated"]] if known else [False] * len(data)
    data["gate"] = [GATES[x] for x in failed]
    said = [f"; {gate}" if known else "" for gate in data["gate"]]
    data["words"] = [formats.number(x) for x in data["value"]]
    data["name"] = [wrapped(str(site), 30) for site in data["site"]]

    axis = f"{quantity} [{unit}]" if unit not in ("", "1") else quantity
    mark = _reference(reference, reference_label)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _sites(data, axis, mark, narrow=narrow, gates=known)

    parts = "; ".join(
        f"{row['site']} {row['words']} "
        f"({formats.span(row['low'], row['high'], formats.number) or 'no range'}{said[n]})"
        for n, (_, row) in enumerate(data.iterrows())
    )
    counted = "" if unit in ("", "1") else f" {unit}"
    data["told"] = [
        f"{row['site']}: {row['words']}{counted}, "
        f"8 in 10 draws {formats.span(row['low'], row['high'], formats.number) or 'unknown'}"
        f"{said[n].replace(';', ',')}"
        for n, (_, row) in enumerate(data.iterrows())
    ]
    finding = title or _finding(data, counted)
    alt_text = f"Dots with 8-in-10 ranges of {lowered(quantity)}{counted}: {parts}."
    return Picture(finding, alt_text, draw, formats.language)


def _finding(data: pd.DataFrame, counted: str) -> str:
    """Say which site stands first, and by whether ranges of the first two part."""
    first = data.iloc[0]
    if pd.isna(first["value"]):
        return f"{first['site']} stands first, without a figure"
    lead = f"{first['site']} stands first with {first['words']}{counted}"
    others = data.iloc[1:].dropna(subset=["value", "low", "high"])
    if others.empty or pd.isna(first["low"]) or pd.isna(first["high"]):
        return lead
    meets = (others["low"] <= first["high"]) & (others["high"] >= first["low"])
    if not meets.any():
        return f"{lead}; no other site's range meets its own"
    names = [str(site) for site in others.loc[meets, "site"]]
    if len(names) == 1:
        return f"{lead}; its range and that of {names[0]} overlap"
    return f"{lead}; ranges of {len(names)} others overlap its own"


def _sites(
    data: pd.DataFrame, axis: str, mark: list[alt.Chart], *, narrow: bool, gates: bool
) -> Chart:
    order = list(data["name"])
    ranged = alt.Chart(data.dropna(subset=["low", "high"])).encode(
        y=name_axis(order, narrow=narrow)
    )
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
    x = alt.X(
        "value:Q",
        title=axis,
        axis=alt.Axis(grid=True, format=",~r", tickCount=5),
    )
    fill = alt.Scale(domain=list(GATES), range=[theme.PALETTE["deep"], theme.PAPER])
    key = legend(narrow=narrow, offset=26) if gates else None
    lines = ranged.mark_rule(strokeWidth=3, color=theme.PALETTE["mist"], aria=False).encode(
        x=alt.X("low:Q"), x2="high:Q"
    )
    dots = rows.mark_circle(
        size=150, opacity=1, stroke=theme.PALETTE["deep"], strokeWidth=2
    ).encode(
        x=x,
        description=TOLD,
        fill=alt.Fill("gate:N", scale=fill, legend=key),
    )
    words = rows.mark_text(dy=17 if narrow else -15, aria=False).encode(x=x, text="words:N")
    layers = [lines, dots, *haloed(words), *mark]
    layers += names_above(data, order) if narrow else []
    # On a telephone the figure stands under its dot: a row needs room for it.
    room = 12 + (8 * len(data) if narrow else 0)
    return alt.layer(*layers).properties(
        height=row_step(len(data), narrow=narrow, order=order) + room
    )


def _reference(reference: float | None, label: str) -> list[alt.Chart]:
    if reference is None:
        return []
    line = alt.Chart(pd.DataFrame({"at": [reference], "label": [label]}))
    rule = line.mark_rule(
        color=theme.PALETTE["brick"], strokeDash=[5, 4], strokeWidth=1.5, aria=False
    )
    words = line.mark_text(
        align="left", baseline="bottom", dx=5, color=theme.PALETTE["brick"], aria=False
    )
    return [rule.encode(x="at:Q"), words.encode(x="at:Q", y=alt.value(0), text="label:N")]
