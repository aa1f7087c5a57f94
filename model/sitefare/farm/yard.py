"""What stands outside the house: rain tanks, generators, fuel, solar array, and room to load?

Clearances are practice: a metre round what is walked round, three from a generator or a fuel
store to the nearest wall where the yard is deep enough.
"""

from dataclasses import dataclass
from math import pi, sqrt

from sitefare.farm.layout import Needs, Round, Space

#: Height of water in a rain tank. [m]
TANK_HEIGHT = 2.2

#: Clear ground round a tank or a machine, between two machines, and from a generator to a wall. [m]
CLEAR, BETWEEN, FROM_WALL = 1.0, 1.5, 3.0

#: Panels for a kilowatt, and ground for them in rows that do not shade each other. [m2/kW]
PANELS, ARRAY = 5.0, 9.0

#: Height of a fuel store, ground with the wall that holds a spill over its own, and its length
#: over its width. [m, 1, 1]
FUEL_HEIGHT, FUEL_ROOM, FUEL_SHAPE = 1.2, 1.4, 2.0

#: What each thing on the ground is called in a sentence.
NAMES = {
    "generator": "generator",
    "second_generator": "second generator",
    "fuel": "fuel store",
    "heating_fuel": "heating fuel store",
}

#: Rain tanks that are drawn at most.
MOST_TANKS = 8


@dataclass(frozen=True)
class Yard:
    """What stands in the yard, and what found no room in it."""

    loading: tuple[Space, ...]
    rain_tanks: tuple[Round, ...]
    generator: tuple[Space, ...]
    array: tuple[Space, ...]
    notes: tuple[str, ...]
    fuel: tuple[Space, ...] = ()


def yard_of(needs: Needs, yard: Space, rooms: tuple[Space, ...]) -> Yard:
    """Return the yard left of the rooms: an array above the loading place, tanks below it."""
    packing = next((r for r in rooms if r.kind in ("packing", "service")), None)
    if packing is None or yard.width < CLEAR:
        return _bare(needs)
    loading = Space("loading", 0.0, packing.y, yard.width, packing.height)
    above = Space("above", 0.0, 0.0, yard.width, loading.y)
    below = Space("below", 0.0, loading.bottom, yard.width, yard.height - loading.bottom)
    array, roof = _array(needs, above)
    deep = max((a.bottom + CLEAR for a in array), default=0.0)
    rest = Space("rest", 0.0, deep, yard.width, max(above.bottom - deep, 0.0))
    stood, no_place = _machines(needs, below, rest)
    lower = [s.y - CLEAR for s in stood if s.y >= below.y]
    taken = below.bottom - min(lower, default=below.bottom)
    free = Space("free", 0.0, below.y, below.width, below.height - taken)
    tanks, no_tanks = _rain_tanks(needs, free)
    generators = tuple(s for s in stood if s.kind in ("generator", "second_generator"))
    fuel = tuple(s for s in stood if s not in generators)
    return Yard((loading,), tanks, generators, array, (*roof, *no_place, *no_tanks), fuel)


def _bare(needs: Needs) -> Yard:
    """Return an empty yard, naming what has no place."""
    named = {
        "rain tank": needs.rain_volume,
        "generator": needs.generator_power,
        "second generator": needs.second_generator_power,
        "fuel store": needs.fuel_volume,
        "heating fuel store": needs.heating_fuel_volume,
        "solar array": needs.pv_power,
    }
    left = [name for name, size in named.items() if size > 0.0]
    notes = (f"The ground leaves no yard for the {', '.join(left)}.",) if left else ()
    return Yard((), (), (), (), notes)


def _array(needs: Needs, room: Space) -> tuple[tuple[Space, ...], list[str]]:
    """Return the ground of the solar array; what finds no room goes on a roof."""
    if needs.pv_power <= 0.0:
        return (), []
    wide, high = room.width - CLEAR, room.height - CLEAR
    asked = needs.pv_power * ARRAY
    deep = min(asked / wide, high) if wide > 0.0 else 0.0
    placed = max(wide * deep, 0.0)
    found = (Space("array", CLEAR / 2.0, CLEAR / 2.0, wide, deep),) if deep > CLEAR else ()
    if found and placed > 0.99 * asked:
        return found, []
    rest = needs.pv_power - (placed / ARRAY if found else 0.0)
    note = (
        f"{rest:.3g} of {needs.pv_power:.3g} kW of solar array find no room in the yard: "
        f"{rest * PANELS:.0f} m2 of panels go on a roof or on other ground."
    )
    return found, [note]


