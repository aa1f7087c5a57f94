"""Which places does a screening table name, and what case does each make?

A line is a place: its key, the site it is like, perhaps its longitude, and any value in force
under its dotted name with the unit in the header (`tariff.electricity [GEL/kWh]`), a month's
under the name with the month after it (`climate.temperature.jan [degC]`). What a line leaves blank
is that of the site it is like. A value given keeps the relative spread of the value it replaces.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from sitefare.assumptions.case import Case, case_from_layers, over
from sitefare.assumptions.files import Line, nearest, read_lines, shown
from sitefare.assumptions.library import Layer, Library
from sitefare.assumptions.rows import MONTHS, TAIL, Row, declared_field, row_from_line
from sitefare.errors import AssumptionError

#: Columns that are no values.
KEY, LIKE, LONGITUDE = "place", "like", "longitude"
PLAIN = (KEY, LIKE, LONGITUDE, *TAIL)

#: Source of a value whose line names none.
SOURCE = "screening_table"

HEAD = re.compile(r"([a-z][a-z0-9_.]*)(?: \[([^\]]+)\])?")


@dataclass(frozen=True)
class Value:
    """One value of a line: its name, its unit, and the columns that hold it, one or twelve."""

    name: str
    unit: str
    columns: tuple[str, ...]


@dataclass(frozen=True)
class Place:
    """One line: where, which site it is like, which values it gives; `folder` holds its files."""

    key: str
    like: str
    longitude: float | None
    given: tuple[Value, ...]
    line: Line
    folder: Path

    @property
    def told(self) -> str:
        """Everything the line says, for the hash of inputs."""
        return "\n".join(f"{column}={cell}" for column, cell in sorted(self.line.cells.items()))


def read_places(path: Path, library: Library) -> list[Place]:
    """Read a table of places.

    Raises
    ------
    AssumptionError
        If a column is no value, no line is there, a key repeats or is no name for a site, or a
        site it is like is not there.
    """
    header, lines = read_lines(path)
    values = _values(path, header)
    for column in (KEY, LIKE):
        if column not in header:
            msg = f"{shown(path)} line 1: column '{column}' is missing"
            raise AssumptionError(msg)
    if not lines:
        msg = f"{shown(path)}: no line stands below the columns; a line is a place"
        raise AssumptionError(msg)
    places = [_place(line, values, path.parent, library) for line in lines]
    seen: set[str] = set()
    for place in places:
        if place.key in seen:
            place.line.refuse(KEY, "each place needs a key of its own")
        seen.add(place.key)
    return places


def _values(path: Path, header: Sequence[str]) -> tuple[Value, ...]:
    """Read the columns that hold values; the twelve of a month's value are one."""
    found: dict[str, Value] = {}
    for column in header:
        if column in PLAIN:
            continue
        match = HEAD.fullmatch(column)
        name, unit = (match[1], match[2] or "") if match else ("", "")
        stem, _, month = name.rpartition(".")
        monthly = month in MONTHS and declared_field(stem) is not None
        name = stem if monthly else name
        declared = declared_field(name)
        if declared is None:
            msg = (
                f"{shown(path)} line 1: column '{column}' is no assumption; write its dotted name "
                "and its unit, such as 'place.elevation [m]'"
            )
            raise AssumptionError(msg)
        unit = unit or declared[3].kind
        before = found.get(name)
        columns = (*before.columns, column) if before else (column,)
        found[name] = Value(name, unit, columns)
    for value in found.values():
        declared = declared_field(value.name)
        if declared is not None and declared[3].kind == "monthly" and len(value.columns) != 12:  # noqa: PLR2004
            msg = f"{shown(path)} line 1: {value.name} needs twelve columns, jan to dec"
            raise AssumptionError(msg)
    return tuple(found.values())


