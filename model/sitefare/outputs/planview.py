"""The farm from above, to scale: an SVG in the house's own look.

The plan of `farm.siteplan` in metres becomes two drawings, for the desk and for a telephone.
Numbers in circles stand for the spaces that the legend under the drawing names; tanks carry
the numbers of the stocking calendar; grid lines give every place a name, such as C4.
"""

from dataclasses import replace
from itertools import pairwise

from sitefare.farm.layout import Needs, Round, Space
from sitefare.farm.siteplan import Door, FarmPlan
from sitefare.outputs import theme
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import NARROW, WIDE, Drawing
from sitefare.outputs.plansheet import LOOK, Sheet, across_page, down_page

#: What each space is called, in the order of the legend.
TITLES = {
    "bed": "Beds",
    "tank": "Fish tanks",
    "plant": "Plant room (filters, sump, pumps)",
    "packing": "Packing and wash",
    "service": "Service: packing, wash, stores, machines",
    "cold_store": "Cold store",
    "store": "Stores: feed, seed, spares",
    "nursery": "Nursery",
    "office": "Office",
    "toilet": "Toilet and hand-washing",
    "loading": "Loading place, kept clear",
    "rain": "Rain tanks",
    "generator": "Generator on its plinth",
    "second_generator": "Second generator on its plinth",
    "fuel": "Fuel store for the generator, with a wall against spills",
    "heating_fuel": "Heating fuel store, with a wall against spills",
    "array": "Ground for solar array",
}

#: Longest scale bar over the drawing's width, and lengths it may have. [1, m]
BAR_SHARE = 0.25
BARS = (0.5, 1, 2, 5, 10, 20, 50, 100, 200)


def plan_drawing(plan: FarmPlan, needs: Needs, formats: Formats) -> Drawing:
    """Return the plan as a picture for documents."""
    building = plan.building
    sides = f"{formats.decimal(building.width, 1)} × {formats.decimal(building.height, 1)} m"
    bed = plan.beds[0]
    size = f"{formats.decimal(bed.height, 2)} × {formats.decimal(bed.width, 2)} m"
    beds = f"{_counted(len(plan.beds), 'bed')} of {size}"
    across = formats.decimal(needs.tank_diameter, 1)
    tanks = f"{_counted(len(plan.tanks), 'tank')} of {across} m across"
    ground = " × ".join(formats.decimal(x, 1) for x in (plan.ground.width, plan.ground.height))
    title = f"{beds} and {tanks} in a building of {sides}"
    alt = (
        f"Plan drawn to scale: ground of {ground} m; on it a building of {sides}. Side by side: "
        f"yard, service rooms, {tanks}, then {beds} in rows along the house with aisles of "
        f"{formats.decimal(plan.aisle, 2)} m. "
        + "; ".join(words for _, _, words in _entries(plan, needs, formats))
        + "."
    )
    return Drawing(
        title,
        alt,
        _svg(plan, needs, formats, WIDE),
        _svg(plan, needs, formats, NARROW),
    )


def _counted(count: int, word: str) -> str:
    """Return a count with its word."""
    return f"{count} {word}" + ("" if count == 1 else "s")


def _svg(plan: FarmPlan, needs: Needs, formats: Formats, width: int) -> str:
    """Return the drawing at a width in pixels."""
    wide = width == WIDE
    entries = _entries(plan, needs, formats)
    plan = plan if wide else _turned(plan)
    left, right, top = (50.0, 36.0, 50.0) if wide else (28.0, 20.0, 34.0)
    tallest = width * (0.82 if wide else 2.2)
    scale = min((width - left - right) / plan.ground.width, tallest / plan.ground.height)
    middle = max((width - left - right - plan.ground.width * scale) / 2.0, 0.0)
    sheet = Sheet(width, scale, left + middle, top, 11.5 if wide else 11.0)
    _ground(sheet, plan)
    _building(sheet, plan, turned=not wide)
    _grid(sheet, plan, wide=wide)
    if wide:
        _dimensions(sheet, plan, formats)
    _keys(sheet, plan, entries, wide=wide)
    bottom = _foot(sheet, plan, formats, wide=wide)
    height = _legend(sheet, entries, bottom, columns=2 if wide else 1)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height:.0f}" '
        f'viewBox="0 0 {width} {height:.0f}" font-family="{theme.FAMILY}">'
        f'<rect width="{width}" height="{height:.0f}" fill="{theme.PAPER}"/>'
        + "".join(sheet.marks)
        + "</svg>"
    )


