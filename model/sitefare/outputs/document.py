"""What a proposal consists of: one list of blocks that every writer reads.

A document is metadata and blocks, nothing rendered. The page, the PDF and the notebook's
cells are made from the same object, so no figure is typed twice. Text carries a tiny markup:
`**strong**`, `[words](#anchor)`, `[](#anchor)` for "Figure 3" or "Table 2", `[words](./a/file)`
for a file beside a page, and `[@source]` for a citation, which `citations.cited` turns into a
number; `plain(text)` makes outside text safe to put into it. All else is shown as written.
"""

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from sitefare.errors import RunError
from sitefare.outputs.catalogue import ARABIC_OR_HEBREW, SOURCE, base, right_to_left
from sitefare.outputs.dates import month_names
from sitefare.outputs.markup import Span, plain, spans
from sitefare.outputs.picture import Drawing, Picture

__all__ = [
    "Block",
    "Bullets",
    "Caution",
    "Cell",
    "Column",
    "Document",
    "Fact",
    "Facts",
    "Figure",
    "Heading",
    "Metadata",
    "PageBreak",
    "Paragraph",
    "Placed",
    "Span",
    "Table",
    "plain",
    "spans",
]

#: Runs of letters, and the length from which one beside a number is a word and no unit.
LETTERS, WORD = re.compile(r"[^\W\d_]+"), 4

#: A currency's code, which belongs to no language.
CURRENCY = re.compile("[A-Z]{3}")

Cell = str | float | None
CautionKind = Literal["note", "caution", "stop"]
TableLayout = Literal["page", "half", "folded", "landscape", "dense"]


@dataclass(frozen=True)
class Metadata:
    """What stands on the cover, in the running head and in the foot of every artifact.

    `date` is YYYY-MM or YYYY-MM-DD, given by the caller: never today; what is a page alone may
    have none. `draft` puts the mark on every page; `missing` says what is still to be held.
    `subtitle` is one line under the title.
    `cover` holds the facts of a cover page, label and value; without any there is no cover.
    """

    title: str
    site: str
    scenario: str
    date: str
    input_hash: str
    version: str
    subtitle: str = ""
    language: str = "en"
    draft: bool = True
    missing: tuple[str, ...] = ()
    cover: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a date that no writer could put on the document."""
        if not self.date:
            return
        try:
            day = dt.date.fromisoformat(f"{self.date}-01"[:10]).isoformat()
        except ValueError:
            day = ""
        if not day or not day.startswith(self.date):
            msg = f"the document's date '{self.date}' is not YYYY-MM or YYYY-MM-DD"
            raise RunError(msg)


@dataclass(frozen=True)
class Heading:
    """A heading, level 1 to 3; `anchor` is made from the text when empty.

    `annex` marks a level 1 that stands after the body; paper starts the first on a new page.
    """

    level: int
    text: str
    anchor: str = ""
    annex: bool = False

    def __post_init__(self) -> None:
        """Refuse a level that the writers do not style."""
        if self.level not in (1, 2, 3):
            msg = f"heading '{self.text}' has level {self.level}; levels are 1, 2 and 3"
            raise RunError(msg)


@dataclass(frozen=True)
class Paragraph:
    """Running text with the tiny markup; `lead` is larger, `small` is for notes."""

    text: str
    kind: Literal["body", "lead", "small"] = "body"


@dataclass(frozen=True)
class Figure:
    """A picture with its caption; the number comes by itself, the alt text from the picture.

    `half` lets paper set it beside its neighbour where both are halves.
    """

    picture: Picture | Drawing
    caption: str
    alt: str = ""
    anchor: str = ""
    half: bool = False

    @property
    def alt_text(self) -> str:
        """The alt text given, else the picture's own."""
        return self.alt or self.picture.alt


