"""What would feed more people by the headline ration, from the same harvest?

Each change is worked out for this farm: fish kept longer, fish harvested more evenly, vegetables
put by. None of it is done in draws.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array, value
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.result import FarmFlows
from sitefare.people.fed import people_fed
from sitefare.people.holding import counted
from sitefare.people.storage import StorageInputs
from sitefare.timeline import Timeline

#: Longest carry-over tried for vegetables that are put by. [month]
PUT_BY = 3.0

#: How much more must be fed for a change to be told. [1]
TOLD = 1.02


@dataclass(frozen=True)
class Lift:
    """One change that would feed more by the headline ration: in words, and people fed then."""

    words: str
    people: float


def lifts(
    values: Values, flows: FarmFlows, timeline: Timeline, bed_area: float
) -> tuple[Lift, ...]:
    """Return what would feed more by the headline ration, each worked out for this farm.

    Parameters
    ----------
    values : mapping
        Resolved values at base.
    flows : FarmFlows
        The farm's flows at base.
    timeline : Timeline
        The project's clock.
    bed_area : float
        Bed area of the design. [m2]

    Returns
    -------
    tuple of Lift
        Changes that feed at least 2 % more, most people first.
    """
    store = build(StorageInputs, values)
    window = float(store.fish_window[0, 0])
    longer = min(2.0 * window, 12.0)
    frozen = {"storage.fish_window": value(longer)}
    put_by = {"storage.vegetables_window": value(PUT_BY)}
    spread = replace(flows, fish_live_kg=_evened(flows.fish_live_kg, timeline))
    tried: list[tuple[str, Mapping[str, Array], FarmFlows]] = [
        (f"fish kept frozen for {longer:.0f} months in place of {window:.0f}", frozen, flows),
        ("as much fish, harvested every month alike (more and smaller cohorts)", {}, spread),
        (f"vegetables put by over {PUT_BY:.0f} months, at the losses given", put_by, flows),
    ]

    def people(changed: Mapping[str, Array], of: FarmFlows) -> float:
        fed = people_fed({**values, **changed}, of, timeline, bed_area=bed_area)
        return counted(fed)

    now = people({}, flows)
    found = [Lift(words, people(changed, of)) for words, changed, of in tried]
    told = [lift for lift in found if lift.people > max(now * TOLD, 1e-9)]
    return tuple(sorted(told, key=lambda lift: -lift.people))


def _evened(flow: Array, timeline: Timeline) -> Array:
    """Spread each project year's harvest over its months from the first harvest on. [kg/month]"""
    begun = (np.cumsum(flow, axis=1) > 0).astype(np.float64)
    months = begun[:, 1:].reshape(len(flow), -1, 12)
    year = flow[:, 1:].reshape(len(flow), timeline.years, 12).sum(axis=2, keepdims=True)
    open_months = np.maximum(months.sum(axis=2, keepdims=True), 1.0)
    return np.concatenate([flow[:, :1], (months * year / open_months).reshape(len(flow), -1)], 1)
