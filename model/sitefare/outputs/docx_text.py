"""How does text become paragraphs, links and fields of a Word document?

Everything here returns WordprocessingML as text. The order of elements inside each property block
is that of ISO/IEC 29500-1, which Word insists on.
"""

import io
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from sitefare.outputs.document import Document, spans
from sitefare.outputs.fragments import label
from sitefare.outputs.words import direction, words

#: What XML cannot hold, and breaks of line that a run of text must not carry.
UNHELD = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]+")

#: Letters of the scripts that are read from right to left, and Latin ones.
RIGHT, LATIN = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]"), re.compile("[A-Za-zÀ-ɏ]")

#: Latin letters for each other one, from which a paragraph in Arabic pages is set from left to right.
MOSTLY = 3

#: What is set of English words in Arabic pages; the opening of a run with what is set of its words;
#: styles of text that fills a column.
SPELT_ENGLISH = '<w:lang w:val="en-GB"/>'
ENGLISH = f'<w:rtl w:val="0"/>{SPELT_ENGLISH}'
RUN = re.compile(r"<w:r>(?:<w:rPr>(.*?)</w:rPr>)?")
RUNNING = (
    "Body Text",
    "Lead",
    "Small Print",
    "List Bullet",
    "List Number",
    "Note",
    "Caution",
    "Stop",
)

#: Longest name of a bookmark that Word keeps. [characters]
NAME_LENGTH = 40


@dataclass
class Writing:
    """One document on its way into Word: its style keys, bookmarks and running ids."""

    document: Document
    package: Any
    styles: Mapping[str, str]
    bookmarks: Mapping[str, str] = field(init=False)
    ids: Any = field(default_factory=lambda: count(1))

    def __post_init__(self) -> None:
        """Give every anchor a bookmark's name, and read the labels once."""
        self.labels = self.document.labels
        self.bookmarks = bookmark_names(list(self.labels))

    @property
    def words(self) -> dict[str, str]:
        """The writers' own words in the document's language."""
        return words(self.document.metadata.language)

    def image(self, png: bytes) -> str:
        """Put a picture into the package; returns the key that a drawing names it by."""
        relation, _ = self.package.part.get_or_add_image(io.BytesIO(png))
        return str(relation)

    @property
    def right_to_left(self) -> bool:
        """Whether the language is read from right to left."""
        return direction(self.document.metadata.language) == "rtl"


def bookmark_names(anchors: list[str]) -> dict[str, str]:
    """Return a name that Word keeps for each anchor: letters, digits and `_`, at most 40 signs."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for number, anchor in enumerate(anchors):
        name = "a_" + re.sub(r"[^A-Za-z0-9]", "_", anchor)
        if len(name) > NAME_LENGTH or name.lower() in taken:
            name = f"{name[: NAME_LENGTH - 8]}_{number}"
        taken.add(name.lower())
        found[anchor] = name
    return found


def held(text: str) -> str:
    """Return text as XML content; what XML cannot hold becomes a space."""
    return escape(UNHELD.sub(" ", text))


def attribute(text: str) -> str:
    """Return text as a quoted XML attribute."""
    return quoteattr(UNHELD.sub(" ", text))


def run(text: str, style: str = "") -> str:
    """Return a run of text; `style` is the key of a character style."""
    own = f'<w:rPr><w:rStyle w:val="{style}"/></w:rPr>' if style else ""
    return f'<w:r>{own}<w:t xml:space="preserve">{held(text)}</w:t></w:r>'


def strong(text: str) -> str:
    """Return a run of strong text."""
    return f'<w:r><w:rPr><w:b/><w:bCs/></w:rPr><w:t xml:space="preserve">{held(text)}</w:t></w:r>'


def inline(text: str, writing: Writing, *, bold: bool = False) -> str:
    """Return text with the tiny markup as runs and internal links."""
    parts = []
    for span in spans(text):
        own = span.text or label(span.target, writing.labels, writing.document.metadata.language)
        if span.target:
            parts.append(link(own, span.target, writing))
        else:
            parts.append(strong(own) if span.strong or bold else run(own))
    return tongued("".join(parts), text, writing)


def tongued(inner: str, text: str, writing: Writing) -> str:
    """Mark the runs of a text that stays English for spelling and for screen readers.

    Where the language runs from right to left, the paragraph that holds them does.
    """
    if writing.right_to_left or not writing.document.tongue(text):
        return inner
    return RUN.sub(rf"<w:r><w:rPr>\1{SPELT_ENGLISH}</w:rPr>", inner)


def said(text: str, writing: Writing, style: str = "") -> str:
    """Return a run of text marked where it stays English; `style` is a character style's key."""
    return tongued(run(text, style), text, writing)


