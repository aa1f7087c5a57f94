"""How much vapour do plants and open water give to the air, hour by hour.

Vapour flows are told as the heat that evaporates them, W/m2 (1 W/m2 is 1.47 g/m2 an hour).
A conductance for vapour, W/m2/kPa, is the conductance for heat, W/m2/K, over the psychrometric
constant, kPa/K: for moving air both say the same mass flow.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import air

#: Water evaporated per heat: 0.0036 MJ/Wh ÷ 2.45 MJ/kg. [L/Wh]
LITRES_PER_WATT_HOUR = 0.0036 / air.LATENT_HEAT

#: Heat that a cubic metre of air takes up as vapour: 0.335 Wh × 3,600 over the psychrometric
#: constant at sea level; both fall alike with pressure. [J/m3/kPa]
VAPOUR_CAPACITY = air.AIR_HEAT * 3600.0 / (0.000665 * air.SEA_LEVEL)

#: Light reflected by a canopy, FAO-56 eq. 38. [1]
ALBEDO = 0.23

#: Width of a leaf across the wind, lettuce to chard. [m]
LEAF = 0.1


#: Closing of stomata by dry air in the dark, 1 + 5.2 × 0.44². [1]
DRY_NIGHT = 2.0


@inputs("transpiration")
class TranspirationInputs:
    """The reference canopy under cover, which each crop's coefficient multiplies."""

    leaf_area: Array = quantity("1", low=0.3, high=8, doc="Leaf area of the canopy, over bed area.")
    stomata: Array = quantity(
        "s/m", low=20, high=500, doc="Least resistance of leaves to vapour, in full light."
    )
    lamp_share: Array = quantity(
        "1", low=0.1, high=0.9, doc="Lamp heat on leaves, share of the lamps' electricity."
    )


@dataclass(frozen=True)
class Canopy:
    """Plants under cover, each (draws, 1): inputs, bed times crop coefficient, and air speed.

    `share` is bed area × crop coefficient over covered ground, `beds` bed area over covered
    ground, `shading` light lost to the frame [1]; `wind` is air speed over the crop [m/s].
    """

    inputs: TranspirationInputs
    share: Array
    beds: Array
    shading: Array
    wind: Array


@dataclass(frozen=True)
class Leaves:
    """What leaves give at any dryness, in two parts that each hour fixes; (draws, 12, hours).

    At temperature T and vapour e they give (sun × δ + dry × (saturation − e)) ÷ (δ + rest), with δ
    the slope of saturation over the psychrometric constant: Stanghellini (1987), Transpiration
    of greenhouse crops, ch. 3. `sun` in W/m2, `dry` in W/m2/kPa of covered ground.
    """

    sun: Array
    dry: Array
    rest: Array


def boundary_resistance(wind: Array) -> Array:
    """Return leaves' resistance to heat, forced convection of Stanghellini (1987). [s/m]

    1174 √l ÷ (207 u²)^¼ with the leaf's own warmth left out, from air speed u [m/s].
    """
    return np.asarray(1174.0 * np.sqrt(LEAF) / (207.0 * wind**2) ** 0.25)


def stomatal_factor(radiation: Array) -> Array:
    """Return resistance over its least from light per leaf side [W/m2], Stanghellini (1987). [1]

    (I + 4.30) ÷ (I + 0.54), eight times the least in the dark, with the dark term doubled for
    dry air: her night factor 1 + 5.2 D² at the 0.44 kPa of a usual night.
    """
    return np.asarray((radiation + DRY_NIGHT * 4.30) / (radiation + 0.54))


def leaves(canopy: Canopy, radiation: Array) -> Leaves:
    """Return what leaves give under net radiation at the canopy [W/m2 of bed].

    Net longwave is left out: cover, frame and canopy are near one temperature.
    """
    sides = hourly(2.0 * canopy.inputs.leaf_area)
    heat = hourly(boundary_resistance(canopy.wind))
    stomata = hourly(canopy.inputs.stomata) * stomatal_factor(radiation / sides)
    dry = hourly(canopy.share) * sides * VAPOUR_CAPACITY / heat
    return Leaves(hourly(canopy.share) * radiation, dry, 1.0 + stomata / heat)


def canopy_radiation(canopy: Canopy, transmittance: Array, sunshine: Array, lamps: Array) -> Array:
    """Return radiation that the canopy keeps, from sun and lamps [W/m2 covered]. [W/m2 of bed]

    Lamps shine on beds alone. Beam and diffuse light pass the cover alike.
    """
    kept = (1.0 - ALBEDO) * transmittance * (1.0 - canopy.shading)
    return hourly(kept) * sunshine + hourly(canopy.inputs.lamp_share / canopy.beds) * lamps


def open_water_conductance(wind: Array) -> Array:
    """Return evaporation of calm water per vapour pressure, ASHRAE Applications. [W/m2/kPa]

    w = (pw − pa)(0.089 + 0.0782 V) ÷ Y in kg/s/m2, kPa, m/s and kJ/kg, for busy pools; a factor
    of activity, a row, makes it calmer.
    """
    return 89.0 + 78.2 * wind


def litres(latent: Array) -> Array:
    """Return water evaporated by latent heat. [L per Wh]"""
    return latent * LITRES_PER_WATT_HOUR
