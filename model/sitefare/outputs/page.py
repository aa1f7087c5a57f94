"""The proposal as one HTML file: no network, readable by eye, by ear, on paper, on a telephone."""

import base64

from markupsafe import Markup

from sitefare.outputs import dark, theme
from sitefare.outputs.document import Document
from sitefare.outputs.fragments import TEMPLATES, environment, fragment, sections
from sitefare.outputs.words import direction, words

#: Words that the page's script puts in.
SCRIPT_WORDS = (
    "colours", "as_device", "light", "dark", "chart_values", "filter", "filter_note",
    "rows_shown", "sorted_up", "sorted_down",
)  # fmt: skip

FACES = (("Regular", 400, "normal"), ("Bold", 700, "normal"), ("Italic", 400, "italic"))


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
            contents=chapters(document),
            sections=parts,
            css=Markup(_faces() + stylesheet()),  # noqa: S704
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
