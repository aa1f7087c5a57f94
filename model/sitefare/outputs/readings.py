"""What does each mark of a chart say, and which table says the same?

Both are read from the chart's own Vega-Lite specification, so that a value shown when a mark is
pointed at, the table beneath the chart and the drawing never differ. Charts keep to plain
encodings on inline rows; a mark that has no place on a named axis (a line at zero) says nothing.
"""

import ast
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sitefare.outputs import theme
from sitefare.outputs.drawing import lowered
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Drawing, Picture
from sitefare.outputs.words import words

Spec = dict[str, Any]

#: Where a mark's text travels in the rows of a drawing, by layer.
TOLD = "told_{}"

#: Marks that only label others, and marks whose points are pointed at one by one.
LABELS, LINES = ("text",), ("line", "area")

#: What a layer is called whose marks the chart itself keeps silent.
SILENT = "silent"

#: Fields that stand for nothing that a reader asks for.
REFERENCE = ("zero", "all")

#: Ends of a bar that are drawn for the eye alone, and the field that holds what it says.
DRAWN = {("first", "last"): "amount", ("result", "base"): "result"}

#: Size of the unseen points that make lines answer. [px²]
UNSEEN = 150

#: What the axis names of our charts hold in brackets.
_UNIT = re.compile(r"^(.*?)\s*\[(.+)\]$")


@dataclass(frozen=True)
class Reading:
    """What one mark says: its name on the named axis, its series, its value as text, the unit.

    `kind` says what sort of thing the name is, `remark` what the value rests on; `untold` leaves
    the series out of the words, where it is the only one and says nothing.
    """

    layer: int
    row: int
    name: str
    series: str
    value: str
    unit: str
    kind: str = ""
    remark: str = ""
    axis: str = ""
    untold: bool = False
    told: str = ""

    @property
    def category(self) -> str:
        """The name with its kind."""
        return f"{self.name} ({self.kind})" if self.kind else self.name

    @property
    def words(self) -> str:
        """The mark in words, the chart's own where it has some: 'Jan, Outdoor air: 8.5 °C'."""
        if self.told:
            return self.told
        name = f"{self.axis} {self.category}" if self.axis else self.category
        series = f"{self.series} ({self.remark})" if self.remark else self.series
        named = ", ".join(part for part in (name, "" if self.untold else series) if part)
        said = f"{self.value} {self.unit}".strip()
        return f"{named}: {said}" if named else said


@dataclass(frozen=True)
class Layer:
    """One layer of a specification with its rows and what its axes are called."""

    number: int
    mark: str
    encoding: Mapping[str, Any]
    rows: Sequence[Mapping[str, Any]]
    titles: Mapping[str, str]

    def field(self, channel: str) -> str:
        """Return the field of a channel, nothing where it has none."""
        return str(self.encoding.get(channel, {}).get("field", ""))

    def is_named(self, channel: str) -> bool:
        """Say whether a channel holds names rather than amounts."""
        return self.encoding.get(channel, {}).get("type") in ("nominal", "ordinal")

    @property
    def axes(self) -> tuple[str, str]:
        """The channel that names the rows and the one that measures them; '' where none does."""
        placed = [c for c in ("y", "x") if self.field(c)]
        named = [c for c in placed if self.is_named(c)]
        if named:
            measured = [c for c in placed if not self.is_named(c)]
            return named[0], measured[0] if measured else ""
        return ("x", "y") if len(placed) == 2 else ("", placed[0] if placed else "")  # noqa: PLR2004


def layers(spec: Spec) -> list[Layer]:
    """Return the layers of a specification that draws on inline rows, in drawing order."""
    parts = spec.get("layer", [spec])
    titles = {
        c: next((t for p in parts if (t := p.get("encoding", {}).get(c, {}).get("title"))), "")
        for c in ("x", "y", "color")
    }
    found = []
    for number, part in enumerate(parts):
        if "encoding" not in part or "mark" not in part:
            continue
        name = part.get("data", spec.get("data", {})).get("name", "")
        mark = part["mark"] if isinstance(part["mark"], str) else part["mark"]["type"]
        if isinstance(part["mark"], dict) and part["mark"].get("aria") is False:
            mark = LABELS[0] if mark in LABELS else SILENT
        rows = spec.get("datasets", {}).get(name, [])
        found.append(Layer(number, mark, part["encoding"], rows, titles))
    return found


