"""How much do crops grow in each month, as light, warmth, salt and nutrients let them?

What events and a new team take off the harvest stands apart, as shares kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values
from sitefare.farm import crops, cycles, energy, events, nutrients
from sitefare.farm.fish import FishPath
from sitefare.farm.parts import Parts
from sitefare.farm.season import Season
from sitefare.timeline import Timeline


@dataclass(frozen=True)
class Grown:
    """Crops and nutrients by month, before events: kilograms and counts."""

    kilograms: dict[str, Array]
    plants: dict[str, Array]
    balances: dict[str, nutrients.Balance]
    potassium: Array
    fed: Array


def kept_shares(values: Values, parts: Parts, timeline: Timeline) -> dict[str, Array]:
    """Return the share of fish and crops kept after events, as a new team reaches it. [1]"""
    kept = events.kept_shares(values, parts.place.design_wind, parts.house.storm_share)
    learnt = _learning(parts, timeline)
    return {what: share * learnt for what, share in kept.items()}


def _learning(parts: Parts, timeline: Timeline) -> Array:
    """Return the share of full yield a new team reaches. [1]"""
    since = timeline.month - timeline.construction
    first, second = parts.production.learning_year_1, parts.production.learning_year_2
    return np.where(since <= 12, first, np.where(since <= 24, second, 1.0))  # noqa: PLR2004


def grown(
    parts: Parts,
    season: Season,
    fish: FishPath,
    volume: float,
    timeline: Timeline,
    salt_kept: Mapping[str, Array],
) -> Grown:
    """Return crops by month as light, warmth, salt [1] and nutrients in the water [m3] allow."""
    planted = timeline.construction + parts.production.planting_days / MEAN_MONTH
    on = np.clip(timeline.month[None, :] - planted, 0.0, 1.0)
    growth = {
        k: timeline.life(s.growth) * on * parts.production.crop_year_factor * salt_kept[k]
        for k, s in season.crops.items()
    }
    demand = {
        "nitrogen": energy.total(
            {k: growth[k] * s.inputs.nitrogen for k, s in season.crops.items()}
        ),
        "phosphorus": energy.total(
            {k: growth[k] * s.inputs.phosphorus for k, s in season.crops.items()}
        ),
    }
    balances = nutrients.nutrient_balances(parts.nutrients, parts.species, fish, demand, volume)
    fed = nutrients.fed_share(balances)
    return Grown(
        kilograms={
            k: cycles.harvest(
                growth[k] * fed, (s.speed, s.cut), s.inputs.days_to_harvest, planted, timeline
            )
            for k, s in season.crops.items()
        },
        plants={k: timeline.life(crops.plants_started(s)) * on for k, s in season.crops.items()},
        balances=balances,
        potassium=energy.total(
            {k: growth[k] * fed * s.inputs.potassium for k, s in season.crops.items()}
        ),
        fed=fed,
    )
