"""Charts of what the farm grows and how warm it is through the calendar year."""

from collections.abc import Callable

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import each, lowered, month_axis, months, ordered, require
from sitefare.outputs.labels import TOLD, nice_span
from sitefare.outputs.month_lines import month_lines
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Foods with a row of their own in the calendar; the smallest others share one.
ROWS = 13

#: Share of a food's best month up to which a month counts as without harvest. [1]
NEXT_TO_NOTHING = 0.001

#: Kilograms from which a narrow row is written in tonnes. [kg]
TONNES = 1000.0

#: The rows that are sums, and what is gathered.
ALL, OTHER = "All", "Other"

#: Height of a row of cells, and of temperatures. [px]
ROW, HEIGHT = 25, 260

#: Names of foods told in a title at most.
TOLD_FOODS = 2


def harvest(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return the harvest as a calendar: a row a food, a cell a month, empty where there is none.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, kg
        Mean marketable harvest of each calendar month. [kg/month]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what kg")
    data, order, names = _cells(frame, formats)
    gaps = _gaps(data[data["what"] != ALL], formats)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _calendar(data, order, names, narrow=narrow)

    finding = title or _harvest_finding(data, gaps, formats)
    year = "; ".join(
        f"{name} {formats.number(data.loc[data['what'] == name, 'kg'].sum(), unit='kg')}"
        f"{f', none in {gaps[name]}' if name in gaps else ''}"
        for name in names
    )
    alt_text = f"Cells of kilograms harvested by food and calendar month. In a year: {year}."
    return Picture(finding, alt_text, draw, formats.language)


def _cells(frame: pd.DataFrame, formats: Formats) -> tuple[pd.DataFrame, list[str], list[str]]:
    """Return the cells with their words, the months and the rows in order, sums first."""
    totals = frame.groupby("what")["kg"].sum().sort_values(ascending=False, kind="stable")
    kept = set(totals.index if len(totals) <= ROWS + 1 else totals.index[:ROWS])
    what = [name if name in kept else OTHER for name in frame["what"]]
    summed = frame.assign(what=what).groupby(["month", "what"])[["kg"]].sum().reset_index()
    names = [name for name in ordered(summed, "kg") if name != OTHER]
    names += [OTHER] if OTHER in set(what) else []
    if len(names) > 1:
        whole = summed.groupby("month")[["kg"]].sum().reset_index().assign(what=ALL)
        summed, names = pd.concat([whole, summed], ignore_index=True), [ALL, *names]
    data, order = months(summed, formats)
    best = data.groupby("what")["kg"].transform("max")
    data["none"] = data["kg"] <= NEXT_TO_NOTHING * best
    data["shade"] = (data["kg"] / best.where(best > 0.0, 1.0)).where(~data["none"], 0.0)
    data["words"] = [
        "–" if none else formats.number(kg, 2)
        for kg, none in zip(data["kg"], data["none"], strict=True)
    ]
    data["short"] = [formats.number(kg / TONNES, 2) for kg in data["kg"]]
    data["told"] = [
        f"{row.what}, {row.month_name}: "
        + ("no harvest" if row.none else formats.number(row.kg, unit="kg"))
        for row in each(data)
    ]
    return data, order, names


def _calendar(data: pd.DataFrame, order: list[str], names: list[str], *, narrow: bool) -> Chart:
    """Draw the cells; each row's shade runs from nothing to its own best month."""
    if narrow:
        data, names = _in_tonnes(data, names)
    cells = alt.Chart(data).encode(
        x=month_axis(order, narrow=narrow),
        y=alt.Y(
            "what:N",
            sort=names,
            title=None if narrow else "Harvest [kg/month]",
            axis=alt.Axis(labelLimit=108 if narrow else 170, labelColor=theme.INK, labelPadding=4),
        ),
    )
    shade = alt.Scale(domain=[0, 1], range=[theme.PAPER, theme.SHADE], interpolate="rgb")
    boxes = cells.mark_rect(stroke=theme.LINE, strokeWidth=1).encode(
        color=alt.Color("shade:Q", scale=shade, legend=None), description=TOLD
    )
    words = cells.mark_text(fontSize=9 if narrow else 11.5, aria=False).encode(text="words:N")
    return alt.layer(boxes, words).properties(height=ROW * len(names))


def _in_tonnes(data: pd.DataFrame, names: list[str]) -> tuple[pd.DataFrame, list[str]]:
    """Write rows of a thousand kilograms and more in tonnes, and say so in their names."""
    best = data.groupby("what")["kg"].max()
    heavy = {str(name) for name in best.index if float(best[name]) >= TONNES}
    words = [row.short if row.what in heavy and not row.none else row.words for row in each(data)]
    what = [f"{name} [t]" if name in heavy else str(name) for name in data["what"]]
    renamed = [f"{name} [t]" if name in heavy else name for name in names]
    return data.assign(words=words, what=what), renamed


def _gaps(data: pd.DataFrame, formats: Formats) -> dict[str, str]:
    """Return the months without harvest by food, in words."""
    found = {}
    for name, part in data.groupby("what", sort=False):
        empty = sorted(int(month) for month in part.loc[part["none"], "month"])
        if empty:
            found[str(name)] = month_runs(empty, formats)
    return found


def month_runs(found: list[int], formats: Formats) -> str:
    """Name months in runs that may pass the year's end: Nov–Jan and Apr."""
    if len(found) == len(range(12)):
        return "any month"
    runs: list[list[int]] = []
    for month in sorted(found):
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == len(range(12)):
        runs = [runs.pop() + runs[0], *runs[1:]]
    words = [
        formats.month_in_sentence(run[0])
        if len(run) == 1
        else f"{formats.month_in_sentence(run[0])}–{formats.month_in_sentence(run[-1])}"
        for run in runs
    ]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _harvest_finding(data: pd.DataFrame, gaps: dict[str, str], formats: Formats) -> str:
    """Say how much a year brings, and which food fails in which months."""
    foods = data[data["what"] != ALL]
    year = float(foods["kg"].sum())
    if year <= 0.0:
        return "No harvest in any month"
    lead = f"About {formats.number(year, unit='kg')} a year"
    if not gaps:
        alone = len(set(foods["what"])) == 1
        return f"{lead}, some in every month" if alone else f"{lead}, some of each in every month"
    if len(gaps) <= TOLD_FOODS:
        said = " and ".join(f"no {lowered(name)} in {when}" for name, when in gaps.items())
        return f"{lead}, but {said}"
    return f"{lead}, but {len(gaps)} of {foods['what'].nunique()} foods have months without any"


def temperatures(frame: pd.DataFrame, formats: Formats, title: str = "") -> Picture:
    """Return indoor, outdoor and water temperature by month, with bands where given.

    Parameters
    ----------
    frame : DataFrame with columns month (1 to 12), what, celsius and, if known, low, high
        Monthly means, and the band to shade. [degC]
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.
    """
    require(frame, "month what celsius")
    names = list(dict.fromkeys(frame["what"].astype(str)))
    ends = frame.groupby("what")["celsius"].agg(["min", "max"])
    parts = [
        f"{name} {formats.span(ends['min'][name], ends['max'][name], _degrees(formats))}"
        for name in names
    ]
    data, order = months(frame, formats)
    data["told"] = [
        f"{row.what}, {row.month_name}: {formats.decimal(row.celsius, 1, '°C')}"
        for row in each(data)
    ]
    fields = [name for name in ("celsius", "low", "high") if name in data]
    span = nice_span([float(x) for name in fields for x in data[name].dropna()], zero=False)
    said = [parts[0], *(lowered(part) for part in parts[1:])]
    joined = said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        axis = ("celsius", "Temperature [°C]", span, HEIGHT)
        lines = month_lines(data, names, order, axis, narrow=narrow)
        if "low" not in data:
            return alt.layer(*lines).properties(height=HEIGHT)
        band = (
            alt.Chart(data.dropna(subset=["low", "high"]))
            .mark_area(opacity=0.14, aria=False)
            .encode(
                x=lines[0].encoding.x,
                y=alt.Y("low:Q"),
                y2="high:Q",
                color=alt.Color("what:N", legend=None),
            )
        )
        return alt.layer(band, *lines).properties(height=HEIGHT)

    alt_text = f"Lines of monthly mean temperature. {'; '.join(parts)}."
    return Picture(
        title or f"Through the year: {lowered(joined)}", alt_text, draw, formats.language
    )


def _degrees(formats: Formats) -> Callable[[float], str]:
    return lambda x: formats.decimal(x, 0, "°C")
