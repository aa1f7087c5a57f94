"""On which side of a dot does its name find room, so that no name covers a dot or another?"""

from collections.abc import Sequence
from typing import Literal

from sitefare.outputs.labels import LETTER, LINE

Align = Literal["left", "center", "right"]
Baseline = Literal["top", "middle", "bottom"]

#: Sides in the order they are tried: step across and up, alignment, baseline.
SIDES: dict[str, tuple[int, int, Align, Baseline]] = {
    "right": (1, 0, "left", "middle"),
    "left": (-1, 0, "right", "middle"),
    "above": (0, -1, "center", "bottom"),
    "below": (0, 1, "center", "top"),
}

Box = tuple[float, float, float, float]


def sides(
    where: Sequence[tuple[float, float]],
    names: Sequence[str],
    order: Sequence[int],
    size: tuple[float, float],
    radius: float,
) -> list[str]:
    """Return the side of each dot on which its name stands; empty where none has room.

    Parameters
    ----------
    where : sequence of (float, float)
        Places of the dots from the left and from the top. [px]
    names : sequence of str
        Their names, lines parted by line breaks.
    order : sequence of int
        Whose name is placed first.
    size : (float, float)
        Width and height of the drawing. [px]
    radius : float
        Half a dot's width. [px]
    """
    dots = [(x - radius, y - radius, x + radius, y + radius) for x, y in where]
    taken: list[Box] = []
    chosen = [""] * len(where)
    for n in order:
        for side in SIDES:
            box = box_of(where[n], names[n], side, radius + 4)
            inside = box[0] >= 0 and box[1] >= 0 and box[2] <= size[0] and box[3] <= size[1]
            others = [dot for m, dot in enumerate(dots) if m != n]
            if inside and not any(_meet(box, other) for other in [*others, *taken]):
                chosen[n] = side
                taken.append(box)
                break
    return chosen


def box_of(at: tuple[float, float], name: str, side: str, away: float) -> Box:
    """Return the ends of a name's box beside a dot. [px]"""
    lines = name.split("\n")
    width, height = LETTER * max(map(len, lines)), LINE * len(lines)
    across, up, _, _ = SIDES[side]
    x = at[0] + across * (away + width / 2)
    y = at[1] + up * (away + height / 2)
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _meet(a: Box, b: Box) -> bool:
    """Say whether two boxes overlap."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
