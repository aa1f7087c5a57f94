"""Which table stands beneath a chart and says what it shows?

It is made of what the chart's marks say, so that the two never differ.
"""

import math
import re
from dataclasses import dataclass

from sitefare.outputs.picture import Drawing, Picture
from sitefare.outputs.readings import LABELS, Reading, layers, line, placed_by_hand, readings
from sitefare.outputs.words import words

#: Lines of a table beneath a chart; a longer one keeps every second line, and so on.
LONGEST = 40


#: Characters from which a cell is words rather than a number.
WORDY = 24


@dataclass(frozen=True)
class DataTable:
    """The table beneath a chart: the head of its names, its series with units, its lines."""

    head: str
    columns: tuple[tuple[str, str], ...]
    lines: tuple[tuple[str, ...], ...]

    @property
    def sides(self) -> tuple[str, ...]:
        """The side that each column keeps to: left for words, right for numbers."""
        columns = zip(*self.lines, strict=True)
        wordy = [any(len(cell) > WORDY for cell in column) for column in columns]
        return ("left", *("left" if words else "right" for words in wordy[1:]))


def data_table(picture: Picture | Drawing) -> DataTable | None:
    """Return the table that says what the chart shows, or nothing where there is none to make."""
    said = readings(picture)
    if not said or isinstance(picture, Drawing):
        return None
    named = [r for r in said if r.name]
    names = _in_order(picture, list(dict.fromkeys(r.name for r in named)))
    kinds = {r.name: r.category for r in named}
    series = _in_order(picture, list(dict.fromkeys(r.series for r in named)), "color")
    units = {r.series: r.unit for r in named}
    columns = [(one, units[one]) for one in series]
    cells = {(r.name, r.series): _cell(r) for r in named}
    lines = tuple((kinds[n], *(cells.get((n, s), "–") for s in series)) for n in _kept(names))
    if not lines or not columns:
        return None
    return DataTable(_head(picture), tuple(columns), lines)


def _head(picture: Picture) -> str:
    """Return the head of a table's first column: what the named axis is called."""
    own = words(picture.language)
    for layer in layers(picture.wide):
        named, _ = layer.axes
        if layer.mark in LABELS or not named:
            continue
        title = layer.titles.get(named, "")
        if title and not title.endswith("]") and not placed_by_hand(layer):
            return title
        return own["month"] if layer.field(named).startswith("month") else own["what"]
    return own["what"]


def _in_order(picture: Picture, names: list[str], channel: str = "") -> list[str]:
    """Return names in the order of the chart's named axis, or of its colours."""
    for layer in layers(picture.wide):
        told = layer.encoding.get(channel or layer.axes[0], {})
        order = (told.get("scale") or {}).get("domain") if channel else told.get("sort")
        if isinstance(order, list) and all(isinstance(name, str) for name in order):
            place = {line(str(name)): n for n, name in enumerate(order)}
            return sorted(names, key=lambda name: place.get(name, len(place)))
    return names


def _kept(names: list[str]) -> list[str]:
    """Return the names that a table has room for: whole ones, else every second, and so on."""
    if len(names) <= LONGEST:
        return names
    whole = [name for name in names if re.fullmatch(r"−?\d+", name)]
    if len(whole) > 1:
        names = whole
    return names[:: math.ceil(len(names) / LONGEST)]


def _cell(reading: Reading) -> str:
    return f"{reading.value} ({reading.remark})" if reading.remark else reading.value
