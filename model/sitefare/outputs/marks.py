"""How do a chart's marks answer to a pointer, a finger and a key in the page?

Every mark that says something carries its words in `data-said`; the page's script shows them.
What Vega writes for screen readers mark by mark is dropped: a drawing is one picture with a title
and a description, its values stand in the table beneath it, and arrow keys read them one by one.
"""

import re
from html import unescape

from markupsafe import escape

from sitefare.outputs.document import Figure
from sitefare.outputs.drawn import described, svg
from sitefare.outputs.picture import Drawing
from sitefare.outputs.readings import readings, told

#: Parts of a drawing that a reader never points at one by one.
WHOLES = ("line mark", "area mark", "trail mark")

_TAG = re.compile(r"<(path|line|rect|circle|text|g)\b([^>]*?)(/?)>")
_SPOKEN = re.compile(r'\s(?:role|aria-[a-z]+)="[^"]*"')


def page_drawing(figure: Figure, key: str, *, narrow: bool) -> str:
    """Return one of a figure's drawings for the page: it names itself and its marks answer.

    Parameters
    ----------
    figure : Figure
        The figure.
    key : str
        What makes the ids of this drawing unique in its page.
    narrow : bool
        Whether the drawing is for a telephone.
    """
    picture = figure.picture
    spec = picture.narrow if narrow else picture.wide
    if not isinstance(picture, Drawing):
        spec = told(spec, readings(picture))
    return described(
        speaking(svg(spec)), key, str(escape(picture.title)), str(escape(figure.alt_text))
    )


def speaking(drawing: str) -> str:
    """Return a drawing whose marks carry what they say and nothing else for screen readers."""
    return _TAG.sub(_tag, drawing)


def _tag(found: re.Match[str]) -> str:
    """Return one tag with its words, if it is a mark that says something."""
    name, attributes, end = found.groups()
    label = re.search(r'aria-label="([^"]*)"', attributes)
    role = re.search(r'aria-roledescription="([^"]*)"', attributes)
    mark = role is not None and role[1] not in (*WHOLES, "axis", "legend", "title")
    kept = _SPOKEN.sub("", attributes)
    if label and mark and 'role="graphics-symbol"' in attributes:
        said = " ".join(unescape(label[1]).split())
        kept += f' data-said="{escape(said)}"'
    return f"<{name}{kept}{end}>"
