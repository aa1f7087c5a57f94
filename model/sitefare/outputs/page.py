"""The proposal as one HTML file: no network, readable by eye, by ear, on paper, on a telephone."""

from markupsafe import Markup

from sitefare.outputs import dark
from sitefare.outputs.dates import month_and_year
from sitefare.outputs.document import Document
from sitefare.outputs.fragments import TEMPLATES, Tools, environment, fragment, sections
from sitefare.outputs.typefaces import faces
from sitefare.outputs.words import direction, words

#: Words that the page's script puts in.
SCRIPT_WORDS = (
    "colours", "as_device", "light", "dark", "chart_values", "filter", "filter_note",
    "rows_shown", "sorted_up", "sorted_down",
)  # fmt: skip


def page(document: Document) -> str:
    """Return the document as one HTML file that loads nothing."""
    language = document.metadata.language
    own = words(language)
    parts = [[fragment(placed, document) for placed in blocks] for _, blocks in sections(document)]
    return (
        environment()
        .get_template("page.html.j2")
        .render(
            meta=document.metadata,
            words=own,
            script_words={name: own[name] for name in SCRIPT_WORDS},
            direction=direction(language),
            date=month_and_year(document.metadata.date, language)
            if document.metadata.date
            else "–",
            text=Tools(document, drawings=True).text,
            contents=chapters(document),
            sections=parts,
            css=Markup(faces(_characters(document, parts)) + stylesheet()),  # noqa: S704
            script=Markup((TEMPLATES / "page.js").read_text(encoding="utf-8")),  # noqa: S704
        )
    )


def chapters(document: Document) -> list[tuple[str, str, list[tuple[str, str]]]]:
    """Return text and anchor of every chapter with those of its parts, in order."""
    found: list[tuple[str, str, list[tuple[str, str]]]] = []
    for level, text, anchor in document.contents:
        if level == 1:
            found.append((text, anchor, []))
        elif level == 2 and found:  # noqa: PLR2004
            found[-1][2].append((text, anchor))
    return found


def stylesheet() -> str:
    """Return our style sheet, in the light and in the dark."""
    return (TEMPLATES / "page.css").read_text(encoding="utf-8") + dark.rules()


def _characters(document: Document, parts: list[list[Markup]]) -> str:
    """Return the text whose characters the page's fonts must hold."""
    meta = document.metadata
    head = (meta.title, meta.site, meta.subtitle, *meta.missing, *words(meta.language).values())
    return "".join((*head, *(str(part) for fragments in parts for part in fragments)))