@dataclass(frozen=True)
class Column:
    """A column: header, unit beneath it, alignment, and how its numbers become text.

    `weight` is its share of the width in the PDF; 0 lets the content decide.
    """

    header: str
    unit: str = ""
    align: Literal["left", "right"] = "left"
    formatter: Callable[[float], str] | None = None
    weight: float = 0.0


@dataclass(frozen=True)
class Table:
    """A table: cells are text, or numbers that the column's formatter turns into text.

    The first column heads its row. `strong_rows` are totals, counted from 0, and `head_rows`
    head the rows after them; `row_anchors`
    gives each row a target for links. `wide` sets it smaller in the PDF; `sortable` lets the
    page sort it. Cells are plain text, never markup, except in columns listed in `rich`.
    `layout` says how paper sets it: across the page, in half of it beside a neighbour that is
    a half too, its rows folded into two side by side, on a landscape page, or in the dense
    two columns of an annex.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str
    note: str = ""
    wide: bool = False
    sortable: bool = False
    anchor: str = ""
    strong_rows: tuple[int, ...] = ()
    head_rows: tuple[int, ...] = ()
    row_anchors: tuple[str, ...] = ()
    rich: tuple[int, ...] = ()
    layout: TableLayout = "page"

    def __post_init__(self) -> None:
        """Refuse rows that do not fit the columns."""
        for number, row in enumerate(self.rows):
            if len(row) != len(self.columns):
                msg = (
                    f"table '{self.caption}' row {number} has {len(row)} cells "
                    f"for {len(self.columns)} columns"
                )
                raise RunError(msg)
        if self.row_anchors and len(self.row_anchors) != len(self.rows):
            msg = (
                f"table '{self.caption}' has {len(self.row_anchors)} row anchors "
                f"for {len(self.rows)} rows"
            )
            raise RunError(msg)

    def cell(self, row: int, column: int) -> str:
        """Return one cell as the text that is shown; nothing is an en dash."""
        content = self.rows[row][column]
        if content is None:
            return "–"
        if isinstance(content, str):
            return content
        formatter = self.columns[column].formatter
        return formatter(content) if formatter else f"{content:g}"


@dataclass(frozen=True)
class Fact:
    """One card of the first page: label, value, its range, a note, a link to how it is made."""

    label: str
    value: str
    range: str = ""
    note: str = ""
    target: str = ""


@dataclass(frozen=True)
class Facts:
    """Cards side by side; the first `lead` of them are larger."""

    facts: tuple[Fact, ...]
    lead: int = 0


@dataclass(frozen=True)
class Bullets:
    """A list with the tiny markup in each item."""

    items: tuple[str, ...]
    ordered: bool = False


@dataclass(frozen=True)
class Caution:
    """A boxed statement: a note, a caution, or something that stops the project."""

    text: str
    kind: CautionKind = "caution"
    title: str = ""


@dataclass(frozen=True)
class PageBreak:
    """A new page in print; nothing on screen."""


Block = Heading | Paragraph | Figure | Table | Facts | Bullets | Caution | PageBreak


@dataclass(frozen=True)
class Placed:
    """A block with its anchor and, for figures and tables, its number; 0 has none."""

    block: Block
    anchor: str
    number: int


@dataclass(frozen=True)
class Document:
    """Metadata and blocks. Repeated anchors and links to nowhere are refused on creation.

    `said` holds the texts that stand in the document's own language where that is not English;
    all others stay English.
    """

    metadata: Metadata
    blocks: tuple[Block, ...]
    said: frozenset[str] = frozenset()
    placed: tuple[Placed, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Give every block its number and check every link."""
        object.__setattr__(self, "placed", place(self.blocks))
        known = set(self.labels)
        for text in texts(self.blocks):
            for span in spans(text):
                if span.target and span.target not in known:
                    msg = f"'{text[:60]}' links to #{span.target}, which no block carries"
                    raise RunError(msg)
                if span.cites:
                    msg = f"'{text[:60]}' cites {span.cites}, and no list of references was made"
                    raise RunError(msg)

    def tongue(self, text: str) -> str:
        """Return 'en' for text that stays English in a document of another language, else ''.

        Numbers with their units, codes and names in other scripts belong to no language.
        """
        if base(self.metadata.language) == SOURCE or text in self.said:
            return ""
        if CURRENCY.fullmatch(text) or text in month_names(self.metadata.language):
            return ""
        letters = LETTERS.findall(text)
        words = [run for run in letters if run.isascii()]
        longest = max(map(len, words), default=0)
        if not words or (longest < WORD and any(c.isdigit() for c in text)):
            return ""
        return SOURCE

    def apart(self, text: str) -> bool:
        """Say whether text runs from left to right inside a right-to-left document."""
        if not right_to_left(self.metadata.language) or text in self.said:
            return False
        return bool(text.strip(" –")) and ARABIC_OR_HEBREW.search(text) is None

    @property
    def labels(self) -> dict[str, tuple[str, int]]:
        """Kind and number by anchor: ('figure', 3), ('table', 2), ('heading', 0), ('row', 0)."""
        found = {p.anchor: (type(p.block).__name__.lower(), p.number) for p in self.placed}
        for placed in self.placed:
            if isinstance(placed.block, Table):
                found.update(dict.fromkeys(placed.block.row_anchors, ("row", 0)))
        found.pop("", None)
        return found

    @property
    def contents(self) -> tuple[tuple[int, str, str], ...]:
        """Level, text and anchor of the headings in order."""
        return tuple(
            (p.block.level, p.block.text, p.anchor)
            for p in self.placed
            if isinstance(p.block, Heading)
        )