def _machines(needs: Needs, room: Space, other: Space) -> tuple[tuple[Space, ...], list[str]]:
    """Stand generators and fuel stores in rows from the far edge inwards; heating fuel apart.

    Heating fuel stands in the `other` part of the yard where it fits there.
    """
    placed: list[Space] = []
    absent: list[str] = []
    x, bottom, tallest = CLEAR / 2.0, room.bottom - CLEAR / 2.0, 0.0
    for kind, wide, long in _standing(needs):
        if x > CLEAR / 2.0 and x + wide + CLEAR / 2.0 > room.width:
            x, bottom, tallest = CLEAR / 2.0, bottom - tallest - BETWEEN, 0.0
        apart = other.width >= wide + CLEAR and other.height >= long + CLEAR
        if kind == "heating_fuel" and apart:
            placed.append(Space(kind, CLEAR / 2.0, other.y + CLEAR / 2.0, wide, long))
            continue
        if room.width < wide + CLEAR or bottom - long - CLEAR / 2.0 < room.y:
            absent.append(NAMES[kind])
            continue
        placed.append(Space(kind, x, bottom - long, wide, long))
        x, tallest = x + wide + BETWEEN, max(tallest, long)
    near = [NAMES[s.kind] for s in placed if room.width - s.right < FROM_WALL]
    notes = []
    if "generator" in absent:
        notes.append("The yard has no room for the generator: house it apart, with its exhaust.")
    others = [name for name in absent if name != "generator"]
    if others:
        notes.append(
            f"The yard has no room for the {', '.join(others)}: it stands on other ground."
        )
    notes += [
        f"The {name} stands nearer than {FROM_WALL:g} m to the wall: a fire wall is needed."
        for name in near
    ]
    return tuple(placed), notes


def _standing(needs: Needs) -> list[tuple[str, float, float]]:
    """Return generators and fuel stores with their width and length on the ground. [m]"""
    found = []
    powers = {
        "generator": needs.generator_power,
        "second_generator": needs.second_generator_power,
    }
    for kind, power in powers.items():
        if power > 0.0:
            found.append((kind, min(0.9 + 0.0015 * power, 2.4), min(1.6 + 0.006 * power, 6.0)))
    for kind, volume in (("fuel", needs.fuel_volume), ("heating_fuel", needs.heating_fuel_volume)):
        if volume > 0.0:
            wide = sqrt(volume / FUEL_HEIGHT * FUEL_ROOM / FUEL_SHAPE)
            found.append((kind, wide, wide * FUEL_SHAPE))
    return found


def _rain_tanks(needs: Needs, room: Space) -> tuple[tuple[Round, ...], list[str]]:
    """Return the fewest rain tanks that stand one under another in a yard."""
    if needs.rain_volume <= 0.0:
        return (), []
    for count in range(1, MOST_TANKS + 1):
        across = sqrt(4.0 * needs.rain_volume / count / TANK_HEIGHT / pi)
        abreast = int((room.width - CLEAR / 2.0) / (across + CLEAR / 2.0))
        rows = -(-count // abreast) if abreast else 0
        if abreast and rows * (across + CLEAR / 2.0) + CLEAR / 2.0 <= room.height:
            pitch = across + CLEAR / 2.0
            first_x, first_y = CLEAR / 2.0 + across / 2.0, room.y + CLEAR / 2.0 + across / 2.0
            return tuple(
                Round("rain", first_x + n % abreast * pitch, first_y + n // abreast * pitch, across)
                for n in range(count)
            ), []
    return (), [f"{needs.rain_volume:.0f} m3 of rain tank find no room in the yard."]
