"""What stands outside the house: rain tanks, generator, solar array, and room to load?

Clearances are practice: a metre round what is walked round, three from a generator to the
nearest wall where the yard is deep enough.
"""

from dataclasses import dataclass
from math import pi, sqrt

from sitefare.farm.layout import Needs, Round, Space

#: Height of water in a rain tank. [m]
TANK_HEIGHT = 2.2

#: Clear ground round a tank or a machine, and from a generator to a wall. [m]
CLEAR, FROM_WALL = 1.0, 3.0

#: Panels for a kilowatt, and ground for them in rows that do not shade each other. [m2/kW]
PANELS, ARRAY = 5.0, 9.0

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


def yard_of(needs: Needs, yard: Space, rooms: tuple[Space, ...]) -> Yard:
    """Return the yard left of the rooms: an array above the loading place, tanks below it."""
    packing = next((r for r in rooms if r.kind in ("packing", "service")), None)
    if packing is None or yard.width < CLEAR:
        return _bare(needs)
    loading = Space("loading", 0.0, packing.y, yard.width, packing.height)
    above = Space("above", 0.0, 0.0, yard.width, loading.y)
    below = Space("below", 0.0, loading.bottom, yard.width, yard.height - loading.bottom)
    array, roof = _array(needs, above)
    generator, no_place = _generator(needs, below)
    taken = below.bottom - min((g.y - CLEAR for g in generator), default=below.bottom)
    free = Space("free", 0.0, below.y, below.width, below.height - taken)
    tanks, no_tanks = _rain_tanks(needs, free)
    return Yard((loading,), tanks, generator, array, (*roof, *no_place, *no_tanks))


def _bare(needs: Needs) -> Yard:
    """Return an empty yard, naming what has no place."""
    named = {
        "rain tank": needs.rain_volume,
        "generator": needs.generator_power,
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


def _generator(needs: Needs, room: Space) -> tuple[tuple[Space, ...], list[str]]:
    """Return the generator's plinth in the far corner."""
    if needs.generator_power <= 0.0:
        return (), []
    long = min(1.6 + 0.006 * needs.generator_power, 6.0)
    wide = min(0.9 + 0.0015 * needs.generator_power, 2.4)
    if room.width < wide + CLEAR or room.height < long + CLEAR:
        return (), ["The yard has no room for the generator: house it apart, with its exhaust."]
    y = room.bottom - long - CLEAR / 2.0
    near = room.width - CLEAR / 2.0 - wide < FROM_WALL
    note = f"The generator stands nearer than {FROM_WALL:g} m to the wall: a fire wall is needed."
    return (Space("generator", CLEAR / 2.0, y, wide, long),), [note] if near else []


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
