"""The proposal as one HTML file: no network, readable by eye, by ear, on paper, on a telephone."""

import base64

from markupsafe import Markup

from sitefare.outputs import theme
from sitefare.outputs.document import Document
from sitefare.outputs.fragments import TEMPLATES, environment, fragment, sections
from sitefare.outputs.words import direction, words

FACES = (("Regular", 400, "normal"), ("Bold", 700, "normal"), ("Italic", 400, "italic"))


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
            contents=[entry for entry in document.contents if entry[0] == 1],
            sections=parts,
            css=Markup(_faces() + stylesheet()),  # noqa: S704
            script=Markup((TEMPLATES / "page.js").read_text(encoding="utf-8")),  # noqa: S704
        )
    )


def stylesheet() -> str:
    """Return our style sheet."""
    return (TEMPLATES / "page.css").read_text(encoding="utf-8")


def _faces() -> str:
    """Return the font's faces, embedded."""
    rules = []
    for name, weight, style in FACES:
        data = (theme.FONTS / f"NotoSans-{name}-latin.woff2").read_bytes()
        rules.append(
            f'@font-face{{font-family:"{theme.FAMILY}";font-weight:{weight};font-style:{style};'
            f"src:url(data:font/woff2;base64,{base64.b64encode(data).decode()}) format('woff2')}}\n"
        )
    return "".join(rules)
