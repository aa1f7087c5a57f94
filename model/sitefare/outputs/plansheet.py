"""What a plan is drawn with: metres to pixels, rectangles, circles, words, dimension lines.

A sheet gathers SVG marks in the order they are drawn; colours are the house's.
"""

from dataclasses import dataclass, field
from html import escape

from sitefare.farm.layout import Round, Space
from sitefare.outputs import theme
from sitefare.outputs.numbers import Formats

#: Fill and line of each kind of space. [sRGB]
LOOK = {
    "ground": ("#f7f8f6", theme.MUTED),
    "house": (theme.PAPER, theme.INK),
    "fish": ("#eef4fb", "none"),
    "bed": ("#dce8de", theme.PALETTE["sage"]),
    "tank": ("#cfe1f7", "#2f6fb5"),
    "room": ("#f6efe0", theme.INK),
    "loading": ("#eceeec", "none"),
    "rain": ("#e3eefb", "#2f6fb5"),
    "generator": ("#f3ddd0", theme.PALETTE["brick"]),
    "fuel": ("#f8e7bf", "#8a5b06"),
    "array": ("#e6dfee", theme.PALETTE["plum"]),
}


@dataclass
class Sheet:
    """Marks of one drawing, and how metres become pixels."""

    width: int
    scale: float
    left: float
    top: float
    text: float
    marks: list[str] = field(default_factory=list)

    def x(self, metres: float) -> float:
        """Return pixels from the left."""
        return round(self.left + metres * self.scale, 2)

    def y(self, metres: float) -> float:
        """Return pixels from the top."""
        return round(self.top + metres * self.scale, 2)

    def rectangle(self, space: Space, look: tuple[str, str], line: float, dash: str = "") -> None:
        """Draw a space."""
        fill, stroke = look
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.marks.append(
            f'<rect x="{self.x(space.x)}" y="{self.y(space.y)}" '
            f'width="{space.width * self.scale:.2f}" height="{space.height * self.scale:.2f}" '
            f'fill="{fill}" stroke="{stroke}" stroke-width="{line}"{dashed}/>'
        )

    def circle(self, tank: Round, look: tuple[str, str], line: float) -> None:
        """Draw a round tank."""
        self.marks.append(
            f'<circle cx="{self.x(tank.x)}" cy="{self.y(tank.y)}" '
            f'r="{tank.diameter / 2 * self.scale:.2f}" fill="{look[0]}" stroke="{look[1]}" '
            f'stroke-width="{line}"/>'
        )

    def line(self, ends: tuple[float, float, float, float], look: str) -> None:
        """Draw a line between two points. [px]"""
        x1, y1, x2, y2 = ends
        self.marks.append(f'<path d="M{x1:.2f} {y1:.2f}L{x2:.2f} {y2:.2f}" fill="none" {look}/>')

    def words(
        self, x: float, y: float, text: str, *, anchor: str = "start", size: float = 0.0,
        look: str = "",
    ) -> None:  # fmt: skip
        """Write words at a point. [px]"""
        self.marks.append(
            f'<text x="{x:.2f}" y="{y:.2f}" text-anchor="{anchor}" '
            f'font-size="{size or self.text:g}" fill="{theme.INK}" {look}>{escape(text)}</text>'
        )

    def key(self, x: float, y: float, number: int) -> None:
        """Draw a numbered circle. [px]"""
        radius = self.text * 0.78
        self.marks.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" fill="{theme.PAPER}" '
            f'stroke="{theme.INK}" stroke-width="1"/>'
        )
        look = 'font-weight="bold"'
        self.words(
            x, y + 0.36 * self.text, str(number), anchor="middle", size=self.text - 1, look=look
        )


def across_page(sheet: Sheet, first: float, last: float, y: float, formats: Formats) -> None:
    """Draw a dimension along the page between two places [m] at a height [px]."""
    x1, x2 = sheet.x(first), sheet.x(last)
    pen = f'stroke="{theme.INK}" stroke-width="0.7"'
    sheet.line((x1, y, x2, y), pen)
    for x in (x1, x2):
        sheet.line((x - 3, y + 3, x + 3, y - 3), pen)
    words = f"{formats.decimal(last - first, 1)} m"
    _patch(sheet, (x1 + x2) / 2.0, y, words)


def down_page(sheet: Sheet, first: float, last: float, x: float, formats: Formats) -> None:
    """Draw a dimension down the page between two places [m] at a side [px]."""
    y1, y2 = sheet.y(first), sheet.y(last)
    pen = f'stroke="{theme.INK}" stroke-width="0.7"'
    sheet.line((x, y1, x, y2), pen)
    for y in (y1, y2):
        sheet.line((x - 3, y + 3, x + 3, y - 3), pen)
    words = f"{formats.decimal(last - first, 1)} m"
    middle = (y1 + y2) / 2.0
    sheet.marks.append(f'<g transform="rotate(-90 {x:.2f} {middle:.2f})">')
    _patch(sheet, x, middle, words)
    sheet.marks.append("</g>")


def _patch(sheet: Sheet, x: float, y: float, words: str) -> None:
    """Write words over a line, on a patch of paper."""
    half = 0.3 * len(words) * sheet.text
    sheet.marks.append(
        f'<rect x="{x - half:.2f}" y="{y - 6:.2f}" width="{2 * half:.2f}" height="12" '
        f'fill="{theme.PAPER}"/>'
    )
    sheet.words(x, y + 3.6, words, anchor="middle", size=sheet.text - 1)
