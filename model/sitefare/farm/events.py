"""What share of a year's fish and crops do rare events take.

An event's occurrence is an input: its yearly chance in the base case, 0 or 1 by project year
in a draw. The same code reads both, so the base case carries the expected loss.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build_all, choice, inputs, quantity, text

#: Design gust at which the storm loss of the event table holds. [m/s]
REFERENCE_WIND = 35.0


@inputs("event", keyed=True, measure="chance")
class EventInputs:
    """One rare event."""

    title: str = text(doc="The event in print.")
    hits: str = choice("fish", "crops", "both", doc="What it takes.")
    loss: Array = quantity("1", low=0, high=1, doc="Share of the year's output lost if it happens.")
    wind: Array = quantity(
        "1", low=0, high=3, doc="Power of the design gust over 35 m/s that scales the loss."
    )
    chance: Array = quantity("1/year", low=0, high=1, doc="Chance in any year.")


def effective_loss(event: EventInputs, gust: Array, storm_share: Array) -> Array:
    """Return the share of a year's output an event takes at this place and house. [1]

    A loss that grows with wind is scaled by the design gust [m/s] and by how far the house
    shields what is inside, 1 for a film house.
    """
    strength = np.clip((gust / REFERENCE_WIND) ** event.wind, 0.25, 4.0)
    shielded = np.where(event.wind > 0.0, storm_share, 1.0)
    return np.clip(event.loss * strength * shielded, 0.0, 1.0)


def effective_losses(values: Values, gust: Array, storm_share: Array) -> dict[str, float]:
    """Return by event the share of a year's output it takes here, at base, for print. [1]"""
    return {
        key: float(effective_loss(event, gust, storm_share)[0, 0])
        for key, event in build_all(EventInputs, values).items()
    }


def kept_shares(values: Values, gust: Array, storm_share: Array) -> dict[str, Array]:
    """Return the share of output kept after events, for fish and crops, (draws, months + 1). [1]"""
    kept = {"fish": np.ones((1, 1)), "crops": np.ones((1, 1))}
    for key, event in build_all(EventInputs, values).items():
        occurs = values.get(f"occurrence.{key}", event.chance)
        if isinstance(occurs, str):
            continue
        left = 1.0 - occurs * effective_loss(event, gust, storm_share)
        kept = {
            what: share * left if event.hits in {what, "both"} else share
            for what, share in kept.items()
        }
    return kept
