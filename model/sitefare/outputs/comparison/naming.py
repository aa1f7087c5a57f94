"""How is an alternative called? By its site, design and scenario, only the parts that differ."""

from collections import Counter
from collections.abc import Sequence

from sitefare.questions.lines import Line

#: What stands for the farm that the site's own folder gives.
OWN = "own design"

#: What the names of invented places end with; the document says it once, of all.
INVENTED = " (invented)"

#: Between the parts of a name.
DOT = " · "


def names_of(lines: Sequence[Line]) -> dict[str, str]:
    """Return the printed name of each alternative by its key; no two are alike."""
    parts = [_parts(line) for line in lines]
    telling = [len({row[n] for row in parts}) > 1 for n in range(4)]
    made = [
        line.alternative.title
        or DOT.join(part for part, tells in zip(row, telling, strict=True) if tells and part)
        or row[0]
        for line, row in zip(lines, parts, strict=True)
    ]
    counted = Counter(made)
    return {
        line.alternative.name: name if counted[name] == 1 else f"{name} ({line.alternative.name})"
        for line, name in zip(lines, made, strict=True)
    }


def _parts(line: Line) -> tuple[str, str, str, str]:
    """Return the words of an alternative's site, design, scenario and settings."""
    one = line.alternative
    return (
        place_of(line),
        said(one.design) or OWN,
        said(one.scenario),
        "; ".join(one.settings),
    )


def place_of(line: Line) -> str:
    """Return a place's name; the document says once that places are invented."""
    return line.place.removesuffix(INVENTED) if line.demonstration else line.place


def said(key: str) -> str:
    """Write a key of a folder or file as words."""
    return key.replace("_", " ")


def listed(names: Sequence[str], most: int = 4) -> str:
    """Join names as a sentence does; many are cut to the first, and how many more there are."""
    if len(names) > most + 1:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    if len(names) < 2:  # noqa: PLR2004
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
