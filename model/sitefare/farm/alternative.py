"""Does the farm take less water and land than a field here would for the same harvest?

The farm's water is all it takes from the source, for crops and fish together; the field's is
irrigation of the crops alone, and a pond for the fish stands beside. Neither is claimed: a farm
that lets go of much water against salt may well take more, and then says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import air, evapotranspiration, field
from sitefare.farm.field import Cardinals, FieldWeather
from sitefare.farm.parts import Parts
from sitefare.farm.season import Season

#: Share of the harvest from which a field grows as good as all of it. [1]
WHOLE = 0.995


@dataclass(frozen=True)
class FieldAlternative:
    """The field and the pond for a kilogram, (draws, 1); nan where nothing grows.

    Irrigation water by the chosen plantings, and the pond's [L/kg]; land held for a year
    [m2 year/kg]; months of the year in which the crop can be planted [1].
    """

    litres_per_kg: Mapping[str, Array]
    land_per_kg: Mapping[str, Array]
    planting_months: Mapping[str, Array]
    pond_litres_per_kg: Array


@dataclass(frozen=True)
class Compared:
    """A farm beside the field, (draws, 1); nan where there is no answer.

    `covered` is the share of the crops' weight that a field here can grow; the farm's water and
    ground are counted in that share. `saved` holds all the farm's water, fish and crops
    together, against the field; `saved_with_fish` against the field and a pond.
    """

    water: Array
    land: Array
    covered: Array
    saved: Array
    saved_with_fish: Array
    land_saved: Array


def field_weather(parts: Parts, season: Season) -> FieldWeather:
    """Return a typical year out of doors at the place."""
    half, mean = parts.climate.temperature_range / 2.0, season.outdoor
    vapour = parts.climate.humidity * air.mean_saturation(mean + half, mean - half)
    driest = 100.0 * vapour / air.saturation_pressure(mean + half)
    wind = evapotranspiration.wind_at_two_metres(parts.climate.wind)
    rain, reference = parts.climate.rain, season.field_reference
    return FieldWeather(reference, rain, mean, mean - half, mean + half, wind, driest)


def field_alternative(parts: Parts, season: Season) -> FieldAlternative:
    """Return what a kilogram of each crop, and of fish, takes out of doors at the place."""
    weather, fish = field_weather(parts, season), parts.species
    found = {
        key: field.field_crop(
            parts.field,
            parts.field_crops[key],
            Cardinals(
                crop.lethal_low,
                crop.temperature_least,
                crop.temperature_low,
                crop.temperature_high,
                crop.temperature_most,
                parts.production.least_response,
            ),
            weather,
            (
                parts.source.conductivity,
                parts.tolerance[key].threshold * parts.salinity.threshold_error,
            ),
        )
        for key, (crop, _) in parts.crops.items()
    }
    bears = (fish.lethal_low, fish.lethal_high)
    water, _ = field.pond(parts.field, weather, field.POND_WATER, bears)
    litres, ground, months = ({key: x[i] for key, x in found.items()} for i in range(3))
    return FieldAlternative(litres, ground, months, water)


def _summed(each: Mapping[str, Array], kilograms: Mapping[str, Array]) -> Array:
    """Sum a figure a kilogram over the crops that have one. [unit of the figure × kg]"""
    parts = (np.where(np.isfinite(x), x, 0.0) * kilograms[k] for k, x in each.items())
    return sum(parts, np.zeros((1, 1)))


def _ratio(top: Array, bottom: Array) -> Array:
    """Divide; nan where there is nothing to divide by."""
    return np.where(bottom > 0.0, top / np.where(bottom > 0.0, bottom, 1.0), np.nan)


def compared(
    found: FieldAlternative,
    crops: Mapping[str, Array],
    fish: Array,
    makeup: Array,
    footprint: float,
) -> Compared:
    """Set a farm's year beside the field's; the farm may well take more.

    Parameters
    ----------
    crops : Mapping
        Marketable crop by kind. [kg/year]
    fish, makeup : Array
        Live fish [kg/year], and all water from the source, fish's and crops' [m3/year].
    footprint : float
        Ground the farm takes. [m2]
    """
    water = _summed(found.litres_per_kg, crops) / 1000.0
    land = _summed(found.land_per_kg, crops)
    grows = {k: np.where(np.isfinite(x), 1.0, 0.0) for k, x in found.litres_per_kg.items()}
    covered = _ratio(_summed(grows, crops), sum(crops.values(), np.zeros((1, 1))))
    some = covered > 0.0
    ponds = found.pond_litres_per_kg * fish / 1000.0
    taken = makeup * covered
    return Compared(
        water=np.where(some, water, np.nan),
        land=np.where(some, land, np.nan),
        covered=covered,
        saved=1.0 - _ratio(taken, water),
        saved_with_fish=1.0 - _ratio(taken, np.where(np.isfinite(ponds), water + ponds, 0.0)),
        land_saved=np.where(some, land - footprint * covered, np.nan),
    )


def indicators(
    found: Compared,
    crops: Mapping[str, Array],
    fish: Array,
    makeup: Array,
    laid: tuple[Array, Array],
) -> dict[str, Array]:
    """Return the farm's water a kilogram, and the comparison, by indicator; (draws, 1).

    Parameters
    ----------
    crops, fish : Mapping, Array
        Marketable crop by kind and live fish. [kg/year]
    makeup : Array
        Water from the source. [m3/year]
    laid : tuple of Array
        All water, rain with it, as laid to crops and to fish. [m3/year]
    """
    weight = sum(crops.values(), np.zeros((1, 1)))
    bought = _ratio(makeup, laid[0] + laid[1])
    return {
        "litres_per_kg_crop": 1000.0 * _ratio(laid[0] * bought, weight),
        "litres_per_kg_fish": 1000.0 * _ratio(laid[1] * bought, fish),
        "field_water_m3_year": found.water,
        "water_saved_share": found.saved,
        "water_saved_with_fish_share": found.saved_with_fish,
        "land_saved_m2": found.land_saved,
    }


def reasons(found: Compared) -> dict[str, str]:
    """Say why the first draw has no answer, by indicator."""
    said = {}
    none = "no crop of the plan has a season out of doors here"
    if not np.isfinite(found.water[0, 0]):
        said = dict.fromkeys(("field_water_m3_year", "water_saved_share", "land_saved_m2"), none)
    elif not np.isfinite(found.saved[0, 0]):
        said["water_saved_share"] = "rain alone waters the field"
    if not np.isfinite(found.saved_with_fish[0, 0]):
        pond = "the fish do not live all year in a pond here"
        said["water_saved_with_fish_share"] = said.get("water_saved_share", pond)
    return said


def sentence(found: Compared) -> str:
    """Say how the first draw's farm stands beside the field, saving or not."""
    saved, covered = float(found.saved[0, 0]), float(found.covered[0, 0])
    if not np.isfinite(saved):
        return "No field here grows the same crops with irrigation: no water is said to be saved."
    part = "" if covered > WHOLE else f" for the {covered:.0%} of the harvest a field here can grow"
    land = float(found.land_saved[0, 0])
    ground = f"{abs(land):,.0f} m2 {'less' if land >= 0.0 else 'more'} land"
    less = f"{abs(saved):.0%} {'less' if saved >= 0.0 else 'more'} water than"
    beside = less if abs(saved) > 1.0 - WHOLE else "as much water as"
    return (
        f"Counting all its water, fish's with the crops', the farm takes {beside} irrigation of a "
        f"field here would{part}, and {ground}."
    )


def seasons_named(found: FieldAlternative, titles: Mapping[str, str]) -> list[str]:
    """Say which crops the first draw cannot grow in a field here."""
    none = [titles[k] for k, x in found.planting_months.items() if float(x[0, 0]) == 0.0]
    if not none:
        return []
    who = ", ".join(none)
    return [f"{who}: no season out of doors here, so no field to set the farm's water against."]
