"""One chart as the writers take it: a finding, its alt text and two drawings.

The wide drawing is for the desk and the PDF, the narrow one for a telephone; both are plain
Vega-Lite with at most `ROWS` rows, so no raw draw ever travels in a document.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import altair as alt

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.chart_words import localised

Chart = alt.Chart | alt.LayerChart | alt.FacetChart
Draw = Callable[[bool], Chart]

#: Rows of data that one drawing may carry.
ROWS = 200

#: Widths of the two drawings. [px]
WIDE, NARROW = 680, 350


@dataclass(frozen=True)
class Drawing:
    """A finding drawn as SVG by our own hand: the same words and two drawings as a `Picture`.

    `wide` and `narrow` hold the drawing under "svg", where a chart holds its specification.
    """

    title: str
    alt: str
    wide_svg: str
    narrow_svg: str

    def __post_init__(self) -> None:
        """Refuse a drawing that says nothing in words."""
        if not (self.title.strip() and self.alt.strip()):
            msg = "a drawing needs a title that states the finding and an alt text"
            raise RunError(msg)

    @property
    def wide(self) -> dict[str, Any]:
        """The drawing for the desk and the PDF, `WIDE` pixels."""
        return {"svg": self.wide_svg}

    @property
    def narrow(self) -> dict[str, Any]:
        """The drawing for a telephone, `NARROW` pixels."""
        return {"svg": self.narrow_svg}


@dataclass(frozen=True)
class Picture:
    """A drawn finding: `title` states it, `alt` tells it to those who cannot see it.

    `draw(narrow)` returns the Altair chart, untitled: documents set the title as text.
    """

    title: str
    alt: str
    draw: Draw
    language: str = "en"

    def __post_init__(self) -> None:
        """Refuse a picture that says nothing in words."""
        if not (self.title.strip() and self.alt.strip()):
            msg = "a picture needs a title that states the finding and an alt text"
            raise RunError(msg)

    @cached_property
    def wide(self) -> dict[str, Any]:
        """The Vega-Lite specification for the desk and the PDF, `WIDE` pixels."""
        return self._spec(narrow=False)

    @cached_property
    def narrow(self) -> dict[str, Any]:
        """The Vega-Lite specification for a telephone, `NARROW` pixels."""
        return self._spec(narrow=True)

    def _spec(self, *, narrow: bool) -> dict[str, Any]:
        with theme.in_force(self.language):
            sized = self.draw(narrow).properties(
                width=NARROW if narrow else WIDE,
                autosize=alt.AutoSizeParams(type="fit-x", contains="padding"),
                description=self.alt,
            )
            spec: dict[str, Any] = sized.to_dict()
        rows = sum(len(data) for data in spec.get("datasets", {}).values())
        if rows > ROWS:
            msg = f"chart '{self.title}' carries {rows} rows of data; at most {ROWS} are drawn"
            raise RunError(msg)
        return localised(spec, self.language)
