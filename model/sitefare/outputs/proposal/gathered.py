"""Which lines of the register say the same of many keys, and can stand as one in a document?"""

from collections.abc import Iterable, Sequence

from sitefare.assumptions.declaration import DECLARED
from sitefare.outputs.citations import source_words
from sitefare.outputs.register import Entry

#: Fixed rows alike from which a table's rows are told in one line.
FEWEST = 3

#: Parts of the name of a keyed row: table, key, field.
KEYED = 3

#: One printed line: name, low, base, high, unit, layer, and its source as markup.
Line = tuple[str, str, str, str, str, str, str]


def printed(name: str) -> bool:
    """Say whether the printed register carries a row: of an item table, the item's measure alone."""
    prefix, *_, field = name.split(".")
    declared = DECLARED[prefix]
    return not declared.table or field == declared.measure


def gathered(entries: Iterable[Entry]) -> list[Line]:
    """Return the lines of a register, fixed rows alike of one keyed table told together.

    Rows go together that share table, field, unit, layer, source and basis, and have no range.
    Nothing with a range, and nothing that stands alone, is gathered.
    """
    groups: dict[tuple[str, ...], list[Entry]] = {}
    for entry in entries:
        groups.setdefault(_alike(entry), []).append(entry)
    lines: list[Line] = []
    for found in groups.values():
        if len(found) >= FEWEST:
            lines.append(_together(found))
        else:
            lines += [_line(entry) for entry in found]
    return lines


def _alike(entry: Entry) -> tuple[str, ...]:
    """Return what rows told together share; the whole name where a row stands alone."""
    parts = entry.name.split(".")
    if entry.low or entry.high or len(parts) != KEYED:
        return (entry.name,)
    return (parts[0], parts[2], entry.unit, entry.layer, entry.source, entry.basis)


def _line(entry: Entry) -> Line:
    """Return one row's line."""
    source = source_words(entry.source, entry.locator, entry.basis)
    return (entry.name, entry.low, entry.base, entry.high, entry.unit, entry.layer, source)


def _together(found: Sequence[Entry]) -> Line:
    """Return the line of rows alike: their number, and their least and greatest."""
    one = found[0]
    table, _, field = one.name.split(".")
    places = {entry.locator for entry in found}
    source = source_words(one.source, one.locator if len(places) == 1 else "", one.basis)
    return (f"{table}.*.{field}", "", _span(found), "", one.unit, one.layer, source)


def _span(found: Sequence[Entry]) -> str:
    """Write what rows alike hold: one value, least to greatest, or how many words."""
    held = {entry.base for entry in found}
    if len(held) == 1:
        return f"{found[0].base} ({len(found)} rows)"
    try:
        numbers = sorted(held, key=float)
    except ValueError:
        return f"{len(found)} rows"
    return f"{numbers[0]} to {numbers[-1]} ({len(found)} rows)"
