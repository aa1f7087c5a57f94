"""What state is the air in: pressure, moisture and wet bulb.

Temperatures in degrees Celsius, pressures in kilopascals; every function works element by
element on arrays of any shape. FAO-56 is Allen, Pereira, Raes & Smith (1998), Crop
evapotranspiration, FAO Irrigation and Drainage Paper 56.
"""

import numpy as np

from sitefare.arrays import Array

#: Latent heat of evaporation near 20 °C, FAO-56 eq. 8. [MJ/kg]
LATENT_HEAT = 2.45

#: Heat held by a cubic metre of air at sea level and 20 °C, 1.2 kg × 1.005 kJ ÷ 3.6. [Wh/m3/K]
AIR_HEAT = 0.335

#: Pressure of the standard atmosphere at sea level. [kPa]
SEA_LEVEL = 101.3

#: Steps of Newton's rule for wet bulb; from the dry bulb it converges within 0.01 K. [1]
NEWTON_STEPS = 4


def pressure(elevation: Array) -> Array:
    """Return atmospheric pressure from elevation [m], FAO-56 eq. 7. [kPa]"""
    return np.asarray(101.3 * ((293.0 - 0.0065 * elevation) / 293.0) ** 5.26)


def psychrometric_constant(atmosphere: Array) -> Array:
    """Return the psychrometric constant from pressure [kPa], FAO-56 eq. 8. [kPa/K]"""
    return 0.000665 * atmosphere


def saturation_pressure(temperature: Array) -> Array:
    """Return saturation vapour pressure over water, FAO-56 eq. 11. [kPa]"""
    return np.asarray(0.6108 * np.exp(17.27 * temperature / (temperature + 237.3)))


def saturation_slope(temperature: Array) -> Array:
    """Return the slope of saturation vapour pressure, FAO-56 eq. 13. [kPa/K]"""
    return 4098.0 * saturation_pressure(temperature) / (temperature + 237.3) ** 2


def mean_saturation(highest: Array, lowest: Array) -> Array:
    """Return the day's mean saturation pressure from its extremes, FAO-56 eq. 12. [kPa]"""
    return (saturation_pressure(highest) + saturation_pressure(lowest)) / 2.0


def humidity_ratio(vapour: Array, atmosphere: Array) -> Array:
    """Return kilograms of vapour per kilogram of dry air, 0.622 e / (p − e). [kg/kg]"""
    return 0.622 * vapour / (atmosphere - vapour)


def enthalpy(temperature: Array, ratio: Array) -> Array:
    """Return the heat of moist air per kilogram of dry air, ASHRAE Fundamentals ch. 1. [kJ/kg]"""
    return np.asarray(1.006 * temperature + ratio * (2501.0 + 1.86 * temperature))


def dew_point(vapour: Array) -> Array:
    """Return the temperature at which a vapour pressure [kPa] saturates, FAO-56 eq. 11. [degC]"""
    logarithm = np.log(vapour / 0.6108)
    return np.asarray(237.3 * logarithm / (17.27 - logarithm))


def vapour_from_wet_bulb(wet: Array, dry: Array, atmosphere: Array) -> Array:
    """Return vapour pressure from an aspirated psychrometer, FAO-56 eq. 15 and 16. [kPa]"""
    return saturation_pressure(wet) - 0.000662 * atmosphere * (dry - wet)


def wet_bulb(temperature: Array, vapour: Array, atmosphere: Array) -> Array:
    """Return the thermodynamic wet bulb over water, ASHRAE Fundamentals ch. 1 eq. 33. [degC]

    Air that is saturated by evaporation: (2501 − 2.326 w)(Wₛ − W) = (1.006 + 1.86 W)(T − w).
    Saturation pressure is convex, so Newton's steps from the dry bulb approach from above.
    """
    wet = np.broadcast_to(temperature, np.broadcast_shapes(temperature.shape, vapour.shape))
    heat = (1.006 + 1.86 * humidity_ratio(vapour, atmosphere)) * (atmosphere - vapour) / 0.622
    for _ in range(NEWTON_STEPS):
        saturated = saturation_pressure(wet)
        slope = 4098.0 * saturated / (wet + 237.3) ** 2
        gamma = heat * (1.0 - saturated / atmosphere) / (2501.0 - 2.326 * wet)
        wet = wet - (saturated - vapour - gamma * (temperature - wet)) / (slope + gamma)
    return wet
