"""How much ammonia do the fish make, and can the beds turn it into nitrate."""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import beds
from sitefare.farm.beds import BedInputs

#: Ammonia nitrogen per protein fed: 0.16 N × 0.80 taken up × 0.80 excreted × 0.90 as TAN,
#: Timmons & Ebeling (2010), Recirculating Aquaculture. [kg/kg]
TAN_PER_PROTEIN = 0.092

#: Alkalinity, as calcium carbonate, that nitrification takes; Ebeling et al. (2006). [kg/kg]
ALKALINITY_PER_TAN = 7.05

#: Alkalinity given back per nitrate nitrogen denitrified; stoichiometry. [kg/kg]
ALKALINITY_PER_GAS = 3.57


@inputs("nitrification")
class NitrificationInputs:
    """Bacteria on gravel, rafts and filter media."""

    areal_rate: Array = quantity(
        "g/m2/day", low=0.05, high=2, doc="TAN oxidised per wetted surface at 20 degrees."
    )
    theta: Array = quantity("1", low=1, high=1.2, doc="Factor of the rate per kelvin.")
    single_pass: Array = quantity("1", low=0.05, high=1, doc="TAN removed in one pass of a bed.")
    allowed: Array = quantity("mg/L", low=0.2, high=5, doc="TAN held in the tanks.")
    filter_surface: Array = quantity(
        "m2/m3", low=100, high=3000, doc="Surface of a separate filter per volume of its vessel."
    )


def ammonia(feed: Array, protein: Array) -> Array:
    """Return total ammonia nitrogen made from feed; Timmons & Ebeling (2010). [kg]"""
    return TAN_PER_PROTEIN * feed * protein


def surface_rate(rules: NitrificationInputs, temperature: Array) -> Array:
    """Return TAN oxidised per surface at a temperature; van 't Hoff–Arrhenius. [g/m2/day]"""
    return np.asarray(rules.areal_rate * rules.theta ** (temperature - 20.0))


def flow_needed(rules: NitrificationInputs, tan: Array) -> Array:
    """Return the flow that carries TAN [kg/day] to the bacteria at the allowed level. [m3/day]"""
    return tan * 1000.0 / (rules.allowed * rules.single_pass)


def bed_capacity(
    rules: NitrificationInputs, bed: BedInputs, area: float, temperature: Array
) -> Array:
    """Return TAN that beds of an area [m2] turn over. [kg/day]

    The smaller of wetted surface × areal rate and flow × allowed level × single-pass removal.
    """
    surface = bed.surface * area * surface_rate(rules, temperature) / 1000.0
    flow = area * beds.flood_depth(bed) * bed.floods
    return np.minimum(surface, flow * rules.allowed * rules.single_pass / 1000.0)


def filter_capacity(rules: NitrificationInputs, volume: float, temperature: Array) -> Array:
    """Return TAN that a separate filter of a volume [m3] turns over. [kg/day]"""
    return rules.filter_surface * volume * surface_rate(rules, temperature) / 1000.0


def unionised_share(temperature: Array, acidity: Array) -> Array:
    """Return the share of TAN that is un-ionised at a pH; Emerson et al. (1975). [1]"""
    return 1.0 / (1.0 + 10.0 ** (0.09018 + 2729.92 / (temperature + 273.15) - acidity))
