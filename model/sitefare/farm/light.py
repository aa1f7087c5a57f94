"""How much light reaches the beds, and what do lamps add.

Daily light integral counts photons of photosynthetic light. [mol/m2/day]
"""

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import sun

#: Photons in a megajoule of sunlight: 45 % photosynthetic, 4.57 µmol/J; Thimijan & Heins
#: (1983), HortScience 18:818. [mol/MJ]
PHOTONS = 0.45 * 4.57

#: Joules in a kilowatt-hour over a million: mol ÷ (µmol/J) × 1e6 ÷ 3.6e6. [kWh per mol ÷ µmol/J]
PER_KWH = 3.6


@inputs("light")
class LightInputs:
    """Lamps over the beds, used where the design has lamps."""

    target: Array = quantity(
        "mol/m2/day", low=1, high=50, doc="Daily light integral that lamps top up to."
    )
    photoperiod: Array = quantity("h", low=4, high=24, doc="Hours a day that lamps may burn.")
    efficacy: Array = quantity("umol/J", low=0.5, high=4.2, doc="Photons per joule at the fixture.")
    utilisation: Array = quantity(
        "1", low=0.2, high=1, doc="Share of lamp photons that reach beds."
    )
    house_shading: Array = quantity(
        "1", low=0, high=0.6, doc="Share of light lost to frame, dirt and hung gear."
    )


def light_inside(sunshine: Array, transmittance: Array, shading: Array) -> Array:
    """Return the daily light integral at the beds from global radiation [MJ/m2/day]."""
    return PHOTONS * sunshine * transmittance * (1.0 - shading)


def lamp_photons(natural: Array, target: Array, installed: float) -> Array:
    """Return what lamps add at the bed, up to the target and the lamps installed. [mol/m2/day]"""
    return np.clip(target - natural, 0.0, installed)


def lamp_energy(photons: Array, light: LightInputs) -> Array:
    """Return electricity for photons at the bed [mol/m2/day], by month, (draws, 12). [kWh/m2]"""
    return np.asarray(photons / (light.efficacy * light.utilisation * PER_KWH) * DAYS)


def photon_flux(photons: Array, hours: Array) -> Array:
    """Return the flux that gives a daily integral in so many hours. [umol/m2/s]"""
    return photons * 1e6 / (hours * 3600.0)


def burning_hours(photoperiod: Array) -> Array:
    """Return the share of each hour that lamps may burn, centred on noon, (draws, 24). [1]"""
    return np.clip(photoperiod / 2.0 - np.abs(sun.HOUR - 12.0) + 0.5, 0.0, 1.0)
