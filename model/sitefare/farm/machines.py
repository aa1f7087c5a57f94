"""How strong must heaters, lamps, coolers and blowers be, and what is the peak load.

Powers in kW, at base values, with the design's margin over what is computed.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import (
    air,
    enclosure,
    energy,
    light,
    nitrification,
    oxygen,
    power,
    water_heat,
)
from sitefare.farm.parts import Parts
from sitefare.farm.season import Season, Sizes, pool_of, water_conductance

#: Sun of a clear noon, for rooms that let light in. [W/m2]
NOON_SUN = 900.0

#: Air beside the water in the design hour, share of saturation: dry, so that more evaporates. [1]
DESIGN_HUMIDITY = 0.6


def base(x: Array) -> float:
    """Return the base value of an array of one draw. [same unit]"""
    return float(x[0, 0])


def blower(parts: Parts, season: Season, feed: float) -> float:
    """Return blowers for the hour of highest demand in the warmest water. [kW]"""
    given = np.full((1, 1), feed)
    tan = nitrification.ammonia(given, parts.species.feed_protein)
    asked = oxygen.demand(parts.oxygen, given, tan) / 24.0 * parts.oxygen.peak
    beta = parts.aeration.salinity_factor
    efficiency = oxygen.field_efficiency(parts.oxygen, season.water, season.atmosphere, beta)
    return base(asked) / float(efficiency.min()) * base(parts.design.power_margin)


def _pressure(parts: Parts) -> Array:
    """Return the place's atmospheric pressure. [kPa]"""
    return air.pressure(parts.place.elevation)


def heaters(parts: Parts, season: Season, sizes: Sizes) -> tuple[float, float]:
    """Return heaters of air and of water at the design low temperature, screens open. [kW]

    A heated house's own water warms it besides; that is left out. Water loses to air at the
    night set point, or as the house floats where nothing heats it, to evaporation, to the
    ground, and to make-up of the coldest month.
    """
    outside = base(parts.place.design_temperature_low)
    margin = base(parts.design.power_margin)
    cover = base(enclosure.cover_conductance(parts.house, _pressure(parts)))
    night = base(parts.rules.night_set_point)
    heated = parts.design.heated_air == "yes" and parts.house.air != "outdoors"
    air_power = (
        cover * sizes.covered_area * max(night - outside, 0.0) / 1000.0 * margin if heated else 0.0
    )
    if parts.design.heated_water == "no":
        return air_power, 0.0
    need = _water_need(parts, season, sizes, indoor_low(parts, season, sizes))
    return air_power, need * sizes.covered_area / 1000.0 * margin


def indoor_low(parts: Parts, season: Season, sizes: Sizes) -> float:
    """Return the air beside the water at the design low, at night with lamps off. [degC]

    The set point where air is heated; else cover, leaks, floor and held water balance. Vapour
    that condenses and the heat that the day stored are left out, so it is colder than it may be.
    """
    outside, held = base(parts.place.design_temperature_low), base(parts.species.water_target)
    if parts.house.air == "outdoors":
        return outside
    if parts.design.heated_air == "yes":
        return max(base(parts.rules.night_set_point), outside)
    month = int(np.argmin(season.outdoor[0]))
    cover = base(enclosure.cover_conductance(parts.house, _pressure(parts)))
    floor = base(parts.house.ground_u)
    warm = parts.design.heated_water == "yes"
    water = base(water_conductance(parts, sizes)) / sizes.covered_area if warm else 0.0
    heat = cover * outside + floor * float(season.ground[0, month]) + water * held
    return heat / (cover + floor + water)


def _water_need(parts: Parts, season: Season, sizes: Sizes, inside: float) -> float:
    """Return heat that holds the water beside air of `inside` [degC], coldest month. [W/m2]"""
    month = int(np.argmin(season.outdoor[0]))
    air_beside = np.full((1, 1), inside)
    taken = np.mean(season.house.hours["transpired"][:, month], axis=1, keepdims=True)
    pool = pool_of(parts, replace(sizes, flow=0.0), taken)
    windy = np.broadcast_to(pool.evaporation, (1, 12))[:, month : month + 1]
    dark = replace(pool, evaporation=windy, gain=np.zeros((1, 1)))
    vapour = DESIGN_HUMIDITY * air.saturation_pressure(air_beside)
    ground = season.ground[:, month : month + 1]
    target = parts.species.water_target
    held = water_heat.water_months(dark, air_beside, vapour, ground, taken, target)
    return base(held.heater)


