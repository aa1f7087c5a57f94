"""The chart of who pays for what: sources and uses of funds as two columns of one height."""

import itertools
from typing import Any

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import haloed, lowered, records, require, wrapped
from sitefare.outputs.labels import LINE, TOLD, apart
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

SOURCE, USE = "source", "use"

#: Heads of the two columns.
HEADS = {SOURCE: "Who pays", USE: "For what"}

#: Colours of sources and of uses, in order. [sRGB]
COLOURS = {
    SOURCE: [theme.PALETTE[c] for c in ("deep", "ochre", "sky", "plum", "sage", "brick", "mist")],
    USE: [theme.PALETTE[c] for c in ("mist", "sage", "plum", "sky", "brick", "ochre", "deep")],
}

#: Height of the columns, and room above them for their heads. [px]
HEIGHT, ROOM = 240, 30

#: How far the line to a name reaches out of a column. [1]
REACH = 0.03

#: What a use below zero means: the funding does not reach.
SHORT = "Short of funding"


def sources_and_uses(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return sources and uses as two stacked columns, each part with its name and amount beside.

    Parameters
    ----------
    frame : DataFrame with columns side ('source' or 'use'), what, amount
        Amounts that come to the same sum on both sides; a negative use is money that no source
        pays and is drawn among the sources. [money]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "side what amount")
    data = _parts(frame, formats)
    require(data, "side what amount")
    total = float(data.loc[data["side"] == SOURCE, "amount"].sum())

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _columns(data, total, formats, narrow=narrow)

    told = "; ".join(
        f"{HEADS[side].lower()}: "
        + ", ".join(
            f"{row['what']} {formats.money(row['amount'])} ({formats.share(row['part'])})"
            for row in records(data[data["side"] == side])
        )
        for side in (SOURCE, USE)
    )
    alt_text = f"Two columns of {formats.money(total)} each. {told}."
    return Picture(title or _finding(data, total, formats), alt_text, draw, formats.language)


def _parts(frame: pd.DataFrame, formats: Formats) -> pd.DataFrame:
    """Return the parts of both columns with their ends, largest first; negatives change sides."""
    rows: list[dict[str, Any]] = []
    for row in records(frame):
        amount, side, what = float(row["amount"]), str(row["side"]), str(row["what"])
        if amount < 0.0:
            side, amount = (SOURCE, -amount) if side == USE else (USE, -amount)
            what = SHORT if side == SOURCE else what
        if amount > 0.0:
            rows.append({"side": side, "what": what, "amount": amount})
    rows.sort(key=lambda row: (row["side"], row["what"] == SHORT, -row["amount"]))
    for side in (SOURCE, USE):
        mine = [row for row in rows if row["side"] == side]
        whole = sum(row["amount"] for row in mine)
        tops = [0.0, *itertools.accumulate(row["amount"] for row in mine)]
        for number, row in enumerate(mine):
            colours = COLOURS[side]
            row |= {
                "first": tops[number],
                "last": tops[number + 1],
                "part": row["amount"] / whole,
                "colour": theme.PALETTE["brick"]
                if row["what"] == SHORT
                else colours[number % len(colours)],
                "told": f"{row['what']}: {formats.money(row['amount'])}, "
                f"{formats.share(row['amount'] / whole)} of {formats.money(whole)}",
            }
    return pd.DataFrame(rows)


def _finding(data: pd.DataFrame, total: float, formats: Formats) -> str:
    """Say who pays most and what most of it is for."""
    source = data[data["side"] == SOURCE].iloc[0]
    use = data[data["side"] == USE].iloc[0]
    whole = formats.money(total)

    def part(row: "pd.Series[Any]") -> str:
        share = float(row["part"])
        return "all" if share >= 1.0 - 1e-9 else formats.share(share)

    short = float(data.loc[data["what"] == SHORT, "part"].sum())
    spent = f"{part(use)} goes to {lowered(use['what'])}"
    if source["what"] == SHORT:
        return f"No source pays {part(source)} of {whole}; {spent}"
    lead = f"Of {whole}, {part(source)} comes from {lowered(source['what'])} and {spent}"
    return f"{lead}; no source pays {formats.share(short)}" if short > 0.0 else lead


