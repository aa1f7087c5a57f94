"""The chart of a choice: what the best set gives at each budget, or costs for people to be fed."""

from collections.abc import Sequence
from typing import Literal

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import records, require
from sitefare.outputs.labels import TOLD, nice_span
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Chart, Picture

Step = Literal["step-after", "step-before"]

#: Height of the chart. [px]
HEIGHT = 280

#: What the line is, and the dot.
ALONG, CHOSEN = "Best set at each", "The set chosen"


def choice(frame: pd.DataFrame, formats: Formats, *, people_sought: bool) -> Picture:
    """Return the best sets as a stepped line, with the set chosen on it.

    Parameters
    ----------
    frame : DataFrame with columns people, money, chosen
        One line a set, bounds in order: people fed or to be fed [person], budget or cost a year
        [USD or USD/year], and whether it is the one chosen.
    formats : Formats
        The document's formatters.
    people_sought : bool
        Whether people are sought along the budget, else cost along the people to be fed.
    """
    require(frame, "people money chosen")
    divisor, word = scale_of(frame["money"])
    lead = f"{word} " if word else ""
    money = f"Budget [{lead}USD]" if people_sought else f"Cost [{lead}USD a year]"
    data = frame.assign(money=frame["money"] / divisor)
    data["told"] = [_told(row, formats, people_sought=people_sought) for row in records(frame)]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _choice(data, money, narrow=narrow, people_sought=people_sought)

    return Picture(
        _finding(records(frame), formats, people_sought=people_sought),
        f"A stepped line of the best sets: {'; '.join(data['told'])}.",
        draw,
        formats.language,
    )


def _told(row: dict[str, float], f: Formats, *, people_sought: bool) -> str:
    """Say what one set gives."""
    people, chosen = f.number(row["people"]), ", the set chosen" if row["chosen"] else ""
    if people_sought:
        return f"Budget {f.money(row['money'], 'USD')}: {people} people fed{chosen}"
    return f"{people} people to be fed: {f.money(row['money'], 'USD')} a year{chosen}"


def _finding(rows: Sequence[dict[str, float]], f: Formats, *, people_sought: bool) -> str:
    """Say what twice the bound, or all that can be had, would bring beside the set chosen."""
    here = next((row for row in rows if row["chosen"]), rows[-1])
    most = rows[-1]
    if people_sought:
        said = f"{f.money(here['money'], 'USD')} feeds {f.number(here['people'])} people"
        if most["people"] > here["people"] * 1.005:
            least = next(row for row in rows if row["people"] >= most["people"] * 0.995)
            said += f"; {f.money(least['money'], 'USD')} would feed {f.number(most['people'])}"
        else:
            said += ", and no greater budget feeds more"
        return said
    said = f"{f.number(here['people'])} people cost {f.money(here['money'], 'USD')} a year"
    if most is not here:
        said += f"; {f.number(most['people'])} would cost {f.money(most['money'], 'USD')}"
    return said


def _choice(data: pd.DataFrame, money: str, *, narrow: bool, people_sought: bool) -> Chart:
    """Draw the line, a mark at each set, and the set chosen."""
    people = "People fed" if people_sought else "People to be fed"
    across, up = ("money", "people") if people_sought else ("people", "money")
    titles = {"people": people, "money": money}
    x, y = (
        axis(
            f"{field}:Q",
            title=titles[field],
            scale=alt.Scale(domain=list(nice_span([float(v) for v in data[field]])), nice=False),
            axis=alt.Axis(format=",~r", tickCount=5 if narrow else 7, grid=axis is alt.Y),
        )
        for axis, field in ((alt.X, across), (alt.Y, up))
    )
    names = [f"{ALONG} {'budget' if people_sought else 'number'}", CHOSEN]
    scale = alt.Scale(domain=names, range=[theme.PALETTE["sky"], theme.PALETTE["brick"]])
    color = alt.Color("which:N", scale=scale, legend=alt.Legend(columns=1 if narrow else 2))
    named = data.assign(which=[names[bool(x)] for x in data["chosen"]])
    # Between two bounds as many are fed as at the lesser, or it costs what the greater does.
    step: Step = "step-after" if people_sought else "step-before"
    line = (
        alt.Chart(data.assign(which=names[0]))
        .mark_line(interpolate=step, strokeWidth=2.5, aria=False)
        .encode(x=x, y=y, color=color)
    )
    dots = (
        alt.Chart(named[~named["chosen"]])
        .mark_point(size=34, filled=True, opacity=1)
        .encode(x=x, y=y, color=color, description=TOLD)
    )
    own = (
        alt.Chart(named[named["chosen"]])
        .mark_point(size=170, filled=True, opacity=1, shape="diamond")
        .encode(x=x, y=y, color=color, description=TOLD)
    )
    return alt.layer(line, dots, own).properties(height=HEIGHT)
