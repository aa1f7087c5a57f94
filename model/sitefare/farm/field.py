"""What would the same harvest take of water and land, grown in a field at the same place.

Crop water by FAO-56: reference evapotranspiration by month times a coefficient that follows
the crop's stages (Tables 11 and 12, adjusted to the place's wind and dry air, eq. 62 and 65).
Rain counts as far as it is effective (USDA SCS, Technical Release 21). Irrigation makes up the
rest, divided by what the method of irrigation keeps, or by what leaching leaves where that asks
more (FAO-29 s.2.4.2). A crop is planted in months from which every month of its season suits
it out of doors; where there is none, there is no answer.

Depths in millimetres, which are litres per square metre. Ponds stand beside, never in the sum.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from sitefare.arrays import DAYS, Array, year_sum
from sitefare.assumptions.declaration import choice, inputs, quantity

#: Wind [m/s] and least humidity [%] between which FAO-56 eq. 62 holds.
WINDS, HUMIDITIES = (1.0, 6.0), (20.0, 80.0)

#: Coefficient at the end of a season from which eq. 65 adjusts it. [1]
ADJUSTED_END = 0.45

#: Most of the irrigation that leaching may ask, FAO-29: saltier water suits no such crop. [1]
MOST_LEACHING = 0.5

#: Evaporation of shallow open water over the reference crop's; FAO-56 Table 12. [1]
POND_WATER = 1.05

#: Ponds do not freeze through: the densest water lies at the bottom. [degC]
UNDER_ICE = 4.0


@inputs("field")
class FieldInputs:
    """How the same crops and fish would be grown without the farm."""

    planting: str = choice(
        "every_month",
        "best_month",
        doc="Field plantings: every month that suits, or the thriftiest.",
    )
    method: str = choice("surface", "sprinkler", "drip", doc="Field irrigation method.")
    surface_efficiency: Array = quantity(
        "1",
        low=0.1,
        high=1,
        varies="choice",
        doc="Surface irrigation efficiency: water the roots get.",
    )
    sprinkler_efficiency: Array = quantity(
        "1", low=0.1, high=1, varies="choice", doc="Sprinkler efficiency: water the roots get."
    )
    drip_efficiency: Array = quantity(
        "1",
        low=0.1,
        high=1,
        varies="choice",
        doc="Drip irrigation efficiency: water the roots get.",
    )
    efficiency_level: Array = quantity(
        "1", low=0.3, high=1.6, doc="Field irrigation efficiency: local over the method's."
    )
    kc_error: Array = quantity(
        "1", low=0.5, high=1.6, doc="Field crop coefficients: true over the table's."
    )
    yield_level: Array = quantity(
        "1", low=0.1, high=4, doc="Field yields: local over the table's, all crops together."
    )
    soil_water: Array = quantity(
        "mm", low=10, high=200, doc="Field soil water: usable, stored for the roots."
    )
    between_days: Array = quantity(
        "day", low=0, high=120, varies="choice", doc="Field fallow: days between two seasons."
    )
    pond_yield: Array = quantity(
        "kg/m2/year", low=0.02, high=5, doc="Pond yield: live fish of a fed pond."
    )
    pond_seepage: Array = quantity("mm/day", low=0, high=30, doc="Pond seepage.")
    pond_depth: Array = quantity("m", low=0.3, high=3, varies="choice", doc="Pond depth.")
    pond_fillings: Array = quantity(
        "1/year", low=0, high=6, doc="Pond fillings: times a year it is drained and filled."
    )


@inputs("field_crop", keyed=True, table=True)
class FieldCropInputs:
    """One crop in a field: stages, coefficients, yield."""

    kc_initial: Array = quantity("1", low=0.1, high=1.4, doc="Crop coefficient at first, Kc ini.")
    kc_middle: Array = quantity("1", low=0.2, high=1.4, doc="Crop coefficient in full, Kc mid.")
    kc_end: Array = quantity("1", low=0.1, high=1.4, doc="Crop coefficient at the end, Kc end.")
    height: Array = quantity("m", low=0.05, high=3, doc="Height of the crop in full.")
    initial_days: Array = quantity("day", low=1, high=120, doc="Days of the first stage.")
    growing_days: Array = quantity("day", low=1, high=120, doc="Days of crop development.")
    middle_days: Array = quantity("day", low=1, high=180, doc="Days in full.")
    late_days: Array = quantity("day", low=1, high=120, doc="Days of the late season.")
    yield_season: Array = quantity(
        "kg/m2", low=0.05, high=20, doc="Yield: marketable, of one season in a field."
    )


@dataclass(frozen=True)
class FieldWeather:
    """A typical year out of doors, (draws, 12).

    Reference evapotranspiration [mm/day], rain [mm/month], mean, lowest and highest of the day
    [degC], wind at 2 m [m/s], least relative humidity of the day [%].
    """

    reference: Array
    rain: Array
    mean: Array
    lowest: Array
    highest: Array
    wind: Array
    driest: Array


@dataclass(frozen=True)
class Cardinals:
    """Temperatures of one crop [degC], and the least response worth planting for [1]."""

    lethal: Array
    least: Array
    low: Array
    high: Array
    most: Array
    response: Array


def middle_adjustment(wind: Array, driest: Array, height: Array) -> Array:
    """Return what wind [m/s] and least humidity [%] add to Kc mid, FAO-56 eq. 62. [1]"""
    windy = 0.04 * (np.clip(wind, *WINDS) - 2.0)
    dry = 0.004 * (np.clip(driest, *HUMIDITIES) - 45.0)
    return np.asarray((windy - dry) * (height / 3.0) ** 0.3)


def stage_weights(day: Array, stages: tuple[float, float, float, float]) -> Array:
    """Return the weights of Kc ini, mid and end by day of the season, FAO-56 eq. 66. [1]

    Straight from ini to mid over development, from mid to end over the late season.

    Parameters
    ----------
    day : Array, shape (days,)
        Day of the season. [day]
    stages : tuple of float
        Lengths of the four stages. [day]
    """
    initial, growing, middle, late = stages
    up = np.clip((day - initial) / growing, 0.0, 1.0)
    down = np.clip((day - initial - growing - middle) / late, 0.0, 1.0)
    return np.stack([1.0 - up, up - down, down])


@cache
def calendar(
    stages: tuple[float, float, float, float],
) -> tuple[npt.NDArray[np.int64], Array, Array]:
    """Lay a season over months: month numbers, days, and weights of Kc summed by month.

    Seasons start on the first of each month: (12, span), (12, span) [day], (3, 12, span) [day].
    """
    length = round(sum(stages))
    weights = stage_weights(np.arange(length, dtype=np.float64) + 0.5, stages)
    span = int(np.ceil(length / 28.0)) + 1
    numbers = np.asarray((np.arange(12)[:, None] + np.arange(span)[None, :]) % 12, dtype=np.int64)
    ends = np.cumsum(DAYS[numbers], axis=1)
    starts = ends - DAYS[numbers]
    day = np.arange(length)
    within = (day >= starts[:, :, None]) & (day < ends[:, :, None])
    summed = np.stack([np.asarray(np.sum(within * w, axis=2)) for w in weights])
    used = int(np.max(np.sum(within.any(axis=2), axis=1)))
    days = np.sum(within, axis=2).astype(np.float64)
    return numbers[:, :used], days[:, :used], summed[:, :, :used]


def storage_factor(soil_water: Array) -> Array:
    """Return the factor of stored water in effective rain, TR-21: 1 at 75 mm, 1.08 at most. [1]"""
    inches = soil_water / 25.4
    curve = 0.531747 + 0.295164 * inches - 0.057697 * inches**2 + 0.003804 * inches**3
    return np.asarray(np.clip(curve, 0.0, 1.08))


def effective_rain(rain: Array, evapotranspiration: Array, soil_water: Array) -> Array:
    """Return effective rain of a month, USDA SCS (1970) Technical Release 21. [mm/month]

    Never more than the rain or than the crop's water.

    Parameters
    ----------
    rain, evapotranspiration : Array
        Rain, and the crop's water. [mm/month]
    soil_water : Array
        Usable water stored. [mm]
    """
    wet = np.maximum(1.25247 * rain**0.82416 - 2.93522, 0.0)
    found = storage_factor(soil_water) * wet * 10.0 ** (0.00095512 * evapotranspiration)
    return np.asarray(np.minimum(np.minimum(found, rain), evapotranspiration))


def leaching_requirement(source: Array, threshold: Array) -> Array:
    """Return the share of irrigation that must leach, FAO-29 eq. 9: ECw / (5 ECe − ECw). [1]

    Parameters
    ----------
    source, threshold : Array
        Conductivity of the water, and of soil paste that the crop bears. [dS/m]
    """
    room = np.maximum(5.0 * threshold - source, 1e-6)
    return np.asarray(np.minimum(source / room, MOST_LEACHING))


def suited(weather: FieldWeather, crop: Cardinals) -> npt.NDArray[np.bool_]:
    """Tell in which months the crop grows out of doors, (draws, 12).

    The trapezoid that crops under cover follow: cold acts on the day's mean, heat on the mean
    of that and the highest; the coldest hour of a mean day must not kill.
    """
    warm = (weather.mean + weather.highest) / 2.0
    rise = (weather.mean - crop.least) / np.maximum(crop.low - crop.least, 0.5)
    fall = (crop.most - warm) / np.maximum(crop.most - crop.high, 0.5)
    response = np.clip(rise, 0.0, 1.0) * np.clip(fall, 0.0, 1.0)
    return np.asarray((response >= crop.response) & (weather.lowest >= crop.lethal))


def _stages(crop: FieldCropInputs) -> tuple[float, float, float, float]:
    """Return the lengths of a crop's four stages; the table has one for all draws. [day]"""
    found = (crop.initial_days, crop.growing_days, crop.middle_days, crop.late_days)
    first, second, third, fourth = (float(x[0, 0]) for x in found)
    return first, second, third, fourth


