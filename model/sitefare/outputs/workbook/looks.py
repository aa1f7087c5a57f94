"""How cells look: number formats by kind, and colours that say what a cell is.

The colours are our own: what may be typed over stands on ochre, what the farm model gives on
pale blue-grey, formulas on white.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sitefare.outputs.theme import BAND, FAMILY, INK, LINE, MUTED, PALETTE
from sitefare.outputs.workbook.frame import Cell, Kind
from sitefare.outputs.workbook.resolve import Places

#: Fill of values that the farm model gives, and of headings. [sRGB]
FROM_MODEL, HEADING = "#e6eef1", "#eef2f3"

#: Text of a check that holds, and of one that does not. [sRGB]
HOLDS, FAILS = PALETTE["sage"], PALETTE["brick"]

#: Colours of tabs: what is read, typed, worked out, answered. [sRGB]
TABS = {
    "words": LINE,
    "inputs": PALETTE["ochre"],
    "workings": MUTED,
    "answers": PALETTE["deep"],
}

NUMBER_FORMATS: dict[Kind, str] = {
    "money": '#,##0;-#,##0;"–"',
    "price": '#,##0.00##;-#,##0.00##;"–"',
    "number": '#,##0.00;-#,##0.00;"–"',
    "count": "0",
    "share": '0.0%;-0.0%;"–"',
    "rate": "0.00%;-0.00%;0%",
    "path": "0.0000",
    "text": "@",
    "general": "General",
    "fine": "#,##0.00###",
    "finest": "0.00######",
}

#: What a protected sheet still allows; there is no password.
PROTECTION = {
    "format_columns": True,
    "format_rows": True,
    "select_locked_cells": True,
    "select_unlocked_cells": True,
    "autofilter": True,
    "sort": False,
}

#: Cells read from left to right also where a place's name that begins them does not.
BASE: dict[str, Any] = {
    "font_name": FAMILY,
    "font_size": 9,
    "font_color": INK,
    "valign": "top",
    "reading_order": 1,
}

STYLES: dict[str, dict[str, Any]] = {
    "plain": {},
    "label": {"text_wrap": True},
    "title": {"bold": True, "font_size": 15, "font_color": PALETTE["deep"]},
    "lead": {"font_color": MUTED},
    "heading": {"bold": True, "font_size": 11, "bg_color": HEADING, "bottom": 1,
                "bottom_color": LINE},
    "note": {"font_color": MUTED, "italic": True},
    "strong": {"bold": True},
    "key": {"font_color": MUTED, "font_size": 7},
    "unit": {"font_color": MUTED},
    "head": {"bold": True, "align": "right", "bottom": 1, "bottom_color": LINE},
    "head_left": {"bold": True, "bottom": 1, "bottom_color": LINE, "text_wrap": True},
    "head_text": {"bold": True, "bottom": 1, "bottom_color": LINE, "text_wrap": True, "indent": 1,
                  "align": "left"},
    "head_right": {"bold": True, "bottom": 1, "bottom_color": LINE, "text_wrap": True,
                   "align": "right"},
    "input": {"bg_color": BAND, "locked": False, "border": 1, "border_color": PALETTE["ochre"]},
    "input_sample": {"bg_color": BAND, "border": 1, "border_color": PALETTE["ochre"]},
    "given": {"bg_color": FROM_MODEL},
    "caution": {"bold": True, "font_color": FAILS},
    "paragraph": {"text_wrap": True},
    "aside": {"font_color": MUTED, "font_size": 8, "indent": 1, "align": "left"},
    "aside_plain": {"indent": 1, "align": "left"},
    "wrapped_plain": {"indent": 1, "align": "left", "text_wrap": True},
    "wrapped": {"text_wrap": True, "indent": 1, "align": "left", "font_color": MUTED, "font_size": 8},
    "holds": {"bold": True, "font_color": HOLDS},
    "link": {"font_color": PALETTE["brick"], "underline": 1},
    "word": {"text_wrap": True, "bold": True, "font_color": MUTED},
    "fails": {"bold": True, "font_color": PALETTE["brick"], "bg_color": BAND},
}  # fmt: skip


@dataclass
class Heads:
    """What stands at the head of the columns of each axis: number, label, project year."""

    number: Mapping[str, Sequence[float]]
    label: Mapping[str, Sequence[str]]
    year: Sequence[float]


@dataclass
class Book:
    """A workbook being written: its file, formats made so far, and the inputs left unlocked."""

    file: Any
    places: Places
    heads: Heads
    unlocked: frozenset[str]
    formats: dict[tuple[str, str, bool], Any] = field(default_factory=dict)

    def look(self, style: str, kind: Kind | str = "", *, strong: bool = False) -> Any:  # noqa: ANN401
        """Return a cell format, made once."""
        key = (style, kind, strong)
        if key not in self.formats:
            settings = {**BASE, **STYLES[style]}
            if kind:
                settings["num_format"] = NUMBER_FORMATS[kind]  # type: ignore[index]
                settings["align"] = "left" if kind == "text" else "right"
            if strong:
                settings["bold"] = True
            self.formats[key] = self.file.add_format(settings)
        return self.formats[key]


def lines_of(words: Iterable[tuple[str, float]]) -> int:
    """Return the lines that words take in columns so wide, the most of them. [characters]"""
    return max((math.ceil(len(text) / width) for text, width in words if text), default=1)


def head_style(*, number: bool, beyond: bool) -> str:
    """Return the style of a column's title: over numbers, over words, over words after numbers."""
    return "head_right" if number else ("head_text" if beyond else "head_left")


def word_style(*, beyond: bool, runs_on: bool) -> str:
    """Return the style of words in a table: after numbers or not, run on or wrapped."""
    if runs_on:
        return "aside_plain" if beyond else "plain"
    return "wrapped_plain" if beyond else "label"


def bounds(cell: Cell) -> dict[str, Any]:
    """Return what may be typed in an input cell."""
    low, high = max(cell.low, -1e15), min(cell.high, 1e15)
    return {
        "validate": "decimal",
        "criteria": "between",
        "minimum": low,
        "maximum": high,
        "error_title": "Outside what this row accepts",
        "error_message": f"{low:g} to {high:g}"[:250],
    }
