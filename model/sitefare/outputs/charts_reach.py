"""Charts of who is reached: people by distribution model, and on how many days."""

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    each,
    haloed,
    legend,
    name_axis,
    names_above,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: What a bar is of.
PLANNED, OTHER = "the model planned", "another model"

#: Room to the right of the longest bar for its label, by drawing. [1]
ROOM_WIDE, ROOM_NARROW = 1.45, 1.75


def people_by_model(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return people reached directly by each distribution model, with the days of handing over.

    Parameters
    ----------
    frame : DataFrame with columns model, people, days, planned
        The model's title; people reached directly [person]; days of handing over [day/year];
        whether it is the one in force.
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "model people days planned", once="model")
    data = frame.sort_values("people", ascending=False, kind="stable").reset_index(drop=True)
    data["words"] = [
        f"{_people(people, formats)} · {formats.count(days)} days a year"
        for people, days in zip(data["people"], data["days"], strict=True)
    ]
    data["told"] = [
        f"{row.model}: {_people(row.people, formats)} people "
        f"on {formats.count(row.days)} days a year" + (", as planned" if row.planned else "")
        for row in each(data)
    ]
    data["kind"] = [PLANNED if planned else OTHER for planned in data["planned"]]
    data["name"] = [wrapped(str(model), 26) for model in data["model"]]
    order, most = list(data["name"]), max(float(data["people"].max()), 1.0)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
        room = ROOM_NARROW if narrow else ROOM_WIDE
        x = alt.X(
            "people:Q",
            title="People reached directly, counted once",
            scale=alt.Scale(domain=[0, most * room], nice=False),
            axis=alt.Axis(grid=True, tickCount=4, format=",.0f"),
        )
        colour = alt.Color(
            "kind:N",
            scale=alt.Scale(
                domain=[PLANNED, OTHER], range=[theme.PALETTE["deep"], theme.PALETTE["mist"]]
            ),
            legend=legend(narrow=narrow),
        )
        bars = rows.mark_bar().encode(x=x, color=colour, description=TOLD)
        words = rows.mark_text(align="left", dx=6, aria=False).encode(x="people:Q", text="words:N")
        layers = [bars, *haloed(words), *(names_above(data, order) if narrow else [])]
        return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))

    parts = "; ".join(f"{row.model}: {row.words}" for row in each(data))
    return Picture(
        title or _finding(data, formats),
        f"Bars of people reached directly, with the days of handing over: {parts}.",
        draw,
        formats.language,
    )


def _finding(data: pd.DataFrame, formats: Formats) -> str:
    """Say which model reaches most people, and on how many days."""
    most = data.iloc[0]
    people, days = _people(most["people"], formats), formats.count(most["days"])
    return f"{most['model']} would reach most people, {people}, on {days} days a year"


def _people(count: float, formats: Formats) -> str:
    """Write people as the text does: two figures, three from a hundred on."""
    return formats.number(count, 3 if count >= 100 else 2)  # noqa: PLR2004
