"""The tornado: how far each uncertain number, alone, moves the answer.

The order is set in every layer, the longer end of a bar is drawn first, and both ends carry the
value of the input that made them.
"""

import math
from typing import Any, Literal

import altair as alt
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    legend,
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

LOW, HIGH = "input at its 1-in-10 low", "input at its 1-in-10 high"


def tornado(
    frame: pd.DataFrame,
    base: float,
    formats: Formats,
    *,
    quantity: str = "Net present value",
    unit: str = "",
    title: str = "",
    top: int = 12,
) -> Picture:
    """Return the answer's swing as each uncertain number goes to its own low and high, alone.

    Parameters
    ----------
    frame : DataFrame with columns name, low_value, high_value, low_result, high_result
        `low_value` and `high_value` are the input's P10 and P90 as text; the results are the
        answer with that input alone at each. [unit of the answer]
    base : float
        The answer with every input at its middle. [unit of the answer]
    formats : Formats
        The document's formatters.
    quantity, unit : str
        What the answer is and its unit; an empty unit is the formats' currency.
    title : str
        The finding; made from the data when empty.
    top : int
        Bars shown. [1]
    """
    columns = "name low_value high_value low_result high_result"
    require(frame, columns, once="name", empty=True)
    if not math.isfinite(base):
        msg = f"a tornado of {quantity} needs a base that has an answer"
        raise RunError(msg)
    swing = (frame["high_result"] - frame["low_result"]).abs()
    kept = frame.assign(swing=swing).sort_values("swing", ascending=False, kind="stable")
    kept = kept[kept["swing"].notna()].head(top).reset_index(drop=True)
    results = [x for x in (*kept["low_result"], *kept["high_result"], base) if math.isfinite(x)]
    divisor, word = scale_of(results)
    ends = _tornado_ends(records(kept), base, divisor)
    ends["told"] = [
        f"{str(end['name']).replace(chr(10), ' ')}, {end['which']} {end['value']}: "
        f"{_shown(end['answer'], formats, unit)}"
        for end in records(ends)
    ]
    ends["result"] = _within(ends["result"], [x / divisor for x in results])
    axis = f"{quantity} [{f'{word} ' if word else ''}{unit or formats.currency}]"
    order = list(dict.fromkeys(ends["name"]))

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _tornado(ends, base / divisor, axis, order, narrow=narrow)

    finding, detail = _tornado_words(kept, base, formats, quantity, unit)
    return Picture(title or finding, detail, draw, formats.language)


def _tornado_ends(bars: list[dict[str, Any]], base: float, divisor: float) -> pd.DataFrame:
    """Return two rows a bar, the longer end first so that the shorter is never hidden.

    Where both ends fall on one side of the base the labels are joined at the far end.
    """
    rows = []
    for bar in bars:
        far, near = sorted(
            [
                (LOW, float(bar["low_result"]), str(bar["low_value"])),
                (HIGH, float(bar["high_result"]), str(bar["high_value"])),
            ],
            key=lambda end: -abs(end[1] - base),
        )
        same_side = (far[1] - base) * (near[1] - base) > 0
        far, near = (
            (which, result, value if math.isfinite(result) else f"{value}: no answer")
            for which, result, value in (far, near)
        )
        far_label = f"{far[2]} (inner: {near[2]})" if same_side else far[2]
        near_label = "" if same_side or near[1] == base else near[2]
        for (which, result, value), label in ((far, far_label), (near, near_label)):
            rows.append(
                {
                    "name": wrapped(str(bar["name"]), 42),
                    "which": which,
                    "result": result / divisor,
                    "label": label,
                    "value": value.removesuffix(": no answer"),
                    "answer": result,
                    "rises": result >= base,
                }
            )
    columns = ["name", "which", "result", "label", "value", "answer", "rises"]
    return pd.DataFrame(rows, columns=columns)


def _shown(x: float, formats: Formats, unit: str) -> str:
    """Write an answer, or that there is none."""
    if not math.isfinite(x):
        return "no answer"
    plain = unit in ("", formats.currency)
    return formats.money(x) if plain else formats.number(x, unit=unit)


def _within(ends: "pd.Series[float]", finite: list[float]) -> "pd.Series[float]":
    """Stop an end without answer, which stands at infinity, a little beyond the others."""
    reach = 0.15 * (max(finite) - min(finite)) or 1.0
    return ends.clip(lower=min(finite) - reach, upper=max(finite) + reach)


def _tornado(
    ends: pd.DataFrame, base: float, axis: str, order: list[str], *, narrow: bool
) -> Chart:
    low, high = min(ends["result"].min(), base), max(ends["result"].max(), base)
    reach = high - low or 1.0
    pad = reach * (0.5 if narrow else 0.36)
    x = alt.X(
        "result:Q",
        title=axis,
        scale=alt.Scale(domain=[low - pad, high + pad], nice=False, zero=False),
        axis=alt.Axis(format=",~r", tickCount=4 if narrow else 6, grid=True),
    )
    colours = [theme.PALETTE["ochre"], theme.PALETTE["deep"]]
    color = alt.Color(
        "which:N",
        scale=alt.Scale(domain=[LOW, HIGH], range=colours),
        legend=legend(narrow=False) if not narrow else alt.Legend(columns=1),
    )
    data = ends.assign(base=base).drop(columns="answer")
    rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow), x=x)
    bars = rows.mark_bar().encode(x2="base:Q", color=color, description=TOLD)
    layers: list[alt.Chart] = [bars]
    sides: tuple[tuple[bool, Literal["left", "right"], int], ...] = (
        (True, "left", 5),
        (False, "right", -5),
    )
    for rises, align, shift in sides:
        kept = data[(data["rises"] == rises) & (data["label"] != "")]
        part = alt.Chart(kept[["name", "result", "label"]])
        layers.append(
            part.mark_text(
                align=align, dx=shift, fontSize=11, color=theme.MUTED, aria=False
            ).encode(y=name_axis(order, narrow=narrow), x=x, text="label:N")
        )
    rule = alt.Chart(pd.DataFrame({"base": [base]}))
    layers.append(rule.mark_rule(color=theme.INK, strokeWidth=1.2, aria=False).encode(x="base:Q"))
    layers += names_above(data, order) if narrow else []
    return alt.layer(*layers).properties(height=row_step(len(order), narrow=narrow, order=order))


def _tornado_words(
    kept: pd.DataFrame, base: float, formats: Formats, quantity: str, unit: str
) -> tuple[str, str]:
    def show(x: float) -> str:
        return _shown(x, formats, unit)

    if kept.empty:
        none = f"No uncertain number moves {lowered(quantity)}"
        return none, f"{none}; it stays at {show(base)}."
    first = records(kept)[0]
    span = formats.span(
        min(first["low_result"], first["high_result"]),
        max(first["low_result"], first["high_result"]),
        show,
    )
    finding = f"{first['name']} moves {lowered(quantity)} most: {span}"
    bars = "; ".join(
        f"{bar['name']}: {show(bar['low_result'])} at {bar['low_value']}, "
        f"{show(bar['high_result'])} at {bar['high_value']}"
        for bar in records(kept)
    )
    lead = f"One number at a time at its 1-in-10 low and high; base {show(base)}."
    return finding, f"{lead} {bars}."
