"""How much water do plants and open water give to the air; FAO-56 Penman–Monteith.

Every equation number is of Allen, Pereira, Raes & Smith (1998), FAO Irrigation and Drainage
Paper 56. Radiation in MJ/m2/day, pressure in kPa, depth in mm/day, which is L/m2/day.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import air

#: Reflection of the reference crop, eq. 38. [1]
ALBEDO = 0.23

#: Stefan–Boltzmann constant, eq. 39. [MJ/m2/day/K4]
STEFAN = 4.903e-9

#: Radiation to depth: 1 / 2.45, eq. 20. [mm per MJ/m2]
DEPTH = 0.408


def wind_at_two_metres(wind: Array, height: float = 10.0) -> Array:
    """Return wind at 2 m from wind at another height [m], eq. 47. [m/s]"""
    return np.asarray(wind * 4.87 / np.log(67.8 * height - 5.42))


def sunshine_radiation(hours: Array, daylight: Array, top: Array) -> Array:
    """Return global radiation from hours of bright sun, Angström eq. 35. [MJ/m2/day]"""
    return (0.25 + 0.50 * hours / daylight) * top


def clear_sky(top: Array, elevation: Array) -> Array:
    """Return radiation under a clear sky, eq. 37. [MJ/m2/day]"""
    return (0.75 + 2e-5 * elevation) * top


def net_longwave(highest: Array, lowest: Array, vapour: Array, share: Array) -> Array:
    """Return net outgoing longwave at a share of clear-sky radiation, eq. 39. [MJ/m2/day]

    The share tells clouds. It is held from 0.3, a sky all cloud (0.25 in eq. 35, ASCE's lower
    limit 0.3), to 1, so that a day without sun never radiates inward.
    """
    warmth = STEFAN * ((highest + 273.16) ** 4 + (lowest + 273.16) ** 4) / 2.0
    cloud = 1.35 * np.clip(share, 0.3, 1.0) - 0.35
    return np.asarray(warmth * (0.34 - 0.14 * np.sqrt(vapour)) * cloud)


def monthly_soil_heat(before: Array, now: Array) -> Array:
    """Return soil heat flux from two months' mean temperatures, eq. 44. [MJ/m2/day]"""
    return 0.14 * (now - before)


def reference(
    net_radiation: Array,
    soil_heat: Array,
    temperature: Array,
    wind: Array,
    saturated: Array,
    vapour: Array,
    gamma: Array,
) -> Array:
    """Return reference evapotranspiration, eq. 6, with wind [m/s] at 2 m. [mm/day]"""
    slope = air.saturation_slope(temperature)
    dry = np.maximum(saturated - vapour, 0.0)
    sunny = DEPTH * slope * (net_radiation - soil_heat)
    windy = gamma * 900.0 / (temperature + 273.0) * wind * dry
    return np.asarray(np.maximum(sunny + windy, 0.0) / (slope + gamma * (1.0 + 0.34 * wind)))
