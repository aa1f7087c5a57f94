"""How far do three typical days a month stray from every hour of the weather file?

The design runs the file's 8,760 hours through the same house at base values, once, and keeps
what each month takes beside what its typical days take. A draw's typical month r is brought to
the full run by r + (full − reduced) × min(1, r ÷ reduced): where a draw takes less than the base
it is multiplied by full ÷ reduced, where it takes more it keeps the base's difference, because
that comes from the mild hours, which a hungrier month leaves as they are. A month in which
typical days take nothing takes what the full run takes, and more if the draw's do; a crop
grows in no month in which its typical days are too cold, hot or dark to plant.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sitefare.arrays import Array
from sitefare.farm.parts import Parts
from sitefare.farm.result import Scale
from sitefare.farm.season import Season, Sizes, season_of

#: Figures of the season that are brought to the full run, beside the growth of each crop.
SCALED = ("air_heat", "cooling_heat", "fan_air", "pad_water")


def scales(parts: Parts, sizes: Sizes) -> Mapping[str, Scale]:
    """Return the scale of each figure from base values; none where there is no weather file."""
    if parts.weather_year is None:
        return {}
    every = season_of(replace(parts, weather=parts.weather_year), sizes)
    typical = season_of(parts, sizes)
    figures = {name: (getattr(every, name), getattr(typical, name)) for name in SCALED}
    grown = {
        f"crop.{k}": (np.where(s.growth > 0.0, every.crops[k].growth, 0.0), s.growth)
        for k, s in typical.crops.items()
    }
    return {
        name: Scale(_twelve(full), _twelve(reduced))
        for name, (full, reduced) in {**figures, **grown}.items()
    }


def _twelve(season: Array) -> tuple[float, ...]:
    """Return a season of one draw as twelve numbers. [same unit]"""
    return tuple(float(x) for x in np.broadcast_to(season, (1, 12))[0])


def brought(typical: Array, scale: Scale) -> Array:
    """Return a typical season (draws, 12) brought to the full run. [same unit]"""
    full, reduced = np.array(scale.full), np.array(scale.reduced)
    taken = reduced > 1e-9  # noqa: PLR2004
    share = np.where(taken, typical / np.where(taken, reduced, 1.0), 1.0)
    return np.asarray(typical + (full - reduced) * np.minimum(share, 1.0))


def scaled(season: Season, scales: Mapping[str, Scale]) -> Season:
    """Return a season brought to the full run."""
    if not scales:
        return season
    found = {name: brought(getattr(season, name), scales[name]) for name in SCALED}
    crops = {
        key: replace(s, growth=brought(s.growth, scales[f"crop.{key}"]) * s.grows)
        for key, s in season.crops.items()
    }
    return replace(season, crops=crops, **found)  # type: ignore[arg-type]
