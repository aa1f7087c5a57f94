"""How much ammonia do the fish make, can the bacteria turn it over, and what stays in the water.

TAN is total ammonia nitrogen; a limit of 1 or 2 mg/L is of TAN, never of un-ionised ammonia.
Nitrite rises before nitrate while bacteria are young: the ramp of `production.maturing_days`
and daily tests cover that; a mature bed turns nitrite over faster than it is made.
"""

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

#: pH at which the areal rate of the table holds: that of aquaponic water, FAO 589 6 to 7.
REFERENCE_ACIDITY = 6.8

#: Nitrifiers halve their rate from pH 7.3 to 6.7 and gain no more above 7.3;
#: Rusten et al. (2006), Aquacultural Engineering 34:322. [1]
HALVING = 7.3 - 6.7
ACIDITY_PLATEAU = 7.3

#: TAN at which the areal rate holds [mg/L], and the power of TAN below oxygen's limit;
#: Rusten et al. (2006), after Hem, Rusten & Odegaard (1994).
REFERENCE_TAN = 1.0
TAN_POWER = 0.7

#: Oxygen to TAN below which oxygen limits the rate; Hem et al. (1994), Rusten et al. (2006).
OXYGEN_PER_TAN_LIMIT = 3.2

#: Alkalinity given back per nitrate nitrogen denitrified; stoichiometry. [kg/kg]
ALKALINITY_PER_GAS = 3.57


@inputs("nitrification")
class NitrificationInputs:
    """Bacteria on gravel, rafts and filter media."""

    areal_rate: Array = quantity(
        "g/m2/day",
        low=0.05,
        high=2,
        doc="TAN oxidised per wetted surface: at 20 degrees, pH 6.8 and 1 mg/L.",
    )
    acidity: Array = quantity("1", low=5, high=9, doc="pH the water is held at.")
    theta: Array = quantity("1", low=1, high=1.2, doc="Factor of the rate per kelvin.")
    single_pass: Array = quantity("1", low=0.05, high=1, doc="TAN removed in one pass of a bed.")
    allowed: Array = quantity("mg/L", low=0.2, high=5, doc="TAN held in the tanks.")
    filter_surface: Array = quantity(
        "m2/m3", low=100, high=3000, doc="Surface of a separate filter per volume of its vessel."
    )


def ammonia(feed: Array, protein: Array) -> Array:
    """Return total ammonia nitrogen made from feed; Timmons & Ebeling (2010). [kg]"""
    return TAN_PER_PROTEIN * feed * protein


def acidity_factor(acidity: Array) -> Array:
    """Return the rate of nitrifiers at a pH over that at pH 6.8; Rusten et al. (2006). [1]"""
    held = np.minimum(acidity, ACIDITY_PLATEAU)
    return np.asarray(2.0 ** ((held - REFERENCE_ACIDITY) / HALVING))


def surface_rate(rules: NitrificationInputs, temperature: Array, held: Array) -> Array:
    """Return TAN oxidised per surface; van 't Hoff–Arrhenius, pH, TAN and oxygen. [g/m2/day]

    `held` is the oxygen in the tanks [mg/L]. The rate goes with TAN at its allowed level to
    the power 0.7, until oxygen limits it at 3.2 times the TAN.
    """
    tan = np.minimum(rules.allowed, held / OXYGEN_PER_TAN_LIMIT)
    warm = rules.theta ** (temperature - 20.0)
    dilute = (tan / REFERENCE_TAN) ** TAN_POWER
    return np.asarray(rules.areal_rate * warm * acidity_factor(rules.acidity) * dilute)


def flow_needed(rules: NitrificationInputs, tan: Array) -> Array:
    """Return the flow that carries TAN [kg/day] to the bacteria at the allowed level. [m3/day]"""
    return tan * 1000.0 / (rules.allowed * rules.single_pass)


def bed_capacity(
    rules: NitrificationInputs, bed: BedInputs, area: float, temperature: Array, held: Array
) -> Array:
    """Return TAN that beds of an area [m2] turn over, oxygen held in mg/L. [kg/day]

    The smaller of wetted surface × areal rate and flow × allowed level × single-pass removal.
    """
    surface = bed.surface * area * surface_rate(rules, temperature, held) / 1000.0
    flow = area * beds.flood_depth(bed) * bed.floods
    return np.minimum(surface, flow * rules.allowed * rules.single_pass / 1000.0)


def filter_capacity(
    rules: NitrificationInputs, volume: float, temperature: Array, held: Array
) -> Array:
    """Return TAN that a separate filter of a volume [m3] turns over. [kg/day]"""
    return rules.filter_surface * volume * surface_rate(rules, temperature, held) / 1000.0


def level(rules: NitrificationInputs, made: Array, capacity: Array, flow: float) -> Array:
    """Return TAN that stays in the tanks for TAN made [kg/day] and a flow [m3/day]. [mg/L]

    The higher of what the flow leaves, made ÷ (flow × single-pass removal) (Timmons & Ebeling
    2010, mass balance of a recirculating tank), and the level at which the surface turns over
    what is made, the rate going with TAN to the power 0.7.
    """
    carried = made * 1000.0 / (np.maximum(flow, 1e-9) * rules.single_pass)
    share = made / np.maximum(capacity, 1e-9)
    return np.asarray(np.maximum(carried, rules.allowed * share ** (1.0 / TAN_POWER)))


def unionised_share(temperature: Array, acidity: Array) -> Array:
    """Return the share of TAN that is un-ionised at a pH; Emerson et al. (1975). [1]"""
    return 1.0 / (1.0 + 10.0 ** (0.09018 + 2729.92 / (temperature + 273.15) - acidity))
