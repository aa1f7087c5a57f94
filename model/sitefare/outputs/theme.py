"""How charts and documents look: colours, type and the Altair theme.

The palette is our own. Every colour stands out from white by at least 3 to 1 (WCAG 2.2, 1.4.11)
and every pair stays apart for full colour vision and for the three dichromacies; the tests
compute both.
"""

from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, cast

import altair as alt
from babel import Locale

#: The family that charts, page and PDF share.
FAMILY = "Noto Sans"

#: The name under which the converter of charts measures texts: a machine may have another font of
#: our family's name, which it would prefer.
MEASURED = "Sitefare Measured"

#: Where its files stand.
FONTS = Path(__file__).parent / "fonts"

#: Text, muted text, hairlines and the paper. [sRGB]
INK, MUTED, LINE, PAPER = "#16303b", "#52646d", "#d5dde0", "#ffffff"

#: The seven series colours in the order they are used. [sRGB]
PALETTE = {
    "deep": "#143b4a",
    "ochre": "#c48412",
    "sky": "#4c93de",
    "sage": "#527a5c",
    "brick": "#a7411c",
    "plum": "#713d8d",
    "mist": "#91819c",
}

#: The band of 8 in 10 draws; its edge is drawn in ochre. [sRGB]
BAND = "#f3e2c2"

#: Deepest shade of a cell that carries dark figures: they keep 4.5 to 1 on it. [sRGB]
SHADE = "#8fb4c2"

#: Sizes of chart text, chosen so that both drawings read at their own width. [px]
TEXT = 12.5


def series(names: list[str]) -> alt.Scale:
    """Return a colour scale that gives the named series the palette in order."""
    return alt.Scale(domain=names, range=list(PALETTE.values())[: len(names)])


def in_force(language: str = "en") -> AbstractContextManager[None]:
    """Put the theme in force for one chart, with the number signs of a language."""
    alt.theme.register("sitefare", enable=False)(lambda: _config(language))
    context: Any = alt.theme.enable("sitefare")
    return cast("AbstractContextManager[None]", context)


def _config(language: str) -> alt.theme.ThemeConfig:
    text = {"labelFont": FAMILY, "titleFont": FAMILY, "labelFontSize": TEXT, "titleFontSize": TEXT}
    quiet = {"labelColor": MUTED, "titleColor": MUTED, "titleFontWeight": "normal"}
    config: dict[str, Any] = {
        "background": PAPER,
        "font": FAMILY,
        "padding": 2,
        "view": {"stroke": None},
        "axis": text
        | quiet
        | {"gridColor": LINE, "domainColor": LINE, "tickColor": LINE}
        | {"labelPadding": 6, "titlePadding": 10, "tickSize": 4, "labelLimit": 290},
        "axisX": {"grid": False},
        "axisY": {"domain": False, "ticks": False},
        "legend": text
        | quiet
        | {"orient": "top", "title": None, "symbolType": "square"}
        | {"symbolSize": 130, "offset": 12, "columnPadding": 16, "rowPadding": 5}
        | {"labelColor": INK, "labelLimit": 300, "symbolOpacity": 1},
        "title": {"font": FAMILY, "fontSize": 16, "fontWeight": "bold", "color": INK}
        | {"anchor": "start", "offset": 14},
        "text": {"font": FAMILY, "fontSize": TEXT, "color": INK},
        "range": {"category": list(PALETTE.values())},
        "locale": {"number": _number_locale(language)},
    }
    return {"config": config}  # type: ignore[typeddict-item]


def _number_locale(language: str) -> dict[str, Any]:
    """Return the d3 number locale of a language, so that axes agree with the text."""
    symbols = Locale.parse(language.replace("-", "_")).number_symbols["latn"]
    return {
        "decimal": symbols["decimal"],
        "thousands": symbols["group"],
        "grouping": [3],
        "currency": ["", ""],
    }