def dehumidifier(parts: Parts, season: Season, covered: float) -> float:
    """Return dehumidifiers of a closed room, for its moistest hour, by electricity. [kW]"""
    most = float(season.house.hours["drying_power"].max())
    return most * covered / 1000.0 * base(parts.design.power_margin)


def lamps(parts: Parts, season: Season, bed_area: float) -> tuple[float, float]:
    """Return lamps' light at the bed [mol/m2/day] and their power [kW]."""
    most = float(season.lamp_light.max())
    flux = light.photon_flux(np.full((1, 1), most), parts.light.photoperiod)
    watts = flux / (parts.light.efficacy * parts.light.utilisation)
    return most, base(watts) * bed_area / 1000.0


def cooler(parts: Parts, covered: float, lamps: float, dryers: float) -> float:
    """Return mechanical cooling at the design high temperature. [kW]

    Lamps, dehumidifiers [kW] and sun count in full: what of them becomes vapour, the coil must
    take as moisture.
    """
    if parts.design.cooling != "mechanical" or parts.house.air == "outdoors":
        return 0.0
    cover = base(enclosure.cover_conductance(parts.house, _pressure(parts)))
    above = base(parts.place.design_temperature_high)
    above = above - base(enclosure.chilled_to(parts.house, parts.rules))
    sunny = NOON_SUN * base(parts.house.transmittance * parts.rules.solar_gain)
    watts = (cover * max(above, 0.0) + sunny) * covered + (lamps + dryers) * 1000.0
    return watts / 1000.0 * base(parts.design.power_margin)


def peak(parts: Parts, bed_area: float, drivers: Mapping[str, float], store: float) -> float:
    """Return the highest electrical load, in the coldest hour or the warmest. [kW]

    Lamps, dehumidifiers and a cold store [m3] run in both, and heaters and coolers in their own.
    """
    d = drivers
    hottest = parts.place.design_temperature_high
    heat = 0.0 if parts.energy.heat_source == "fuel" else heating(parts, d)
    cooling = d["cooling_power"] / base(energy.cooling_cop(parts.energy, hottest))
    winter, summer = (
        base(moved * energy.fan_energy(parts.energy)) * d["covered_area"] / 1000.0
        for moved in _fans(parts)
    )
    rest = d["lamp_power"] + d["dehumidifier_power"] + max(heat + winter, cooling + summer)
    return vital(parts, bed_area, d, store) + rest


def cold_store(parts: Parts, store: float) -> float:
    """Return the power of a cold store [m3] at the design high temperature. [kW]"""
    if store <= 0.0:
        return 0.0
    days = parts.design.cold_store_days
    brought = store * parts.design.cold_store_density / np.maximum(days, 1.0)
    humidity = parts.climate.humidity.min(axis=1, keepdims=True)
    hottest = parts.place.design_temperature_high
    return base(power.store_power(parts, store, brought, hottest, humidity))


def cold_store_months(parts: Parts, store: float, harvest: float) -> Array:
    """Return the power of a cold store [m3] for a harvest [kg/day] by month, (12,). [kW]"""
    if store <= 0.0:
        return np.zeros(12)
    brought = np.full((1, 1), harvest)
    outdoor = parts.climate.temperature + parts.climate.temperature_shift
    kilowatts = power.store_power(parts, store, brought, outdoor, parts.climate.humidity)
    return np.asarray(kilowatts[0])


def heating(parts: Parts, drivers: Mapping[str, float]) -> float:
    """Return electricity of all heaters on, of burners and their fans where fuel heats. [kW]"""
    heat = np.full((1, 1), drivers["heater_power"])
    return base(energy.heat_supply(parts.energy, heat, parts.place.design_temperature_low)[0])


def _fans(parts: Parts) -> tuple[Array, Array]:
    """Return the air that fans move in the coldest and the warmest hour. [m3/m2/h]"""
    closed, cooling = parts.house.air == "closed", parts.design.cooling
    aired = cooling == "pad_and_fan" or (closed and cooling == "vents")
    none = np.zeros((1, 1))
    round_about = parts.rules.circulation if closed else none
    return round_about, round_about + (parts.house.vent_rate if aired else none)


def vital(parts: Parts, bed_area: float, drivers: Mapping[str, float], store: float) -> float:
    """Return the load that back-up carries in full. [kW]

    Pumps, air, controls and cold store, and the burner with its fans where fuel heats.
    """
    controls = base(parts.energy.controls) * bed_area / 1000.0
    cold = cold_store(parts, store)
    burner = heating(parts, drivers) if parts.energy.heat_source == "fuel" else 0.0
    return drivers["pump_power"] + drivers["blower_power"] + controls + cold + burner
