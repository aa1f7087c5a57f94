"""A picture's specification as SVG or PNG, converted once and only when asked for.

The converter starts threads, so a process that has converted must never fork; importing this
module converts nothing.
"""

import json
import re
from functools import lru_cache
from typing import Any

from sitefare.outputs import theme

#: Characters that the font which measures lacks: neither Latin, Greek, Cyrillic nor signs.
OTHER_SCRIPTS = re.compile(r"[^\u0000-\u052f\u1e00-\u2bff]")

_ID = re.compile(r'\b(id="|url\(#|href="#)([^"\)]+)')


def svg(spec: dict[str, Any]) -> str:
    """Return the drawing as an SVG element, without an XML declaration."""
    if "svg" in spec:
        return str(spec["svg"])
    return _svg(json.dumps(spec, sort_keys=True, ensure_ascii=False))


def png(spec: dict[str, Any], scale: float = 2.0) -> bytes:
    """Return the drawing as a PNG at `scale` times its size."""
    return _png_of(svg(spec), scale)


def described(drawing: str, key: str, title: str, alt: str) -> str:
    """Return an SVG that names itself: role, title and description, with its own ids.

    `title` and `alt` must be escaped for XML; `key` makes every id unique in its page.
    """
    unique = numbered(drawing, key)
    body = unique[unique.index(">") + 1 :]
    box = re.search(r'viewBox="([^"]+)"', unique)
    view = box[1] if box else "0 0 1 1"
    head = (
        f'<svg viewBox="{view}" role="img" '
        f'aria-labelledby="{key}-title {key}-desc">'
        f'<title id="{key}-title">{title}</title><desc id="{key}-desc">{alt}</desc>'
    )
    return head + body


def numbered(drawing: str, key: str) -> str:
    """Rename the ids of a drawing in order of appearance, so that runs and pages agree."""
    seen: dict[str, str] = {}

    def renamed(match: re.Match[str]) -> str:
        name = seen.setdefault(match[2], f"{key}-{len(seen)}")
        return match[1] + name

    return _ID.sub(renamed, drawing)


@lru_cache(maxsize=256)
def _svg(spec: str) -> str:
    measured = spec if OTHER_SCRIPTS.search(spec) else spec.replace(theme.FAMILY, theme.MEASURED)
    drawing: str = _converter().vegalite_to_svg(json.loads(measured), allowed_base_urls=[])
    return numbered(drawing.replace(theme.MEASURED, theme.FAMILY), "d")


@lru_cache(maxsize=64)
def _png_of(drawing: str, scale: float) -> bytes:
    """Draw an SVG with our fonts alone: the converter of charts prefers those of the machine."""
    import typst  # noqa: PLC0415

    quoted = drawing.replace("\\", "\\\\").replace('"', '\\"')
    page = f'#set page(width: auto, height: auto, margin: 0pt)\n#image(bytes("{quoted}"))'
    image: bytes = typst.compile(
        page.encode(),
        format="png",
        ppi=96.0 * scale,
        font_paths=fonts(),
        ignore_system_fonts=True,
    )
    return image


@lru_cache(maxsize=1)
def fonts() -> Any:  # noqa: ANN401
    """Return our fonts and no others, for Typst."""
    import typst  # noqa: PLC0415

    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[theme.FONTS]
    )


@lru_cache(maxsize=1)
def _converter() -> Any:  # noqa: ANN401
    """Import the converter and tell it of our fonts, once a process."""
    import vl_convert  # noqa: PLC0415

    vl_convert.register_font_directory(str(theme.FONTS))
    return vl_convert
