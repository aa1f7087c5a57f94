"""How do results read at a terminal?"""

from typing import Any

from rich.console import Console
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from sitefare.assumptions.case import Case
from sitefare.outputs.register import register
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
    title = (
        f"{case['site']}, {case['scenario']}; prices of {case['appraisal_date']}\n"
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


def print_whole(console: Console, table: Table) -> None:
    """Print a table no narrower than its numbers need; the console is widened for it."""
    room = console.options.update(width=WIDEST)
    needed = Measurement.get(console, room, table).minimum
    console.width = max(console.width, needed)
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
