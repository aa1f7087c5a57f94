"""Which source stands behind a statement, and under which number is it listed?

Text cites by key, `[@fao56]` or `[@fao56,fao29]`. `cited` numbers the sources in the order of
first citation (the numeric style of ISO 690), puts linked numbers in brackets in place of the
keys, and ends the document with the list. Writers then see ordinary links and an ordinary table.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from sitefare.assumptions.library import Source
from sitefare.assumptions.rows import Row
from sitefare.errors import RunError
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Cell,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)

#: A citation that is not escaped.
CITATION = re.compile(r"(?<!\\)\[@([a-z0-9_]+(?:,[a-z0-9_]+)*)\]")

#: Bases by which a row's number rests on no document that could be listed.
UNLISTED = ("judgement", "invented", "common_practice", "command_line", "site_visit")

#: Sources named at most behind one statement; the register names them all.
MOST = 4


def cite(keys: Iterable[str]) -> str:
    """Return the citation of some sources, each once; nothing where none can be listed."""
    listed = [key for key in dict.fromkeys(keys) if key not in UNLISTED]
    return f" [@{','.join(listed)}]" if listed else ""


def behind(rows: Iterable[Row], most: int = MOST) -> str:
    """Return the citation of the sources behind rows, those of most rows first."""
    counted = Counter(row.source for row in rows if row.source not in UNLISTED)
    ordered = sorted(counted, key=lambda key: (-counted[key], key))
    return cite(ordered[:most])


def cited(blocks: Sequence[Block], sources: Mapping[str, Source]) -> tuple[Block, ...]:
    """Give every citation its number, and end with the list of references, if there are any.

    Parameters
    ----------
    blocks : sequence of Block
        The document's blocks, in order.
    sources : mapping of Source
        The sources that may be cited, by key.

    Raises
    ------
    RunError
        If a source that is cited is not among them.
    """
    numbers: dict[str, int] = {}

    def numbered(found: re.Match[str]) -> str:
        links = [_link(key, numbers, sources) for key in found[1].split(",")]
        return rf"\[{', '.join(links)}\]"

    shown = tuple(rewritten(block, lambda text: CITATION.sub(numbered, text)) for block in blocks)
    return (*shown, *references(numbers, sources))


def _link(key: str, numbers: dict[str, int], sources: Mapping[str, Source]) -> str:
    """Return a source's number as a link to its line, numbered now if it is new."""
    if key not in sources:
        msg = f"the text cites '{key}', which is not in sources.csv"
        raise RunError(msg)
    number = numbers.setdefault(key, len(numbers) + 1)
    return f"[{number}](#{anchor(key)})"


def anchor(key: str) -> str:
    """Return the anchor of a source's line in the list."""
    return f"source-{key.replace('_', '-')}"


def rewritten(block: Block, how: Callable[[str], str]) -> Block:
    """Return a block with every text that may carry markup rewritten."""
    match block:
        case Paragraph() | Caution():
            return replace(block, text=how(block.text))
        case Bullets():
            return replace(block, items=tuple(how(item) for item in block.items))
        case Figure():
            return replace(block, caption=how(block.caption))
        case Table():
            return replace(block, rows=_rows(block, how), note=how(block.note))
    return block


def _rows(table: Table, how: Callable[[str], str]) -> tuple[tuple[Cell, ...], ...]:
    """Return the rows with the cells of rich columns rewritten."""
    if not table.rich:
        return table.rows
    return tuple(
        tuple(
            how(cell) if column in table.rich and isinstance(cell, str) else cell
            for column, cell in enumerate(row)
        )
        for row in table.rows
    )


def references(numbers: Mapping[str, int], sources: Mapping[str, Source]) -> list[Block]:
    """Return the list of references in the order of their numbers."""
    if not numbers:
        return []
    rows = tuple(
        (f"{number}", sources[key].citation, sources[key].status) for key, number in numbers.items()
    )
    columns = (
        Column("No.", weight=0.5),
        Column("Source", weight=7),
        Column("How well known", weight=2.2),
    )
    return [
        Heading(1, "References", "sources", annex=True),
        Paragraph(
            "Numbered in the order of first citation (numeric style of ISO 690). The last column "
            "says how well each is known to whoever entered it: seen in the source or its "
            "abstract, quoted by another document, or from memory.",
            "small",
        ),
        Table(
            columns,
            rows,
            "Sources in the order in which they are first cited",
            wide=True,
            anchor="citations-table",
            row_anchors=tuple(anchor(key) for key in numbers),
        ),
    ]


def source_words(source: str, locator: str, basis: str) -> str:
    """Return a row's source as markup: its number and place, and its basis where not published."""
    if source in UNLISTED:
        words = source.replace("_", " ")
        return plain(words if basis in words else f"{words}, {basis}")
    place = f" {plain(locator)}" if locator else ""
    held = "" if basis == "published" else f", {plain(basis)}"
    return f"[@{source}]{place}{held}"
