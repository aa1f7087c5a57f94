"""How do results read at a terminal?"""

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from sitefare.assumptions.case import Case
from sitefare.farm.months import NAMES
from sitefare.outputs.design_sheet import DesignSheet
from sitefare.outputs.register import register
from sitefare.people.words import NAMED_AT_MOST
from sitefare.questions.dictionary import INDICATORS

#: Width beyond which no table is measured. [characters]
WIDEST = 1000

#: Indicators of unit 1 that are shares, printed as per cent; the others of unit 1 are ratios.
SHARES = ("operating_cost_recovery", "water_saved_share", "water_saved_with_fish_share")


def shown(x: float | None) -> str:
    """Write a number with three significant digits, thousands apart."""
    if x is None:
        return "–"
    return f"{float(f'{x:.3g}'):,.10g}"


def printed_unit(name: str, unit: str) -> tuple[float, str]:
    """Say by what factor an indicator is printed, and in which unit."""
    if INDICATORS[name].unit == "1/year":
        return 100.0, "% a year"
    return (100.0, "%") if name in SHARES else (1.0, unit)


def indicator_table(found: dict[str, Any]) -> Table:
    """Lay the indicators of results.json out as a table."""
    case = found["case"]
    ranged = found["provenance"]["draws"] > 0
    names = [case[key] for key in ("site", "design", "scenario") if case[key]]
    title = (
        f"{', '.join(names)}; prices of {case['appraisal_date']}\n"
        f"people are fed by the ration {found['indicators']['people_fed']['ration']}"
    )
    table = Table(title=title, box=None, title_justify="left", pad_edge=False)
    table.add_column("Indicator", min_width=12, overflow="fold")
    for head in ("Value", "P10", "P90") if ranged else ("Value",):
        table.add_column(head, justify="right", no_wrap=True, overflow="ignore")
    table.add_column("Unit", no_wrap=True, overflow="ignore")
    table.add_column("Note", min_width=10, overflow="fold")
    for name, entry in found["indicators"].items():
        reason = entry.get("reason", "")
        note = "" if reason == "no draws were asked for" else reason
        keys = ("value", "low", "high") if ranged else ("value",)
        factor, unit = printed_unit(name, entry["unit"])
        numbers = [shown(None if entry[k] is None else entry[k] * factor) for k in keys]
        words = [INDICATORS[name].title, *numbers, unit, note]
        table.add_row(*(Text(word) for word in words))
    if case["demonstration_data"]:
        table.caption = "Demonstration data: some rows are invented. Not investment advice."
        table.caption_justify = "left"
    return table


def rations_table(found: dict[str, Any]) -> Table:
    """Lay people fed and cost by every ration of results.json out as a table."""
    ranged = found["provenance"]["draws"] > 0
    currency, headline = found["case"]["currency"], found["indicators"]["people_fed"]["ration"]
    table = Table(
        title="\nPeople fed by each ration", box=None, title_justify="left", pad_edge=False
    )
    table.add_column("Ration", min_width=16, overflow="fold")
    for head in ("People", "P10", "P90") if ranged else ("People",):
        table.add_column(head, justify="right", no_wrap=True, overflow="ignore")
    table.add_column(f"{currency}/person/day", justify="right", no_wrap=True, overflow="ignore")
    table.add_column("Binds", min_width=10, overflow="fold")
    for name, entry in found["rations"].items():
        keys = ("people_fed", "people_fed_low", "people_fed_high")[: 3 if ranged else 1]
        mark = " (headline)" if name == headline else ""
        words = [
            f"{entry['title']}, {entry['months_counted'].replace('_', ' ')}{mark}",
            *(shown(entry[key]) for key in keys),
            shown(entry["cost_per_person_day"]),
            binding_words(entry),
        ]
        table.add_row(*(Text(word) for word in words))
    return table


def binding_words(entry: dict[str, Any]) -> str:
    """Say what binds a ration of results.json, in which months, and what the year's mean holds."""
    part = str(entry["binding_part"]).replace("_", " ")
    if entry["months_counted"] == "year_mean":
        return part
    months = entry["binding_months"]
    named = ", ".join(month[:3] for month in months) if len(months) <= NAMED_AT_MOST else ""
    when = f" in {named}" if named else " in several months"
    why = f"; {entry['reason']}" if entry.get("reason") else ""
    return f"{part}{when}; the year's mean holds {shown(entry['people_fed_year_mean'])}{why}"


def print_whole(console: Console, table: Table) -> None:
    """Print a table no narrower than its numbers need; the console is widened for it."""
    room = console.options.update(width=WIDEST)
    needed = Measurement.get(console, room, table).minimum
    console.width = max(console.width, needed)
    console.print(table)


