"""Charts of the project: which site, what happens when."""

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
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture


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
        The compared figure with its P10 and P90; `gated` is true where a gate failed. Rows
        stand in the order given: the ranking is the caller's. [unit]
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
    failed = [bool(x) for x in data["gated"]] if "gated" in data else [False] * len(data)
    data["gate"] = ["a gate failed" if x else "passes the gates" for x in failed]
    data["words"] = [formats.number(x) for x in data["value"]]
    data["name"] = [wrapped(str(site), 30) for site in data["site"]]

    axis = f"{quantity} [{unit}]" if unit not in ("", "1") else quantity
    mark = _reference(reference, reference_label)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _sites(data, axis, mark, narrow=narrow)

    parts = "; ".join(
        f"{row['site']} {row['words']} "
        f"({formats.span(row['low'], row['high'], formats.number) or 'no range'}; {row['gate']})"
        for _, row in data.iterrows()
    )
    first = data.iloc[0]
    counted = "" if unit in ("", "1") else f" {unit}"
    finding = title or f"{first['site']} stands first with {first['words']}{counted}"
    alt_text = f"Dots with 8-in-10 ranges of {lowered(quantity)}{counted}: {parts}."
    return Picture(finding, alt_text, draw, formats.language)


def _sites(data: pd.DataFrame, axis: str, mark: list[alt.Chart], *, narrow: bool) -> Chart:
    order = list(data["name"])
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
    x = alt.X(
        "value:Q",
        title=axis,
        axis=alt.Axis(grid=True, format=",~r", tickCount=5),
    )
    fill = alt.Scale(
        domain=["passes the gates", "a gate failed"], range=[theme.PALETTE["deep"], theme.PAPER]
    )
    lines = rows.mark_rule(strokeWidth=3, color=theme.PALETTE["mist"]).encode(
        x=alt.X("low:Q"), x2="high:Q"
    )
    dots = rows.mark_circle(
        size=150, opacity=1, stroke=theme.PALETTE["deep"], strokeWidth=2
    ).encode(
        x=x,
        fill=alt.Fill("gate:N", scale=fill, legend=legend(narrow=narrow, offset=26)),
    )
    words = rows.mark_text(dy=17 if narrow else -15, aria=False).encode(x=x, text="words:N")
    layers = [lines, dots, *haloed(words), *mark]
    layers += names_above(data, order) if narrow else []
    return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow) + 12)


def _reference(reference: float | None, label: str) -> list[alt.Chart]:
    if reference is None:
        return []
    line = alt.Chart(pd.DataFrame({"at": [reference], "label": [label]}))
    rule = line.mark_rule(color=theme.PALETTE["brick"], strokeDash=[5, 4], strokeWidth=1.5)
    words = line.mark_text(
        align="left", baseline="bottom", dx=5, color=theme.PALETTE["brick"], aria=False
    )
    return [rule.encode(x="at:Q"), words.encode(x="at:Q", y=alt.value(0), text="label:N")]


def plan(frame: pd.DataFrame, start: str, formats: Formats, title: str = "") -> Picture:
    """Return the plan by calendar quarter, one bar a task, coloured by phase.

    Parameters
    ----------
    frame : DataFrame with columns phase, task, first, last
        First and last project month of each task, month 0 first. [month]
    start : str
        Calendar month of month 0, YYYY-MM.
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "phase task first last", once="task")
    year, month = (int(part) for part in start.split("-"))
    shift = (month - 1) % 3
    data = frame.assign(begins=frame["first"] + shift, ends=frame["last"] + shift + 1)
    data["name"] = [wrapped(str(task), 32) for task in frame["task"]]
    quarters = int(-(-data["ends"].max() // 3))
    labels = [_quarter(year, month, number) for number in range(quarters)]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _plan(data, labels, narrow=narrow)

    end = _quarter(year, month, quarters - 1)
    finding = title or f"{len(data)} tasks from {labels[0]} to {end}"
    parts = "; ".join(
        f"{row['task']} ({row['phase']}) {_quarter(year, month, int(row['begins'] // 3))} to "
        f"{_quarter(year, month, int((row['ends'] - 1) // 3))}"
        for _, row in data.iterrows()
    )
    return Picture(finding, f"Bars of the plan by quarter: {parts}.", draw, formats.language)


def _plan(data: pd.DataFrame, labels: list[str], *, narrow: bool) -> Chart:
    phases, order = list(dict.fromkeys(data["phase"].astype(str))), list(data["name"])
    quarters = len(labels)
    every = -(-quarters // (4 if narrow else 8))
    shown = [3 * number for number in range(0, quarters, every) if quarters - number > 0.7 * every]
    axis = alt.Axis(
        values=shown,
        labelExpr=f"{labels}[round(datum.value / 3)]",
        labelAlign="left",
        grid=True,
    )
    scale = alt.Scale(domain=[0, 3 * quarters], nice=False)
    bars = (
        alt.Chart(data)
        .mark_bar()
        .encode(
            x=alt.X("begins:Q", title="Calendar quarter", axis=axis, scale=scale),
            x2="ends:Q",
            y=name_axis(order, narrow=narrow),
            color=alt.Color("phase:N", scale=theme.series(phases), legend=legend(narrow=narrow)),
        )
    )
    layers = [bars, *(names_above(data, order) if narrow else [])]
    return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))


def _quarter(year: int, month: int, number: int) -> str:
    count = year * 4 + (month - 1) // 3 + number
    return f"{count // 4} Q{count % 4 + 1}"
