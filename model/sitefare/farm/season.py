"""What does a typical year look like inside the farm, month by month.

Weather, house, light, water temperature and crops at full size, before fish, nutrients and
ramp-up. Everything is (draws, 12), January first.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.farm import air, climate, crops, enclosure, evapotranspiration, light, sun
from sitefare.farm.climate import TypicalHours
from sitefare.farm.crops import CropSeason
from sitefare.farm.enclosure import Capacity, Coupling, HouseChoices, IndoorClimate
from sitefare.farm.parts import Parts


@dataclass(frozen=True)
class Sizes:
    """What of the design the house and its light depend on: areas [m2], volume [m3], power.

    Heater and cooler in watts per square metre covered, lamps in mol/m2/day at the bed.
    """

    bed_area: float
    covered_area: float
    tank_volume: float
    heater: float = np.inf
    cooler: float = np.inf
    lamps: float = np.inf


@dataclass(frozen=True)
class Season:
    """A typical year, (draws, 12).

    Temperatures [degC], light at the beds [mol/m2/day], energy [kWh/month] of the whole farm,
    air moved [m3/month], water to the air from beds and tanks, and from pads [m3/month].
    """

    outdoor: Array
    indoor: Array
    water: Array
    ground: Array
    atmosphere: Array
    natural_light: Array
    lamp_light: Array
    lamp_energy: Array
    air_heat: Array
    water_heat: Array
    cooling_heat: Array
    fan_air: Array
    pad_water: Array
    evaporated: Array
    field_reference: Array
    crops: Mapping[str, CropSeason]


def _shading(parts: Parts) -> Array:
    """Return the light lost to a frame; open ground has none. [1]"""
    framed = parts.design.enclosure != "open"
    return parts.light.house_shading if framed else np.zeros((1, 1))


def season_of(parts: Parts, sizes: Sizes) -> Season:
    """Return the typical year of a farm of these sizes."""
    hours = climate.typical_hours(parts.climate, parts.place, parts.weather)
    natural = light.light_inside(parts.climate.sunshine, parts.house.transmittance, _shading(parts))
    photons = _lamp_light(parts, sizes, natural)
    lamp_bed = light.lamp_energy(photons, parts.light)
    indoor, water, lost = _house(parts, sizes, hours, lamp_bed)
    covered = sizes.covered_area
    mean = climate.month_sum(indoor.temperature, hours.weights) / (DAYS * 24.0)
    return Season(
        outdoor=parts.climate.temperature + parts.climate.temperature_shift,
        indoor=mean,
        water=water,
        ground=hours.ground,
        atmosphere=hours.atmosphere,
        natural_light=natural,
        lamp_light=photons,
        lamp_energy=lamp_bed * sizes.bed_area,
        air_heat=indoor.heating * covered,
        water_heat=lost * np.maximum(water - mean, 0.0) * 24.0 * DAYS / 1000.0,
        cooling_heat=indoor.cooling * covered,
        fan_air=indoor.fan_air * covered,
        pad_water=indoor.pad_water * covered / 1000.0,
        evaporated=_evaporated(parts, sizes, indoor, lamp_bed),
        field_reference=_outdoor_reference(parts),
        crops={
            key: crops.crop_season(
                crop,
                share * sizes.bed_area,
                natural + photons,
                indoor.temperature,
                water,
                parts.production,
            )
            for key, (crop, share) in parts.crops.items()
        },
    )


def _lamp_light(parts: Parts, sizes: Sizes, natural: Array) -> Array:
    """Return what lamps add at the bed. [mol/m2/day]"""
    if parts.design.lamps == "no":
        return np.zeros_like(natural)
    return light.lamp_photons(natural, parts.light.target, sizes.lamps)


def water_conductance(parts: Parts, sizes: Sizes) -> Array:
    """Return heat from the farm's water to the air, per kelvin. [W/K]"""
    return parts.bed.loss_u * sizes.bed_area + parts.design.tank_loss * sizes.tank_volume


