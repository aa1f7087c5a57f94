"""What does a typical year look like inside the farm, month by month.

Weather, house, light, water temperature and crops at full size, before fish, nutrients and
ramp-up. Everything is (draws, 12), January first.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.farm import (
    air,
    beds,
    climate,
    crops,
    evapotranspiration,
    light,
    moisture,
    pumping,
    salinity,
    sun,
    water,
    water_heat,
)
from sitefare.farm.climate import TypicalHours
from sitefare.farm.crops import CropSeason
from sitefare.farm.enclosure import Capacity, HouseChoices, Indoors
from sitefare.farm.house_year import LOADS, SIZING, HouseYear, house_year
from sitefare.farm.moisture import Canopy
from sitefare.farm.parts import Parts
from sitefare.farm.water_heat import Pool


@dataclass(frozen=True)
class Sizes:
    """What of the design the house and its light depend on: areas [m2], volume [m3], power.

    Heaters of air and water, cooler and dehumidifier's electricity in watts per square metre
    covered, lamps in mol/m2/day at the bed, water pumped in m3/h; water let go with solids and
    against sodium and nitrate in m3/day.
    """

    bed_area: float
    covered_area: float
    tank_volume: float
    heater: float = np.inf
    cooler: float = np.inf
    lamps: float = np.inf
    water_heater: float = np.inf
    dryer: float = np.inf
    flow: float = 0.0
    exchange: float = 0.0


@dataclass(frozen=True)
class Season:
    """A typical year, (draws, 12).

    Temperatures [degC], light at the beds [mol/m2/day], energy [kWh/month] of the whole farm,
    air moved [m3/month], water to the air from beds and tanks, and from pads [m3/month].
    `drying` is electricity of dehumidifiers; `house` is what its hours come to, per covered area.
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
    drying: Array
    fan_air: Array
    pad_water: Array
    evaporated: Array
    transpired: Array
    field_reference: Array
    house: HouseYear
    crops: Mapping[str, CropSeason]


def _shading(parts: Parts) -> Array:
    """Return the light lost to a frame; open ground has none. [1]"""
    framed = parts.design.enclosure != "open"
    return parts.light.house_shading if framed else np.zeros((1, 1))


def season_of(parts: Parts, sizes: Sizes, kept: tuple[str, ...] = (*SIZING, *LOADS)) -> Season:
    """Return the typical year of a farm of these sizes; `kept` names hours of the house to keep."""
    hours = climate.typical_hours(parts.climate, parts.place, parts.weather)
    natural = light.light_inside(parts.climate.sunshine, parts.house.transmittance, _shading(parts))
    photons = _lamp_light(parts, sizes, natural)
    lamp_bed = light.lamp_energy(photons, parts.light)
    case = indoors_of(parts, sizes, hours, lamp_bed)
    indoor = house_year(case, kept)
    covered = sizes.covered_area
    month = DAYS * 24.0 * covered / 1000.0
    inside = indoor.transpiration * covered / 1000.0
    vapour = np.maximum(case.pool.field - indoor.water.evaporation, 0.0) * month
    return Season(
        outdoor=parts.climate.temperature + parts.climate.temperature_shift,
        indoor=indoor.temperature,
        water=indoor.water.temperature,
        ground=hours.ground,
        atmosphere=hours.atmosphere,
        natural_light=natural,
        lamp_light=photons,
        lamp_energy=lamp_bed * sizes.bed_area,
        air_heat=indoor.heating * covered,
        water_heat=indoor.water.heater * month,
        cooling_heat=indoor.cooling * covered,
        drying=indoor.drying * covered,
        fan_air=indoor.fan_air * covered,
        pad_water=indoor.pad_water * covered / 1000.0,
        evaporated=moisture.litres(vapour) + inside,
        transpired=moisture.litres(case.pool.field * month) + inside,
        field_reference=_outdoor_reference(parts),
        house=indoor,
        crops={
            key: crops.crop_season(
                crop,
                share * sizes.bed_area,
                natural + photons,
                indoor.days,
                indoor.water.temperature,
                parts.production,
            )
            for key, (crop, share) in parts.crops.items()
        },
    )


def indoors_of(parts: Parts, sizes: Sizes, hours: TypicalHours, lamp_bed: Array) -> Indoors:
    """Return all that the house's hours follow from, for any hours of weather.

    Parameters
    ----------
    lamp_bed : Array, shape (draws, 12)
        Electricity of lamps. [kWh/m2 of bed a month]
    """
    return Indoors(
        parts.house,
        parts.rules,
        HouseChoices(parts.design.heated_air == "yes", parts.design.cooling),
        hours,
        _lamp_hours(parts, sizes, hours, lamp_bed),
        _canopy(parts, sizes),
        pool_of(parts, sizes, _field_transpiration(parts, sizes)),
        Capacity(sizes.heater, sizes.cooler, sizes.dryer),
    )


def _lamp_light(parts: Parts, sizes: Sizes, natural: Array) -> Array:
    """Return what lamps add at the bed. [mol/m2/day]"""
    if parts.design.lamps == "no":
        return np.zeros_like(natural)
    return light.lamp_photons(natural, parts.light.target, sizes.lamps)


def water_conductance(parts: Parts, sizes: Sizes) -> Array:
    """Return dry heat from the farm's water to the air, per kelvin. [W/K]"""
    return parts.bed.loss_u * sizes.bed_area + parts.design.tank_loss * sizes.tank_volume


def _open_water(parts: Parts, sizes: Sizes) -> Array:
    """Return water surface open to the air, of beds and tanks. [m2]"""
    tanks = sizes.tank_volume / parts.design.tank_depth * parts.water.tank_open
    return parts.bed.open_water * sizes.bed_area + tanks


