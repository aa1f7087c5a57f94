"""Chart of shared influence: which groups of rows the spread of an answer comes from."""

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

ALONE, WITH_OTHERS = "alone (first order)", "with others (total)"


def influence(frame: pd.DataFrame, quantity: str, formats: Formats, *, title: str = "") -> Picture:
    """Return the share of an answer's spread by group of rows.

    Parameters
    ----------
    frame : DataFrame with columns name, first, error and, if known, total
        First-order share with its standard error, and total share; below zero is drawn as 0. [1]
    quantity : str
        Whose spread is shared out.
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "name first error", once="name")
    data = frame.reset_index(drop=True).copy()
    data["words"] = [formats.share(max(x, 0.0)) for x in data["first"]]
    whole = "total" in data
    parts = [
        f"{row['name']} {row['words']} (± {formats.share(row['error'])})"
        + (f", with others {formats.share(max(row['total'], 0.0))}" if whole else "")
        for _, row in data.iterrows()
    ]
    first = data.iloc[0]
    finding = title or (
        f"{first['words']} of the spread of {lowered(quantity)} comes from "
        f"{lowered(first['name'])} alone"
    )
    data["told"] = parts
    data["name"] = [wrapped(str(name), 32) for name in data["name"]]
    drawn = _bars(data, whole=whole)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _influence(drawn, list(data["name"]), narrow=narrow)

    alt_text = f"Bars of the share of the spread of {lowered(quantity)}: {'; '.join(parts)}."
    return Picture(finding, alt_text, draw, formats.language)


def _bars(data: pd.DataFrame, *, whole: bool) -> pd.DataFrame:
    """Return one row a bar, in per cent, the total before the first order it holds."""
    kinds = [(WITH_OTHERS, "total"), (ALONE, "first")] if whole else [(ALONE, "first")]
    rows = [
        {
            "name": line["name"],
            "which": which,
            "share": 100 * max(line[column], 0.0),
            "low": 100 * max(line["first"] - line["error"], 0.0),
            "high": 100 * max(line["first"] + line["error"], 0.0),
            "end": 100 * max(line["first"] + line["error"], line[kinds[0][1]], 0.0),
            "words": line["words"] if which == ALONE else "",
            "told": f"{line['told']} of the spread",
        }
        for _, line in data.iterrows()
        for which, column in kinds
    ]
    return pd.DataFrame(rows)


def _influence(data: pd.DataFrame, order: list[str], *, narrow: bool) -> Chart:
    """Draw bars with whiskers of one standard error; total bars lie behind, lighter."""
    x = alt.X(
        "share:Q",
        title="Share of the spread [%]",
        stack=None,
        scale=alt.Scale(domain=[0, max(float(data["end"].max()) * 1.15, 1.0)], nice=False),
        axis=alt.Axis(grid=True, tickCount=5),
    )
    names = [which for which in (ALONE, WITH_OTHERS) if which in set(data["which"])]
    scale = alt.Scale(domain=names, range=[theme.PALETTE["deep"], theme.PALETTE["mist"]])
    shown = legend(narrow=narrow) if len(names) > 1 else None
    color = alt.Color("which:N", scale=scale, legend=shown)
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
    alone = alt.Chart(data[data["which"] == ALONE]).encode(y=name_axis(order, narrow=narrow))
    bars = rows.mark_bar().encode(x=x, color=color, description=TOLD)
    errors = alone.mark_rule(color=theme.PALETTE["ochre"], strokeWidth=2, aria=False).encode(
        x=alt.X("low:Q"), x2="high:Q"
    )
    words = alone.mark_text(align="left", dx=6, aria=False).encode(x=alt.X("end:Q"), text="words:N")
    layers = [bars, errors, *haloed(words), *(names_above(data, order) if narrow else [])]
    return alt.layer(*layers).properties(height=row_step(len(order), narrow=narrow))
