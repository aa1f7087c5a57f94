"""How do tanks of fish move on from month to month: stocked, grown, graded out, lost.

Size is the cube root of weight [g^(1/3)], 0 where there are no fish. A tank's fish grow in
grades, the fastest first; one grade stands for a tank harvested whole. Kilograms of a cohort
run from what is stocked to what is harvested, ordinary deaths taken off on the way.
Stocked + gain - harvest - deaths = change of what stands, in every month.
"""

from dataclasses import dataclass, fields
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

    def laid_out(self, draws: int, tanks: int) -> "Cohort":
        """Return the cohort laid out for every tank: arrays of one shape pass fastest."""
        shape = (draws, tanks, self.pace.shape[2])
        each = {f.name: np.broadcast_to(getattr(self, f.name), shape) for f in fields(self)}
        return Cohort(**{name: np.ascontiguousarray(x) for name, x in each.items()})

    def standing(self, size: Array) -> Array:
        """Return kilograms that stand at sizes, by tank, (draws, tanks). [kg]"""
        each = self.spare + self.span * _cube(size)
        return of_grades(np.where(size > 0.0, each, 0.0))


@dataclass(frozen=True)
class Tanks:
    """Sizes by grade (draws, tanks, grades), and days until an empty tank is stocked."""

    size: Array
    wait: Array


@dataclass(frozen=True)
class Moved:
    """A month's kilograms by tank, (draws, tanks), and how often it was stocked.

    `deaths` are those the water killed, None where it killed none.
    """

    harvest: Array
    gain: Array
    biomass: Array
    stocked: Array | Flags
    deaths: Array | None


#: What moves where fish live.
LIVING = ("harvest", "gain", "biomass", "stocked")


def of_grades(x: Array) -> Array:
    """Sum over the grades of each tank, (draws, tanks, grades) to (draws, tanks). [same unit]"""
    return np.asarray(x[:, :, 0] if x.shape[2] == 1 else np.sum(x, axis=2))


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


@dataclass(frozen=True)
class Month:
    """A calendar month: its days, and growth of the cube root of weight laid out. [g^(1/3)/day]

    `some` says where there is any growth; `over` is growth, 1 where there is none, to divide by.
    """

    days: float
    grow: Array
    some: Flags
    over: Array


def month_of(days: float, grow: Array) -> Month:
    """Return a month of growth laid out, (draws, tanks, grades). [g^(1/3)/day]"""
    some = grow > 0.0
    return Month(days, grow, some, np.where(some, grow, 1.0)[:, :, -1])


def month_on(tanks: Tanks, month: Month, cohort: Cohort) -> tuple[Tanks, Moved]:
    """Move every tank on by a month in which the water kills nothing.

    `cohort` is laid out for every tank.

    Notes
    -----
    A tank is harvested at most once a month: a cycle is longer for any fish worth growing.
    """
    days, grow = month.days, month.grow
    occupied = tanks.size[:, :, -1] > 0.0
    stocked = ~occupied & (tanks.wait < days)
    begin = np.where(stocked[:, :, None], cohort.start, tanks.size)
    time = np.where(stocked, days - tanks.wait, days)[:, :, None]
    reach = np.where(begin > 0.0, begin + grow * time, 0.0)
    done = (reach >= cohort.end) & month.some
    grown = np.where(done, cohort.end, reach)
    gained = _cube(grown) - _cube(begin)
    last, rest = done[:, :, -1], cohort.rest[:, :, -1]
    after = np.where(last, (reach[:, :, -1] - cohort.end[:, :, -1]) / month.over, 0.0)
    size = np.where(done, 0.0, grown)
    wait = np.where(occupied | stocked, 0.0, tanks.wait - days)
    wait = np.where(last, rest - after, wait)
    times: Array | Flags = stocked
    again = last & (after > rest)
    if again.any():
        anew = again[:, :, None]
        fresh = np.where(anew, cohort.start + grow * (after - rest)[:, :, None], 0.0)
        gained = gained + anew * (_cube(fresh) - cohort.start**3)
        size, wait = np.where(anew, fresh, size), np.where(again, 0.0, wait)
        times = times + again * 1.0
    return Tanks(size, wait), Moved(
        harvest=of_grades(done * cohort.harvested),
        gain=of_grades(cohort.span * gained),
        biomass=cohort.standing(size),
        stocked=times,
        deaths=None,
    )


def killed(
    before: Tanks, moved: tuple[Tanks, Moved], lethal: Flags, cohort: Cohort, restart: Array
) -> tuple[Tanks, Moved]:
    """Return the month as it is where the water kills: what stands dies as the month begins.

    None is stocked in such a month; elsewhere the month is what moved.

    Parameters
    ----------
    lethal : boolean array, shape (draws, 1)
        Whether the water kills.
    restart : Array, shape (draws, tanks)
        Days after such a month until a tank that died is stocked again. [day]
    """
    tanks, flows = moved
    held = np.where(before.size[:, :, -1] > 0.0, restart, before.wait)
    after = Tanks(np.where(lethal[:, :, None], 0.0, tanks.size), np.where(lethal, held, tanks.wait))
    lived = {name: np.where(lethal, 0.0, getattr(flows, name)) for name in LIVING}
    return after, Moved(**lived, deaths=np.where(lethal, cohort.standing(before.size), 0.0))
