"""Where does each part of a farm stand on its ground?

Pure geometry, made from sizes alone: metres, x to the right and y down from the ground's top
left corner. The house takes the covered area; inside it tanks stand at one end and whole beds
of one size fill the rest with aisles on every side. The same sizes give the same plan.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, log, sqrt

#: Widths that a bed of each kind is built in, and its greatest length; reach is about 0.75 m
#: from each side, and a raft is pushed along its trough. [m]
WIDTHS = {"media": (1.2, 1.5), "raft": (1.2, 2.4), "channel": (1.2, 1.8)}
LONGEST = {"media": 15.0, "raft": 30.0, "channel": 15.0}

#: Half-width beds along the walls of a house too small for aisles all round. [m]
WALL_WIDTHS = (0.6, 0.75, 0.9)

#: Steps that a bed's length is rounded to. [m]
STEP = 0.05

#: What an aisle, a cross aisle and the gap between two tanks should have at least. [m]
AISLE, CROSS, GAP = 0.6, 0.8, 0.5

#: Aisles that rows of beds are tried with. [m]
TRIED = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2)

#: Tanks up to this diameter are reached from one side. [m]
REACHED = 2.0

#: Length over width that a building is drawn towards. [1]
ASPECT = 1.7


@dataclass(frozen=True)
class Needs:
    """Sizes that the plan is drawn from: areas [m2], lengths [m], volumes [m3], powers [kW]."""

    bed_kind: str
    bed_area: float
    covered_area: float
    footprint: float
    service_area: float
    tank_count: int
    tank_diameter: float
    tank_floor: float
    plant_floor: float = 0.0
    cold_store_floor: float = 0.0
    nursery_area: float = 0.0
    rain_volume: float = 0.0
    generator_power: float = 0.0
    second_generator_power: float = 0.0
    fuel_volume: float = 0.0
    heating_fuel_volume: float = 0.0
    pv_power: float = 0.0


@dataclass(frozen=True)
class Space:
    """A rectangle: what it is, its top left corner and its sides. [m]"""

    kind: str
    x: float
    y: float
    width: float
    height: float

    @property
    def area(self) -> float:
        """Its area. [m2]"""
        return self.width * self.height

    @property
    def right(self) -> float:
        """Its right side. [m]"""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower side. [m]"""
        return self.y + self.height


@dataclass(frozen=True)
class Round:
    """A circle: what it is, its centre and its diameter. [m]"""

    kind: str
    x: float
    y: float
    diameter: float

    @property
    def box(self) -> Space:
        """The square round it."""
        half = self.diameter / 2.0
        return Space(self.kind, self.x - half, self.y - half, self.diameter, self.diameter)


@dataclass(frozen=True)
class Grid:
    """Whole beds or tanks in rows and columns, with the gaps left between them. [m]"""

    rows: int
    columns: int
    width: float
    length: float
    aisle: float
    cross: float
    walls: bool = False


@dataclass(frozen=True)
class House:
    """The covered ground: its sides [m], the part for tanks, and what stands in it."""

    width: float
    height: float
    fish_width: float
    beds: Grid
    tanks: Grid
    service_width: float

    @property
    def growing_width(self) -> float:
        """Length of the part with beds. [m]"""
        return self.width - self.fish_width


def house_of(needs: Needs) -> House:
    """Return the house whose aisles, gaps and shape serve best.

    Where the design's room cannot hold whole tanks or beds, more is taken, step by step.
    """
    fish_area = needs.tank_floor
    growing = max(needs.covered_area - needs.tank_floor, needs.bed_area * 1.02)
    while True:
        found = list(_houses(needs, growing, fish_area))
        if found:
            return min(found, key=lambda house: _badness(needs, house))
        fish_area, growing = fish_area * 1.1, growing * 1.02


def _houses(needs: Needs, growing: float, fish_area: float) -> Iterator[House]:
    """Yield houses of a growing area and a fish area [m2] over a range of shapes."""
    whole = growing + fish_area
    for step in range(61):
        aspect = 0.5 * 10.0 ** (step / 60.0)
        height = sqrt(whole / aspect)
        tanks = _tank_grid(needs, fish_area / height, height)
        if tanks is None:
            continue
        for beds in _bed_grids(needs, growing / height, height):
            service = needs.service_area / height
            yield House(whole / height, height, fish_area / height, beds, tanks, service)


