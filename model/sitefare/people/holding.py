"""What holds the number of people fed down, and in which months?

The count of the worst month is kept; beside it stand the part and the months that bind and what
the year's mean would hold. All of it is said of the first draw, and none of it is an indicator.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.people.rations import held, year_basis
from sitefare.people.result import PeopleFed, Ration
from sitefare.timeline import Timeline

#: How near to the least a month must lie to bind with it. [1]
NEAR = 1.01

#: Share of the full years in which a month must bind to be called its own. [1]
USUAL = 0.5


@dataclass(frozen=True)
class Holding:
    """Why a ration feeds no more, in the full years of the first draw.

    `months` are calendar months, 0 for January, that bind in at least half of the full years;
    `other` those that bind in some. `least` and `mean` are people by the worst month and by the
    year's mean; `parts` holds both for what each part alone would feed. [person]
    """

    part: str
    basis: str
    months: tuple[int, ...]
    other: tuple[int, ...]
    least: float
    mean: float
    parts: Mapping[str, tuple[float, float]]


def holding(ration: Ration, full: Array, timeline: Timeline) -> Holding:
    """Say what binds a ration, when, and what the year's mean would hold.

    Parameters
    ----------
    ration : Ration
        The ration, with what each part alone would feed by month.
    full : array, shape (1, years)
        1 in years of full production, else 0. [1]
    timeline : Timeline
        The project's clock.
    """
    days = DAYS[timeline.calendar][None, :]
    could = {name: each[:1] * timeline.running for name, each in ration.parts.items()}
    parts = {name: _two(each, full, days) for name, each in could.items()}
    worst = min(parts, key=lambda name: (parts[name][0], name))
    mean = min(parts, key=lambda name: (parts[name][1], name))
    by_worst = ration.basis == "worst_month"
    usual, other = _months(could, full, timeline) if by_worst else ((), ())
    least = np.minimum.reduce([year_basis(x, "worst_month", days) for x in could.values()])
    return Holding(
        worst if by_worst else mean,
        ration.basis,
        usual,
        other,
        float(held(least, full)[0, 0]),
        parts[mean][1],
        parts,
    )


def _two(could: Array, full: Array, days: Array) -> tuple[float, float]:
    """Return people by the worst month and by the mean of full years."""
    least, mean = (
        float(held(year_basis(could, basis, days), full)[0, 0])
        for basis in ("worst_month", "year_mean")
    )
    return least, mean


def _months(
    could: Mapping[str, Array], full: Array, timeline: Timeline
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the calendar months that bind in at least half of the full years, and in others."""
    month = np.minimum.reduce(list(could.values()))[0, 1:].reshape(-1, 12)
    years = month[full[0] > 0]
    if not len(years):
        return (), ()
    binds = (years <= years.min(axis=1, keepdims=True) * NEAR + 1e-9).mean(axis=0)
    named = sorted(zip(timeline.calendar[1:13].tolist(), binds.tolist(), strict=True))
    usual = tuple(m for m, share in named if share >= USUAL)
    return usual, tuple(m for m, share in named if 0 < share < USUAL)


def poorest_year(ration: Ration, full: Array) -> tuple[int, dict[str, Array]]:
    """Return the full year whose worst month feeds fewest, and its months by part, (12,).

    Returns
    -------
    tuple of int and dict of array
        Project year, and people that each part alone would feed in its months, in the order of
        the project's months. [year, person]
    """
    parts = {name: each[0, 1:].reshape(-1, 12) for name, each in ration.parts.items()}
    least = np.minimum.reduce(list(parts.values())).min(axis=1)
    year = int(np.argmin(np.where(full[0] > 0, least, np.inf)))
    return year + 1, {name: each[year] for name, each in parts.items()}


def counted(fed: PeopleFed, ration: str = "") -> float:
    """Return the people of a ration, the headline's unless named, in full years. [person]"""
    months = fed.rations[ration or fed.headline].persons[:1, 1:].reshape(-1, 12)
    return float(held(months.mean(axis=1)[None, :], fed.full)[0, 0])
