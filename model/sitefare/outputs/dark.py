"""How does the page look in the dark, its charts included?

The colours of the text are variables of the style sheet; charts are drawn once, in the colours of
the theme, and each of those has a partner here that stands out from dark paper and stays apart
from the others for every kind of colour vision (the tests compute both). A drawing that uses any
other colour keeps its white paper.
"""

import re

from sitefare.outputs import theme

#: The page's own colours in the dark, by variable. [sRGB]
PAGE = {
    "ink": "#e4ebed",
    "muted": "#a9b8bf",
    "line": "#33474f",
    "edge": "#7d919a",
    "paper": "#101a1f",
    "wash": "#18252b",
    "deep": "#9fd0e2",
    "link": "#8cc7dc",
    "brick": "#f0a384",
    "brick-wash": "#2e1c14",
    "ochre": "#e8bd67",
    "ochre-wash": "#2a2312",
    "focus": "#f0b64a",
    "cover": "#0c2630",
    "cover-ink": "#f2f7f8",
    "cover-muted": "#b4cad2",
}

#: The series colours of charts in the dark. [sRGB]
SERIES = {
    "deep": "#cae9ee",
    "ochre": "#f5c364",
    "sky": "#2173f3",
    "sage": "#7fb894",
    "brick": "#e35e2b",
    "plum": "#b975d0",
    "mist": "#81778a",
}

#: The half-way tone of a fan of draws, on white and on dark paper. [sRGB]
HALF = ("#dfb766", "#8a6a24")

#: The band of 8 in 10 draws on dark paper. [sRGB]
BAND = "#493a18"

_PAINT = re.compile(r'(?:fill|stroke)(?:="|:)\s*([^";]+)')


def partners() -> dict[str, str]:
    """Return for each colour that charts are drawn in its partner on dark paper."""
    own = {
        theme.INK: PAGE["ink"],
        theme.MUTED: PAGE["muted"],
        theme.LINE: PAGE["line"],
        theme.PAPER: PAGE["paper"],
        theme.BAND: BAND,
        HALF[0]: HALF[1],
    }
    return own | {theme.PALETTE[name]: SERIES[name] for name in theme.PALETTE if name in SERIES}


def turns(drawing: str) -> bool:
    """Say whether every colour of a drawing has a partner, so that it can stand on dark paper."""
    used = set(_PAINT.findall(drawing)) - {"none", "transparent", "currentColor"}
    return used <= set(partners())


def rules() -> str:
    """Return the style rules: dark where the device asks for it, or where the reader does."""
    found = partners()
    page = "".join(f"--{name}:{colour};" for name, colour in PAGE.items())
    charts = "".join(f"--c{n}:{dark};" for n, dark in enumerate(found.values()))
    dark = f"color-scheme:dark;{page}{charts}"
    painted = "".join(
        f'.turns [{what}="{light}"]{{{what}:var(--c{n})}}'
        for n, light in enumerate(found)
        for what in ("fill", "stroke")
    )
    lit = "".join(f"--c{n}:{light};" for n, light in enumerate(found))
    asked = "@media screen and (prefers-color-scheme:dark)"
    return (
        f":root{{{lit}}}{painted}\n"
        f"{asked}{{:root:not([data-colours=light]){{{dark}}}}}\n"
        f"@media screen{{:root[data-colours=dark]{{{dark}}}}}\n"
    )
