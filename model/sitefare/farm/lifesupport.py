"""How many minutes do the fish live without power, and who is there by then."""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.errors import DesignError

#: Factor of respiration in 10 kelvin, about 2 in fish; Jobling (1994), Fish Bioenergetics. [1]
TEN_KELVIN = 2.0

#: Power of weight in respiration by weight; Brett & Groves (1979), Fish Physiology 8. [1]
WEIGHT_POWER = -0.2


@inputs("life_support")
class LifeSupportInputs:
    """Back-up of air, and the people who answer an alarm."""

    response_time: Array = quantity(
        "min",
        low=0,
        high=1440,
        varies="choice",
        fact="required",
        doc="From the alarm to a trained person at the tanks, at night.",
    )
    backup_start: Array = quantity(
        "min", low=0, high=60, varies="choice", doc="From loss of power to back-up air."
    )
    reserve: Array = quantity(
        "min", low=0, high=2880, varies="choice", doc="Back-up air or oxygen lasts so long."
    )
    usable_oxygen: Array = quantity(
        "mg/L",
        low=0.5,
        high=8,
        doc="Oxygen the fish can draw down before they die.",
    )
    oxygen_absorbed: Array = quantity(
        "1", low=0.05, high=1, varies="choice", doc="Share of back-up oxygen that dissolves."
    )
    density_cap_media_only: Array = quantity(
        "kg/m3", low=1, high=40, varies="choice", doc="Highest density with media beds alone."
    )
    density_cap_full: Array = quantity(
        "kg/m3",
        low=1,
        high=120,
        varies="choice",
        doc="Highest density with solids removal, degassing, standby air and alarm.",
    )


def minutes_without_air(usable: Array, density: Array, respiration: Array) -> Array:
    """Return minutes to use up oxygen [mg/L] at a density [kg/m3] and use [g/kg/h]. [min]"""
    return 60.0 * usable / (density * respiration)


def warmth_factor(above: Array) -> Array:
    """Return respiration at some kelvin above its reference over that there. [1]"""
    return np.asarray(TEN_KELVIN ** (above / 10.0))


def weight_factor(weight: Array, reference: Array) -> Array:
    """Return respiration by weight of a fish over that of a reference fish. [1]"""
    return np.asarray((weight / reference) ** WEIGHT_POWER)


def oxygen_reserve(biomass: Array, respiration: Array, rules: LifeSupportInputs) -> Array:
    """Return oxygen to store for `reserve` minutes of all fish [kg, g/kg/h], as bought. [kg]"""
    breathed = biomass * respiration / 1000.0 * rules.reserve / 60.0
    return breathed / rules.oxygen_absorbed


def check_response(minutes: float, rules: LifeSupportInputs, *, automatic: bool) -> None:
    """Refuse a farm whose fish die before air is back or before somebody comes.

    The person on call must be there before the fish have used their oxygen, whatever the
    back-up; automatic back-up must start before then, and last until that person comes.

    Raises
    ------
    DesignError
        Naming the minutes and what would help.
    """
    comes = float(rules.response_time[0, 0])
    starts, lasts = float(rules.backup_start[0, 0]), float(rules.reserve[0, 0])
    held = f"fish last {minutes:.0f} minutes without air"
    if automatic and (minutes <= starts or lasts < comes):
        msg = (
            f"{held}; the back-up starts after {starts:.0f} minutes and lasts {lasts:.0f}, and "
            f"help comes after {comes:.0f}: change life_support.backup_start or .reserve"
        )
        raise DesignError(msg)
    if minutes <= comes:
        msg = (
            f"{held}, and help comes after {comes:.0f}: lower farm_design.density or shorten "
            "life_support.response_time"
        )
        raise DesignError(msg)