def slug(text: str) -> str:
    """Return an anchor of lower-case letters, digits and hyphens for a heading."""
    ascii_text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", ascii_text.lower()).strip("-") or "section"


def place(blocks: Sequence[Block]) -> tuple[Placed, ...]:
    """Give each block its anchor and number; a repeated anchor that was asked for is refused."""
    taken: set[str] = set()
    for anchor in _asked_anchors(blocks):
        if anchor in taken:
            msg = f"two blocks carry the anchor '{anchor}'"
            raise RunError(msg)
        taken.add(anchor)
    counts = {"Figure": 0, "Table": 0}
    placed: list[Placed] = []
    for block in blocks:
        kind = type(block).__name__
        if kind in counts:
            counts[kind] += 1
        number = counts.get(kind, 0)
        placed.append(Placed(block, _asked(block) or _free(block, number, taken), number))
    return tuple(placed)


def _asked_anchors(blocks: Sequence[Block]) -> Iterator[str]:
    for block in blocks:
        rows = block.row_anchors if isinstance(block, Table) else ()
        yield from (anchor for anchor in (_asked(block), *rows) if anchor)


def _asked(block: Block) -> str:
    return block.anchor if isinstance(block, Heading | Figure | Table) else ""


def _free(block: Block, number: int, taken: set[str]) -> str:
    """Return an anchor nobody carries yet, for blocks that can be linked to."""
    if not isinstance(block, Heading | Figure | Table):
        return ""
    stem = slug(block.text) if isinstance(block, Heading) else f"{type(block).__name__}-{number}"
    anchor, count = stem.lower(), 1
    while anchor in taken:
        count += 1
        anchor = f"{stem.lower()}-{count}"
    taken.add(anchor)
    return anchor


def texts(blocks: Sequence[Block]) -> Iterator[str]:
    """Yield every text that may carry markup; a card's target counts as a link."""
    for block in blocks:
        if isinstance(block, Paragraph | Caution):
            yield block.text
        elif isinstance(block, Bullets):
            yield from block.items
        elif isinstance(block, Figure):
            yield block.caption
        elif isinstance(block, Facts):
            yield from (f"[{plain(f.label)}](#{f.target})" for f in block.facts if f.target)
        elif isinstance(block, Table):
            yield block.note
            yield from (block.cell(r, c) for r in range(len(block.rows)) for c in block.rich)