def season_water(
    rules: FieldInputs, crop: FieldCropInputs, weather: FieldWeather
) -> tuple[Array, Array]:
    """Return crop water and net irrigation of a season planted in each month, (draws, 12). [mm]"""
    numbers, days, weights = calendar(_stages(crop))
    adjusted = middle_adjustment(weather.wind, weather.driest, crop.height)
    middle = (crop.kc_middle + adjusted)[:, numbers]
    end = (crop.kc_end + adjusted * (crop.kc_end >= ADJUSTED_END))[:, numbers]
    summed = crop.kc_initial[:, :, None] * weights[0] + middle * weights[1] + end * weights[2]
    asked = summed * (weather.reference * rules.kc_error)[:, numbers]
    month = DAYS[numbers]
    whole = asked * (month / np.maximum(days, 1.0))
    stored = rules.soil_water[:, :, None]
    rain = effective_rain(weather.rain[:, numbers], whole, stored) * (days / month)
    return asked.sum(axis=2), np.maximum(asked - rain, 0.0).sum(axis=2)


def _gross(rules: FieldInputs, source: Array, threshold: Array) -> Array:
    """Return the share of water applied that serves the crop: losses or leaching, the worse. [1]

    Water lost below the roots leaches too, so the two do not add up.
    """
    given = {
        "surface": rules.surface_efficiency,
        "sprinkler": rules.sprinkler_efficiency,
        "drip": rules.drip_efficiency,
    }[rules.method]
    leached = 1.0 - leaching_requirement(source, threshold)
    return np.asarray(np.minimum(np.minimum(given * rules.efficiency_level, 0.98), leached))


