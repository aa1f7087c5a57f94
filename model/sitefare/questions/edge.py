"""Which alternatives are beaten on both counts at once: people fed, and what a person-day costs?

One is dominated where another feeds as many for less, or more for no more. Those that nobody
dominates make the efficient edge: along it more people cost more each. An alternative that feeds
nobody has no cost and is never on it; equal ones stand on it together.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array
from sitefare.questions.comparing import Compared
from sitefare.questions.lines import Line

#: The two counts: what a person-day costs (less is better), and people fed (more is better).
COST, PEOPLE = "cost_per_person_day", "people_fed"

#: Draws sorted together. [1]
CHUNK = 256

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class OnEdge:
    """One alternative beside the edge at base, and its chance of being on it over common draws.

    `cost` in USD a person-day, inf where nobody is fed. `by` are those on the edge that dominate
    it, cheapest first; `chance` is None without draws.
    """

    line: Line
    people: float
    cost: float
    on_edge: bool
    by: tuple[Line, ...]
    chance: float | None


def efficient(cost: Array, people: Array) -> Flags:
    """Say which are on the edge of each draw, the same shape.

    Parameters
    ----------
    cost : array, shape (draws, lines)
        What a person-day costs; nan or inf where nobody is fed. [money/person/day]
    people : array, shape (draws, lines)
        People fed. [person]
    """
    cost = np.where(np.isnan(cost), np.inf, cost)
    order = np.lexsort((-people, cost), axis=1)
    c, p = (np.take_along_axis(x, order, axis=1) for x in (cost, people))
    most = np.maximum.accumulate(p, axis=1)
    place = np.broadcast_to(np.arange(c.shape[1]), c.shape)
    new = np.concatenate([np.ones((len(c), 1), bool), c[:, 1:] != c[:, :-1]], axis=1)
    start = np.maximum.accumulate(np.where(new, place, 0), axis=1)
    before = np.concatenate([np.full((len(c), 1), -np.inf), most[:, :-1]], axis=1)
    cheaper = np.take_along_axis(before, start, axis=1)
    found = (p > cheaper) & (p == most) & np.isfinite(c) & (p > 0)
    made = np.empty(found.shape, dtype=np.bool_)
    np.put_along_axis(made, order, found, axis=1)
    return made


def edge(compared: Compared) -> tuple[OnEdge, ...]:
    """Return every alternative whose gates are open beside the efficient edge, in order."""
    lines = compared.ranked
    if not lines:
        return ()
    cost = np.array([[line.usd(COST) for line in lines]])
    cost = np.where(np.isnan(cost), np.inf, cost)
    people = np.array([[line.usd(PEOPLE) for line in lines]])
    on = efficient(cost, people)[0]
    chance = _chances(lines)
    return tuple(
        OnEdge(
            line,
            float(people[0, i]),
            float(cost[0, i]),
            bool(on[i]),
            _dominating(lines, cost[0], people[0], on, i),
            None if chance is None else float(chance[i]),
        )
        for i, line in enumerate(lines)
    )


def _chances(lines: Sequence[Line]) -> Array | None:
    """Return the share of draws in which each is on the edge, (lines,)."""
    if any(name not in line.draws for line in lines for name in (COST, PEOPLE)):
        return None
    cost, people = (
        np.stack([line.usd_draws(name) for line in lines], axis=1) for name in (COST, PEOPLE)
    )
    on = [efficient(cost[i : i + CHUNK], people[i : i + CHUNK]) for i in range(0, len(cost), CHUNK)]
    return np.asarray(np.concatenate(on).mean(axis=0))


def _dominating(
    lines: Sequence[Line], cost: Array, people: Array, on: Flags, i: int
) -> tuple[Line, ...]:
    """Return those on the edge that dominate one, cheapest first."""
    no_worse = (cost <= cost[i]) & (people >= people[i])
    better = (cost < cost[i]) | (people > people[i])
    found = np.flatnonzero(on & no_worse & better).tolist()
    return tuple(lines[j] for j in sorted(found, key=lambda j: (cost[j], lines[j].name)))
