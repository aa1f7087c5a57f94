"""How do a chart's words read in another language? Its specification is walked when it is drawn.

Axis and legend titles, names of series and labels are replaced as far as the catalogue goes, the
same everywhere, so that domains, sort orders and tests still agree with the data. Charts keep
their direction: time and amounts run from left to right, as their numbers do.
"""

import re
import textwrap
from typing import Any

from sitefare.outputs.catalogue import (
    ARABIC_OR_HEBREW,
    END,
    RIGHT,
    SOURCE,
    base,
    catalogue,
    right_to_left,
)

#: Keys whose strings are shown, and whose strings are compared with what is shown.
SHOWN = frozenset({"title", "text", "domain", "sort", "values", "equal", "oneOf", "datum"})
COMPARED = frozenset({"test", "filter", "calculate", "labelExpr", "expr"})

#: Keys that hold no words.
LEFT_ALONE = frozenset({"$schema", "config", "usermeta", "description", "field", "type", "mark"})

QUOTED = re.compile(r"'([^'\\]*)'")


def localised(spec: dict[str, Any], language: str) -> dict[str, Any]:
    """Return a Vega-Lite specification with its words in a language."""
    if base(language) == SOURCE:
        return spec
    return {key: _under(key, value, language) for key, value in spec.items()}


def shown_words(spec: dict[str, Any]) -> list[str]:
    """Return the words of a specification that a catalogue is asked for, axis titles first."""
    found: dict[str, None] = {}
    _gather(spec, "", found)
    return list(found)


def axis_titles(spec: Any) -> list[str]:  # noqa: ANN401
    """Return the titles of a specification's axes and legends."""
    if isinstance(spec, list):
        return [title for part in spec for title in axis_titles(part)]
    if not isinstance(spec, dict):
        return []
    titles = []
    for key, value in spec.items():
        if key == "title" and isinstance(value, str):
            titles.append(value)
        elif key not in LEFT_ALONE and key != "datasets":
            titles += axis_titles(value)
    return titles


def say(words: str, language: str) -> str:
    """Return a chart's words in a language, wrapped again where they were wrapped.

    Right-to-left words stay on one line: the drawing of the PDF sets their second line wrongly.
    """
    lines = words.split("\n")
    found = catalogue(language).said(words)
    if found is None:
        return words
    if right_to_left(language):
        return _held(found)
    return "\n".join(textwrap.wrap(found, max(map(len, lines)))) if len(lines) > 1 else found


def _held(line: str) -> str:
    """Keep a right-to-left line with signs or Latin in it together."""
    plain = ARABIC_OR_HEBREW.search(line) is None or re.fullmatch(r"[\w\s]+", line)
    return line if plain else f"{RIGHT}{line}{END}"


def _under(key: str, value: Any, language: str) -> Any:  # noqa: ANN401
    """Return what stands under a key with its words said."""
    if key in LEFT_ALONE:
        return value
    if key == "datasets":
        return {name: [_row(row, language) for row in rows] for name, rows in value.items()}
    if isinstance(value, dict):
        return {inner: _under(inner, part, language) for inner, part in value.items()}
    if isinstance(value, list):
        return [_under(key, part, language) for part in value]
    if isinstance(value, str) and key in SHOWN | COMPARED:
        quoted = QUOTED.sub(lambda match: f"'{say(match[1], language)}'", value)
        return quoted if key in COMPARED else say(value, language)
    return value


def _row(row: dict[str, Any], language: str) -> dict[str, Any]:
    """Return a row of data with its words said."""
    return {c: say(x, language) if isinstance(x, str) else x for c, x in row.items()}


def _gather(value: Any, key: str, found: dict[str, None]) -> None:  # noqa: ANN401
    """Collect the words under a key."""
    if key in LEFT_ALONE:
        return
    if key == "datasets":
        for rows in value.values():
            for row in rows:
                found.update((x, None) for x in row.values() if isinstance(x, str))
    elif isinstance(value, dict):
        for inner, part in value.items():
            _gather(part, inner, found)
    elif isinstance(value, list):
        for part in value:
            _gather(part, key, found)
    elif isinstance(value, str) and key in SHOWN:
        found[value] = None
