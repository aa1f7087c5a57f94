"""How warm is the farm's water, and what does holding it take.

A steady balance for each month, per square metre covered: the mass of water evens out days, not
months (300 m3 that lose 1 kW/K follow the weather within two weeks). In: heater, pump, sun on
open tanks outdoors. Out, or in: air beside beds and tanks, evaporation, ground under tanks,
make-up that arrives at ground temperature. Heat of fish and of blown air is left out.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import air

#: Heat to warm make-up by a kelvin over the heat that evaporated as much: 4.186 kJ ÷ 2,450. [1/K]
MAKEUP = 4.186e-3 / air.LATENT_HEAT

#: Heat of a litre of water a day per kelvin: 4,186 J ÷ 86,400 s. [W/K per L/day]
LITRE_A_DAY = 4186.0 / 86400.0

#: Sun that water keeps: albedo 0.08. [1]
WATER_KEEPS = 0.92

#: Steps of Newton's rule; the balance curves little, and five leave 1e-12.
NEWTON_STEPS = 6


@inputs("water_heat")
class WaterHeatInputs:
    """How the farm's water trades heat, beyond the dry heat of beds and tanks."""

    activity: Array = quantity(
        "1", low=0.1, high=2, doc="Stirring of open water: evaporation over that of a busy pool."
    )
    wind_shelter: Array = quantity(
        "1", low=0, high=1, doc="Wind at the water outdoors, share of wind at 2 m."
    )
    tank_shade: Array = quantity(
        "1", low=0, high=1, doc="Sky and sun kept off tanks outdoors, against algae and heat."
    )
    ground_u: Array = quantity(
        "W/m2/K", low=0, high=5, doc="Heat flow from tanks to the ground, per tank floor."
    )


@dataclass(frozen=True)
class Pool:
    """The farm's water per square metre covered; each (draws, 1) or (draws, 12).

    Conductances to air, ground and for renewal that no air took [W/m2/K], evaporation
    [W/m2/kPa], make-up over what evaporates [1], pump and sun [W/m2], what plants outdoors
    transpire [W/m2 of latent heat], target [degC]; heater installed [W/m2], 0 where none.
    """

    conductance: Array
    evaporation: Array
    ground: Array
    renewal: Array
    makeup: Array
    gain: Array
    field: Array
    target: Array
    heater: float


@dataclass(frozen=True)
class WaterMonths:
    """The water by month, (draws, 12): temperature [degC], saturation [kPa], heat flows [W/m2].

    Flows into the water: `heater`, `air`, `evaporation` (below 0 when it cools), `ground`,
    `renewal`, `gain`; they sum to zero.
    """

    temperature: Array
    saturated: Array
    heater: Array
    air: Array
    evaporation: Array
    ground: Array
    renewal: Array
    gain: Array


def water_months(
    pool: Pool, indoor: Array, vapour: Array, ground: Array, plants: Array, guess: Array
) -> WaterMonths:
    """Return the water's months beside air [degC] of a vapour pressure [kPa].

    Held water is heated to its target as far as the heater goes; beyond that it is cooler.

    Parameters
    ----------
    indoor, vapour, ground : Array, shape (draws, 12)
        Month means of air beside the water, and of the ground.
    plants : Array, shape (draws, 12)
        Latent heat that plants draw from the water. [W/m2]
    guess : Array, shape (draws, 12)
        Temperature to start from. [degC]
    """
    aired = pool.evaporation * np.maximum(air.saturation_pressure(guess) - vapour, 0.0)
    renewal = pool.renewal + MAKEUP * pool.makeup * (plants + aired)
    linear = pool.conductance + pool.ground + renewal
    source = pool.conductance * indoor + (pool.ground + renewal) * ground + pool.gain
    source = source + pool.evaporation * vapour
    free = _balanced(pool, source, linear, guess)
    if pool.heater <= 0.0:
        found = free
    else:
        found = np.maximum(free, pool.target)
        if np.isfinite(pool.heater):
            most = _balanced(pool, source + pool.heater, linear, found)
            found = np.minimum(found, most)
    saturated = air.saturation_pressure(found)
    flows = {
        "air": pool.conductance * (indoor - found),
        "evaporation": pool.evaporation * (vapour - saturated),
        "ground": pool.ground * (ground - found),
        "renewal": renewal * (ground - found),
        "gain": pool.gain * np.ones_like(found),
    }
    lost = flows["air"] + flows["evaporation"] + flows["ground"] + flows["renewal"] + flows["gain"]
    heater = np.maximum(-lost, 0.0) if pool.heater > 0.0 else np.zeros_like(found)
    return WaterMonths(found, saturated, heater, **flows)


def _balanced(pool: Pool, source: Array, linear: Array, guess: Array) -> Array:
    """Return the temperature at which the water's heat balances, by Newton's rule. [degC]"""
    found = guess * np.ones_like(source)
    for _ in range(NEWTON_STEPS):
        saturated = air.saturation_pressure(found)
        slope = 4098.0 * saturated / (found + 237.3) ** 2
        over = source - linear * found - pool.evaporation * saturated
        found = found + over / (linear + pool.evaporation * slope)
    return found
