"""How does a CSV that a person, or their spreadsheet, saved become cells?

Comma or semicolon between cells, a byte-order mark and either line ending are read. A number
uses a point; in a semicolon file it may use a comma throughout. Anything doubtful is refused
with its file, line and column.
"""

import csv
import difflib
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NoReturn

from sitefare.errors import AssumptionError

#: Largest number that a cell may hold; more is a slip.
LARGEST = 1e12

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")


def nearest(word: str, known: Iterable[str]) -> str:
    """Say which known word is nearest, or nothing."""
    found = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"; the nearest known name is '{found[0]}'" if found else ""


@dataclass(frozen=True)
class Line:
    """One line of a table: its cells by column, where it stands, how its numbers may look."""

    file: str
    number: int
    cells: dict[str, str]
    decimal_comma: bool
    semicolons: bool = False

    def refuse(self, column: str, accepted: str) -> NoReturn:
        """Refuse a cell, naming file, line, column, what was found and what would be accepted.

        Raises
        ------
        AssumptionError
            Always.
        """
        found = self.cells.get(column, "")
        where = f"{self.file} line {self.number}, column {column}" if self.number else self.file
        msg = f"{where}: found '{found}'; {accepted}"
        raise AssumptionError(msg)

    def number_in(self, column: str) -> float | None:
        """Read a number, or None where the cell is blank.

        Raises
        ------
        AssumptionError
            If the cell holds anything else.
        """
        cell = self.cells[column].replace("\u2212", "-")
        if not cell:
            return None
        if self.semicolons and re.fullmatch(r"[+-]?[1-9]\d{0,2}(\.\d{3})+", cell):
            self.refuse(column, "the point may part thousands or decimals: write 1500 or 1,5")
        if "," in cell and self.decimal_comma and re.fullmatch(r"[+-]?\d+,\d+", cell):
            cell = cell.replace(",", ".")
        if not NUMBER.fullmatch(cell):
            hint = "a plain number such as 1234.5 is accepted"
            if "," in cell:
                hint += ", with no comma in it"
            if "%" in cell:
                hint += ", with % as its unit"
            self.refuse(column, hint)
        number = float(cell)
        if abs(number) > LARGEST:
            self.refuse(column, f"a number of at most {LARGEST:g} is accepted")
        return number


def decoded(path: Path) -> str:
    """Read a file as UTF-8 text.

    Raises
    ------
    AssumptionError
        If it is saved in another encoding.
    """
    raw = path.read_bytes()
    msg = f"{shown(path)}: not saved as UTF-8 text; save it again as 'CSV UTF-8'"
    if b"\x00" in raw:
        raise AssumptionError(msg)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise AssumptionError(msg) from error


def shown(path: Path) -> str:
    """Name a file as messages do: with its folder where that tells site from site."""
    if path.parent.parent.name in ("sites", "designs", "scenarios"):
        return f"{path.parent.parent.name}/{path.parent.name}/{path.name}"
    if path.parent.name in ("common", "designs", "scenarios"):
        return f"{path.parent.name}/{path.name}"
    return path.name


def read_lines(path: Path) -> tuple[list[str], list[Line]]:
    """Read a table: its header and its lines, blank lines left out.

    Raises
    ------
    AssumptionError
        If the file is empty, a column repeats, or a line has too many or too few cells.
    """
    file = shown(path)
    text = decoded(path)
    first = text.lstrip("\r\n").split("\n", 1)[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    if "\t" in first and "," not in first and ";" not in first:
        msg = f"{file}: cells are separated by tabs; save it with commas or semicolons"
        raise AssumptionError(msg)
    try:
        table = list(enumerate(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True), 1))
    except csv.Error as error:
        msg = f"{file}: not a readable CSV ({error}); look for an unclosed quotation mark"
        raise AssumptionError(msg) from error
    cells = [(n, [c.replace("\u00a0", " ").strip() for c in row]) for n, row in table]
    cells = [(n, row) for n, row in cells if any(row)]
    if not cells:
        msg = f"{file}: the file is empty; its first line must name the columns"
        raise AssumptionError(msg)
    header = cells[0][1]
    while header and not header[-1]:
        header.pop()
    repeated = {c for c in header if header.count(c) > 1}
    if repeated:
        msg = f"{file} line 1: column '{min(repeated)}' stands twice; once is accepted"
        raise AssumptionError(msg)
    comma = delimiter == ";" and not _uses_point(cells)
    lines = [_line(file, n, header, row, comma=comma) for n, row in cells[1:]]
    return header, [replace(line, semicolons=delimiter == ";") for line in lines]


def _uses_point(cells: list[tuple[int, list[str]]]) -> bool:
    """Say whether any cell of a table is a number written with a point."""
    return any(re.fullmatch(r"[+-]?\d*\.\d+", c) for _, row in cells[1:] for c in row)


def _line(file: str, number: int, header: list[str], row: list[str], *, comma: bool) -> Line:
    """Pair a row's cells with the header."""
    if len(row) > len(header) and any(row[len(header) :]):
        extra = row[len(header) :]
        msg = (
            f"{file} line {number}: {len(row)} cells where the header has {len(header)}, "
            f"from '{extra[0]}' on; a cell that holds a comma needs quotation marks"
        )
        raise AssumptionError(msg)
    filled = row + [""] * (len(header) - len(row))
    return Line(file, number, dict(zip(header, filled, strict=False)), comma)


def require_columns(file: str, header: Sequence[str], expected: Sequence[str]) -> None:
    """Refuse a header with an unknown or a missing column.

    Raises
    ------
    AssumptionError
        Naming the column and the columns that are accepted.
    """
    for column in header:
        if column not in expected:
            msg = (
                f"{file} line 1: column '{column}' is not known{nearest(column, expected)}; "
                f"the columns are {', '.join(expected)}"
            )
            raise AssumptionError(msg)
    for column in expected:
        if column not in header:
            msg = f"{file} line 1: column '{column}' is missing; the columns are "
            raise AssumptionError(msg + ", ".join(expected))
