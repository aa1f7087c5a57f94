"""How many people the food served feeds, by each named ration.

A ration asks for one or more parts of food a person a day. In each month every part feeds so
many people; the fewest binds. In a project year of full production the number is the worst
month's or that of the year's mean, as the ration says. In ramp-up each month stands by itself,
but counts nobody beyond those whom the full years hold: they are the same people, begun earlier.
Years are full by `project.ramp_months`, for people as for money.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import reduce

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity, text
from sitefare.errors import AssumptionError
from sitefare.people.food import NUTRIENTS
from sitefare.people.result import Ration
from sitefare.timeline import Timeline


@inputs("ration", keyed=True, measure="share")
class RationInputs:
    """One way to count a person as fed."""

    title: str = text(doc="The ration in words, printed beside every number it gives.")
    counted: str = choice(
        "grams",
        "full_ration",
        "bed_area",
        *NUTRIENTS,
        doc="What is counted: grams of food, a full ration's energy, bed area, or one nutrient.",
    )
    months: str = choice(
        "worst_month", "year_mean", doc="Which months of a full year the number holds for."
    )
    vegetables: Array = quantity(
        "g/person/day", low=0, high=3000, varies="choice", doc="Vegetables, raw edible weight."
    )
    fish: Array = quantity(
        "g/person/day", low=0, high=2000, varies="choice", doc="Fish, raw fillet weight."
    )
    area: Array = quantity(
        "m2/person", low=0, high=1000, varies="choice", doc="Bed area a person, where counted."
    )
    share: Array = quantity(
        "1",
        low=0.001,
        high=1,
        varies="choice",
        doc="Share of what is counted that makes a person fed.",
    )


@dataclass(frozen=True)
class Supply:
    """What can be counted, life arrays (draws, months + 1) a day, and what it is set against.

    `vegetables` and `fish` are edible g/day; `nutrients` holds supply a day by nutrient;
    `need` the mean requirement per person-day; `full_ration_energy` is kcal per person-day;
    `bed_area` m2, or None where it is not known; `full` (1, years) is 1 in years of full
    production, else 0.
    """

    vegetables: Array
    fish: Array
    nutrients: Mapping[str, Array]
    need: Mapping[str, Array]
    full_ration_energy: Array
    bed_area: float | None
    full: Array


def full_years(timeline: Timeline, ramp: Array) -> Array:
    """Mark the project years of full production, (1, years): 1, else 0. [1]

    Parameters
    ----------
    timeline : Timeline
        The project's clock.
    ramp : array, shape (1, 1)
        Months from the end of building until production counts as full. [month]
    """
    marks = np.zeros((1, timeline.years + 1))
    marks[:, timeline.full_years(round(float(ramp[0, 0])))] = 1.0
    return marks[:, 1:]


def parts_of(key: str, ration: RationInputs, supply: Supply) -> dict[str, Array]:
    """Return the people that each part of a ration feeds, (draws, months + 1). [person]

    Raises
    ------
    AssumptionError
        If the ration asks for nothing that can be counted.
    """
    asked: dict[str, tuple[Array, Array]] = {}
    if ration.counted == "grams":
        asked = {
            "vegetables": (supply.vegetables, ration.vegetables),
            "fish": (supply.fish, ration.fish),
        }
    elif ration.counted == "full_ration":
        asked = {"energy": (supply.nutrients["energy"], supply.full_ration_energy)}
    elif ration.counted == "bed_area":
        begun = np.cumsum(supply.vegetables + supply.fish, axis=1) > 0
        asked = {"bed area": (begun.astype(np.float64) * (supply.bed_area or 0.0), ration.area)}
    else:
        asked = {ration.counted: (supply.nutrients[ration.counted], supply.need[ration.counted])}
    life = supply.vegetables + supply.fish
    fed = {n: s / (a * ration.share) for n, (s, a) in asked.items() if np.all(a > 0)}
    # The draws may be those of the harvest, or only of what a person needs.
    parts = {
        n: np.broadcast_to(x, np.broadcast_shapes(life.shape, x.shape)) for n, x in fed.items()
    }
    if not parts:
        msg = f"ration.{key} asks for no vegetables, fish or area: give one above 0"
        raise AssumptionError(msg)
    return parts


def year_basis(potential: Array, basis: str, days: Array) -> Array:
    """Return people a project year feeds: its worst month or its mean day, (draws, years).

    Parameters
    ----------
    potential : array, shape (draws, months + 1)
        People each month feeds. [person]
    basis : str
        `worst_month` or `year_mean`. [choice]
    days : array, shape (1, months + 1)
        Days of each month. [day/month]
    """
    months = potential[:, 1:].reshape(potential.shape[0], -1, 12)
    if basis == "worst_month":
        return np.asarray(months.min(axis=2), dtype=np.float64)
    weights = days[:, 1:].reshape(1, -1, 12) / 365.0
    return np.asarray((months * weights).sum(axis=2), dtype=np.float64)


def held(yearly: Array, full: Array) -> Array:
    """Return the people that the years of full production hold on their mean, (draws, 1).

    Parameters
    ----------
    yearly : array, shape (draws, years)
        People by project year. [person]
    full : array, shape (1, years)
        1 in years of full production, else 0. [1]
    """
    counted = np.maximum(full.sum(axis=1, keepdims=True), 1.0)
    return np.asarray((yearly * full).sum(axis=1, keepdims=True) / counted, dtype=np.float64)


def ration_fed(
    key: str, ration: RationInputs, supply: Supply, timeline: Timeline, days: Array
) -> Ration:
    """Count the people one ration feeds in each month of the life.

    Returns
    -------
    Ration
        With `persons`, (draws, months + 1), what each part alone would feed, and the part that
        binds over the first draw's full years. [person]

    Raises
    ------
    AssumptionError
        If the ration asks for nothing that can be counted.
    """
    parts = parts_of(key, ration, supply)
    yearly = {name: year_basis(each, ration.months, days) for name, each in parts.items()}
    year = reduce(np.minimum, yearly.values())
    month = np.minimum(reduce(np.minimum, parts.values()), held(year, supply.full))
    full = np.repeat(supply.full, 12, axis=1) > 0
    later = np.where(full, np.repeat(year, 12, axis=1), month[:, 1:])
    persons = np.concatenate([month[:, :1], later], axis=1)
    least = {name: float(held(each[:1], supply.full)[0, 0]) for name, each in yearly.items()}
    limiting = min(least, key=lambda name: (least[name], name))
    return Ration(ration.title, ration.months, persons * timeline.running, limiting, parts)


def used_share(ration: Ration, part: str, full: Array, days: Array) -> Array:
    """Return the share of a part's food that the people counted eat, (draws, months + 1). [1]

    By the worst month each gets the ration in every month and what is beyond it feeds nobody in
    the count; on the year's mean the ration holds on the mean day, and each month gives its part.

    Parameters
    ----------
    ration : Ration
        The ration counted.
    part : str
        One of its parts.
    full : array, shape (1, years)
        1 in years of full production, else 0; other years count by themselves. [1]
    days : array, shape (1, months + 1)
        Days of each month. [day/month]
    """
    could = ration.parts[part]
    if ration.basis == "year_mean":
        mean = np.repeat(year_basis(could, ration.basis, days), 12, axis=1)
        mean = np.where(np.repeat(full, 12, axis=1) > 0, mean, could[:, 1:])
        could = np.concatenate([could[:, :1], mean], axis=1)
    some = could > 0
    return np.where(some, np.minimum(ration.persons / np.where(some, could, 1.0), 1.0), 0.0)
