"""How much air do blowers move for their power, and does that agree with oxygen per kilowatt-hour.

Air flow is free air at the place's pressure, m3/h; pressures in kPa.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity

#: Ratio of specific heats less one over the ratio, (1.4 − 1) ÷ 1.4, of dry air. [1]
ADIABATIC = 0.2857

#: Oxygen by mass in dry air. [1]
OXYGEN_IN_AIR = 0.2315

#: Gas constant of dry air. [kJ/kg/K]
GAS_CONSTANT = 0.287

#: Pressure of a metre of water. [kPa/m]
WATER_PRESSURE = 9.81

#: Air at the blower's inlet where nothing else is known. [degC]
INLET = 20.0


@inputs("aeration")
class AerationInputs:
    """Blowers and diffusers."""

    depth: Array = quantity("m", low=0.2, high=10, varies="choice", doc="Diffusers under water.")
    losses: Array = quantity(
        "kPa", low=0, high=40, varies="choice", doc="Pressure lost in filter, pipes and diffusers."
    )
    blower_efficiency: Array = quantity("1", low=0.1, high=0.85, doc="Blower and motor.")
    salinity_factor: Array = quantity(
        "1", low=0.7, high=1, doc="Oxygen at saturation in farm water over pure water, beta."
    )


def density(atmosphere: Array, temperature: float = INLET) -> Array:
    """Return the density of dry air at a pressure [kPa] and temperature [degC]. [kg/m3]"""
    return atmosphere / (GAS_CONSTANT * (temperature + 273.15))


def compression_work(
    atmosphere: Array, rise: Array, efficiency: Array, temperature: float = INLET
) -> Array:
    """Return electricity to press a kilogram of air by a rise [kPa], adiabatic. [kJ/kg]

    P = w R T ÷ (0.2857 e) × ((p₂ ÷ p₁)^0.2857 − 1); Tchobanoglous et al., Wastewater Engineering.
    """
    ratio = (atmosphere + rise) / atmosphere
    heat = GAS_CONSTANT * (temperature + 273.15) / ADIABATIC
    return np.asarray(heat * (ratio**ADIABATIC - 1.0) / efficiency)


def air_moved(rules: AerationInputs, power: Array, atmosphere: Array) -> Array:
    """Return the free air that blowers of a power [kW] move at the diffusers' depth. [m3/h]"""
    rise = WATER_PRESSURE * rules.depth + rules.losses
    work = compression_work(atmosphere, rise, rules.blower_efficiency)
    return power * 3600.0 / (work * density(atmosphere))


def blower_power(rules: AerationInputs, flow: Array, atmosphere: Array, rise: Array) -> Array:
    """Return the power to press free air [m3/h] by a rise [kPa]. [kW]"""
    work = compression_work(atmosphere, rise, rules.blower_efficiency)
    return np.asarray(flow * density(atmosphere) * work / 3600.0)


def transfer_share(rules: AerationInputs, standard_efficiency: Array, atmosphere: Array) -> Array:
    """Return the share of oxygen in the air that must dissolve for a standard efficiency. [1]

    The cross-check of oxygen per electricity [kg/kWh]: diffusers dissolve about 1 to 3 % of the
    oxygen a metre (coarse bubbles) or 4 to 8 % (fine), in clean water without oxygen.
    """
    rise = WATER_PRESSURE * rules.depth + rules.losses
    work = compression_work(atmosphere, rise, rules.blower_efficiency)
    return np.asarray(standard_efficiency * work / 3600.0 / OXYGEN_IN_AIR)