def print_unwrapped(console: Console, table: Table) -> None:
    """Print a table; one line a row where no terminal shows it, so that other programs read it."""
    if not console.is_terminal:
        room = console.options.update(width=WIDEST)
        console.width = max(console.width, Measurement.get(console, room, table).maximum)
    console.print(table)


def register_table(case: Case, find: str) -> Table:
    """Lay the register out as a table of the names that hold some text."""
    table = Table(box=None, pad_edge=False)
    for column in ("Name", "Low", "Base", "High", "Unit", "Layer", "Source", "Basis"):
        table.add_column(column, overflow="fold")
    for line in register(case):
        if find in line.name:
            words = (
                line.name, line.low, line.base, line.high, line.unit, line.layer, line.source,
                line.basis,
            )  # fmt: skip
            table.add_row(*(Text(word) for word in words))
    return table


def rounded_lines(found: dict[str, Any]) -> str:
    """Return the indicators of results.json as lines of name, three figures and unit."""
    lines = [
        f"{name}: {shown(entry['value'])} {entry['unit']}"
        for name, entry in found["indicators"].items()
    ]
    return "\n".join(lines)


def print_design(console: Console, made: DesignSheet) -> None:
    """Print the design sheet: sizes by group, targets, calendars, limits."""
    case = made.case
    console.print(f"Design sheet: {case.site}, {case.names}", style="bold", highlight=False)
    for group in dict.fromkeys(line.group for line in made.lines):
        rows = [
            (line.what, shown(line.number), "" if line.unit == "1" else line.unit, line.note)
            for line in made.lines
            if line.group == group
        ]
        print_whole(console, _plain_table(group, ("", "", "", ""), rows, right=(1,)))
    print_whole(console, _targets(made))
    print_whole(console, _stocking(made))
    print_whole(console, _planting(made))
    console.print()
    said = (*made.design.limits, made.floors, *made.notes)
    for words in said:
        console.print(f"– {words}", highlight=False, markup=False)
    console.print("Not a construction drawing: a licensed engineer must check what is built.")
    if case.demonstration:
        console.print("Demonstration data: some rows are invented.")


def _plain_table(
    title: str,
    heads: tuple[str, ...],
    rows: Sequence[tuple[str, ...]],
    right: tuple[int, ...] = (),
) -> Table:
    """Lay rows of words out under a title; without heads the head line is left out."""
    table = Table(
        title=f"\n{title}",
        title_justify="left",
        title_style="bold",
        box=None,
        padding=(0, 2, 0, 0),
        show_header=any(heads),
    )
    for number, head in enumerate(heads):
        wide = 34 if number == 0 and not any(heads) else None
        table.add_column(
            head,
            justify="right" if number in right else "left",
            width=wide,
            no_wrap=number in right,
            overflow="ignore" if number in right else "fold",
        )
    for row in rows:
        table.add_row(*(Text(word) for word in row))
    return table


def _targets(made: DesignSheet) -> Table:
    """Lay targets and alarms out."""
    rows = [
        (
            target.title,
            *("" if x is None else shown(x) for x in (target.low, target.high)),
            *("" if x is None else shown(x) for x in (target.alarm_low, target.alarm_high)),
            target.unit,
            target.check,
        )
        for target in made.targets
    ]
    heads = ("Watched", "From", "To", "Alarm below", "Alarm above", "Unit", "Check")
    return _plain_table("Targets and alarms", heads, rows, right=(1, 2, 3, 4))


def _stocking(made: DesignSheet) -> Table:
    """Lay the stocking calendar out."""
    rows = [
        (
            f"T{line.tank}",
            line.stocked.isoformat(),
            f"{line.fingerlings:,.0f}",
            line.harvested.isoformat()[:7] if line.harvested else "beyond the plan",
            shown(line.harvest_kg),
        )
        for line in made.stocking
    ]
    heads = ("Tank", "Stocked", "Fingerlings", "Harvest", "kg live")
    return _plain_table("Stocking calendar, two years of running", heads, rows, right=(2, 4))


def _planting(made: DesignSheet) -> Table:
    """Lay the planting calendar out."""
    rows = [
        (
            line.title,
            shown(line.area),
            shown(sum(line.plants) / 52.0),
            line.first.isoformat(),
            line.harvest.isoformat(),
            ", ".join(NAMES[m] for m in line.idle) or "none",
        )
        for line in made.planting
    ]
    heads = ("Crop", "Bed m2", "Plants a week", "First planting", "First harvest", "Idle months")
    return _plain_table("Planting calendar", heads, rows, right=(1, 2))
