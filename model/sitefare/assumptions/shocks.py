"""What may a stress test lay over a case, month by month?

A shock is a value of its own, `shock.NAME`, (draws, months + 1) or (draws, 1), beside the rows;
no table holds one. Where none is laid its neutral value stands, which changes nothing.
Prices are shocked by laying a path in place of their row's value.
"""

import numpy as np

from sitefare.arrays import Array, value
from sitefare.assumptions.declaration import Values

#: Shocks by name, with the value that changes nothing.
NEUTRAL = {
    # Share of the fish tanks that lose all fish; none is stocked in that month.
    "fish_killed": 0.0,
    # Share of the feed asked that is there to be fed.
    "feed_there": 1.0,
    # Share of the crop that is kept.
    "crops_kept": 1.0,
    # Local money for a unit of foreign money over what the base expects.
    "exchange": 1.0,
    # Share of what grants owe in the month that is held back until a later one.
    "grants_held": 0.0,
}


def shock(values: Values, name: str) -> Array:
    """Return a shock's path, or its neutral value, (draws, months + 1) or (draws, 1). [1]"""
    found = values.get(f"shock.{name}")
    return value(NEUTRAL[name]) if found is None or isinstance(found, str) else found


def along(x: Array, months: int) -> Array:
    """Lay a shock along the life, (draws, months + 1). [same unit]"""
    return np.broadcast_to(x, (x.shape[0], months + 1))