def readings(picture: Picture | Drawing) -> tuple[Reading, ...]:
    """Return what the marks of a chart say, in drawing order; nothing for a drawing by hand."""
    if isinstance(picture, Drawing):
        return ()
    formats = Formats(picture.language)
    found = layers(picture.wide)
    beside = _beside(found)
    said = [
        r for one in found if one.mark not in (*LABELS, SILENT) for r in _read(one, beside, formats)
    ]
    own = words(picture.language)
    said = [r if r.series else replace(r, series=own["value"]) for r in said]
    series = {r.series for r in said if r.name}
    if len(series) == 1 and series <= {own["value"], own["span"]}:
        said = [replace(r, untold=bool(r.name)) for r in said]
    return tuple(said)


def told(spec: Spec, said: Sequence[Reading]) -> Spec:
    """Return a drawing in which every mark carries its words and lines have unseen points.

    `said` are the readings of the same chart; both drawings of a chart have the same layers.
    """
    made = {**spec, "datasets": {}, "layer": []}
    texts = {(r.layer, r.row): r.words for r in said}
    parts = spec.get("layer", [{k: spec[k] for k in ("mark", "encoding") if k in spec}])
    made.pop("mark", None)
    made.pop("encoding", None)
    datasets = {name: [dict(row) for row in rows] for name, rows in spec["datasets"].items()}
    points = []
    for number, part in enumerate(parts):
        source = part.get("data", spec.get("data", {})).get("name", "")
        rows = datasets.get(source, [])
        spoken = any((number, row) in texts for row in range(len(rows)))
        if not spoken or "encoding" not in part:
            made["layer"].append(_silent(part))
            continue
        own = part["encoding"].get("description")
        field = TOLD.format(number)
        if own is None:
            for index, row in enumerate(rows):
                row[field] = texts.get((number, index), "")
        telling = {"description": own or {"field": field, "type": "nominal"}}
        made["layer"].append({**part, "encoding": part["encoding"] | telling})
        points += _points(part, telling)
    made["datasets"] = datasets
    made["layer"] += points
    return made


def _read(layer: Layer, beside: Mapping[str, str], formats: Formats) -> Iterator[Reading]:
    """Yield what the marks of one layer say."""
    named, measured = layer.axes
    if not layer.rows or layer.field(measured) in REFERENCE:
        return
    name, unit = _title(layer, measured or "color")
    grouped, remarked = _roles(layer, named)
    spans = bool(layer.field(f"{measured}2")) if measured else False
    plain = name or words(formats.language)["value"]
    if spans and not _stands_for(layer, measured):
        plain = words(formats.language)["span"]
    own = layer.field("description")
    alone = not grouped or len({row[grouped] for row in layer.rows}) == 1
    for index, row in enumerate(layer.rows):
        told = line(str(row.get(own) or "")) if own else ""
        if told and (not named or placed_by_hand(layer)):
            yield _own(layer, index, told)
            continue
        value = _value(layer, measured, row, beside, formats)
        if not value or (own and not told):
            continue
        held = row.get(layer.field(named)) if named else None
        series = str(row[grouped]) if grouped else plain
        if not named:
            series = str(row.get("words") or _from_field(layer.field(measured)))
            if value == "0":
                continue
        made = Reading(
            layer.number,
            index,
            _shown(held, formats),
            line(series),
            value,
            unit,
            line(str(row[remarked])) if remarked else "",
            line(str(row.get("label") or "")),
            layer.titles.get(named, "") if isinstance(held, int | float) else "",
            told=told,
        )
        yield _in_its_words(made, alone=alone, measured=bool(measured))


def _in_its_words(reading: Reading, *, alone: bool, measured: bool) -> Reading:
    """Let a mark's own sentence, which may hold its range, stand for the value it is drawn at."""
    tail = reading.told.partition(": ")[2]
    if tail and alone:
        return replace(reading, value=tail, unit="", remark="")
    if not tail or measured:
        return reading
    parts = tail.split()
    pair = parts[1] if len(parts) == len(("number", "unit")) else ""
    return replace(reading, unit="%" if "%" in parts else pair)


def placed_by_hand(layer: Layer) -> bool:
    """Say whether marks stand between amounts both ways, so that no axis names them."""
    ends = layer.field("x2") and layer.field("y2")
    return bool(ends) and layer.mark not in LINES


def _own(layer: Layer, index: int, told: str) -> Reading:
    """Return the reading of a mark that only its own sentence names: 'name: value'."""
    name, found, value = told.partition(": ")
    return Reading(
        layer.number, index, name if found else "", "", value if found else told, "", told=told
    )


