"""What share of a year's fish and crops do rare events take.

An event's occurrence is an input: its yearly chance in the base case, 0 or 1 by project year
in a draw. The same code reads both, so the base case carries the expected loss.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import (
    Values,
    build,
    build_all,
    choice,
    inputs,
    quantity,
    text,
)
from sitefare.assumptions.shocks import shock
from sitefare.farm.lifesupport import LifeSupportInputs
from sitefare.farm.supply import SupplyInputs

#: Design gust at which the storm loss of the event table holds. [m/s]
REFERENCE_WIND = 35.0

#: Reserve of air [h] and usual outage [h] at which an outage's loss of the event table holds.
REFERENCE_RESERVE, REFERENCE_OUTAGE = 4.0, 2.0


@inputs("event", keyed=True, measure="chance")
class EventInputs:
    """One rare event."""

    title: str = text(doc="The event in print.")
    hits: str = choice("fish", "crops", "both", doc="What it takes.")
    loss: Array = quantity("1", low=0, high=1, doc="Share of the year's output lost if it happens.")
    wind: Array = quantity(
        "1", low=0, high=3, doc="Power of the design gust over 35 m/s that scales the loss."
    )
    outage: Array = quantity(
        "1", low=0, high=3, doc="Power of outages that outlast the reserve, which scales the loss."
    )
    chance: Array = quantity("1/year", low=0, high=1, doc="Chance in any year.")


def outlasting(supply: SupplyInputs, life_support: LifeSupportInputs) -> Array:
    """Return outages that outlast the reserve of air over those of the event table, 0.25 to 4. [1]

    Lengths of outages are taken as exponential round the usual one; a farm whose main supply is
    a generator stands at 1.
    """
    if supply.main == "generator":
        return np.ones((1, 1))
    held = life_support.reserve / 60.0 / supply.outage_hours
    return np.clip(np.exp(REFERENCE_RESERVE / REFERENCE_OUTAGE - held), 0.25, 4.0)


def effective_loss(
    event: EventInputs, gust: Array, storm_share: Array, outlasts: Array | float = 1.0
) -> Array:
    """Return the share of a year's output an event takes at this place and house. [1]

    A loss that grows with wind is scaled by the design gust [m/s] and by how far the house
    shields what is inside, 1 for a film house; one of an outage by how many outlast the reserve.
    """
    strength = np.clip((gust / REFERENCE_WIND) ** event.wind, 0.25, 4.0)
    shielded = np.where(event.wind > 0.0, storm_share, 1.0)
    return np.clip(event.loss * strength * shielded * outlasts**event.outage, 0.0, 1.0)


def _outlasts(values: Values) -> Array:
    """Return outages that outlast the reserve over those of the event table. [1]"""
    return outlasting(build(SupplyInputs, values), build(LifeSupportInputs, values))


def effective_losses(values: Values, gust: Array, storm_share: Array) -> dict[str, float]:
    """Return by event the share of a year's output it takes here, at base, for print. [1]"""
    outlasts = _outlasts(values)
    return {
        key: float(effective_loss(event, gust, storm_share, outlasts)[0, 0])
        for key, event in build_all(EventInputs, values).items()
    }


def kept_shares(values: Values, gust: Array, storm_share: Array) -> dict[str, Array]:
    """Return the share of output kept after events, for fish and crops, (draws, months + 1). [1]"""
    kept = {"fish": np.ones((1, 1)), "crops": shock(values, "crops_kept")}
    outlasts = _outlasts(values)
    for key, event in build_all(EventInputs, values).items():
        occurs = values.get(f"occurrence.{key}", event.chance)
        if isinstance(occurs, str):
            continue
        left = 1.0 - occurs * effective_loss(event, gust, storm_share, outlasts)
        kept = {
            what: share * left if event.hits in {what, "both"} else share
            for what, share in kept.items()
        }
    return kept
