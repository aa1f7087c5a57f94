"""How far do three typical days a month stray from every hour of the weather file?

The design runs the file's 8,760 hours through the same house at base values, once. What each
month takes then is kept beside what its typical days take, and every draw's typical month is
brought to it: multiplied by full ÷ reduced as far as that is near 1, the rest added. So a month
in which typical days take nothing, or nearly nothing, gets what the full run takes and no
factor that a draw could blow up.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sitefare.arrays import Array
from sitefare.farm.parts import Parts
from sitefare.farm.result import Scale
from sitefare.farm.season import Season, Sizes, season_of

#: Figures of the season that are brought to the full run.
SCALED = ("air_heat", "cooling_heat", "fan_air", "pad_water")

#: Least and most that a month is multiplied by; beyond, the difference is added. Measured: wider
#: spans do worse away from base, and none keeps no proportion (tests/benchmarks). [1]
LEAST, MOST = 0.75, 4.0 / 3.0


def scales(parts: Parts, sizes: Sizes) -> Mapping[str, Scale]:
    """Return the scale of each figure from base values; none where there is no weather file."""
    if parts.weather_year is None:
        return {}
    every = season_of(replace(parts, weather=parts.weather_year), sizes)
    typical = season_of(parts, sizes)
    return {name: scale(getattr(every, name), getattr(typical, name)) for name in SCALED}


def scale(full: Array, reduced: Array) -> Scale:
    """Return what brings a reduced month to the full one; both (1, 12) at base. [same unit]"""
    whole = np.where(reduced > 0.0, full / np.where(reduced > 0.0, reduced, 1.0), 1.0)
    factor = np.clip(whole, LEAST, MOST)
    added = full - factor * reduced
    return Scale(_twelve(factor), _twelve(added))


def _twelve(season: Array) -> tuple[float, ...]:
    """Return a season of one draw as twelve numbers. [same unit]"""
    return tuple(float(x) for x in np.broadcast_to(season, (1, 12))[0])


def scaled(season: Season, scales: Mapping[str, Scale]) -> Season:
    """Return a season with each scaled figure brought to the full run, never below 0."""
    found: dict[str, Array] = {
        name: np.maximum(getattr(season, name) * np.array(s.factor) + np.array(s.added), 0.0)
        for name, s in scales.items()
    }
    return replace(season, **found)  # type: ignore[arg-type]
