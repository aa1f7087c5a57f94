"""How are months named, and how is a life's last year laid out as a typical year?"""

import numpy as np

from sitefare.arrays import Array
from sitefare.timeline import Timeline

#: January to December in print.
NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def last_year(flow: Array, timeline: Timeline) -> Array:
    """Return a life's last twelve months, January first: (draws, months + 1) to (draws, 12)."""
    order = np.argsort(timeline.calendar[-12:])
    return np.asarray(
        np.broadcast_to(flow, (flow.shape[0], timeline.months + 1))[:, -12:][:, order]
    )


def named(months: list[int]) -> str:
    """Name months, 0 for January."""
    return "any month" if len(months) == len(NAMES) else ", ".join(NAMES[m] for m in months)
