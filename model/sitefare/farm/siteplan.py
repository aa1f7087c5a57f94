"""What does the whole ground look like from above: house, rooms, yard, doors and grid?

`farm_plan` puts the house of `layout` beside its service rooms and its yard. Only areas and
counts are the design's; how they are arranged is a proposal that a builder may change.
"""

from dataclasses import dataclass
from math import pi, sqrt

from sitefare.farm.layout import (
    AISLE,
    CROSS,
    GAP,
    REACHED,
    House,
    Needs,
    Round,
    Space,
    bed_spaces,
    house_of,
    tank_rounds,
)
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design
from sitefare.farm.yard import Yard, yard_of

#: Service areas below which there is one room, or only three. [m2]
ONE_ROOM, FEW_ROOMS = 12.0, 45.0

#: Depth of water in filters and sump, and floor with access over their own. [m, 1]
VESSEL_DEPTH, VESSEL_ROOM = 1.5, 1.5

#: Floor for pumps, blowers and the switchboard. [m2]
MACHINES = 4.0

#: Litres in a cubic metre. [L/m3]
LITRES = 1000.0

#: Height of a cold store. [m]
STORE_HEIGHT = 2.4

#: Bays that a building's grid is drawn with at most, and the bay aimed at. [1, m]
BAYS, BAY = 14, 4.0


@dataclass(frozen=True)
class Door:
    """A door in a wall: its middle, its width and whether the wall runs down the page. [m]"""

    x: float
    y: float
    width: float
    upright: bool
    outer: bool


@dataclass(frozen=True)
class FarmPlan:
    """The plan: spaces in metres, grid lines, gaps, and what had to give way in sentences."""

    ground: Space
    building: Space
    house: Space
    fish: Space
    growing: Space
    rooms: tuple[Space, ...]
    beds: tuple[Space, ...]
    tanks: tuple[Round, ...]
    yard: Yard
    doors: tuple[Door, ...]
    grid_x: tuple[float, ...]
    grid_y: tuple[float, ...]
    aisle: float
    cross_aisle: float
    tank_gap: float
    notes: tuple[str, ...]

    @property
    def bed_area(self) -> float:
        """Area of the beds as drawn. [m2]"""
        return sum(bed.area for bed in self.beds)


def needs_of(parts: Parts, design: Design) -> Needs:
    """Return the sizes that a design's plan is drawn from."""
    d = design.drivers
    floor = design.tank_volume / base(parts.design.tank_depth)
    vessels = d.get("filter_volume", 0.0) + d.get("biofilter_volume", 0.0) + d["sump_volume"]
    return Needs(
        bed_kind=design.bed_kind,
        bed_area=design.bed_area,
        covered_area=design.covered_area,
        footprint=design.footprint,
        service_area=d.get("service_area", 0.0),
        tank_count=design.tank_count,
        tank_diameter=sqrt(4.0 * floor / pi),
        tank_floor=floor * design.tank_count * base(parts.design.tank_room),
        plant_floor=vessels / VESSEL_DEPTH * VESSEL_ROOM + MACHINES,
        cold_store_floor=d["cold_store_volume"] / STORE_HEIGHT,
        nursery_area=d.get("nursery_area", 0.0),
        rain_volume=d["rain_tank_volume"],
        generator_power=d["generator_power"],
        second_generator_power=d.get("second_generator_power", 0.0),
        fuel_volume=d.get("fuel_store", 0.0) / LITRES,
        heating_fuel_volume=d.get("heating_fuel_store", 0.0) / LITRES,
        pv_power=d["pv_power"],
    )


def farm_plan(needs: Needs) -> FarmPlan:
    """Return the plan of a farm of these sizes."""
    house = house_of(needs)
    width = house.width + house.service_width
    margin, yard_width, ground = _ground(needs, width, house.height)
    left, top = yard_width + house.service_width, margin
    covered = Space("house", left, top, house.width, house.height)
    fish = Space("fish", left, top, house.fish_width, house.height)
    growing = Space("growing", fish.right, top, house.growing_width, house.height)
    rooms, short = _rooms(
        needs, Space("service", yard_width, top, house.service_width, house.height)
    )
    yard = yard_of(needs, Space("yard", 0.0, 0.0, yard_width, ground.height), rooms)
    grid_x = _lines(yard_width, width)
    grid_y = _lines(top, house.height)
    return FarmPlan(
        ground=ground,
        building=Space("building", yard_width, top, width, house.height),
        house=covered,
        fish=fish,
        growing=growing,
        rooms=rooms,
        beds=bed_spaces(house, left, top),
        tanks=tank_rounds(needs, house, left, top),
        yard=yard,
        doors=_doors(rooms, covered, house),
        grid_x=grid_x,
        grid_y=grid_y,
        aisle=house.beds.aisle,
        cross_aisle=house.beds.cross,
        tank_gap=min(house.tanks.aisle, house.tanks.cross),
        notes=(*_tight(needs, house, ground), *short, *yard.notes),
    )


def _ground(needs: Needs, width: float, height: float) -> tuple[float, float, Space]:
    """Return the margin round a building, the yard's width and the whole ground. [m]"""
    room = max(needs.footprint, width * height)
    margin = min(max(0.03 * sqrt(room), 0.5), 3.0)
    while margin > 0.0:
        deep = height + 2.0 * margin
        yard = room / deep - width - margin
        if yard >= 0.0:
            return margin, yard, Space("ground", 0.0, 0.0, room / deep, deep)
        margin = 0.0 if margin < 0.1 else margin / 2.0  # noqa: PLR2004
    yard = max(room / height - width, 0.0)
    return 0.0, yard, Space("ground", 0.0, 0.0, yard + width, height)


