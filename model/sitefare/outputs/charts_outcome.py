"""The chart of an answer's draws: how they lie, and how many fall on each side of the decision."""

import math

import altair as alt
import numpy as np
import numpy.typing as npt
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.drawing import each, haloed, legend
from sitefare.outputs.labels import TOLD, nice_span, ticks_of
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

#: Bars at most, and fewest draws that are drawn.
BARS, FEWEST = 28, 16

#: Share of draws at each end that is gathered into the outermost bar. [1]
TAIL = 0.01

#: Share of draws from which those that differ are counted. [1]
NEARLY = 0.99

#: Height of the bars, and of the strip under them that holds the range. [px]
HEIGHT, STRIP = 210, 34


def outcome(
    draws: npt.NDArray[np.float64],
    good: npt.NDArray[np.bool_],
    formats: Formats,
    *,
    quantity: str,
    sides: tuple[str, str],
    base: float,
    unit: str = "",
    turn: float | None = None,
    turn_words: str = "",
    never: str = "no answer",
    title: str = "",
) -> Picture:
    """Return the share of draws by size of the answer, in two colours by the decision's side.

    Parameters
    ----------
    draws : array, shape (draws,)
        The answer, draw by draw; what is not finite has no bar and is told. [unit]
    good : array of bool, shape (draws,)
        Whether a draw falls on the side that says yes.
    formats : Formats
        The document's formatters.
    quantity, unit : str
        What the answer is and its unit; an empty unit is the formats' currency.
    sides : (str, str)
        What the yes and the no side are, as words after 'is' such as 'zero or more'.
    base, turn : float
        The answer of the base case, and where the decision turns, if known. [unit]
    never : str
        What a draw without a finite answer means.
    title : str
        The finding; made from the data when empty.

    Raises
    ------
    RunError
        If fewer than 16 draws are finite, or lengths differ.
    """
    finite = np.isfinite(draws)
    if draws.shape != good.shape or finite.sum() < FEWEST:
        msg = f"a chart of {quantity} needs at least {FEWEST} draws with an answer"
        raise RunError(msg)
    known = np.sort(draws[finite])
    low, middle, high = (float(known[_rank(known.size, edge)]) for edge in (0.1, 0.5, 0.9))
    divisor, word = scale_of([low, high])
    edges = bin_edges(known / divisor)
    data = _bars(draws[finite] / divisor, good[finite], edges, draws.size, sides)
    axis = f"{quantity} [{' '.join(x for x in (word, unit or formats.currency) if x)}]"

    def show(x: float) -> str:
        return formats.number(x, unit=unit) if unit else formats.money(x)

    data["told"] = [
        f"{show(row.low * divisor)} to {show(row.high * divisor)}, {row.side}: "
        f"{formats.share(row.share)} of draws"
        for row in each(data)
    ]
    marks = {"low": low / divisor, "middle": middle / divisor, "high": high / divisor}
    lines = _lines(base, turn, turn_words, divisor)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _outcome(data, marks, lines, (axis, sides), narrow=narrow)

    said = _finding(float(good.mean()), draws.size, quantity, sides, formats)
    told = (
        f"Bars of the share of {formats.count(draws.size)} draws. {said}. 8 in 10 draws with an "
        f"answer lie in {formats.span(low, high, show)}, the middle is {show(middle)}"
    )
    told += f", the base case {show(base)}" if math.isfinite(base) else ""
    without = float((~finite).mean())
    told += f"; {formats.share(without)} of draws: {never}" if without else ""
    return Picture(title or said, f"{told}.", draw, formats.language)


def _rank(size: int, share: float) -> int:
    """Return the place of a percentile as an order statistic, from 0."""
    return max(math.ceil(share * size - 1e-9) - 1, 0)


