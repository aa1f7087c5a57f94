"""Charts of the money: cash by year, and what a cost is made of."""

import itertools

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    haloed,
    name_axis,
    names_above,
    records,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

NET, RUNNING, BAND = "Net cash in the year", "Cumulative cash", "Cumulative, 8 in 10 draws"


def cash(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return yearly net cash as bars and cumulative cash as a line with its P10 to P90 band.

    Parameters
    ----------
    frame : DataFrame with columns year, net, cumulative and, if known, low, high
        Project years from 0; money of the formats' currency; low and high are the P10 and P90
        of cumulative cash. [money]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "year net cumulative", once="year")
    amounts = [name for name in ("net", "cumulative", "low", "high") if name in frame]
    divisor, word = scale_of(frame[amounts].to_numpy().ravel())
    data = frame.assign(**{name: frame[name] / divisor for name in amounts})
    axis = f"{word.capitalize()} {formats.currency}" if word else formats.currency

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _cash(data, axis, narrow=narrow)

    finding, detail = _cash_words(frame, formats)
    alt_text = f"Bars of net cash by project year and a line of cumulative cash. {detail}"
    return Picture(title or finding, alt_text, draw, formats.language)


def _cash(data: pd.DataFrame, axis: str, *, narrow: bool) -> Chart:
    banded = {"low", "high"} <= set(data)
    names = [NET, RUNNING, *([BAND] if banded else [])]
    colours = [theme.PALETTE["sky"], theme.PALETTE["deep"], theme.BAND]
    scale = alt.Scale(domain=names, range=colours[: len(names)])
    x = alt.X(
        "year:O",
        title="Project year",
        axis=alt.Axis(labelAngle=0, labelOverlap="parity", ticks=False),
        scale=alt.Scale(type="band", paddingInner=0.3, paddingOuter=0.2),
    )
    y_axis = alt.Axis(format=",~r", tickCount=6)
    color = alt.Color("series:N", scale=scale, legend=alt.Legend(columns=1 if narrow else 3))

    def layer(name: str) -> alt.Chart:
        return alt.Chart(data.assign(series=name)).encode(x=x, color=color)

    bars = layer(NET).mark_bar(opacity=0.9).encode(y=alt.Y("net:Q", title=axis, axis=y_axis))
    line = (
        layer(RUNNING)
        .mark_line(strokeWidth=2.5, point=alt.OverlayMarkDef(size=30))
        .encode(y="cumulative:Q")
    )
    zero = (
        alt.Chart(pd.DataFrame({"zero": [0.0]}))
        .mark_rule(color=theme.INK, strokeWidth=1)
        .encode(y="zero:Q")
    )
    if not banded:
        return alt.layer(bars, zero, line).properties(height=280)
    area = (
        layer(BAND)
        .mark_area(opacity=1, line={"color": theme.PALETTE["ochre"], "strokeWidth": 0.8})
        .encode(y=alt.Y("low:Q"), y2="high:Q")
    )
    return alt.layer(area, bars, zero, line).properties(height=280)


def _cash_words(frame: pd.DataFrame, formats: Formats) -> tuple[str, str]:
    years = records(frame.sort_values("year"))
    lowest, last = min(years, key=lambda row: row["cumulative"]), years[-1]
    below = [row["year"] for row in years if row["cumulative"] < 0]
    if not below:
        finding = "Cumulative cash never falls below zero"
    elif below[-1] == last["year"]:
        finding = f"Cash spent is not recovered within {int(last['year'])} years"
    else:
        finding = f"Cash spent is recovered in year {int(below[-1]) + 1}"
    detail = (
        f"{finding}. It is lowest at {formats.money(lowest['cumulative'])} in year "
        f"{int(lowest['year'])} and ends at {formats.money(last['cumulative'])} in year "
        f"{int(last['year'])}."
    )
    return finding, detail


def cost_makeup(
    frame: pd.DataFrame, formats: Formats, per: str = "year", title: str = ""
) -> Picture:
    """Return what one total is made of, largest part first, each labelled with its share.

    Parameters
    ----------
    frame : DataFrame with columns what, amount
        Parts of one total, none negative. [money per `per`]
    formats : Formats
        The document's formatters.
    per : str
        What the total is counted by, such as 'person-day' or 'kg of vegetables'.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "what amount", once="what")
    data = frame.sort_values("amount", ascending=False, kind="stable").reset_index(drop=True)
    total = float(data["amount"].sum())
    shares = [formats.share(x / total) if total else "–" for x in data["amount"]]
    data["words"] = [
        f"{formats.amount(x)} ({share})" for x, share in zip(data["amount"], shares, strict=True)
    ]
    data["name"] = [wrapped(str(what), 34) for what in data["what"]]
    order = list(data["name"])
    largest = float(data["amount"].max()) or 1.0

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
        scale = alt.Scale(domain=[0, largest * (1.45 if narrow else 1.3)], nice=False)
        bars = rows.mark_bar(color=theme.PALETTE["deep"]).encode(
            x=alt.X("amount:Q", title=f"{formats.currency} per {per}", scale=scale)
        )
        words = rows.mark_text(align="left", dx=6, aria=False).encode(x="amount:Q", text="words:N")
        layers = [bars, *haloed(words), *(names_above(data, order) if narrow else [])]
        return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))

    first = str(data["what"].iloc[0])
    finding = title or f"{first}: {shares[0]} of {formats.money(total)} per {per}"
    parts = "; ".join(
        f"{what} {formats.money(x)} ({share})"
        for what, x, share in zip(data["what"], data["amount"], shares, strict=True)
    )
    return Picture(finding, f"Bars of cost per {per}: {parts}.", draw, formats.language)


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
    data[["first", "last"]] = data[["first", "last"]] / divisor
    axis = " ".join(x for x in (word.capitalize(), unit) if x)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _waterfall(data, order, axis, narrow=narrow)

    largest = frame["what"].iloc[int(frame["amount"].abs().to_numpy().argmax())]
    finding = f"{quantity} is {formats.number(whole)} {unit}; the largest part is {largest}"
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
    scale = alt.Scale(domain=[MORE, LESS, SUM], range=colours)
    ends = data[["first", "last"]].to_numpy()
    room = 0.2 * float(ends.max() - min(ends.min(), 0.0) or 1.0)
    domain = [min(float(ends.min()), 0.0), max(float(ends.max()), 0.0) + room]
    data = data.assign(edge=data[["first", "last"]].max(axis=1))
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
    bars = rows.mark_bar().encode(
        x=alt.X("first:Q", title=axis, scale=alt.Scale(domain=domain, nice=False)),
        x2="last:Q",
        color=alt.Color("way:N", scale=scale, legend=alt.Legend(columns=1 if narrow else 3)),
    )
    words = rows.mark_text(align="left", dx=6, aria=False).encode(x="edge:Q", text="words:N")
    layers = [bars, *haloed(words), *(names_above(data, order) if narrow else [])]
    return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))
