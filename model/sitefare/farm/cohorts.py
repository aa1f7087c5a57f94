"""How do tanks of fish move on from month to month: stocked, grown, graded out, lost.

Size is the cube root of weight [g^(1/3)], 0 where there are no fish. A tank's fish grow in
grades, the fastest first; one grade stands for a tank harvested whole. Kilograms of a cohort
run from what is stocked to what is harvested, ordinary deaths taken off on the way.
Stocked + gain - harvest - deaths = change of what stands, in every month.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Cohort:
    """What a tank's grades start, end, weigh and wait, (draws, 1, 1); their pace of growth.

    Cube roots of weight [g^(1/3)], kilograms of one grade, days of rest between cohorts, and
    pace (draws, 1, grades), the fastest grade first. [1]
    """

    start: Array
    end: Array
    stocked: Array
    harvested: Array
    rest: Array
    pace: Array

    @cached_property
    def span(self) -> Array:
        """Kilograms of a grade per cubed growth. [kg/g]"""
        cubes = np.maximum(self.end**3 - self.start**3, 1e-6)
        return np.asarray((self.harvested - self.stocked) / cubes)

    @cached_property
    def spare(self) -> Array:
        """Kilograms of a grade stocked beyond what its span gives a fish of that size. [kg]"""
        return np.asarray(self.stocked - self.span * self.start**3)

    def standing(self, size: Array) -> Array:
        """Return kilograms that stand at sizes, by tank, (draws, tanks). [kg]"""
        each = self.spare + self.span * _cube(size)
        return np.asarray(np.sum(np.where(size > 0.0, each, 0.0), axis=2))


@dataclass(frozen=True)
class Tanks:
    """Sizes by grade (draws, tanks, grades), and days until an empty tank is stocked."""

    size: Array
    wait: Array


@dataclass(frozen=True)
class Moved:
    """A month's kilograms by tank, (draws, tanks), and how often it was stocked."""

    harvest: Array
    gain: Array
    biomass: Array
    stocked: Array
    deaths: Array


def _cube(x: Array) -> Array:
    """Return x³; a power costs twenty times three factors. [unit³]"""
    return x * x * x


def paces(days: Array, months: float, month_days: float) -> Array:
    """Return the pace of each grade, (draws, 1, grades): graded out one a month about the mean.

    `days` (draws, 1) the mean fish takes; a grade leaves that many days sooner or later.
    """
    grades = round(months)
    later = (np.arange(grades) - (grades - 1) / 2.0) * month_days
    mean = np.minimum(days, 1e5)[:, :, None]
    return np.asarray(mean / np.maximum(mean + later, 0.5 * mean))


def peak_share(cohort: Cohort) -> Array:
    """Return the most that stands in a tank over what is harvested from it, (draws, 1). [1]

    Reached when a grade is about to leave; 1 for a tank harvested whole.
    """
    leaves = 1.0 / cohort.pace
    stands = []
    for grade in range(cohort.pace.shape[2]):
        grown = cohort.pace[:, :, grade:] * leaves[:, :, grade : grade + 1]
        size = cohort.start + (cohort.end - cohort.start) * np.minimum(grown, 1.0)
        stands.append(cohort.standing(size))
    all_fish = cohort.harvested[:, :, 0] * cohort.pace.shape[2]
    return np.asarray(np.max(np.stack(stands), axis=0) / all_fish)


def month_on(
    tanks: Tanks, rate: Array, days: float, lethal: Flags, cohort: Cohort, restart: Array
) -> tuple[Tanks, Moved]:
    """Move every tank on by a month of `days`.

    Parameters
    ----------
    rate : Array, shape (draws, 1)
        Growth of the cube root of weight. [g^(1/3)/day]
    lethal : boolean array, shape (draws, 1)
        Whether the water kills: what stands dies as the month begins, none is stocked in it.
    restart : Array, shape (draws, tanks)
        Days after such a month until a tank that died is stocked again. [day]

    Notes
    -----
    A tank is harvested at most once a month: a cycle is longer for any fish worth growing.
    """
    occupied = tanks.size[:, :, -1] > 0.0
    deaths = np.where(lethal, cohort.standing(tanks.size), 0.0)
    size = np.where(lethal[:, :, None], 0.0, tanks.size)
    stocked = ~occupied & (tanks.wait < days) & ~lethal
    begin = np.where(stocked[:, :, None], cohort.start, size)
    there = begin > 0.0
    grow = rate[:, :, None] * cohort.pace
    time = np.where(stocked, days - tanks.wait, days)[:, :, None]
    reach = begin + np.where(there, grow * time, 0.0)
    done = there & (reach >= cohort.end) & (grow > 0.0)
    grown = np.where(done, cohort.end, reach)
    last = done[:, :, -1]
    slow = np.where(grow[:, :, -1] > 0.0, grow[:, :, -1], 1.0)
    after = np.where(last, (reach[:, :, -1] - cohort.end[:, :, 0]) / slow, 0.0)
    rest = cohort.rest[:, :, 0]
    again = (last & (after > rest))[:, :, None]
    fresh = np.where(again, cohort.start + grow * (after - rest)[:, :, None], 0.0)
    gain = cohort.span * (_cube(grown) - _cube(begin) + again * (_cube(fresh) - cohort.start**3))
    size = np.where(again, fresh, np.where(done, 0.0, grown))
    emptied = last & ~again[:, :, 0]
    idle = np.where(occupied | stocked, 0.0, tanks.wait - days)
    held = np.where(occupied, restart, tanks.wait)
    wait = np.where(lethal, held, np.where(emptied, rest - after, idle))
    moved = Moved(
        harvest=np.sum(done * cohort.harvested, axis=2),
        gain=np.sum(gain, axis=2),
        biomass=cohort.standing(size),
        stocked=stocked + again[:, :, 0] * 1.0,
        deaths=deaths,
    )
    return Tanks(size, wait), moved