def _turned(plan: FarmPlan) -> FarmPlan:
    """Return the plan with its long side down the page, for a telephone."""

    def space(s: Space) -> Space:
        return Space(s.kind, s.y, s.x, s.height, s.width)

    def spaces(several: tuple[Space, ...]) -> tuple[Space, ...]:
        return tuple(space(s) for s in several)

    def rounds(several: tuple[Round, ...]) -> tuple[Round, ...]:
        return tuple(Round(r.kind, r.y, r.x, r.diameter) for r in several)

    yard = replace(
        plan.yard,
        loading=spaces(plan.yard.loading),
        rain_tanks=rounds(plan.yard.rain_tanks),
        generator=spaces(plan.yard.generator),
        fuel=spaces(plan.yard.fuel),
        array=spaces(plan.yard.array),
    )
    return replace(
        plan,
        ground=space(plan.ground),
        building=space(plan.building),
        house=space(plan.house),
        fish=space(plan.fish),
        growing=space(plan.growing),
        rooms=spaces(plan.rooms),
        beds=spaces(plan.beds),
        tanks=rounds(plan.tanks),
        yard=yard,
        doors=tuple(replace(d, x=d.y, y=d.x, upright=not d.upright) for d in plan.doors),
        grid_x=plan.grid_y,
        grid_y=plan.grid_x,
    )


def _ground(sheet: Sheet, plan: FarmPlan) -> None:
    """Draw the ground and what stands in the yard."""
    sheet.rectangle(plan.ground, (LOOK["ground"][0], "none"), 0)
    for space in plan.yard.loading:
        sheet.rectangle(space, LOOK["loading"], 0)
    sheet.rectangle(plan.ground, ("none", LOOK["ground"][1]), 1, "6 4")
    for space in plan.yard.array:
        sheet.rectangle(space, LOOK["array"], 1)
        rows = max(int(space.height / 4.0), 1)
        for row in range(1, rows):
            y = sheet.y(space.y + space.height * row / rows)
            sheet.line((sheet.x(space.x), y, sheet.x(space.right), y), _pen("array", 0.6))
    for space in (*plan.yard.generator, *plan.yard.fuel):
        sheet.rectangle(space, LOOK[_fill(space.kind)], 1.2)
    for tank in plan.yard.rain_tanks:
        sheet.circle(tank, LOOK["rain"], 1.2)


def _fill(kind: str) -> str:
    """Return the look that a kind of space is drawn with."""
    return {"second_generator": "generator", "heating_fuel": "fuel"}.get(
        kind, kind if kind in LOOK else "room"
    )


def _pen(kind: str, line: float) -> str:
    """Return the stroke of a kind of space."""
    return f'stroke="{LOOK[kind][1]}" stroke-width="{line}"'


def _building(sheet: Sheet, plan: FarmPlan, *, turned: bool) -> None:
    """Draw the house, its beds and tanks, the rooms, then walls and doors over them."""
    sheet.rectangle(plan.house, LOOK["house"], 0)
    sheet.rectangle(plan.fish, LOOK["fish"], 0)
    fill, stroke = LOOK["bed"]
    path = "".join(
        f"M{sheet.x(b.x):g} {sheet.y(b.y):g}h{b.width * sheet.scale:.2f}"
        f"v{b.height * sheet.scale:.2f}h{-b.width * sheet.scale:.2f}z"
        for b in plan.beds
    )
    narrowest = min(plan.beds[0].height, plan.beds[0].width) * sheet.scale
    line = 1.0 if narrowest > 4 else 0.4  # noqa: PLR2004
    sheet.marks.append(f'<path d="{path}" fill="{fill}" stroke="{stroke}" stroke-width="{line}"/>')
    for tank in plan.tanks:
        sheet.circle(tank, LOOK["tank"], 1.3)
    for room in plan.rooms:
        sheet.rectangle(room, LOOK["room"], 0.9)
    _wall(sheet, plan.growing, f'stroke="{theme.MUTED}" stroke-dasharray="3 3"', turned=turned)
    sheet.rectangle(plan.building, ("none", theme.INK), 2.2)
    if plan.rooms:
        _wall(sheet, plan.house, f'stroke="{theme.INK}" stroke-width="1.6"', turned=turned)
    for door in plan.doors:
        _door(sheet, door)


def _wall(sheet: Sheet, space: Space, look: str, *, turned: bool) -> None:
    """Draw the wall on a space's first side: its left, or its top where the plan is turned."""
    x, y = sheet.x(space.x), sheet.y(space.y)
    ends = (x, y, sheet.x(space.right), y) if turned else (x, y, x, sheet.y(space.bottom))
    sheet.line(ends, look)


