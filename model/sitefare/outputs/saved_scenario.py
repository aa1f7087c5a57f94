"""How does what was moved by hand become a scenario file that any run may use?

The file holds the rows of the scenario it started from, those of `--set`, and those moved, in
that order of strength. Money is written in US dollars of the appraisal date, as a scenario asks.
"""

import csv
import io
import re
import shutil
from collections.abc import Mapping
from pathlib import Path

from sitefare.assumptions.case import Case
from sitefare.assumptions.files import nearest
from sitefare.assumptions.rows import Row
from sitefare.errors import AssumptionError

COLUMNS = (
    "name", "unit", "low", "base", "high", "varies", "source", "locator", "as_of", "basis", "note"
)  # fmt: skip

#: What a scenario may be called.
NAME = re.compile(r"[a-z][a-z0-9_]{0,60}")


def scenario_row(case: Case, row: Row, number: float | None, note: str) -> dict[str, str]:
    """Return a row as a line of a scenario: fixed at `number`, or as text where it is one."""
    money = "money" in row.spec.unit
    text = row.text if number is None else f"{number / (case.exchange_rate if money else 1.0):.12g}"
    kind = row.spec.kind
    unit = row.spec.unit.replace("money", "USD") if kind == "quantity" else kind
    return {
        "name": row.name,
        "unit": unit,
        "base": text,
        "source": "judgement",
        "as_of": case.timeline.label(0),
        "basis": "judgement",
        "note": note,
    }


def scenario_text(case: Case, moved: Mapping[str, float]) -> str:
    """Return the scenario file: what the case's own scenario says, then what was set or moved.

    Parameters
    ----------
    case : Case
        The case that was explored.
    moved : mapping of float
        Rows moved, in canonical units of the site's money. [unit of the row]

    Raises
    ------
    AssumptionError
        If a name is not a number's row of the case, or a value lies outside its bounds.
    """
    for name, number in moved.items():
        _check(case, name, number)
    lines = {line["name"]: line for line in _own_lines(case)}
    for row in case.rows.values():
        if row.layer == "command line":
            set_to = row.base if row.spec.kind == "quantity" else None
            lines[row.name] = scenario_row(case, row, set_to, "set for this run")
    for name, number in moved.items():
        row = case.rows[name]
        lines[name] = scenario_row(case, row, number, f"moved by hand from {row.base:.6g}")
    made = io.StringIO()
    writer = csv.DictWriter(made, COLUMNS, restval="", extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(lines.values())
    return made.getvalue()


def save_scenario(case: Case, moved: Mapping[str, float], name: str) -> Path:
    """Write a scenario beside the others and return its file.

    Raises
    ------
    AssumptionError
        If the name is no name for a scenario, is taken, or a value is refused.
    """
    if not NAME.fullmatch(name):
        msg = f"'{name}' is no name for a scenario: small letters, digits and _ are accepted"
        raise AssumptionError(msg)
    if name in case.library.scenarios:
        msg = f"the scenario '{name}' is there already; give another name"
        raise AssumptionError(msg)
    folder = case.library.folder / "scenarios"
    text = scenario_text(case, moved)
    tables = folder / case.scenario
    if tables.is_dir():
        shutil.copytree(tables, folder / name)
    path = folder / f"{name}.csv"
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


def _own_lines(case: Case) -> list[dict[str, str]]:
    """Read the lines of the scenario that the case started from."""
    path = case.library.folder / "scenarios" / f"{case.scenario}.csv"
    with path.open(encoding="utf-8-sig", newline="") as file:
        start = file.readline()
        file.seek(0)
        return list(csv.DictReader(file, delimiter=";" if ";" in start else ","))


def _check(case: Case, name: str, number: float) -> None:
    """Refuse a row that is not there, and a number beyond its bounds.

    Raises
    ------
    AssumptionError
        Naming the row and what is accepted.
    """
    row = case.rows.get(name)
    if row is None or row.spec.kind != "quantity":
        msg = f"'{name}' is no number of this case{nearest(name, case.rows)}"
        raise AssumptionError(msg)
    if not row.spec.low <= number <= row.spec.high:
        msg = f"{name}: {number:g} lies outside {row.spec.low:g} to {row.spec.high:g}"
        raise AssumptionError(msg)