def _tank_grid(needs: Needs, width: float, height: float) -> Grid | None:
    """Return the rows of tanks with the widest gap in a room, or none where they do not fit.

    Half a gap is left along the walls: tanks are reached from the gaps between them.
    """
    best = None
    across = needs.tank_diameter
    for columns in range(1, needs.tank_count + 1):
        rows = ceil(needs.tank_count / columns)
        gap_x = width / columns - across
        gap_y = height / rows - across
        if min(gap_x, gap_y) <= 0.0:
            continue
        if best is None or min(gap_x, gap_y) > min(best.aisle, best.cross):
            best = Grid(rows, columns, across, across, gap_y, gap_x)
    return best


def _bed_grids(needs: Needs, width: float, height: float) -> Iterator[Grid]:
    """Yield grids of whole beds that fill a room with aisles, beds along its width."""
    for wide in WIDTHS[needs.bed_kind]:
        wanted = {int((height - aisle) / (wide + aisle)) for aisle in TRIED}
        for rows in sorted(wanted - {0}):
            aisle = (height - rows * wide) / (rows + 1)
            yield from _columns(needs, width, Grid(rows, 0, wide, 0.0, aisle, 0.0))
    for wide in WALL_WIDTHS:
        if height - 2.0 * wide > 0.0:
            aisle = height - 2.0 * wide
            yield from _columns(needs, width, Grid(2, 0, wide, 0.0, aisle, 0.0, walls=True))


def _columns(needs: Needs, width: float, begun: Grid) -> Iterator[Grid]:
    """Yield grids with columns of beds whose lengths give the bed area, and cross aisles."""
    run = needs.bed_area / (begun.rows * begun.width)
    longest = LONGEST[needs.bed_kind]
    least = max(ceil(run / longest), 1)
    for columns in (least, least + 1):
        length = max(round(run / columns / STEP), 1) * STEP
        cross = (width - columns * length) / (columns + 1)
        if cross > 0.0:
            yield Grid(
                begun.rows, columns, begun.width, length, begun.aisle, cross, walls=begun.walls
            )


def _badness(needs: Needs, house: House) -> float:
    """Return how far a house is from aisles, gaps and a shape that serve. [1]"""
    beds, tanks = house.beds, house.tanks
    narrow = 4.0 * max(AISLE - beds.aisle, 0.0) / AISLE + 3.0 * max(CROSS - beds.cross, 0.0) / CROSS
    wide = max(beds.aisle - 1.2, 0.0) + 0.4 * max(beds.cross - 2.0, 0.0)
    gap = min(tanks.aisle, tanks.cross)
    tight = 4.0 * max(GAP - gap, 0.0) / GAP if needs.tank_diameter > REACHED else 0.0
    shape = abs(log((house.width + house.service_width) / house.height / ASPECT))
    stubby = max(beds.width * 1.5 - beds.length, 0.0)
    walls = 1.0 if beds.walls else 0.0
    many = 0.0004 * beds.rows * beds.columns
    return narrow + wide + tight + shape + stubby + walls + many


def bed_spaces(house: House, x: float, y: float) -> tuple[Space, ...]:
    """Return the beds of a house whose top left corner stands at x, y. [m]"""
    beds = house.beds
    edge = 0.0 if beds.walls else beds.aisle
    left, pitch = x + house.fish_width + beds.cross, beds.length + beds.cross
    return tuple(
        Space(
            "bed",
            left + column * pitch,
            y + edge + row * (beds.width + beds.aisle),
            beds.length,
            beds.width,
        )
        for row in range(beds.rows)
        for column in range(beds.columns)
    )


def tank_rounds(needs: Needs, house: House, x: float, y: float) -> tuple[Round, ...]:
    """Return the tanks of a house whose top left corner stands at x, y. [m]"""
    grid, across = house.tanks, needs.tank_diameter
    return tuple(
        Round(
            "tank",
            x + (number // grid.rows + 0.5) * (across + grid.cross),
            y + (number % grid.rows + 0.5) * (across + grid.aisle),
            across,
        )
        for number in range(needs.tank_count)
    )