def _place(line: Line, values: tuple[Value, ...], folder: Path, library: Library) -> Place:
    """Make one place of a line."""
    key, like = line.cells[KEY], line.cells[LIKE]
    if not re.fullmatch(r"[a-z][a-z0-9_]*", key):
        line.refuse(KEY, "small letters, digits and underscores are accepted")
    if like not in library.sites:
        line.refuse(LIKE, f"a site's folder is accepted{nearest(like, library.sites)}")
    longitude = line.number_in(LONGITUDE) if LONGITUDE in line.cells else None
    if longitude is not None and not -180 <= longitude <= 180:  # noqa: PLR2004
        line.refuse(LONGITUDE, "-180 to 180 degrees are accepted, west negative")
    given = tuple(v for v in values if any(line.cells[column] for column in v.columns))
    return Place(key, like, longitude, given, line, folder)


def place_rows(place: Place, like: Mapping[str, Row], library: Library) -> dict[str, Row]:
    """Return the rows that a place's line gives, by name.

    Raises
    ------
    AssumptionError
        If a value is refused.
    """
    sources = {key: source.citation for key, source in library.sources.items()}
    sources.setdefault(SOURCE, "the table of places screened")
    layer = f"site {place.key}"
    rows = {}
    for value in place.given:
        try:
            row = row_from_line(_row_line(place, value), layer, sources)
        except AssumptionError as error:
            raise AssumptionError(_in_this_table(str(error), value)) from error
        rows[value.name] = _spread_as(row, like)
    if "place.name" not in rows and "place.name" in like:
        name = place.key.replace("_", " ").capitalize()
        rows["place.name"] = replace(like["place.name"], text=name, layer=layer)
    return rows


def _in_this_table(words: str, value: Value) -> str:
    """Name the column of this table in a refusal that names that of a table of assumptions."""
    for column, own in zip(("base", *MONTHS), (value.columns[0], *value.columns), strict=False):
        words = words.replace(f", column {column}:", f", column {own}:")
    return words


def _row_line(place: Place, value: Value) -> Line:
    """Lay a value out as a line of a table of assumptions."""
    cells, given = place.line.cells, {}
    if len(value.columns) > 1:
        given = dict(zip(MONTHS, (cells[column] for column in value.columns), strict=True))
    else:
        given = {"low": "", "base": cells[value.columns[0]], "high": "", "varies": ""}
    tail = {column: cells.get(column, "") for column in TAIL}
    tail |= {"source": tail["source"] or SOURCE, "basis": tail["basis"] or "judgement"}
    return replace(place.line, cells={"name": value.name, "unit": value.unit, **given, **tail})


def _spread_as(row: Row, like: Mapping[str, Row]) -> Row:
    """Give a value the relative spread of the one it replaces, within its bounds."""
    old = like.get(row.name)
    if old is None or old.low is None or old.high is None or not old.base:
        return row
    ends = sorted(row.base * end / old.base for end in (old.low, old.high))
    low, high = (min(max(end, row.spec.low), row.spec.high) for end in ends)
    if not low < high or not low <= row.base <= high:
        return row
    note = f"{row.note}; spread as at the site it is like".lstrip("; ")
    return replace(row, low=low, high=high, varies=old.varies, note=note)


def place_case(
    library: Library, place: Place, scenario: str, settings: Sequence[str], design: str = ""
) -> Case:
    """Resolve a place, with a design or that of the site it is like, into a case of its own.

    Raises
    ------
    AssumptionError
        If a value of its line, the scenario or a setting is refused.
    """
    name = f"site {place.key}"
    like = library.site(place.like)
    taken = {n: replace(row, layer=name) for n, row in like.rows.items()}
    in_force = {**library.common.rows, **taken}
    layer = Layer(name, {**taken, **place_rows(place, in_force, library)}, like.pairs)
    layers = [library.common, layer, *over(library, scenario, design)]
    weather = "climate.weather_file" in {value.name for value in place.given}
    folder = place.folder if weather else library.folder / "sites" / place.like
    told = f"{place.like}\n{place.told}"
    return case_from_layers(
        library, place.key, scenario, layers, settings, folder=folder, told=told, design=design
    )
