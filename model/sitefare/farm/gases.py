"""How much carbon dioxide do fish and bacteria give off, and what takes it out of the water.

Concentrations in mg/L, which are g/m3; fresh water.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity

#: Carbon dioxide breathed out per oxygen at a respiratory quotient of 1, 44 ÷ 32;
#: Timmons & Ebeling (2010). [kg/kg]
PER_OXYGEN = 1.375

#: Carbon dioxide that nitrification frees from alkalinity; Ebeling et al. (2006). [kg per kg TAN]
PER_TAN = 5.85

#: Carbon dioxide in water at balance with air of 420 ppm near 25 °C, Henry's law. [mg/L]
BALANCE = 0.6

#: Milligrams per litre of calcium carbonate in a milliequivalent of alkalinity. [mg/meq]
CARBONATE = 50.04

#: Molar mass of carbon dioxide. [g/mol]
MOLAR = 44.01


@inputs("gas")
class GasInputs:
    """What strips carbon dioxide."""

    stripped_full: Array = quantity(
        "1",
        low=0.05,
        high=0.95,
        varies="choice",
        doc="Carbon dioxide a pass strips, with a degasser.",
    )
    stripped_media: Array = quantity(
        "1",
        low=0.02,
        high=0.9,
        varies="choice",
        doc="Carbon dioxide a pass strips, falling out of flooded beds.",
    )
    aeration: Array = quantity(
        "1",
        low=0.05,
        high=1.2,
        varies="choice",
        doc="Transfer of carbon dioxide by tank aeration over oxygen's.",
    )


def made(breathed: Array, ammonia: Array) -> Array:
    """Return carbon dioxide from oxygen breathed and from TAN nitrified. [same mass unit]"""
    return PER_OXYGEN * breathed + PER_TAN * ammonia


def stripping(given: Array, deficit: Array, flow: float, pass_share: Array, ratio: Array) -> Array:
    """Return the water cleared of carbon dioxide, by the loop and by tank aeration. [m3/day]

    Aeration that brings in oxygen `given` [kg/day] over a `deficit` [mg/L] has a transfer
    coefficient times volume of given ÷ deficit; carbon dioxide's is a `ratio` of it, less for its
    slower diffusion and much less as rising bubbles fill with it. `flow` in m3/day.
    """
    return flow * pass_share + ratio * given * 1000.0 / np.maximum(deficit, 0.2)


def level(produced: Array, cleared: Array) -> Array:
    """Return carbon dioxide in the tanks for a production [kg/day], m3/day cleared. [mg/L]"""
    return np.asarray(BALANCE + produced * 1000.0 / np.maximum(cleared, 1e-9))


def degassing_needed(produced: Array, limit: Array, aired: Array, share: Array) -> Array:
    """Return the flow to degas so that CO2 keeps to a limit [mg/L]; 0 where air does. [m3/day]

    `produced` in kg/day; `aired` is the water that aeration clears [m3/day], `share` what a pass
    strips.
    """
    cleared = produced * 1000.0 / np.maximum(limit - BALANCE, 0.1)
    return np.asarray(np.maximum(cleared - aired, 0.0) / share)


def first_constant(temperature: Array) -> Array:
    """Return pK1 of carbonic acid in fresh water; Plummer & Busenberg (1982). [1]"""
    kelvin = temperature + 273.15
    log = (
        -356.3094
        - 0.06091964 * kelvin
        + 21834.37 / kelvin
        + 126.8339 * np.log10(kelvin)
        - 1684915.0 / kelvin**2
    )
    return np.asarray(-log)


def alkalinity_at(acidity: Array, dioxide: Array, temperature: Array) -> Array:
    """Return alkalinity as calcium carbonate that gives a pH at a level of CO2 [mg/L]. [mg/L]

    Henderson–Hasselbalch for bicarbonate, which is nearly all alkalinity below pH 8.
    """
    bicarbonate = dioxide / MOLAR * 10.0 ** (acidity - first_constant(temperature))
    return np.asarray(bicarbonate * CARBONATE)