def bin_edges(known: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return edges of equal bars in whole steps over all but the outermost draws. [same unit]"""
    ordered = np.sort(known)
    first, last = (float(ordered[_rank(ordered.size, edge)]) for edge in (TAIL, 1.0 - TAIL))
    if last - first <= 1e-9 * max(abs(first), abs(last)):
        half = max(abs(first) * 0.05, 0.5)
        first, last = first - half, last + half
    rough = (last - first) / BARS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(n * power for n in (1, 2, 2.5, 5, 10) if n * power >= rough * (1.0 - 1e-9))
    start, stop = math.floor(first / step + 1e-9), math.ceil(last / step - 1e-9)
    whole = np.arange(start, max(stop, start + 1) + 1, dtype=np.float64)
    edges: npt.NDArray[np.float64] = np.multiply(whole, step, dtype=np.float64)
    return edges


def _bars(
    known: npt.NDArray[np.float64],
    good: npt.NDArray[np.bool_],
    edges: npt.NDArray[np.float64],
    count: int,
    sides: tuple[str, str],
) -> pd.DataFrame:
    """Return a row a bar and side; draws beyond the ends stand in the outermost bars."""
    inside = np.clip(np.searchsorted(edges, known, side="right") - 1, 0, edges.size - 2)
    rows = []
    for number in range(edges.size - 1):
        below = 0.0
        for side, kept in zip(sides, (good, ~good), strict=True):
            share = float(((inside == number) & kept).sum()) / count
            if share > 0.0:
                rows.append(
                    {
                        "low": float(edges[number]),
                        "high": float(edges[number + 1]),
                        "side": side,
                        "share": share,
                        "from": 100.0 * below,
                        "to": 100.0 * (below + share),
                    }
                )
            below += share
    return pd.DataFrame(rows)


def _lines(
    base: float,
    turn: float | None,
    turn_words: str,
    divisor: float,
) -> pd.DataFrame:
    """Return the lines across the bars: the base case and where the decision turns."""
    rows = []
    if math.isfinite(base):
        rows.append({"at": base / divisor, "words": "base case", "colour": theme.INK})
    if turn is not None and math.isfinite(turn):
        rows.append({"at": turn / divisor, "words": turn_words, "colour": theme.PALETTE["brick"]})
    frame = pd.DataFrame(rows, columns=["at", "words", "colour"])
    frame["order"] = range(len(frame))
    return frame


def _outcome(
    data: pd.DataFrame,
    marks: dict[str, float],
    lines: pd.DataFrame,
    words: tuple[str, tuple[str, str]],
    *,
    narrow: bool,
) -> Chart:
    title, sides = words
    ends = [float(data["low"].min()), float(data["high"].max()), *marks.values(), *lines["at"]]
    pad = 0.03 * (max(ends) - min(ends))
    domain = [min(ends) - pad, max(ends) + pad]
    peak = nice_span([float(data["to"].max())])[1]
    strip = peak * STRIP / HEIGHT
    x = alt.X(
        "low:Q",
        title=title,
        scale=alt.Scale(domain=domain, nice=False),
        axis=alt.Axis(format=",~r", tickCount=4 if narrow else 7),
    )
    ticks = alt.Axis(format=",~r", values=ticks_of((0.0, peak)), grid=True, labelOverlap=False)
    y = alt.Y(
        "from:Q",
        title="Share of draws [%]",
        scale=alt.Scale(domain=[-strip, peak * 1.16], nice=False),
        axis=ticks,
    )
    drawn = set(data["side"])
    pairs = zip(sides, (theme.PALETTE["sage"], theme.PALETTE["ochre"]), strict=True)
    kept = [(side, colour) for side, colour in pairs if side in drawn]
    scale = alt.Scale(domain=[s for s, _ in kept], range=[c for _, c in kept])
    color = alt.Color(
        "side:N", scale=scale, legend=legend(narrow=narrow) if len(kept) > 1 else None
    )
    bars = (
        alt.Chart(data)
        .mark_rect(stroke=theme.PAPER, strokeWidth=0.7)
        .encode(x=x, x2="high:Q", y=y, y2="to:Q", color=color, description=TOLD)
    )
    layers = [bars, *_range(marks, strip), *_across(lines, domain, peak)]
    return alt.layer(*layers).properties(height=HEIGHT + STRIP)


def _range(marks: dict[str, float], strip: float) -> list[alt.Chart]:
    """Return the line of 8 in 10 draws under the bars, with the middle as a dot."""
    base = alt.Chart(pd.DataFrame([marks | {"y": -0.5 * strip, "words": "8 in 10 draws"}]))
    y = alt.Y("y:Q")
    line = base.mark_rule(color=theme.INK, strokeWidth=3, aria=False).encode(
        x="low:Q", x2="high:Q", y=y
    )
    dot = base.mark_point(
        filled=True, size=90, opacity=1, color=theme.PAPER, stroke=theme.INK, strokeWidth=2,
        aria=False,
    ).encode(x="middle:Q", y=y)  # fmt: skip
    return [line, dot]


def _across(lines: pd.DataFrame, domain: list[float], peak: float) -> list[alt.Chart]:
    """Return dashed lines with their words above the bars, on the side that has room."""
    layers: list[alt.Chart] = []
    middle = (domain[0] + domain[1]) / 2.0
    for row in each(lines):
        level = peak * (1.15 - 0.075 * int(row.order))
        place = {"at": row.at, "y": level, "zero": 0.0, "words": row.words}
        one = alt.Chart(pd.DataFrame([place]))
        dash = [1, 0] if row.order == 0 else [5, 4]
        rule = one.mark_rule(color=str(row.colour), strokeWidth=1.6, strokeDash=dash, aria=False)
        left = float(row.at) > middle
        text = one.mark_text(
            align="right" if left else "left",
            dx=-5 if left else 5,
            color=str(row.colour),
            aria=False,
        )
        layers.append(rule.encode(x="at:Q", y="zero:Q", y2="y:Q"))
        layers += haloed(text.encode(x="at:Q", y="y:Q", text="words:N"))
    return layers


def _finding(
    share: float, count: int, quantity: str, sides: tuple[str, str], formats: Formats
) -> str:
    """Say in how many draws the answer falls on which side."""
    drawn = formats.count(count)
    if share >= 1.0:
        return f"{quantity} is {sides[0]} in every one of {drawn} draws"
    if share <= 0.0:
        return f"{quantity} is {sides[1]} in every one of {drawn} draws"
    side, part = (sides[0], share) if share >= 0.5 else (sides[1], 1.0 - share)  # noqa: PLR2004
    if part > NEARLY:
        left = formats.count((1.0 - part) * count)
        return f"{quantity} is {side} in all but {left} of {drawn} draws"
    return f"{quantity} is {side} in {formats.share(part)} of draws"