def _cycles(rules: FieldInputs, crop: FieldCropInputs, starts: npt.NDArray[np.bool_]) -> Array:
    """Return seasons a year on one piece of land, at least one, by months to plant in. [1/year]"""
    if rules.planting == "best_month":
        return np.ones((1, 1))
    numbers, days, _ = calendar(_stages(crop))
    covers = np.zeros((12, 12), dtype=bool)
    rows = np.repeat(np.arange(12), numbers.shape[1])
    covers[rows, numbers.ravel()] = (days > 0.0).ravel()
    used = (starts[:, :, None] & covers).any(axis=1)
    length = sum(_stages(crop)) + rules.between_days
    return np.asarray(np.maximum(year_sum(used * DAYS) / length, 1.0))


def field_crop(
    rules: FieldInputs,
    crop: FieldCropInputs,
    cardinals: Cardinals,
    weather: FieldWeather,
    salt: tuple[Array, Array],
) -> tuple[Array, Array, Array]:
    """Return one crop's litres a kilogram, land a kilogram, and months to plant in.

    Parameters
    ----------
    salt : tuple of Array
        Conductivity of the source and the crop's threshold. [dS/m]
    """
    numbers, days, _ = calendar(_stages(crop))
    starts = (suited(weather, cardinals)[:, numbers] | (days == 0.0)).all(axis=2)
    count = np.sum(starts, axis=1, keepdims=True)
    _, net = season_water(rules, crop, weather)
    grown = crop.yield_season * rules.yield_level
    litres = net / _gross(rules, *salt) / grown
    if rules.planting == "best_month":
        chosen = np.min(np.where(starts, litres, np.inf), axis=1, keepdims=True)
    else:
        total = np.sum(np.where(starts, litres, 0.0), axis=1, keepdims=True)
        chosen = total / np.maximum(count, 1)
    grows = count > 0
    land = np.where(grows, 1.0 / (grown * _cycles(rules, crop, starts)), np.nan)
    return np.where(grows, chosen, np.nan), land, count.astype(np.float64)


def pond(
    rules: FieldInputs, weather: FieldWeather, open_water: Array | float, bears: tuple[Array, Array]
) -> tuple[Array, Array]:
    """Return litres and land for a kilogram of live fish from a pond; nan where fish die.

    Evaporation and seepage over the year and fillings, less the rain that falls in.

    Parameters
    ----------
    open_water : Array or float
        Evaporation of open water over the reference crop's. [1]
    bears : tuple of Array
        Coldest and warmest water that the fish bear. [degC]
    """
    lost = year_sum((weather.reference * open_water + rules.pond_seepage) * DAYS)
    filled = rules.pond_depth * rules.pond_fillings * 1000.0
    depth = np.maximum(lost + filled - year_sum(weather.rain), 0.0)
    water = np.maximum(weather.mean, UNDER_ICE)
    lives = ((water >= bears[0]) & (water <= bears[1])).all(axis=1, keepdims=True)
    return (
        np.where(lives, depth / rules.pond_yield, np.nan),
        np.where(lives, 1.0 / rules.pond_yield, np.nan),
    )