def _house(
    parts: Parts, sizes: Sizes, hours: TypicalHours, lamp_bed: Array
) -> tuple[IndoorClimate, Array, Array]:
    """Return the house's hours, water temperature, and the water's conductance [W/K].

    Water that is not heated takes the month's mean air; heated water warms the house where its
    target is above that.
    """
    burning = np.tile(light.burning_hours(parts.light.photoperiod), hours.days)
    per_day = (lamp_bed / DAYS * sizes.bed_area / sizes.covered_area)[:, :, None]
    each = np.sum(burning[:, :24], axis=1)[:, None, None]
    lamps = per_day * 1000.0 * burning[:, None, :] / each
    choices = HouseChoices(parts.design.heated_air == "yes", parts.design.cooling)
    capacity = Capacity(sizes.heater, sizes.cooler)
    free = enclosure.indoor_climate(parts.house, parts.rules, choices, hours, lamps, None, capacity)
    mean = climate.month_sum(free.temperature, hours.weights) / (DAYS * 24.0)
    lost = water_conductance(parts, sizes)
    if parts.design.heated_water == "no":
        return free, mean, lost
    water = np.maximum(mean, parts.species.water_target)
    if parts.house.air == "outdoors":
        return free, water, lost
    linked = Coupling(lost / sizes.covered_area * (water > mean), water)
    warmed = enclosure.indoor_climate(
        parts.house, parts.rules, choices, hours, lamps, linked, capacity
    )
    return warmed, water, lost


def _outdoor_reference(parts: Parts) -> Array:
    """Return reference evapotranspiration of a field at the place, by FAO-56. [mm/day]"""
    normals, place = parts.climate, parts.place
    mean = normals.temperature + normals.temperature_shift
    high, low = mean + normals.temperature_range / 2.0, mean - normals.temperature_range / 2.0
    saturated = air.mean_saturation(high, low)
    vapour = normals.humidity * saturated
    top = sun.extraterrestrial(np.radians(place.latitude), sun.MONTH_DAY)
    clear = np.maximum(evapotranspiration.clear_sky(top, place.elevation), 0.1)
    longwave = evapotranspiration.net_longwave(high, low, vapour, normals.sunshine / clear)
    net = (1.0 - evapotranspiration.ALBEDO) * normals.sunshine - longwave
    wind = evapotranspiration.wind_at_two_metres(normals.wind)
    gamma = air.psychrometric_constant(air.pressure(place.elevation))
    zero = np.zeros((1, 1))
    return evapotranspiration.reference(net, zero, mean, wind, saturated, vapour, gamma)


def _indoor_reference(parts: Parts, indoor: IndoorClimate, lamp_bed: Array) -> Array:
    """Return reference evapotranspiration under cover: still air, no net longwave. [mm/day]

    Half of lamps' electricity is taken as radiation on the crop; cover and crop are near one
    temperature, so that net longwave is left out.
    """
    low, high = climate.daily_extreme(indoor.temperature)
    low, high = climate.month_mean(low), climate.month_mean(high)
    saturated = air.mean_saturation(high, low)
    outside = parts.climate.humidity * air.saturation_pressure(parts.climate.temperature)
    vapour = np.maximum(outside, parts.water.indoor_humidity * saturated)
    shading = 1.0 - _shading(parts)
    radiation = parts.climate.sunshine * parts.house.transmittance * shading
    radiation = radiation + 0.5 * lamp_bed / DAYS * 3.6
    net = (1.0 - evapotranspiration.ALBEDO) * radiation
    gamma = air.psychrometric_constant(air.pressure(parts.place.elevation))
    mean = (low + high) / 2.0
    wind, zero = parts.water.indoor_wind, np.zeros((1, 1))
    return evapotranspiration.reference(net, zero, mean, wind, saturated, vapour, gamma)


def _evaporated(parts: Parts, sizes: Sizes, indoor: IndoorClimate, lamp_bed: Array) -> Array:
    """Return water that beds and tanks give to the air. [m3/month]"""
    if parts.house.air == "outdoors":
        shade = parts.house.transmittance
        depth = _outdoor_reference(parts) * shade
    else:
        depth = _indoor_reference(parts, indoor, lamp_bed)
    factor = sum(
        (crop.transpiration * share for crop, share in parts.crops.values()), np.zeros((1, 1))
    )
    open_bed = parts.water.open_water * parts.bed.open_water
    tanks = sizes.tank_volume / parts.design.tank_depth * parts.water.tank_open
    area = sizes.bed_area * (factor + open_bed) + tanks * parts.water.open_water
    return np.asarray(depth * area * DAYS / 1000.0)