def _door(sheet: Sheet, door: Door) -> None:
    """Draw a door as a gap in its wall and two open leaves, swung away from the house's far end."""
    half = door.width / 2.0 * sheet.scale
    x, y = sheet.x(door.x), sheet.y(door.y)
    gap = f'stroke="{theme.PAPER}" stroke-width="3.6"'
    pen = f'stroke="{theme.INK}" stroke-width="0.9"'
    leaf = 0.9 * half
    if door.upright:
        sheet.line((x, y - half, x, y + half), gap)
        for side in (-1, 1):
            sheet.line((x, y + side * half, x - leaf, y + side * (half - 0.2 * leaf)), pen)
    else:
        sheet.line((x - half, y, x + half, y), gap)
        for side in (-1, 1):
            sheet.line((x + side * half, y, x + side * (half - 0.2 * leaf), y - leaf), pen)


def _grid(sheet: Sheet, plan: FarmPlan, *, wide: bool) -> None:
    """Draw grid lines over the building: numbers along its length, letters across it."""
    wall, reach = plan.building, 9.0 if wide else 6.0
    quiet = f'stroke="{theme.MUTED}" stroke-width="0.5" stroke-dasharray="1 4"'
    size = sheet.text - 2.0
    top, side = sheet.y(plan.ground.y), sheet.x(plan.ground.right)
    for number, metres in enumerate(plan.grid_x):
        x = sheet.x(metres)
        sheet.line((x, top - 3, x, sheet.y(wall.bottom)), quiet)
        name = _name(number, letters=not wide)
        sheet.words(x, top - reach + 3, name, anchor="middle", size=size, look=_MUTED)
    for number, metres in enumerate(plan.grid_y):
        y = sheet.y(metres)
        sheet.line((sheet.x(wall.x), y, side + 3, y), quiet)
        name = _name(number, letters=wide)
        sheet.words(side + reach + 2, y + 3.5, name, anchor="middle", size=size, look=_MUTED)


def _name(number: int, *, letters: bool) -> str:
    """Return the name of a grid line."""
    return chr(ord("A") + number) if letters else str(number + 1)


_MUTED = f'style="fill:{theme.MUTED}"'


def _dimensions(sheet: Sheet, plan: FarmPlan, formats: Formats) -> None:
    """Draw dimension lines: parts of the building above it, the whole ground at the left."""
    y = sheet.y(plan.ground.y) - 22.0
    starts = [plan.building.x, plan.house.x, plan.growing.x, plan.house.right]
    for first, last in pairwise(starts):
        if last - first > 1e-9:  # noqa: PLR2004
            across_page(sheet, first, last, y, formats)
    across_page(sheet, plan.ground.x, plan.ground.right, y - 16.0, formats)
    x = sheet.x(plan.ground.x) - 14.0
    down_page(sheet, plan.building.y, plan.building.bottom, x, formats)


def _entries(plan: FarmPlan, needs: Needs, formats: Formats) -> list[tuple[str, str, str]]:
    """Return the legend: kind, fill's kind and words, in the order of TITLES."""
    bed = plan.beds[0]
    words = {
        "bed": (
            f"{_counted(len(plan.beds), 'bed')} of {formats.decimal(bed.height, 2)} × "
            f"{formats.decimal(bed.width, 2)} m, {formats.number(plan.bed_area)} m²"
        ),
        "tank": (
            f"{_counted(len(plan.tanks), 'fish tank')}, "
            f"{formats.decimal(needs.tank_diameter, 2)} m across"
        ),
    }
    for room in plan.rooms:
        words[room.kind] = f"{TITLES[room.kind]}, {formats.number(room.area, 2)} m²"
    if plan.yard.loading:
        words["loading"] = TITLES["loading"]
    if plan.yard.rain_tanks:
        count, across = len(plan.yard.rain_tanks), plan.yard.rain_tanks[0].diameter
        name = "Rain tank" if count == 1 else f"{count} rain tanks"
        words["rain"] = (
            f"{name}, {formats.number(needs.rain_volume)} m³, {formats.decimal(across, 1)} m across"
        )
    powers = {
        "generator": needs.generator_power,
        "second_generator": needs.second_generator_power,
    }
    for space in plan.yard.generator:
        words[space.kind] = f"{TITLES[space.kind]}, {formats.number(powers[space.kind])} kW"
    volumes = {"fuel": needs.fuel_volume, "heating_fuel": needs.heating_fuel_volume}
    for space in plan.yard.fuel:
        held = formats.number(volumes[space.kind], 2)
        words[space.kind] = f"{TITLES[space.kind].split(',')[0]}, {held} m³"
    if plan.yard.array:
        area = formats.number(sum(a.area for a in plan.yard.array), 2)
        words["array"] = f"Ground for solar array, {area} m²"
    return [(kind, _fill(kind), words[kind]) for kind in TITLES if kind in words]


