"""What do beds and tanks weigh on the floor, beside what ordinary floors carry?"""

from sitefare.farm import beds
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts

#: What ordinary floors carry: offices and dwellings, recalled. [kN/m2]
ORDINARY_FLOOR = (2.5, 3.0)


def floor_words(parts: Parts) -> str:
    """Say what beds and tanks weigh on the floor, beside what ordinary floors carry."""
    low, high = ORDINARY_FLOOR
    bed = base(beds.floor_load(parts.bed))
    depth = base(parts.design.tank_depth)
    tank = beds.WATER_WEIGHT * depth
    verdict = "more than" if bed > high else ("about" if bed >= low else "less than")
    return (
        f"A flooded bed weighs {bed:.1f} kN/m2 on its floor and a tank {depth:g} m deep "
        f"{tank:.0f} kN/m2; an ordinary office or dwelling floor carries {low:g} to {high:g}. The "
        f"beds are {verdict} that, and the tanks {tank / high:.1f} times its upper figure."
    )
