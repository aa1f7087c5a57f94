"""The plan as a chart of bars: phases, tasks, what each waits for, and its milestones."""

import altair as alt
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.drawing import each, haloed, records, require, wrapped
from sitefare.outputs.labels import TOLD, colours_of
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Height of a row by drawing, and of a phase's head. [px]
WIDE_ROW, NARROW_ROW, HEAD = 27, 40, 26

#: Milestones told in a title at most.
TOLD_MILESTONES = 3

#: Characters of a task's name in a line, and width that names take in the wide drawing. [1, px]
LETTERS, NAMES = 40, 244.0

#: Months in a quarter.
QUARTER = 3


def plan(frame: pd.DataFrame, start: str, formats: Formats, title: str = "") -> Picture:
    """Return the plan by calendar quarter: tasks under phases, diamonds at milestones.

    Parameters
    ----------
    frame : DataFrame with columns phase, task, first, last and, if known, after, milestone
        First and last project month of each task, month 0 first [month]; `after` names the task
        whose end it waits for, or is empty; a `milestone` is true and is drawn at the end of its
        month `last`.
    start : str
        Calendar month of month 0, YYYY-MM.
    formats : Formats
        The document's formatters.
    title : str
        The finding; made from the data when empty.

    Raises
    ------
    RunError
        If a task ends before it begins, or waits for a task that is not there.
    """
    require(frame, "phase task first last", once="task")
    data = _rows(frame, start)
    quarters = int(-(-data["ends"].max() // QUARTER))
    labels = [quarter(start, QUARTER * number) for number in range(quarters)]

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _plan(data, labels, narrow=narrow)

    parts = "; ".join(f"{row['told']} ({row['phase']})" for row in records(data))
    alt_text = f"Bars of the plan by calendar quarter. {parts}."
    return Picture(title or _finding(data), alt_text, draw, formats.language)


def quarter(start: str, month: int) -> str:
    """Return the calendar quarter of a month counted from the first of the start's quarter."""
    year, first = (int(part) for part in start.split("-"))
    count = year * 4 + (first - 1) // QUARTER + month // QUARTER
    return f"{count // 4} Q{count % 4 + 1}"


def _rows(frame: pd.DataFrame, start: str) -> pd.DataFrame:
    """Return tasks with their places along the quarters, their words and what they wait for."""
    shift = (int(start.split("-")[1]) - 1) % QUARTER
    data = frame.reset_index(drop=True).copy()
    data["phase"] = data["phase"].astype(str)
    data["milestone"] = data["milestone"].astype(bool) if "milestone" in data else False
    data["after"] = data["after"].fillna("").astype(str) if "after" in data else ""
    ends = dict(zip(data["task"], data["last"], strict=True))
    for row in records(data):
        if row["last"] < row["first"]:
            msg = f"task '{row['task']}' ends in month {row['last']} before it begins"
            raise RunError(msg)
        if row["after"] and row["after"] not in ends:
            msg = f"task '{row['task']}' waits for '{row['after']}', which is not in the plan"
            raise RunError(msg)
    data["begins"] = data["first"] + shift
    data["ends"] = data["last"] + shift + 1
    data["quarter"] = [quarter(start, int(end) - 1) for end in data["ends"]]
    data["told"] = [
        f"{row.task}: {row.quarter}"
        if row.milestone
        else f"{row.task}: {quarter(start, int(row.begins))} to {row.quarter}"
        + (f", after {row.after}" if row.after else "")
        for row in each(data)
    ]
    return data


def _finding(data: pd.DataFrame) -> str:
    """Tell the first milestones, or how long the tasks last."""
    reached = data[data["milestone"]]
    if reached.empty:
        first = data["told"].iloc[0].split(": ")[1].split(" to ")[0]
        last = max(records(data), key=lambda row: float(row["ends"]))["quarter"]
        tasks = "1 task" if len(data) == 1 else f"{len(data)} tasks"
        return f"{tasks} from {first} to {last}"
    told = [f"{row['task']} in {row['quarter']}" for row in records(reached)[-TOLD_MILESTONES:]]
    words = [told[0], *(text[:1].lower() + text[1:] for text in told[1:])]
    return ", ".join(words)


def _placed(data: pd.DataFrame, *, narrow: bool) -> tuple[pd.DataFrame, pd.DataFrame, float]:
    """Give tasks and phases their place down the page; return both and the height. [px]"""
    row, y, heads, places = NARROW_ROW if narrow else WIDE_ROW, 2.0, [], {}
    for phase in dict.fromkeys(data["phase"]):
        heads.append({"phase": phase, "y": y + HEAD / 2.0})
        y += HEAD
        for task in data.loc[data["phase"] == phase, "task"]:
            places[task] = y + (row - 11.0 if narrow else row / 2.0)
            y += row
    drawn = data.assign(
        y=[places[task] for task in data["task"]],
        name=[wrapped(str(task), 60 if narrow else LETTERS) for task in data["task"]],
    )
    two = drawn["name"].str.contains("\n")
    drawn["name_y"] = drawn["y"].where(~two, drawn["y"] - (13.0 if narrow else 6.5))
    half = 6.5
    drawn["top"], drawn["base"] = drawn["y"] - half, drawn["y"] + half
    return drawn, pd.DataFrame(heads), y


def _plan(data: pd.DataFrame, labels: list[str], *, narrow: bool) -> Chart:
    drawn, heads, height = _placed(data, narrow=narrow)
    phases = list(heads["phase"])
    colours = dict(zip(phases, colours_of(phases), strict=True))
    quarters = len(labels)
    every = next(n for n in (1, 2, 4, 8, 16, 32, 64) if quarters / n <= (5 if narrow else 7))
    shown = [QUARTER * n for n in range(0, quarters, every) if quarters - n > 0.6 * every]
    left = 0.0 if narrow else NAMES
    scale = alt.Scale(
        domain=[0, QUARTER * quarters + 0.5], nice=False, range=[left, alt.ExprRef("width")]
    )
    axis = alt.Axis(
        values=shown,
        labelExpr=f"{labels}[round(datum.value / {QUARTER})]",
        labelAlign="left",
        grid=True,
        domain=False,
    )
    x = alt.X("begins:Q", title="Calendar quarter", axis=axis, scale=scale)
    down = alt.Scale(domain=[height, 0], nice=False)
    y = alt.Y("top:Q", axis=None, scale=down)
    colour = alt.Color(
        "phase:N", scale=alt.Scale(domain=phases, range=list(colours.values())), legend=None
    )
    tasks, reached = drawn[~drawn["milestone"]], drawn[drawn["milestone"]]
    layers = [] if tasks.empty else [
        alt.Chart(tasks)
        .mark_rect(cornerRadius=2)
        .encode(x=x, x2="ends:Q", y=y, y2="base:Q", color=colour, description=TOLD)
    ]  # fmt: skip
    layers += _waits(drawn, x, y)
    if not reached.empty:
        layers.append(
            alt.Chart(reached)
            .mark_point(shape="diamond", size=150, filled=True, opacity=1, strokeWidth=1.5)
            .encode(
                x=alt.X("ends:Q", scale=scale, axis=axis, title="Calendar quarter"),
                y=alt.Y("y:Q", axis=None, scale=down),
                color=colour,
                stroke=alt.value(theme.PAPER),
                description=TOLD,
            )
        )
    layers += _names(drawn, heads, down, narrow=narrow)
    return alt.layer(*layers).properties(height=height)


def _waits(drawn: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Return thin lines from the end of a task to the start of one that waits for it."""
    by_task = {row["task"]: row for row in records(drawn)}
    rows = []
    for row in records(drawn):
        if row["after"]:
            before = by_task[row["after"]]
            begins = row["ends"] if row["milestone"] else row["begins"]
            rows.append(
                {
                    "x1": min(before["ends"], begins),
                    "x2": begins,
                    "y1": before["y"],
                    "y2": row["top"] if row["y"] > before["y"] else row["base"],
                }
            )
    if not rows:
        return []
    base = alt.Chart(pd.DataFrame(rows)).mark_rule(color=theme.MUTED, strokeWidth=1.1, aria=False)
    start, end = (alt.X(f"{name}:Q", axis=x["axis"], scale=x["scale"]) for name in ("x1", "x2"))
    level = alt.Y("y1:Q", axis=None, scale=y["scale"])
    flat = base.encode(x=start, x2="x2:Q", y=level)
    drop = base.encode(x=end, y=level, y2="y2:Q")
    return [flat, drop]


def _names(
    drawn: pd.DataFrame, heads: pd.DataFrame, down: alt.Scale, *, narrow: bool
) -> list[alt.Chart]:
    """Return names of phases and tasks at the left; a task's above its bar on a telephone."""
    head = (
        alt.Chart(heads)
        .mark_text(align="left", baseline="middle", fontWeight="bold", aria=False)
        .encode(x=alt.value(0), y=alt.Y("y:Q", axis=None, scale=down), text="phase:N")
    )
    text = alt.Chart(drawn).mark_text(
        align="left",
        baseline="bottom" if narrow else "middle",
        dy=-9 if narrow else 0,
        dx=0 if narrow else 10,
        lineBreak="\n",
        lineHeight=13,
        fontSize=12,
        aria=False,
    )
    names = text.encode(x=alt.value(0), y=alt.Y("name_y:Q", axis=None, scale=down), text="name:N")
    return [*haloed(head), *haloed(names)]
