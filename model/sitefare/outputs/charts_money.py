"""The chart of a total and the terms that make it, each bar starting where the last one ended."""

import itertools

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
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

MORE, LESS, SUM = "adds", "takes away", "what they come to"


def waterfall(
    frame: pd.DataFrame,
    formats: Formats,
    quantity: str = "Net present value",
    unit: str = "",
    title: str = "",
    top: int = 14,
) -> Picture:
    """Return how terms make a total, each bar starting where the one above it ends.

    Parameters
    ----------
    frame : DataFrame with columns what, amount
        Terms of one total, of either sign. [unit of the total]
    formats : Formats
        The document's formatters.
    quantity, unit : str
        What the total is and its unit; an empty unit is the formats' currency.
    title : str
        The finding; made from the data when empty.
    top : int
        Terms drawn alone; the smallest others become one bar. [1]
    """
    require(frame, "what amount", once="what")
    unit = unit or formats.currency
    terms = _falling(frame, top)
    whole = float(frame["amount"].sum())
    divisor, word = scale_of(terms[["first", "last"]].to_numpy().ravel())
    order = [*terms["name"], wrapped(quantity, 34)]
    last = pd.DataFrame({"name": order[-1:], "first": [0.0], "last": [whole], "way": [SUM]})
    data = pd.concat([terms, last], ignore_index=True)
    amounts = [*terms["amount"], whole]
    data["words"] = [f"{'+' if x > 0 else ''}{formats.amount(x / divisor)}" for x in amounts]
    data["told"] = [
        f"{str(name).replace(chr(10), ' ')}: {formats.number(x, unit=unit)}"
        for name, x in zip(data["name"], amounts, strict=True)
    ]
    data[["first", "last"]] = data[["first", "last"]] / divisor
    axis = f"{quantity} [{' '.join(x for x in (word, unit) if x)}]"

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _waterfall(data, order, axis, narrow=narrow)

    largest = frame["what"].iloc[int(frame["amount"].abs().to_numpy().argmax())]
    finding = (
        f"{quantity} is {formats.number(whole, unit=unit)}; the largest part is {lowered(largest)}"
    )
    parts = "; ".join(f"{row['what']} {formats.number(row['amount'])}" for row in records(terms))
    told = f"Bars that add up to {quantity} of {formats.number(whole)} {unit}: {parts}."
    return Picture(title or finding, told, draw, formats.language)


def _falling(frame: pd.DataFrame, top: int) -> pd.DataFrame:
    """Order terms, gains first and each by size, and give each bar its two ends."""
    ranked = frame.iloc[frame["amount"].abs().argsort(kind="stable")[::-1]]
    rest = ranked.iloc[top:]
    kept = ranked.iloc[:top][["what", "amount"]]
    if len(rest):
        other = {"what": f"{len(rest)} smaller terms", "amount": float(rest["amount"].sum())}
        kept = pd.concat([kept, pd.DataFrame([other])], ignore_index=True)
    # What is gathered stands last of its sign.
    named = set(ranked["what"].iloc[:top])
    rows = sorted(
        records(kept),
        key=lambda row: (row["amount"] <= 0, row["what"] not in named, -abs(row["amount"])),
    )
    ends = [0.0, *itertools.accumulate(row["amount"] for row in rows)]
    for row, first, last in zip(rows, ends, ends[1:], strict=False):
        row |= {"first": first, "last": last, "way": MORE if row["amount"] > 0 else LESS}
        row["name"] = wrapped(str(row["what"]), 34)
    return pd.DataFrame(rows)


def _waterfall(data: pd.DataFrame, order: list[str], axis: str, *, narrow: bool) -> Chart:
    colours = [theme.PALETTE["sky"], theme.PALETTE["ochre"], theme.PALETTE["deep"]]
    drawn = set(data["way"])
    ways = [(way, c) for way, c in zip((MORE, LESS, SUM), colours, strict=True) if way in drawn]
    scale = alt.Scale(domain=[way for way, _ in ways], range=[c for _, c in ways])
    ends = data[["first", "last"]].to_numpy()
    room = 0.2 * float(ends.max() - min(ends.min(), 0.0) or 1.0)
    domain = [min(float(ends.min()), 0.0), max(float(ends.max()), 0.0) + room]
    data = data.assign(edge=data[["first", "last"]].max(axis=1))
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
    bars = rows.mark_bar().encode(
        x=alt.X("first:Q", title=axis, scale=alt.Scale(domain=domain, nice=False)),
        x2="last:Q",
        color=alt.Color("way:N", scale=scale, legend=alt.Legend(columns=1 if narrow else 3)),
        description=TOLD,
    )
    words = rows.mark_text(align="left", dx=6, aria=False).encode(x="edge:Q", text="words:N")
    layers = [bars, *haloed(words), *(names_above(data, order) if narrow else [])]
    return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))