def _roles(layer: Layer, named: str) -> tuple[str, str]:
    """Return the field that tells series apart, and the one that only remarks on a row."""
    if named == "y" and layer.is_named("x") and layer.field("x"):
        return layer.field("x"), ""
    field = layer.field("color") if layer.is_named("color") else ""
    if not field or not named:
        return "", ""
    names = [row.get(layer.field(named)) for row in layer.rows]
    alone = len({row[field] for row in layer.rows}) == 1
    once = len(set(names)) == len(names)
    return ("", field) if once and not alone else (field, "")


def _value(
    layer: Layer, measured: str, row: Mapping[str, Any], beside: Mapping[str, str], formats: Formats
) -> str:
    """Return a row's value as text, without its unit."""
    if not measured:
        text = beside.get(",".join((layer.field("x"), layer.field("y"))), "")
        return str(row.get(text, ""))
    low, high = layer.field(measured), layer.field(f"{measured}2")
    stands = _stands_for(layer, measured)
    if stands:
        return _shown(_amount(row, stands, low, high), formats)
    quarters = _quarters(layer.encoding[measured])
    if quarters:
        first, last = (quarters[_quarter(row[k], k == high, quarters)] for k in (low, high))
        return first if first == last else f"{first}–{last}"
    if not high:
        return _shown(row.get(low), formats)
    ends = sorted((float(row[low]), float(row[high])))
    return formats.span(ends[0], ends[1], formats.number)


def _amount(row: Mapping[str, Any], stands: str, low: str, high: str) -> float:
    """Return what a bar shows; the bar of a whole, which has no amount, its length."""
    amount = row.get(stands)
    return float(row[high] - row[low] if amount is None else amount)


def _stands_for(layer: Layer, measured: str) -> str:
    """Return the field that says what a bar between two ends shows, nothing for a range."""
    return DRAWN.get((layer.field(measured), layer.field(f"{measured}2")), "")


def _quarters(encoding: Mapping[str, Any]) -> list[str]:
    """Return the names that an axis of months counted from 0 gives to its quarters."""
    axis = encoding.get("axis") or {}
    found = re.match(r"^(\[.*\])\[round\(datum\.value / 3\)\]$", str(axis.get("labelExpr", "")))
    return [str(name) for name in ast.literal_eval(found[1])] if found else []


def _quarter(month: float, is_end: bool, names: Sequence[str]) -> int:  # noqa: FBT001
    """Return the place of the quarter that a month lies in; an end lies before its month."""
    place = int((month - 1 if is_end else month) // 3)
    return min(max(place, 0), len(names) - 1)


def _beside(found: Sequence[Layer]) -> dict[str, str]:
    """Return the fields that texts print, by the fields where they stand."""
    return {
        ",".join((layer.field("x"), layer.field("y"))): layer.field("text")
        for layer in found
        if layer.mark in LABELS
    }


def _title(layer: Layer, channel: str) -> tuple[str, str]:
    """Return an axis's name and unit: 'Temperature [°C]' is both, 'Million JOD' a unit."""
    title = layer.titles.get(channel, "")
    found = _UNIT.match(title)
    if found:
        return found[1], found[2].removesuffix(", logarithmic")
    percent = "%" if channel == "color" and title == "" else ""
    money = re.match(r"^(Million |Thousand )?[A-Z]{3}\b", title)
    return ("", lowered(title)) if money else (title, percent)


def _points(part: Spec, telling: Spec) -> list[Spec]:
    """Return the layer of unseen points that lets a line or an area answer."""
    mark = part["mark"] if isinstance(part["mark"], dict) else {"type": part["mark"]}
    if mark["type"] not in LINES or mark.get("point"):
        return []
    placed = {c: part["encoding"][c] for c in ("x", "y") if c in part["encoding"]}
    unseen = {"type": "square", "opacity": 0, "size": UNSEEN, "color": theme.INK}
    made = {"mark": unseen, "encoding": placed | telling}
    return [made | ({"data": part["data"]} if "data" in part else {})]


def _silent(part: Spec) -> Spec:
    """Return a layer whose marks say nothing."""
    if "mark" not in part:
        return part
    mark = part["mark"] if isinstance(part["mark"], dict) else {"type": part["mark"]}
    return {**part, "mark": mark | {"aria": False}}


def _shown(content: object, formats: Formats) -> str:
    """Write what a row holds: a number with three figures, a year whole, text as it stands."""
    if isinstance(content, bool) or content is None:
        return ""
    if isinstance(content, int | float):
        whole = float(content).is_integer() and abs(content) < 1000  # noqa: PLR2004
        return f"{int(content)}".replace("-", "−") if whole else formats.number(float(content))
    return line(str(content))


def line(text: str) -> str:
    """Return words on one line."""
    return " ".join(text.split())


def _from_field(field: str) -> str:
    return field.replace("_", " ").capitalize()
