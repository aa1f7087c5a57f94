"""How much oxygen do fish and bacteria use, and what power brings it in.

Concentrations in mg/L, which are g/m3; fresh water.
"""

from dataclasses import replace

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import air

#: Saturation at 20 °C and one atmosphere, at which standard aeration is rated. [mg/L]
STANDARD_SATURATION = 9.09

#: Temperature correction of oxygen transfer; ASCE standard for clean water. [1]
THETA = 1.024

#: Oxygen that nitrification takes, Ebeling, Timmons & Bisogni (2006). [kg O2 per kg TAN]
PER_TAN = 4.57


@inputs("oxygen")
class OxygenInputs:
    """Use and supply of oxygen."""

    per_feed: Array = quantity(
        "kg/kg", low=0.2, high=1.2, doc="Oxygen used by fish and heterotrophs per feed."
    )
    least: Array = quantity("mg/L", low=2, high=8, doc="Dissolved oxygen held in the tanks.")
    standard_efficiency: Array = quantity(
        "kg/kWh", low=0.3, high=4, doc="Aeration in clean water at 20 degrees and no oxygen."
    )
    alpha: Array = quantity("1", low=0.3, high=1, doc="Transfer in farm water over clean water.")
    peak: Array = quantity(
        "1", low=1, high=3, varies="choice", doc="Hour of highest demand over the day's mean."
    )
    least_running: Array = quantity(
        "1", low=0, high=1, doc="Share of installed aeration that always runs."
    )


def held_for(oxygen: OxygenInputs, fish_need: Array) -> OxygenInputs:
    """Return the inputs with the oxygen held raised to what the fish need [mg/L]."""
    return replace(oxygen, least=np.maximum(oxygen.least, fish_need))


def saturation(temperature: Array, atmosphere: Array) -> Array:
    """Return oxygen at saturation in fresh water, by pressure [kPa]. [mg/L]

    Benson & Krause (1984), Limnology and Oceanography 29:620; corrected by dry pressure.
    """
    kelvin = temperature + 273.15
    log = (
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.243800e10 / kelvin**3
        - 8.621949e11 / kelvin**4
    )
    vapour = air.saturation_pressure(temperature)
    return np.asarray(np.exp(log) * (atmosphere - vapour) / (air.SEA_LEVEL - vapour))


def field_efficiency(
    oxygen: OxygenInputs, temperature: Array, atmosphere: Array, beta: Array | float = 1.0
) -> Array:
    """Return oxygen brought in per electricity on the farm; Boyd (1998). [kg/kWh]

    `beta` is oxygen at saturation in the farm's water over that in pure water. [1]
    """
    short = np.maximum(beta * saturation(temperature, atmosphere) - oxygen.least, 0.2)
    warm = THETA ** (temperature - 20.0)
    return oxygen.standard_efficiency * oxygen.alpha * short / STANDARD_SATURATION * warm


def demand(oxygen: OxygenInputs, feed: Array, ammonia: Array) -> Array:
    """Return oxygen used, by fish and heterotrophs with feed and by nitrifiers with TAN. [kg]"""
    return oxygen.per_feed * feed + PER_TAN * ammonia
