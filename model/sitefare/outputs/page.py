"""The proposal as one HTML file: no network, readable by eye, by ear, on paper, on a telephone."""

from markupsafe import Markup

from sitefare.outputs.dates import month_and_year
from sitefare.outputs.document import Document
from sitefare.outputs.fragments import TEMPLATES, Tools, environment, fragment, sections
from sitefare.outputs.typefaces import faces
from sitefare.outputs.words import direction, words


def page(document: Document) -> str:
    """Return the document as one HTML file that loads nothing."""
    language = document.metadata.language
    parts = [
        (anchor, [fragment(placed, document) for placed in blocks])
        for anchor, blocks in sections(document)
    ]
    return (
        environment()
        .get_template("page.html.j2")
        .render(
            meta=document.metadata,
            words=words(language),
            direction=direction(language),
            date=month_and_year(document.metadata.date, language),
            text=Tools(document, drawings=True).text,
            contents=[entry for entry in document.contents if entry[0] == 1],
            sections=parts,
            css=Markup(faces(_characters(document, parts)) + stylesheet()),  # noqa: S704
            script=Markup((TEMPLATES / "page.js").read_text(encoding="utf-8")),  # noqa: S704
        )
    )


def stylesheet() -> str:
    """Return our style sheet."""
    return (TEMPLATES / "page.css").read_text(encoding="utf-8")


def _characters(document: Document, parts: list[tuple[str, list[Markup]]]) -> str:
    """Return the text whose characters the page's fonts must hold."""
    meta = document.metadata
    head = (meta.title, meta.site, meta.subtitle, *meta.missing, *words(meta.language).values())
    return "".join((*head, *(str(part) for _, fragments in parts for part in fragments)))
