"""What people need in a day: the mean requirement of the population the farm serves.

Requirements are per person and day by group of age and sex; the population's table gives the
weight of each group. Infants under one are not counted: they are breastfed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import (
    Values,
    build,
    build_all,
    choice,
    inputs,
    quantity,
    text,
)
from sitefare.errors import AssumptionError
from sitefare.people.food import NUTRIENTS

#: Groups that have a row of requirements.
GROUPS = (
    "child_1_3",
    "child_4_6",
    "child_7_9",
    "girl_10_18",
    "boy_10_18",
    "woman",
    "pregnant_woman",
    "lactating_woman",
    "man",
    "woman_over_50",
    "man_over_50",
)

#: Food energy of fat, Atwater general factor. [kcal/g]
FAT_ENERGY = 9.0

#: Bioavailability at which iron requirements are entered. [1]
IRON_ENTERED_AT = 0.10


@inputs("need", keyed=True)
class NeedInputs:
    """Requirement of one person a day, by group; iron at 10 % bioavailability."""

    energy: Array = quantity("kcal/person/day", low=500, high=5000, doc="Food energy required.")
    protein: Array = quantity("g/person/day", low=5, high=150, doc="Safe level of protein.")
    vitamin_a: Array = quantity(
        "ug/person/day", low=100, high=3000, doc="Vitamin A, retinol equivalents."
    )
    vitamin_c: Array = quantity("mg/person/day", low=5, high=300, doc="Vitamin C.")
    folate: Array = quantity("ug/person/day", low=50, high=1500, doc="Folate equivalents.")
    vitamin_b12: Array = quantity("ug/person/day", low=0.1, high=20, doc="Vitamin B12.")
    calcium: Array = quantity("mg/person/day", low=100, high=3000, doc="Calcium.")
    iron: Array = quantity(
        "mg/person/day", low=1, high=150, doc="Iron, at 10 % bioavailability of the diet."
    )
    zinc: Array = quantity("mg/person/day", low=1, high=50, doc="Zinc, moderate bioavailability.")


@inputs("population", keyed=True, measure="persons")
class PopulationInputs:
    """One group of the people to be served."""

    group: str = choice(*GROUPS, doc="Group of requirements it belongs to.", fact="required")
    sex: str = choice("female", "male", "both", doc="Sex of the group.", fact="required")
    age: str = text(doc="Age band in words.", fact="required")
    persons: Array = quantity(
        "person", low=0, high=1e8, varies="choice", doc="People in the group.", fact="required"
    )


@inputs("diet")
class DietInputs:
    """What holds for the whole diet rather than for a group."""

    fat_energy_share: Array = quantity(
        "1", low=0.05, high=0.6, doc="Share of required energy that fat should give."
    )
    iron_bioavailability: Array = quantity(
        "1", low=0.02, high=0.3, doc="Share of dietary iron that the body takes up."
    )


@dataclass(frozen=True)
class Need:
    """Mean requirement of the population, by nutrient (draws, 1), and each group's own.

    `mean` and `groups` are per person and day, in the units of the requirement rows; `persons`
    is the population (draws, 1).
    """

    mean: Mapping[str, Array]
    groups: Mapping[str, Mapping[str, Array]]
    persons: Array


def requirement(group: NeedInputs, diet: DietInputs) -> dict[str, Array]:
    """Return a group's requirement by nutrient, fat and iron worked out from the diet.

    Fat from its share of energy (9 kcal/g); iron is inverse to bioavailability, as the tables
    at 5 and 10 % are (FAO/WHO 2001, Appendix 1).

    Returns
    -------
    dict of array, shape (draws, 1)
        Per person and day. [unit/person/day]
    """
    found = {name: getattr(group, name) for name in NUTRIENTS if name != "fat"}
    found["fat"] = group.energy * diet.fat_energy_share / FAT_ENERGY
    found["iron"] = group.iron * IRON_ENTERED_AT / diet.iron_bioavailability
    return {name: found[name] for name in NUTRIENTS}


def population_need(values: Values) -> Need:
    """Weigh the groups' requirements by the people in them.

    Returns
    -------
    Need
        Mean and by group. [unit/person/day]

    Raises
    ------
    AssumptionError
        If the population table is empty or counts nobody.
    """
    people = build_all(PopulationInputs, values)
    if not people:
        msg = "population has no rows: give persons by group in population.csv"
        raise AssumptionError(msg)
    diet = build(DietInputs, values)
    names = dict.fromkeys(one.group for one in people.values())
    groups = {name: requirement(build(NeedInputs, values, name), diet) for name in names}
    persons = sum((one.persons for one in people.values()), start=np.zeros((1, 1)))
    if np.any(persons <= 0):
        msg = "population counts nobody: give persons above 0 for at least one group"
        raise AssumptionError(msg)
    weights = [(one.group, one.persons / persons) for one in people.values()]
    mean = {n: sum(w * groups[g][n] for g, w in weights) for n in NUTRIENTS}
    return Need({n: np.asarray(x) for n, x in mean.items()}, groups, persons)
