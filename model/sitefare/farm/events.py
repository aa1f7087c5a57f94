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


def kept_shares(values: Values, gust: Array) -> dict[str, Array]:
    """Return the share of output kept after events, for fish and crops, (draws, months + 1). [1]"""
    kept = {"fish": np.ones((1, 1)), "crops": np.ones((1, 1))}
    for key, event in build_all(EventInputs, values).items():
        occurs = values.get(f"occurrence.{key}", event.chance)
        if isinstance(occurs, str):
            continue
        strength = np.clip((gust / REFERENCE_WIND) ** event.wind, 0.25, 4.0)
        left = 1.0 - occurs * np.clip(event.loss * strength, 0.0, 1.0)
        kept = {
            what: share * left if event.hits in {what, "both"} else share
            for what, share in kept.items()
        }
    return kept