def _columns(data: pd.DataFrame, total: float, formats: Formats, *, narrow: bool) -> Chart:
    """Draw both columns with a gap between; words stand outside, apart from each other."""
    places = {SOURCE: (0.36, 0.48), USE: (0.52, 0.64)} if narrow else {
        SOURCE: (0.36, 0.49),
        USE: (0.51, 0.64),
    }  # fmt: skip
    drawn = data.assign(
        left=[places[side][0] for side in data["side"]],
        right=[places[side][1] for side in data["side"]],
    )
    scale = alt.Scale(domain=[0, 1], nice=False)
    top = total * (1.0 + ROOM / HEIGHT)
    y_scale = alt.Scale(domain=[0, top], nice=False)
    boxes = (
        alt.Chart(drawn)
        .mark_rect(stroke=theme.PAPER, strokeWidth=1.5)
        .encode(
            x=alt.X("left:Q", scale=scale, axis=None),
            x2="right:Q",
            y=alt.Y("first:Q", scale=y_scale, axis=None),
            y2="last:Q",
            color=alt.Color("colour:N", scale=None),
            description=TOLD,
        )
    )
    layers: list[alt.Chart] = [boxes]
    letters = 15 if narrow else 28
    for side in (SOURCE, USE):
        layers += _words(drawn[drawn["side"] == side], side, top, letters, formats)
        left = side == SOURCE
        edge = places[side][1 if left else 0]
        head = pd.DataFrame({"x": [edge], "y": [total], "words": [HEADS[side]]})
        text = alt.Chart(head).mark_text(
            align="right" if left else "left",
            baseline="bottom",
            dy=-6,
            fontWeight="bold",
            aria=False,
        )
        layers.append(text.encode(x="x:Q", y="y:Q", text="words:N"))
    return alt.layer(*layers).properties(height=HEIGHT + ROOM)


def _words(
    data: pd.DataFrame, side: str, top: float, letters: int, formats: Formats
) -> list[alt.Chart]:
    """Return the names and amounts beside a column, with a line to what each names."""
    per_line = LINE * top / (HEIGHT + ROOM)
    middles = [float(x) for x in (data["first"] + data["last"]) / 2.0]
    words = [
        f"{wrapped(row['what'], letters)}\n{formats.money(row['amount'])}" for row in records(data)
    ]
    lines = [text.count("\n") + 1 for text in words]
    tall = max(lines)
    whole = float(data["last"].max())
    ends = (0.5 * tall * per_line, whole - 0.5 * (lines[-1] - 1) * per_line)
    at = apart(middles, (tall + 0.3) * per_line, *ends)
    left = side == SOURCE
    edge = data["left"] if left else data["right"]
    frame = pd.DataFrame(
        {
            "edge": edge.to_list(),
            "out": [x - REACH if left else x + REACH for x in edge],
            "middle": middles,
            "at": at,
            "first_line": [x + 0.5 * (n - 1) * per_line for x, n in zip(at, lines, strict=True)],
            "words": words,
        }
    )
    base = alt.Chart(frame)
    leads = base.mark_rule(color=theme.MUTED, strokeWidth=1, aria=False).encode(
        x="edge:Q", x2="out:Q", y="middle:Q", y2="at:Q"
    )
    text = base.mark_text(
        align="right" if left else "left",
        baseline="middle",
        dx=-4 if left else 4,
        lineBreak="\n",
        aria=False,
        lineHeight=LINE,
    ).encode(x="out:Q", y="first_line:Q", text="words:N")
    return [leads, *haloed(text)]
