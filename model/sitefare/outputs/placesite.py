"""How does a place of a screening table become a site's folder?

The folder of the site it is like is copied, and the values that the place's line gives are put in
place of that site's: a row where rows stand, a cell where an item table holds it.
"""

import csv
import io
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from sitefare.assumptions.library import Library
from sitefare.assumptions.places import SOURCE, Place, place_rows
from sitefare.assumptions.rows import (
    MONTHLY_COLUMNS,
    MONTHS,
    ROW_COLUMNS,
    Row,
    declared_field,
    item_column,
)
from sitefare.assumptions.weather_rows import NO_FILE
from sitefare.errors import AssumptionError

#: Source that a value takes whose line names none, since a screening table is no listed source.
JUDGED = "judgement"


def place_folder(library: Library, place: Place) -> Path:
    """Turn a place of a screening table into a site's folder; returns it.

    Raises
    ------
    AssumptionError
        If a site of that name is there already, or a value is refused.
    """
    folder = library.folder / "sites" / place.key
    if folder.exists():
        msg = f"site '{place.key}' exists already"
        raise AssumptionError(msg)
    in_force = {**library.common.rows, **library.site(place.like).rows}
    rows = place_rows(place, in_force, library)
    # Whole under its name, or not at all: a folder that begins with a dot is no site.
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".making-") as name:
        making = Path(name) / place.key
        shutil.copytree(library.folder / "sites" / place.like, making)
        for row in rows.values():
            _put(making, row)
            if row.name == "climate.weather_file" and row.text not in NO_FILE:
                target = making / row.text
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(place.folder / row.text, target)
        making.rename(folder)
    return folder


def _put(folder: Path, row: Row) -> None:
    """Put one row where it belongs, the line it replaces taken out."""
    declared = declared_field(row.name)
    prefix = row.name.split(".")[0]
    table = folder / f"{prefix}.csv"
    if declared is not None and declared[0].table and table.exists():
        head, lines = _read(table)
        if "key" in head:
            _put_item(table, head, lines, row)
            return
    for path in folder.glob("*.csv"):
        head, lines = _read(path)
        if "name" in head and any(line["name"] == row.name for line in lines):
            _write(path, head, [line for line in lines if line["name"] != row.name])
    path = folder / ("climate.csv" if row.months else "site.csv")
    columns = MONTHLY_COLUMNS if row.months else ROW_COLUMNS
    head, lines = _read(path) if path.exists() else (list(columns), [])
    _write(path, head, [*lines, _cells(row)])


def _put_item(path: Path, head: list[str], lines: list[dict[str, str]], row: Row) -> None:
    """Put a value into the line of its item."""
    declared, key, field, _ = declared_field(row.name) or (None, "", "", None)
    cells = _cells(row)
    for line in lines:
        if declared is None or line["key"] != key:
            continue
        if field == declared.measure:
            line |= {name: cells[name] for name in ("unit", "low", "base", "high")}
        else:
            line[item_column(declared, field)] = cells["base"]
        line |= {name: cells[name] for name in ("source", "as_of", "basis") if name in line}
    _write(path, head, lines)


def _cells(row: Row) -> dict[str, str]:
    """Write a row as the cells of a line, in the unit it was given in."""
    numbers: Mapping[str, float | None] = {"low": row.low, "base": row.base, "high": row.high}
    text = row.spec.kind in ("choice", "text")
    given = {name: "" if text or x is None else f"{x:.12g}" for name, x in numbers.items()}
    given |= {"base": row.text} if text else {}
    given |= {month: f"{x:.12g}" for month, x in zip(MONTHS, row.months, strict=False)}
    unit = row.spec.kind if text else row.spec.unit.replace("money", row.currency)
    source = JUDGED if row.source == SOURCE else row.source
    return {
        "name": row.name, "unit": unit, **given, "varies": "", "source": source,
        "locator": row.locator, "as_of": row.as_of, "basis": row.basis, "note": row.note,
    }  # fmt: skip


def _read(path: Path) -> tuple[list[str], list[dict[str, str]]]:
    """Read a table as it stands: its header and its cells."""
    text = path.read_text(encoding="utf-8-sig")
    first = text.split("\n", 1)[0]
    reader = csv.DictReader(io.StringIO(text), delimiter=";" if ";" in first else ",")
    lines = [{k: v or "" for k, v in line.items() if k} for line in reader]
    return list(reader.fieldnames or []), lines


def _write(path: Path, head: list[str], lines: Iterable[Mapping[str, str]]) -> None:
    """Write a table whole."""
    made = io.StringIO()
    writer = csv.DictWriter(made, head, restval="", extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(lines)
    path.write_text(made.getvalue(), encoding="utf-8-sig", newline="\n")
