"""How warm and moist is it under the cover, and what do heating, airing and cooling take.

Steady balances of heat and moisture for each typical hour, per square metre covered (ASABE
EP406, heating, ventilating and cooling greenhouses, with the canopy's vapour computed), and
of the water's heat for each month. Heater, cooler and dehumidifier are capped by what the
design installed: beyond that the house drifts and the crops feel it. Each hour stands alone,
but for a share of the day's sun that floor and beds hand on to its night.
"""

from dataclasses import fields, replace

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.farm import air, climate, house_balance, moisture, water_heat
from sitefare.farm.enclosure import IndoorClimate, Indoors, air_conductance, drying_power
from sitefare.farm.house_balance import Shut
from sitefare.farm.house_hours import Hours, hours_of
from sitefare.farm.moisture import Leaves
from sitefare.farm.water_heat import WaterMonths

#: Passes of house and water over each other; the last one closes.
PASSES = 3


def indoor_climate(case: Indoors) -> IndoorClimate:
    """Return house and water through typical weather.

    House and water take turns, each with the other's last state: the first passes link them
    hour by hour, the last gives the house exactly the heat and vapour that the water lost.
    """
    if case.house.air == "outdoors":
        return _outdoors(case)
    leaves, shut = _leaves(case), _shut(case)
    water = _first_water(case)
    guess, moist = _first_guess(case, shut), shut.moist
    for step in range(PASSES):
        last = step == PASSES - 1
        joined, given = _with_water(case, shut, water, None if not last else (guess, moist))
        near = house_balance.point(joined, leaves, guess)
        found = hours_of(case, joined, near)
        guess, moist = found.temperature, found.vapour
        if not last:
            water = _water(case, found, water.temperature)
    return _finished(case, found, given, water)


def _outdoors(case: Indoors) -> IndoorClimate:
    """Return a place with no walls: outdoor air, nothing to run but the water."""
    hours, none = case.hours, np.zeros((1, 1, 1))
    still = Hours(hours.temperature, hours.vapour, *([none] * 9))
    water = _water(case, still, _mean(hours.temperature, hours.weights))
    given = _given(case, water, (hours.temperature, hours.vapour))
    return _finished(case, still, given, water)


def _mean(x: Array, weights: Array) -> Array:
    """Return a month's mean over its hours, (draws, 12). [same unit]"""
    return np.asarray(climate.month_sum(x, weights) / np.sum(weights, axis=1))


def _leaves(case: Indoors) -> Leaves:
    """Return what sun, lamps and air speed let the canopy give."""
    light = moisture.canopy_radiation(
        case.canopy, case.house.transmittance, case.hours.sunshine, case.lamps
    )
    return moisture.leaves(case.canopy, light)


def _shut(case: Indoors) -> Shut:
    """Return the hours of the house with vents shut, water left out."""
    house, hours = case.house, case.hours
    leak = hourly(air_conductance(house.air_changes * house.height, hours.atmosphere))
    gamma = hourly(air.psychrometric_constant(hours.atmosphere))
    cover, ground = hourly(house.cover_u * house.cover_ratio), hourly(house.ground_u)
    saved = hourly(house.screen_saving)
    outside = leak + np.where(hours.sunshine > 0.0, cover, cover * (1.0 - saved))
    gain = _sun_kept(case) + case.lamps
    film = np.minimum(house.cover_u / house_balance.INNER_FILM, house_balance.MOST_FILM)
    return Shut(
        outdoors=hours.temperature,
        moist=hours.vapour,
        gamma=gamma,
        loss=outside + ground,
        heat=outside * hours.temperature + ground * hourly(hours.ground) + gain,
        link=leak / gamma,
        vapour=leak / gamma * hours.vapour,
        skin=hourly(film),
        drip=hourly(house_balance.INNER_CONVECTION * house.cover_ratio) / gamma,
        padded=_depression(case),
    )


def _sun_kept(case: Indoors) -> Array:
    """Return sun that warms the house: some at once, some stored and given back evenly. [W/m2]"""
    sunshine = case.hours.sunshine
    days = sunshine.reshape(*sunshine.shape[:2], -1, 24)
    mean = np.repeat(np.mean(days, axis=3), 24, axis=2)
    once, stored = hourly(case.rules.solar_gain), hourly(case.rules.stored_sun)
    return np.asarray(hourly(case.house.transmittance) * (once * sunshine + stored * mean))