def _wind_on_water(parts: Parts) -> Array:
    """Return air speed over open water. [m/s]"""
    if parts.house.air != "outdoors":
        return parts.water.indoor_wind
    return evapotranspiration.wind_at_two_metres(parts.climate.wind) * parts.pool.wind_shelter


def pool_of(parts: Parts, sizes: Sizes, field: Array) -> Pool:
    """Return the water's ways of trading heat, beside what plants outdoors transpire [W/m2].

    Make-up replaces what evaporates and leaks, what must go so that the source's salt stays
    under the crops' limit, and the design's exchange: what else its base year lets go.
    """
    covered = sizes.covered_area
    surface = _open_water(parts, sizes) / covered
    conductance = moisture.open_water_conductance(_wind_on_water(parts)) * parts.pool.activity
    floor = sizes.tank_volume / parts.design.tank_depth
    held = sizes.tank_volume + sizes.bed_area * beds.water_depth(parts.bed)
    none = np.zeros((1, 1))
    renewed = (parts.water.leak * held + sizes.exchange) * 1000.0 * water_heat.LITRE_A_DAY
    flow = np.full((1, 1), sizes.flow)
    head = pumping.system_head(parts.pumping, flow, covered).total
    pumped = pumping.WATER_WEIGHT * flow / 3.6 * head
    sun_kept = _water_sun(parts) * surface if parts.house.air == "outdoors" else none
    return Pool(
        conductance=water_conductance(parts, sizes) / covered,
        evaporation=conductance * surface,
        ground=parts.pool.ground_u * floor / covered,
        renewal=renewed / covered,
        makeup=1.0 + salt_let_go(parts),
        gain=pumped / covered + sun_kept,
        field=field,
        target=parts.species.water_target,
        heater=sizes.water_heater if parts.design.heated_water == "yes" else 0.0,
    )


def salt_let_go(parts: Parts) -> Array:
    """Return water let go against the source's salt, over what evaporates. [1]"""
    limit, none = salinity.operated_limit(parts.tolerance), np.zeros((1, 1))
    return water.salt_discharge(np.ones((1, 1)), parts.source.conductivity, limit, none)


def _water_sun(parts: Parts) -> Array:
    """Return sun less sky radiation on open water outdoors, under net and shade. [W/m2]"""
    open_sky = parts.house.transmittance * (1.0 - parts.pool.tank_shade)
    kept = water_heat.WATER_KEEPS * parts.climate.sunshine - _outdoor_longwave(parts)
    return np.asarray(open_sky * kept * (1e6 / 86400.0))


def _canopy(parts: Parts, sizes: Sizes) -> Canopy:
    """Return the plants under cover: each crop's coefficient by its share of the beds."""
    factor = sum(
        (crop.transpiration * share for crop, share in parts.crops.values()), np.zeros((1, 1))
    )
    covered = np.full((1, 1), sizes.bed_area / sizes.covered_area)
    return Canopy(parts.canopy, factor * covered, covered, _shading(parts), parts.water.indoor_wind)


def _field_transpiration(parts: Parts, sizes: Sizes) -> Array:
    """Return what crops with no walls give to the air, by a field's reference. [W/m2 covered]"""
    if parts.house.air != "outdoors":
        return np.zeros((1, 1))
    share = _canopy(parts, sizes).share
    reference = _outdoor_reference(parts)
    return reference * parts.house.transmittance * share * (air.LATENT_HEAT * 1e6 / 86400.0)


def _lamp_hours(parts: Parts, sizes: Sizes, hours: TypicalHours, lamp_bed: Array) -> Array:
    """Return lamps' electricity by hour, (draws, 12, hours), spread over the day's burning hours.

    [W/m2 covered]
    """
    burning = light.burning_hours(parts.light.photoperiod)
    days = hours.temperature.shape[2] // 24
    per_day = lamp_bed / DAYS * (sizes.bed_area / sizes.covered_area)
    each = np.sum(burning, axis=1)[:, None, None]
    return np.asarray(per_day[:, :, None] * 1000.0 * np.tile(burning, days)[:, None, :] / each)


def _extremes(parts: Parts) -> tuple[Array, Array]:
    """Return the month's mean daily highest and lowest outdoor temperature. [degC]"""
    mean, half = parts.climate.temperature, parts.climate.temperature_range / 2.0
    mean = mean + parts.climate.temperature_shift
    return mean + half, mean - half


def _outdoor_longwave(parts: Parts) -> Array:
    """Return net outgoing longwave of open ground, by FAO-56. [MJ/m2/day]"""
    high, low = _extremes(parts)
    vapour = parts.climate.humidity * air.mean_saturation(high, low)
    top = sun.extraterrestrial(np.radians(parts.place.latitude), sun.MONTH_DAY)
    clear = np.maximum(evapotranspiration.clear_sky(top, parts.place.elevation), 0.1)
    return evapotranspiration.net_longwave(high, low, vapour, parts.climate.sunshine / clear)


def _outdoor_reference(parts: Parts) -> Array:
    """Return reference evapotranspiration of a field at the place, by FAO-56. [mm/day]"""
    normals, place = parts.climate, parts.place
    high, low = _extremes(parts)
    saturated = air.mean_saturation(high, low)
    vapour = normals.humidity * saturated
    net = (1.0 - evapotranspiration.ALBEDO) * normals.sunshine - _outdoor_longwave(parts)
    wind = evapotranspiration.wind_at_two_metres(normals.wind)
    gamma = air.psychrometric_constant(air.pressure(place.elevation))
    mean, none = (high + low) / 2.0, np.zeros((1, 1))
    return evapotranspiration.reference(net, none, mean, wind, saturated, vapour, gamma)
