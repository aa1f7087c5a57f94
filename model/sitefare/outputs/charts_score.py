"""The chart of scores: what each criterion adds to an alternative's score, stacked."""

import altair as alt
import pandas as pd

from sitefare.outputs.catalogue import translate
from sitefare.outputs.drawing import (
    each,
    haloed,
    name_axis,
    names_above,
    records,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD, series_scale
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Alternatives that one drawing carries.
MOST = 12

#: Letters of a criterion in one of two columns of the legend on a telephone; of both elsewhere.
LETTERS, BOTH = 22, 68

#: End of the axis: room for the figure beside a full score. [1]
ROOM = 1.12


def scores(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return scores as stacked bars, an alternative a bar, a criterion a part.

    Parameters
    ----------
    frame : DataFrame with columns name, criterion, part, in the order to draw
        What a criterion adds to the score, 0 to its weight; weights sum to one. [1]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "name criterion part")
    named = list(dict.fromkeys(frame["name"]))[:MOST]
    data = frame[frame["name"].isin(named)].reset_index(drop=True)
    criteria = list(dict.fromkeys(data["criterion"]))
    sums = data.groupby("name", sort=False)["part"].sum()
    data["told"] = [
        f"{row.name}, {row.criterion}: {formats.decimal(row.part, 2)} of a score of "
        f"{formats.decimal(float(sums[row.name]), 2)}"
        for row in each(data)
    ]
    data["bar"] = [wrapped(str(name), 28) for name in data["name"]]
    order = list(dict.fromkeys(data["bar"]))
    totals = pd.DataFrame(
        {"bar": order, "total": list(sums), "words": [formats.decimal(x, 2) for x in sums]}
    )

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _scores(data, totals, order, criteria, formats.language, narrow=narrow)

    parts = "; ".join(
        f"{name} {formats.decimal(float(total), 2)} ("
        + ", ".join(
            f"{row['criterion']} {formats.decimal(row['part'], 2)}"
            for row in records(data[data["name"] == name])
        )
        + ")"
        for name, total in sums.items()
    )
    words = f"Stacked bars of scores, 0 worst and 1 best on every criterion: {parts}."
    return Picture(title or finding(sums, formats), words, draw, formats.language)


def finding(sums: pd.Series, formats: Formats) -> str:
    """Say who scores most, and by how much."""
    ranked = sums.sort_values(ascending=False, kind="stable")
    lead, most = str(ranked.index[0]), formats.decimal(float(ranked.iloc[0]), 2)
    if len(ranked) == 1:
        return f"{lead} scores {most} of 1"
    next_one, less = str(ranked.index[1]), formats.decimal(float(ranked.iloc[1]), 2)
    if most == less:
        return f"{lead} and {next_one} score alike, {most} of 1"
    return f"{lead} scores most, {most} of 1; {next_one} follows with {less}"


def _columns(criteria: list[str], *, narrow: bool) -> int:
    """Return the columns of the legend that have room, one or two."""
    left, right = (max(map(len, criteria[n::2]), default=0) for n in range(2))
    return 1 if (max(left, right) > LETTERS if narrow else left + right > BOTH) else 2


def _scores(
    data: pd.DataFrame,
    totals: pd.DataFrame,
    order: list[str],
    criteria: list[str],
    language: str,
    *,
    narrow: bool,
) -> Chart:
    columns = _columns([translate(x, language) for x in criteria], narrow=narrow)
    x = alt.X(
        "part:Q",
        title="Score, 0 to 1",
        stack="zero",
        scale=alt.Scale(domain=[0, ROOM], nice=False),
        axis=alt.Axis(grid=True, values=[0, 0.25, 0.5, 0.75, 1], format=".2~f"),
    )
    rank = {name: n for n, name in enumerate(criteria)}
    bars = (
        alt.Chart(data.assign(place=[rank[c] for c in data["criterion"]]))
        .mark_bar()
        .encode(
            y=name_axis(order, narrow=narrow, field="bar"),
            x=x,
            color=alt.Color(
                "criterion:N", scale=series_scale(criteria), legend=alt.Legend(columns=columns)
            ),
            order="place:Q",
            description=TOLD,
        )
    )
    words = (
        alt.Chart(totals)
        .mark_text(align="left", dx=6, aria=False)
        .encode(y=name_axis(order, narrow=narrow, field="bar"), x="total:Q", text="words:N")
    )
    layers = [bars, *haloed(words)]
    layers += names_above(totals, order, "bar") if narrow else []
    return alt.layer(*layers).properties(height=row_step(len(order), narrow=narrow, order=order))