def _rooms(needs: Needs, strip: Space) -> tuple[tuple[Space, ...], list[str]]:
    """Divide the service strip into rooms from top to bottom, and say what is short."""
    area = strip.area
    if area <= 0.0:
        return (), ["No service rooms are drawn: farm_design.service_share is 0."]
    if area < ONE_ROOM:
        return (Space("service", strip.x, strip.y, strip.width, strip.height),), []
    plant = min(max(needs.plant_floor, 0.12 * area), 0.5 * area)
    short = []
    if needs.plant_floor > plant * 1.001:
        short.append(
            f"Filters, sump and machines take about {needs.plant_floor:.0f} m2 of floor and the "
            f"plant room has {plant:.0f}: sink the sump, or raise farm_design.service_share."
        )
    if area < FEW_ROOMS:
        wash = max(0.1 * area, 2.0)
        slices = [[("toilet", wash)], [("packing", area - plant - wash)], [("plant", plant)]]
        return _sliced(strip, slices), short
    rest = area - plant
    cold = min(max(needs.cold_store_floor, 0.06 * rest), 0.2 * rest)
    nursery = min(max(needs.nursery_area, 0.2 * rest), 0.4 * rest)
    office, toilet, store = 0.12 * rest, 0.08 * rest, 0.14 * rest
    packing = rest - cold - nursery - office - toilet - store
    slices = [
        [("nursery", nursery)],
        [("office", office), ("toilet", toilet)],
        [("packing", packing)],
        [("store", store), ("cold_store", cold)],
        [("plant", plant)],
    ]
    return _sliced(strip, slices), short


def _sliced(strip: Space, slices: list[list[tuple[str, float]]]) -> tuple[Space, ...]:
    """Return the rooms of slices across a strip, each with its area. [m2]"""
    rooms = []
    y = strip.y
    for parts in slices:
        height = sum(area for _, area in parts) / strip.width
        x = strip.x
        for kind, area in parts:
            rooms.append(Space(kind, x, y, area / height, height))
            x += area / height
        y += height
    return tuple(rooms)


def _doors(rooms: tuple[Space, ...], house: Space, layout: House) -> tuple[Door, ...]:
    """Return doors: goods and people from outside, rooms to the house, and out at the far end."""
    doors = []
    for room in rooms:
        middle = room.y + room.height / 2.0
        if room.kind in ("packing", "plant", "office", "service"):
            wide = min(2.0 if room.kind in ("packing", "plant") else 1.0, 0.5 * room.height)
            doors.append(Door(room.x, middle, wide, upright=True, outer=True))
        if room.kind in ("packing", "plant", "nursery", "service"):
            wide = min(1.5, 0.4 * room.height)
            doors.append(Door(room.right, middle, wide, upright=True, outer=False))
    rows, beds = layout.beds.rows, layout.beds
    edge = beds.width if beds.walls else 0.0
    row = 0 if beds.walls else (rows + 1) // 2
    middle = house.y + edge + row * (beds.width + beds.aisle) + beds.aisle / 2.0
    doors.append(Door(house.right, middle, min(1.5, 0.35 * house.height), upright=True, outer=True))
    return tuple(doors)


def _lines(start: float, length: float) -> tuple[float, ...]:
    """Return grid lines that part a length into equal bays. [m]"""
    bays = min(max(round(length / BAY), 1), BAYS)
    return tuple(start + length * number / bays for number in range(bays + 1))


def _tight(needs: Needs, house: House, ground: Space) -> list[str]:
    """Say where the design's areas leave less than people and carts need."""
    said = []
    drawn = house.width * house.height
    if drawn > needs.covered_area * 1.005:
        said.append(
            f"The tanks do not fit the floor given: {drawn:.0f} m2 are drawn for "
            f"{needs.covered_area:.0f}; raise farm_design.tank_room."
        )
    if ground.area > needs.footprint * 1.005:
        said.append(
            f"The plan takes {ground.area:.0f} m2 of ground for {needs.footprint:.0f}: raise "
            "farm_design.site_share."
        )
    gap = min(house.tanks.aisle, house.tanks.cross)
    if gap < GAP - 0.005 and needs.tank_diameter > REACHED:
        said.append(
            f"Tanks stand {gap:.2f} m apart, less than the {GAP:g} m a person needs: raise "
            "farm_design.tank_room."
        )
    if house.beds.aisle < AISLE - 0.005:
        said.append(
            f"Aisles of {house.beds.aisle:.2f} m are narrower than the {AISLE:g} m a cart needs: "
            "the house has a high share of beds."
        )
    if house.beds.cross < CROSS - 0.005:
        said.append(f"Cross aisles of {house.beds.cross:.2f} m are narrower than {CROSS:g} m.")
    return said


def bed_sentence(plan: FarmPlan, needs: Needs) -> str:
    """Say what beds are drawn, and how near they come to the design's bed area."""
    bed = plan.beds[0]
    return (
        f"{len(plan.beds)} beds of {bed.height:g} by {bed.width:.2f} m make {plan.bed_area:.1f} m2 "
        f"for the {needs.bed_area:.1f} m2 of the design: whole beds, lengths to 5 cm."
    )
