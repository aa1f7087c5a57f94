"""What is dosed into the water by month: potassium, alkali, iron, acid?

Joins fish, crops and the water used to the balances of what is dosed. Everything is
(draws, months + 1).
"""

from sitefare.arrays import Array
from sitefare.farm import nitrification, nutrients, potassium, treatment
from sitefare.farm.fish import FishPath
from sitefare.farm.growth import Grown
from sitefare.farm.parts import Parts
from sitefare.farm.potassium import Potassium
from sitefare.farm.result import Design
from sitefare.farm.water import WaterFlows
from sitefare.timeline import Timeline


def potassium_used(
    parts: Parts,
    design: Design,
    fish: FishPath,
    grown: Grown,
    used: WaterFlows,
    timeline: Timeline,
) -> Potassium:
    """Return where potassium goes by month, with what is dosed of it. [kg]"""
    volume = design.water_volume * timeline.running
    brought = used.into_beds * parts.source.potassium / 1000.0
    leaving = used.discharge + used.sludge + used.uses["leaks"]
    return potassium.potassium_balance(
        parts.nutrients, fish, grown.potassium, brought, leaving, volume
    )


def dosed(
    parts: Parts,
    design: Design,
    fish: FishPath,
    grown: Grown,
    crop: Array,
    used: WaterFlows,
    kali: Potassium,
    timeline: Timeline,
) -> dict[str, Array]:
    """Return what is dosed by month. [kg]"""
    brought = used.into_beds * parts.source.alkalinity / 1000.0
    base = kali.dosed * parts.nutrients.potassium_as_base * potassium.ALKALINITY_PER_POTASSIUM
    asked = nutrients.doses(
        parts.nutrients,
        parts.species,
        fish,
        grown.balances,
        crop,
        (kali.dosed, base),
        brought,
        design.water_volume * timeline.running,
    )
    tan = nitrification.ammonia(fish.feed, parts.species.feed_protein)
    gas = grown.balances["nitrogen"].gas
    return treatment.treated(parts.treatment, parts.source, used, asked, tan, gas)