def _depression(case: Indoors) -> Array:
    """Return how much pads, if any, cool the air that comes in. [K]"""
    hours = case.hours
    if case.choices.cooling != "pad_and_fan":
        return np.zeros((1, 1, 1))
    wet = air.wet_bulb(hours.temperature, hours.vapour, hourly(hours.atmosphere))
    return hourly(case.rules.pad_efficiency) * np.maximum(hours.temperature - wet, 0.0)


def _first_guess(case: Indoors, shut: Shut) -> Array:
    """Return a first temperature: half the light as vapour, within what the rules allow."""
    found = (shut.heat - 0.25 * hourly(case.house.transmittance) * case.hours.sunshine) / shut.loss
    warm = np.maximum(hourly(case.rules.vent_set_point), case.hours.temperature + 3.0)
    found = np.minimum(found, warm)
    return np.maximum(found, case.set_point) if case.choices.heated else found


def _first_water(case: Indoors) -> WaterMonths:
    """Return water to start from: its target where heated, else the month's outdoor air."""
    outdoor = _mean(case.hours.temperature, case.hours.weights)
    start = case.pool.target + 0.0 * outdoor if case.pool.heater > 0.0 else outdoor
    return WaterMonths(start, air.saturation_pressure(start), *([np.zeros((1, 1))] * 6))


def _water(case: Indoors, found: Hours, guess: Array) -> WaterMonths:
    """Return the water's months beside the house that a pass found."""
    weights = case.hours.weights
    plants = _mean(found.transpired, weights) + case.pool.field
    return water_heat.water_months(
        case.pool,
        _mean(found.temperature, weights),
        _mean(found.vapour, weights),
        case.hours.ground,
        plants,
        guess,
    )


def _with_water(
    case: Indoors, shut: Shut, water: WaterMonths, before: tuple[Array, Array] | None
) -> tuple[Shut, tuple[Array, Array]]:
    """Return the shut house with the water in it, and heat and vapour that water gives [W/m2].

    Linked hour by hour; or, beside the air of the pass before, exactly what the water lost.
    """
    warm, wet = hourly(case.pool.conductance), hourly(case.pool.evaporation)
    if before is None:
        linked = replace(
            shut,
            loss=shut.loss + warm,
            heat=shut.heat + warm * hourly(water.temperature),
            link=shut.link + wet,
            vapour=shut.vapour + wet * hourly(water.saturated),
        )
        return linked, (np.zeros((1, 1, 1)), np.zeros((1, 1, 1)))
    given = _given(case, water, before)
    return replace(shut, heat=shut.heat + given[0], vapour=shut.vapour + given[1]), given


def _given(case: Indoors, water: WaterMonths, beside: tuple[Array, Array]) -> tuple[Array, Array]:
    """Return dry heat and vapour that water gives to air beside it [degC, kPa]. [W/m2]"""
    dry = hourly(case.pool.conductance) * (hourly(water.temperature) - beside[0])
    return dry, hourly(case.pool.evaporation) * (hourly(water.saturated) - beside[1])


def _finished(
    case: Indoors, found: Hours, given: tuple[Array, Array], water: WaterMonths
) -> IndoorClimate:
    """Return the hours, each in full shape, with their sums by month."""
    weights = case.hours.weights
    power = found.dried * hourly(drying_power(case.rules))
    hours = {item.name: getattr(found, item.name) for item in fields(found)}
    hours |= {"warmed": given[0], "evaporated": given[1], "drying_power": power}
    hours["fan_hours"] = _fans(case, found.vent)
    shape = np.broadcast_shapes(*(x.shape for x in hours.values()))

    def total(name: str) -> Array:
        return climate.month_sum(hours[name], weights)

    return IndoorClimate(
        **{name: np.broadcast_to(x, shape) for name, x in hours.items()},
        heating=total("heated") / 1000.0,
        cooling=total("chilled") / 1000.0,
        drying=total("drying_power") / 1000.0,
        fan_air=total("fan_hours"),
        pad_water=moisture.litres(total("padded")),
        transpiration=moisture.litres(total("transpired")),
        water=water,
    )


def _fans(case: Indoors, vent: Array) -> Array:
    """Return air that fans move: circulation and all airing of closed rooms, air to pads.

    Other houses air themselves through vents. [m3/m2/h]
    """
    aired = vent / hourly(air_conductance(np.ones((1, 1)), case.hours.atmosphere))
    if case.house.air == "closed":
        return np.asarray(aired + hourly(case.rules.circulation))
    return np.zeros((1, 1, 1)) if case.choices.cooling == "vents" else aired