def _keys(sheet: Sheet, plan: FarmPlan, entries: list[tuple[str, str, str]], *, wide: bool) -> None:
    """Write numbers on the spaces, and on the tanks their number in the stocking calendar."""
    numbers = _numbers(entries)
    places = {room.kind: room for room in (*plan.rooms, *plan.yard.loading)}
    yard = plan.yard
    places |= {space.kind: space for space in (*yard.array, *yard.generator, *yard.fuel)}
    places["bed"] = plan.growing
    for tank in plan.yard.rain_tanks[:1]:
        places["rain"] = tank.box
    machines = {space.kind for space in (*yard.generator, *yard.fuel)}
    for kind, space in places.items():
        x, y = space.x + space.width / 2.0, space.y + space.height / 2.0
        small = min(space.width, space.height) * sheet.scale < 1.6 * sheet.text
        right, up = 0.0, 0.0
        if small and kind in machines and wide:
            up = space.height * sheet.scale / 2.0 + 0.95 * sheet.text
            up = up if y * sheet.scale > 2.5 * up else -up
        elif small:
            right = space.width * sheet.scale / 2.0 + 0.95 * sheet.text
            right = -right if kind in machines and x * sheet.scale > 2.5 * right else right
        sheet.key(sheet.x(x) + right, sheet.y(y) - up, numbers[kind])
    across = plan.tanks[0].diameter * sheet.scale
    for number, tank in enumerate(plan.tanks, 1):
        words = f"T{number}"
        size = min(sheet.text, 0.95 * across / len(words))
        if size >= 6.0:  # noqa: PLR2004
            x, y = sheet.x(tank.x), sheet.y(tank.y)
            sheet.words(x, y + 0.36 * size, words, anchor="middle", size=round(size, 1))


def _numbers(entries: list[tuple[str, str, str]]) -> dict[str, int]:
    """Return the number of each space of the legend; tanks carry their own."""
    kinds = [kind for kind, _, _ in entries if kind != "tank"]
    return {kind: number for number, kind in enumerate(kinds, 1)}


def _foot(sheet: Sheet, plan: FarmPlan, formats: Formats, *, wide: bool) -> float:
    """Draw the scale bar and the caution under the ground; return where they end. [px]"""
    y = sheet.y(plan.ground.bottom) + (20.0 if wide else 16.0)
    most = BAR_SHARE * plan.ground.width
    length = max((bar for bar in BARS if bar <= most), default=BARS[0])
    x, half = sheet.x(plan.ground.x), length * sheet.scale / 2.0
    for start, fill in ((x, theme.INK), (x + half, theme.PAPER)):
        sheet.marks.append(
            f'<rect x="{start:.2f}" y="{y:.2f}" width="{half:.2f}" height="5" fill="{fill}" '
            f'stroke="{theme.INK}" stroke-width="0.8"/>'
        )
    sheet.words(x + 2 * half + 7, y + 6.5, f"{formats.number(length)} m", size=sheet.text - 0.5)
    words = "Not a construction drawing"
    sheet.words(sheet.x(plan.ground.right), y + 6.5, words, anchor="end", look='font-weight="bold"')
    if wide:
        _north(sheet, x + 2 * half + 80.0, y + 2.5)
        return y + 18.0
    _north(sheet, x + 8.0, y + 24.0)
    return y + 36.0


def _north(sheet: Sheet, x: float, y: float) -> None:
    """Draw the ring that takes the north arrow: the ground's orientation is no fact of a site."""
    pen = f'fill="{theme.PAPER}" stroke="{theme.MUTED}" stroke-width="1" stroke-dasharray="2 2"'
    sheet.marks.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="9" {pen}/>')
    sheet.words(x, y + 4.0, "N", anchor="middle", look='font-weight="bold"')
    sheet.words(x + 14.0, y + 4.0, "north: mark on site", size=sheet.text - 0.5)


def _legend(
    sheet: Sheet, entries: list[tuple[str, str, str]], top: float, *, columns: int
) -> float:
    """Draw the legend in columns; return the drawing's height. [px]"""
    pitch, left, numbers = sheet.text * 1.75, 12.0, _numbers(entries)
    rows = -(-len(entries) // columns)
    for number, (kind, fill, words) in enumerate(entries):
        x = left + (number // rows) * (sheet.width - left) / columns
        y = top + pitch * (number % rows + 0.7)
        look = LOOK[fill]
        stroke = look[1] if look[1] != "none" else theme.MUTED
        sheet.marks.append(
            f'<rect x="{x + 22:.2f}" y="{y - 6:.2f}" width="16" height="12" fill="{look[0]}" '
            f'stroke="{stroke}" stroke-width="1"/>'
        )
        if kind == "tank":
            sheet.words(x, y + 4, "T", anchor="middle", look='font-weight="bold"')
        else:
            sheet.key(x, y, numbers[kind])
        sheet.words(x + 46, y + 4, words)
    return top + pitch * (rows + 0.4)
