"""What share of each requirement the harvest covers, by calendar month and by group.

The pipeline needs the mean of the people fed; what each group gets in each month is worked out
from a finished appraisal, for those who ask (`group_coverage_by_month`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sitefare.arrays import Array, day_mean
from sitefare.people.need import Need
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: How the food of those fed is shared: the same to each, or by each one's need of energy.
Sharing = Literal["equal", "by_energy"]

#: Cover of the mean need below which the harvest practically cannot give a nutrient. [1]
HARDLY_ANY = 0.10


@dataclass(frozen=True)
class Diet:
    """What those fed on one ration eat, by calendar month of full years, (draws, 12).

    `grams` edible g/day by food for all of them; `eaten` g of vegetables and of fish a person
    and day; `nutrients` a person and day; `coverage` share of the mean need; `groups` share of
    each group's own need on the year's mean, (draws, 1).
    """

    persons: Array
    grams: Mapping[str, Array]
    eaten: Mapping[str, Array]
    nutrients: Mapping[str, Array]
    coverage: Mapping[str, Array]
    groups: Mapping[str, Mapping[str, Array]]


def full_season(flow: Array, full: Array, timeline: Timeline) -> Array:
    """Average a life over the same calendar month of full years, January first, (draws, 12).

    Parameters
    ----------
    flow : array, shape (draws, months + 1)
        A rate or a count by month. [same unit]
    full : array, shape (draws, years)
        1 for years of full production, else 0. [1]
    timeline : Timeline
        The clock.

    Returns
    -------
    array, shape (draws, 12)
        The mean; 0 where there is no full year. [same unit]
    """
    months = flow[:, 1:].reshape(flow.shape[0], -1, 12)
    counted = np.maximum(full.sum(axis=1, keepdims=True), 1.0)
    mean = (months * full[:, :, None]).sum(axis=1) / counted
    return np.asarray(mean[:, np.argsort(timeline.calendar[1:13])], dtype=np.float64)


def per_person(amount: Array, persons: Array) -> Array:
    """Divide by people, 0 where there are none. [same unit/person]"""
    shape = np.broadcast_shapes(amount.shape, persons.shape)
    return np.divide(amount, persons, out=np.zeros(shape), where=persons > 0)


def covered(supply: Mapping[str, Array], need: Mapping[str, Array]) -> dict[str, Array]:
    """Return supply per person over need, by nutrient. [1]

    Parameters
    ----------
    supply : mapping of array, shape (draws, 12)
        Nutrient a person and day. [unit/person/day]
    need : mapping of array, shape (draws, 1)
        Requirement. [unit/person/day]
    """
    return {name: each / need[name] for name, each in supply.items()}


def group_cover(
    supply: Mapping[str, Array], groups: Mapping[str, Mapping[str, Array]]
) -> dict[str, dict[str, Array]]:
    """Return the year's mean cover of each group's own need by an equal share, (draws, 1). [1]"""
    mean = {name: day_mean(each) for name, each in supply.items()}
    return {group: covered(mean, need) for group, need in groups.items()}


@dataclass(frozen=True)
class GroupCoverage:
    """Cover of each group's own requirements for the people fed, by calendar month.

    `share` holds group, then nutrient: (draws, 12), January first, not capped; `adequacy` by
    group: the mean over nutrients of shares capped at 1 (the mean adequacy ratio), (draws, 12).
    `sharing` says how the food is divided.
    """

    share: Mapping[str, Mapping[str, Array]]
    adequacy: Mapping[str, Array]
    sharing: Sharing


@dataclass(frozen=True)
class Least:
    """The group and calendar month (0 is January) with the least cover, and the share there."""

    group: str
    month: int
    share: float


def supply_per_person(fed: PeopleFed, need: Need) -> dict[str, Array]:
    """Return what each person fed gets of each nutrient a day by an equal share.

    Returns
    -------
    dict of array, shape (draws, 12)
        By calendar month of full years, for the headline ration. [unit/person/day]
    """
    return {name: cover * need.mean[name] for name, cover in fed.coverage.items()}


def capped_mean(share: Mapping[str, Array]) -> Array:
    """Return the mean adequacy ratio: the mean of shares, none counting above 1. [1]

    More than enough of one nutrient never makes up for too little of another.
    """
    capped = [np.minimum(each, 1.0) for each in share.values()]
    total: Array = sum(capped[1:], start=capped[0])
    return total / len(capped)


def group_coverage_by_month(
    fed: PeopleFed, need: Need, sharing: Sharing = "equal"
) -> GroupCoverage:
    """Return the share of each requirement covered, for each group in each month.

    By `equal` each person gets the same, as a general ration is handed out; by `by_energy` each
    gets by the energy he or she needs, as a household's pot is shared: a child then gets less
    than a man, and everyone covers the same share of energy.

    Parameters
    ----------
    fed : PeopleFed
        Who is fed, from an appraisal.
    need : Need
        Requirements of the same case, from `population_need`.
    sharing : str
        `equal` or `by_energy`. [choice]

    Returns
    -------
    GroupCoverage
        Every group that lives there. [1]
    """
    each = supply_per_person(fed, need)
    share = {}
    for group, own in need.groups.items():
        part = own["energy"] / need.mean["energy"] if sharing == "by_energy" else 1.0
        share[group] = {name: supply * part / own[name] for name, supply in each.items()}
    return GroupCoverage(share, {g: capped_mean(s) for g, s in share.items()}, sharing)


def _least(by_group: Mapping[str, Array], draw: int) -> Least:
    """Find the lowest share over groups and months of one draw."""
    found = [
        Least(group, int(np.argmin(x[draw])), float(np.min(x[draw])))
        for group, x in by_group.items()
    ]
    return min(found, key=lambda one: one.share)


def least_covered(coverage: GroupCoverage, draw: int = 0) -> dict[str, Least]:
    """Name for each nutrient the group and the month with the least cover, one draw. [1]"""
    nutrients = next(iter(coverage.share.values()))
    return {
        name: _least({g: s[name] for g, s in coverage.share.items()}, draw) for name in nutrients
    }


def least_adequate(coverage: GroupCoverage, draw: int = 0) -> Least:
    """Name the group and the month with the lowest mean adequacy ratio, one draw. [1]"""
    return _least(coverage.adequacy, draw)


def out_of_reach(fed: PeopleFed, draw: int = 0, below: float = HARDLY_ANY) -> tuple[str, ...]:
    """Name the nutrients of which those fed get hardly any on the year's mean.

    Parameters
    ----------
    fed : PeopleFed
        Who is fed, with the cover of the population's mean need.
    draw : int
        Which draw. [1]
    below : float
        Share of the need that counts as hardly any. [1]
    """
    mean = {name: float(day_mean(cover)[draw, 0]) for name, cover in fed.coverage.items()}
    return tuple(name for name, share in mean.items() if share < below)
