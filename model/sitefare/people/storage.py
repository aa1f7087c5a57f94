"""How far a harvest carries over to the months after it.

Food set aside in a month is eaten evenly over a window of months that starts with it; what
waits loses a share a month. A window of 1 is no carry-over. A gap longer than the window stays a
real zero.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity


@inputs("storage")
class StorageInputs:
    """Windows and losses of carry-over; months count the harvest month itself as 1."""

    vegetables_window: Array = quantity(
        "month", low=1, high=12, doc="Months over which a month's vegetables are eaten."
    )
    vegetables_loss: Array = quantity(
        "1", low=0, high=1, doc="Share of waiting vegetables lost in each month of waiting."
    )
    fish_window: Array = quantity(
        "month", low=1, high=12, doc="Months over which a month's fish is eaten, frozen or live."
    )
    fish_loss: Array = quantity(
        "1", low=0, high=1, doc="Share of waiting fish lost in each month of waiting."
    )


@dataclass(frozen=True)
class Stored:
    """Life arrays (draws, months + 1): released and spoiled in the month, held at its end. [kg]"""

    released: Array
    spoiled: Array
    held: Array


def earlier(flow: Array, months: int) -> Array:
    """Return a life flow `months` months late, 0 before it began. [same unit]"""
    if months == 0:
        return flow
    late = np.zeros_like(flow)
    late[:, months:] = flow[:, :-months]
    return late


def stored(flow: Array, window: Array, loss: Array) -> Stored:
    """Spread each month's food over its window; released + spoiled + change in held = flow.

    Parameters
    ----------
    flow : array, shape (draws, months + 1)
        Food put by in each month. [kg/month]
    window : array, shape (draws, 1)
        Months of eating, at least 1; a part of a month counts as that part. [month]
    loss : array, shape (draws, 1)
        Share of what waits that is lost each month. [1/month]

    Returns
    -------
    Stored
        Released, spoiled and held food. [kg]
    """
    released, spoiled, held = (np.zeros_like(flow) for _ in range(3))
    waiting = np.ones_like(window)
    for age in range(min(int(np.ceil(np.max(window))), flow.shape[1])):
        batch = earlier(flow, age)
        sound = waiting * (1.0 - loss) ** age
        if age > 0:
            spoiled = spoiled + batch * (waiting * loss * (1.0 - loss) ** (age - 1))
        share = np.clip(window - age, 0.0, 1.0) / window
        eaten = share * (1.0 - loss) ** age
        released = released + batch * eaten
        held = held + batch * np.maximum(sound - eaten, 0.0)
        waiting = np.maximum(waiting - share, 0.0)
    return Stored(released, spoiled, held)