def shown(text: str, writing: Writing) -> str:
    """Return the words of a text with the tiny markup, and nothing else."""
    language = writing.document.metadata.language
    return "".join(s.text or label(s.target, writing.labels, language) for s in spans(text))


def link(text: str, target: str, writing: Writing, style: str = "Hyperlink") -> str:
    """Return a link to an anchor of the same document."""
    inner = run(text, writing.styles[style] if style else "")
    return (
        f'<w:hyperlink w:anchor="{writing.bookmarks[target]}" w:history="1">{inner}</w:hyperlink>'
    )


def bookmarked(inner: str, anchor: str, writing: Writing) -> str:
    """Return runs that an anchor's links lead to."""
    if not anchor:
        return inner
    key = next(writing.ids)
    return (
        f'<w:bookmarkStart w:id="{key}" w:name="{writing.bookmarks[anchor]}"/>{inner}'
        f'<w:bookmarkEnd w:id="{key}"/>'
    )


def sequence(word: str, kind: str, number: int, writing: Writing) -> str:
    """Return 'Table 3. ' whose number is a field, so that a table put in later moves the rest."""
    style = f'<w:rPr><w:rStyle w:val="{writing.styles["Caption Number"]}"/></w:rPr>'
    sign = f"<w:r>{style}<w:fldChar w:fldCharType="
    return (
        f'<w:r>{style}<w:t xml:space="preserve">{held(word)}\u00a0</w:t></w:r>'
        f'{sign}"begin"/></w:r>'
        f'<w:r>{style}<w:instrText xml:space="preserve"> SEQ {kind} \\* ARABIC </w:instrText></w:r>'
        f'{sign}"separate"/></w:r><w:r>{style}<w:t>{number}</w:t></w:r>{sign}"end"/></w:r>'
        f'<w:r>{style}<w:t xml:space="preserve">. </w:t></w:r>'
    )


def left_to_right(inner: str) -> bool:
    """Say whether runs are mostly in Latin letters, and so read from left to right."""
    words = re.sub(r"<w:instrText.*?</w:instrText>|<[^>]*>|&\w+;", "", inner)
    return len(LATIN.findall(words)) > MOSTLY * len(RIGHT.findall(words))


def paragraph(
    inner: str,
    style: str,
    writing: Writing,
    *,
    keep: bool = False,
    new_page: bool = False,
    before: int | None = None,
    align: str = "",
    number: int = 0,
    section: str = "",
) -> str:
    """Return a paragraph in one of our styles.

    Parameters
    ----------
    inner : str
        Runs.
    style : str
        A style's name.
    writing : Writing
        The document on its way.
    keep, new_page : bool
        Whether it stays with the next paragraph; whether it starts a page.
    before : int, optional
        Space before it, where its style's is not meant. [twip]
    align : str
        'right' for the end of the line.
    number : int
        Key of a list that counts from 1 again, 0 for none.
    section : str
        A sectPr: this paragraph ends a section.
    """
    turned = writing.right_to_left and left_to_right(inner)
    if turned:
        inner = RUN.sub(rf"<w:r><w:rPr>\1{ENGLISH}</w:rPr>", inner)
        if style not in RUNNING:
            align = "" if align else "right"
    parts = [f'<w:pStyle w:val="{writing.styles[style]}"/>']
    parts.append("<w:keepNext/>" if keep else "")
    parts.append("<w:pageBreakBefore/>" if new_page else "")
    if number:
        parts.append(f'<w:numPr><w:ilvl w:val="0"/><w:numId w:val="{number}"/></w:numPr>')
    parts.append('<w:bidi w:val="0"/>' if turned else "")
    parts.append("" if before is None else f'<w:spacing w:before="{before}"/>')
    parts.append(f'<w:jc w:val="{align}"/>' if align else "")
    parts.append(section)
    return f"<w:p><w:pPr>{''.join(parts)}</w:pPr>{inner}</w:p>"
