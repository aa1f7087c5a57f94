"""What people need in a day: the mean requirement of the population the farm serves.

Requirements are per person and day by group of age and sex; the population's table gives the
people in each group, or a head count of everybody is spread by a standard profile. Infants
under one are not counted: they are breastfed.
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
from sitefare.people.energy import energy_required, lifestyle
from sitefare.people.food import NUTRIENTS

#: Groups that have a row of requirements, and what they are called.
GROUP_WORDS = {
    "child_1_3": "child of 1 to 3",
    "child_4_6": "child of 4 to 6",
    "child_7_9": "child of 7 to 9",
    "girl_10_18": "girl of 10 to 18",
    "boy_10_18": "boy of 10 to 18",
    "woman": "woman of 19 to 50",
    "pregnant_woman": "pregnant woman",
    "lactating_woman": "breastfeeding woman",
    "man": "man of 19 to 50",
    "woman_51_65": "woman of 51 to 65",
    "man_51_65": "man of 51 to 65",
    "woman_over_65": "woman over 65",
    "man_over_65": "man over 65",
}
GROUPS = tuple(GROUP_WORDS)

#: A line of the population that counts people of all ages, spread by the standard profile.
EVERYBODY = "everybody"

#: Group of the profile that is not counted.
INFANT = "infant"

#: Food energy of fat, Atwater general factor. [kcal/g]
FAT_ENERGY = 9.0

#: Bioavailability at which requirements of iron and of zinc are entered. [1]
IRON_ENTERED_AT = 0.10
ZINC_ENTERED_AT = 0.30

#: Requirements taken from their rows as they stand.
_AS_ENTERED = ("vitamin_a", "vitamin_c", "folate", "vitamin_b12", "calcium")

#: What stands in for a figure that the tables do not give.
IRON_STAND_IN = (
    "The tables set no iron requirement for pregnancy and advise supplements; the figure of other "
    "women stands in."
)


@inputs("need", keyed=True)
class NeedInputs:
    """Requirement of one person a day, by group; iron at 10 %, zinc at 30 % bioavailability."""

    weight: Array = quantity("kg", low=8, high=110, doc="Mean body weight of the group.")
    energy_laid_down: Array = quantity(
        "kcal/person/day", low=0, high=900, doc="Energy for growth, for pregnancy or for milk."
    )
    protein_per_weight: Array = quantity(
        "g/kg/day", low=0.5, high=1.5, doc="Safe level of protein per kg of body weight."
    )
    protein_added: Array = quantity(
        "g/person/day", low=0, high=40, doc="Safe level of protein for pregnancy or for milk."
    )
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
    zinc: Array = quantity(
        "mg/person/day", low=1, high=50, doc="Zinc, at moderate (30 %) bioavailability."
    )


@inputs("population", keyed=True, measure="persons")
class PopulationInputs:
    """One group of the people to be served."""

    group: str = choice(
        *GROUPS,
        EVERYBODY,
        doc="Group of requirements it belongs to, or everybody for a head count of all ages.",
        fact="required",
    )
    sex: str = choice("female", "male", "both", doc="Sex of the group.", fact="required")
    age: str = text(doc="Age band in words.", fact="required")
    persons: Array = quantity(
        "person", low=0, high=1e8, varies="choice", doc="People in the group.", fact="required"
    )


@inputs("profile", keyed=True)
class ProfileInputs:
    """How people of all ages spread over the groups where only a head count is known."""

    share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Share of all people, infants among them."
    )


@inputs("activity")
class ActivityInputs:
    """How hard the adults of the place live and work."""

    adult: Array = quantity(
        "1", low=1.2, high=2.4, doc="Physical activity level of adults, times basal metabolism."
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
    zinc_bioavailability: Array = quantity(
        "1", low=0.05, high=0.6, doc="Share of dietary zinc that the body takes up."
    )


@dataclass(frozen=True)
class Need:
    """Mean requirement of the population, by nutrient (draws, 1), and each group's own.

    `mean` and `groups` are per person and day, in the units of the requirement rows; `persons`
    is the population (draws, 1), `counts` the people in each group.
    """

    mean: Mapping[str, Array]
    groups: Mapping[str, Mapping[str, Array]]
    persons: Array
    counts: Mapping[str, Array]


def requirement(
    name: str, group: NeedInputs, diet: DietInputs, activity: ActivityInputs
) -> dict[str, Array]:
    """Return a group's requirement by nutrient.

    Energy and protein follow body weight (`energy`; WHO/FAO/UNU 2007). Fat is a share of energy
    at 9 kcal/g. Iron and zinc are inverse to bioavailability, as the printed columns are
    (WHO/FAO 2004, Annex 1: iron at 5, 10, 12 and 15 %; zinc at 15, 30 and 50 %).

    Returns
    -------
    dict of array, shape (draws, 1)
        Per person and day. [unit/person/day]
    """
    energy = energy_required(name, group.weight, group.energy_laid_down, activity.adult)
    found = {
        "energy": energy,
        "protein": group.weight * group.protein_per_weight + group.protein_added,
        "fat": energy * diet.fat_energy_share / FAT_ENERGY,
        "iron": group.iron * IRON_ENTERED_AT / diet.iron_bioavailability,
        "zinc": group.zinc * ZINC_ENTERED_AT / diet.zinc_bioavailability,
    } | {nutrient: getattr(group, nutrient) for nutrient in _AS_ENTERED}
    return {nutrient: found[nutrient] for nutrient in NUTRIENTS}


def profile_of(values: Values, persons: Array) -> dict[str, Array]:
    """Spread a head count of all ages over the groups by the standard profile.

    Parameters
    ----------
    values : mapping
        Resolved values of one case, by name.
    persons : array, shape (draws, 1)
        People of all ages, infants among them. [person]

    Returns
    -------
    dict of array, shape (draws, 1)
        People by group; infants under one are left out. [person]
    """
    shares = {name: one.share for name, one in build_all(ProfileInputs, values).items()}
    total = sum(shares.values(), start=np.zeros((1, 1)))
    return {name: persons * share / total for name, share in shares.items() if name != INFANT}


def head_counts(values: Values) -> dict[str, Array]:
    """Count the people of each group of the population's table, (draws, 1). [person]

    Raises
    ------
    AssumptionError
        If the population table is empty.
    """
    people = build_all(PopulationInputs, values)
    if not people:
        msg = "population has no rows: give persons by group in population.csv"
        raise AssumptionError(msg)
    counts: dict[str, Array] = {}
    for one in people.values():
        spread = one.group == EVERYBODY
        parts = profile_of(values, one.persons) if spread else {one.group: one.persons}
        for name, persons in parts.items():
            counts[name] = counts.get(name, np.zeros((1, 1))) + persons
    return counts


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
    counts = head_counts(values)
    persons = sum(counts.values(), start=np.zeros((1, 1)))
    if np.any(persons <= 0):
        msg = "population counts nobody: give persons above 0 for at least one group"
        raise AssumptionError(msg)
    diet, activity = build(DietInputs, values), build(ActivityInputs, values)
    groups = {
        name: requirement(name, build(NeedInputs, values, name), diet, activity) for name in counts
    }
    weights = [(groups[name], count / persons) for name, count in counts.items()]
    mean = {n: sum(w * need[n] for need, w in weights) for n in NUTRIENTS}
    return Need({n: np.asarray(x) for n, x in mean.items()}, groups, persons, counts)


def basis_notes(values: Values) -> tuple[str, ...]:
    """Return the sentences that say what the requirements rest on, first draw.

    They stand in every output in place of any earlier word on a stand-in.
    """
    diet, adult = build(DietInputs, values), float(build(ActivityInputs, values).adult[0, 0])
    counts = head_counts(values)
    said = [
        (
            "Energy requirements follow the FAO/WHO/UNU equations (2004) from body weight, at a "
            f"physical activity level of adults of {adult:.2f} ({lifestyle(adult)} activity); "
            "children are taken as moderately active."
        ),
        (
            f"Of the diet's iron {float(diet.iron_bioavailability[0, 0]):.0%} and of its zinc "
            f"{float(diet.zinc_bioavailability[0, 0]):.0%} are taken up."
        ),
    ]
    if np.any(counts.get("pregnant_woman", np.zeros((1, 1))) > 0):
        said.append(IRON_STAND_IN)
    return tuple(said)
