"""What share of each requirement the harvest covers, by calendar month and by group."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, day_mean
from sitefare.timeline import Timeline


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
