"""How much do lenders want set aside for debt service, and when?

The debt-service reserve account holds the payments of the next months from the end of building
on, filled at once or evenly over the first months of operation; it falls as the debt does and
is released with the last payment. It is the owner's money, held apart from free cash.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.money.project import whole
from sitefare.timeline import Timeline


@inputs("debt_reserve")
class ReserveInputs:
    """The debt-service reserve account."""

    months: Array = quantity(
        "month", low=0, high=36, varies="choice", doc="Debt service held in the reserve account."
    )
    filling: Array = quantity(
        "month",
        low=0,
        high=120,
        varies="choice",
        doc="Filling of the reserve account, months of operation; 0 when building ends.",
    )


def reserve(terms: ReserveInputs, service: Array, timeline: Timeline) -> Array:
    """Return the balance of the account at month ends, (draws, months + 1). [money]"""
    ahead = min(whole(terms.months), timeline.months)
    if ahead == 0:
        return np.zeros(service.shape)
    # Payments of the months after t up to t + ahead.
    paid = np.cumsum(service, axis=1)
    later = np.minimum(timeline.month + ahead, timeline.months)
    asked = np.maximum(paid[:, later] - paid, 0.0)
    age = timeline.month - timeline.construction
    filled = np.clip(age / max(whole(terms.filling), 1), 0.0, 1.0)
    if whole(terms.filling) == 0:
        filled = (age >= 0).astype(np.float64)
    held: Array = asked * filled[None, :]
    held[:, -1] = 0.0
    return held
