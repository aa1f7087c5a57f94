"""What does the source water bring, and what must be done to it before it meets fish.

Hardness brings calcium and some iron comes dissolved, so that less is dosed; chlorine and
chloramine are taken out; alkalinity beyond what bacteria use is neutralised. Kilograms by
month.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import nitrification
from sitefare.farm.water import SourceWaterInputs, WaterFlows

#: Calcium in calcium carbonate, 40.08 / 100.09. [kg/kg]
CALCIUM_IN_CARBONATE = 40.08 / 100.09

#: Saltier source water is generally too salty (Somerville et al. 2014, FAO 589 s.3.4). [dS/m]
SALTY = 1.5

#: Acidity of source water that fish and bacteria take as it is (FAO 589 s.3.3: 6 to 8.5). [1]
USUAL_ACIDITY = (6.0, 8.5)

#: Dissolved iron beyond which it is taken out before use: it clogs gills, pipes and drippers
#: (FAO-29 table 1 and s.5.5: trouble above 1.5 mg/L, some from 0.3). [mg/L]
MUCH_IRON = 1.5

#: Total chlorine worth a sentence; any that reaches the tanks harms fish, and the default of an
#: untested source stays under this. [mg/L]
CHLORINE_NOTED = 0.5


@inputs("treatment")
class TreatmentInputs:
    """What is done to source water."""

    calcium_of_hardness: Array = quantity(
        "1", low=0, high=1, doc="Calcium hardness, share of all hardness."
    )
    calcium_held: Array = quantity(
        "mg/L", low=0, high=300, doc="Calcium held in beds, which leaves with their water."
    )
    iron_available: Array = quantity(
        "1", low=0, high=1, doc="Source iron that plants can use, the rest rusts."
    )
    thiosulfate: Array = quantity(
        "kg/kg", low=1.5, high=20, doc="Thiosulfate dosed per total chlorine, crystals."
    )
    alkalinity_most: Array = quantity(
        "mg/L", low=20, high=400, doc="Highest alkalinity kept in beds, beyond it acid is dosed."
    )


def treated(
    rules: TreatmentInputs,
    source: SourceWaterInputs,
    used: WaterFlows,
    doses: Mapping[str, Array],
    tan: Array,
    gas: Array,
) -> dict[str, Array]:
    """Return doses after what the source brings, and what the source itself needs. [kg]

    Parameters
    ----------
    doses : Mapping
        What plants and bacteria ask by month. [kg]
    tan, gas : Array
        Ammonia nitrogen that bacteria turn over, and nitrogen lost as gas. [kg]
    """
    made_up = used.into_beds / 1000.0
    lost = _leaving(used) * rules.calcium_held / 1000.0
    calcium = made_up * source.hardness * rules.calcium_of_hardness * CALCIUM_IN_CARBONATE
    iron = made_up * source.iron * rules.iron_available
    return {
        **doses,
        "calcium": np.maximum(doses["calcium"] + lost - calcium, 0.0),
        "iron": np.maximum(doses["iron"] - iron, 0.0),
        "acid": acid(rules, source, used, tan, gas),
        "thiosulfate": made_up * source.chlorine * rules.thiosulfate,
    }


def _leaving(used: WaterFlows) -> Array:
    """Return water that leaves beds and tanks with what is dissolved in it. [m3]"""
    let_go = used.uses["discharge"] + used.uses["rain_overflow"]
    return let_go + used.sludge + used.uses["leaks"]


def acid(
    rules: TreatmentInputs, source: SourceWaterInputs, used: WaterFlows, tan: Array, gas: Array
) -> Array:
    """Return acid that surplus alkalinity asks, as calcium carbonate neutralised. [kg]

    Surplus is what make-up water and lost nitrogen bring beyond what nitrification takes and
    what leaves, or stays in a new filling, at the highest alkalinity kept.
    """
    brought = used.into_beds * source.alkalinity / 1000.0 + nitrification.ALKALINITY_PER_GAS * gas
    left = (_leaving(used) + used.uses["filling"]) * rules.alkalinity_most / 1000.0
    taken = nitrification.ALKALINITY_PER_TAN * tan
    return np.maximum(brought - taken - left, 0.0)


def cautions(source: SourceWaterInputs) -> list[str]:
    """Say what of the first draw's source water asks for care."""
    salt, ph = float(source.conductivity[0, 0]), float(source.acidity[0, 0])
    iron, chlorine = float(source.iron[0, 0]), float(source.chlorine[0, 0])
    said = []
    if salt > SALTY:
        said.append(
            f"Source water of {salt:.2g} dS/m is generally too salty for plants and fish "
            f"together, above {SALTY:g} dS/m (FAO 589 s.3.4)."
        )
    if not USUAL_ACIDITY[0] <= ph <= USUAL_ACIDITY[1]:
        low, high = USUAL_ACIDITY
        said.append(
            f"Source water of pH {ph:.1f} lies outside {low:g} to {high:g}: correct it before it "
            "meets fish."
        )
    if iron > MUCH_IRON:
        said.append(
            f"Source water with {iron:.2g} mg/L of iron clogs gills and pipes: aerate and "
            "filter it."
        )
    if chlorine > CHLORINE_NOTED:
        said.append(
            f"Source water with {chlorine:.2g} mg/L of chlorine or chloramine kills fish: take it "
            "out before every top-up, and test for it."
        )
    return said
