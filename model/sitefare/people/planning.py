"""What does the humanitarian planning ration ask for, and what is it adjusted by?

The figures of the Sphere Handbook (2018, appendix on nutritional requirements) are minima of a
whole population in light activity at 20 degC. They stand beside the groups' own requirements
(`need`) and never take their place: no one person's need is the population's mean.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array, day_mean
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.people.fed import PeopleInputs
from sitefare.people.need import Need
from sitefare.people.result import PeopleFed

#: Mean daily temperature below which the planning energy rises. [degC]
COLD_BELOW = 20.0

#: Energy added a person for each degree below it: 100 kcal for 5 K (WFP/UNHCR 1997, Annex II).
COLD_ENERGY = 20.0

#: Energy added for a whole population by the adults' activity (WFP/UNHCR 1997, Annex II).
ACTIVITY_ENERGY: Mapping[str, float] = {"light": 0.0, "moderate": 140.0, "vigorous": 350.0}


@inputs("planning")
class PlanningInputs:
    """Planning ration of a population a person and day, its energy apart."""

    protein: Array = quantity("g/person/day", low=20, high=150, varies="choice", doc="Protein.")
    fat: Array = quantity("g/person/day", low=10, high=150, varies="choice", doc="Fat.")
    vitamin_a: Array = quantity(
        "ug/person/day", low=100, high=3000, varies="choice", doc="Vitamin A."
    )
    vitamin_c: Array = quantity("mg/person/day", low=5, high=300, varies="choice", doc="Vitamin C.")
    folate: Array = quantity(
        "ug/person/day", low=50, high=1500, varies="choice", doc="Folate equivalents."
    )
    vitamin_b12: Array = quantity(
        "ug/person/day", low=0.1, high=20, varies="choice", doc="Vitamin B12."
    )
    calcium: Array = quantity("mg/person/day", low=100, high=3000, varies="choice", doc="Calcium.")
    iron: Array = quantity("mg/person/day", low=1, high=150, varies="choice", doc="Iron.")
    zinc: Array = quantity("mg/person/day", low=1, high=50, varies="choice", doc="Zinc.")


def planning_need(values: Values) -> dict[str, Array]:
    """Return the planning ration by nutrient, energy first, (draws, 1). [unit/person/day]"""
    planning = build(PlanningInputs, values)
    energy = build(PeopleInputs, values).full_ration_energy
    return {"energy": energy, **vars(planning)}


def planning_coverage(
    fed: PeopleFed, need: Need, planning: Mapping[str, Array]
) -> dict[str, Array]:
    """Return what share of the planning ration the people fed get, by calendar month.

    Parameters
    ----------
    fed : PeopleFed
        Coverage of the population's mean need.
    need : Need
        That mean need.
    planning : mapping of array, shape (draws, 1)
        The planning ration, from `planning_need`. [unit/person/day]

    Returns
    -------
    dict of array, shape (draws, 12)
        By nutrient, in the planning ration's order. [1]
    """
    return {n: fed.coverage[n] * need.mean[n] / asked for n, asked in planning.items()}


def cold_energy(temperature: Array) -> Array:
    """Return the planning energy added in the cold.

    Parameters
    ----------
    temperature : array
        Mean daily temperature. [degC]

    Returns
    -------
    array
        Same shape: 100 kcal for each 5 K below 20 degC. [kcal/person/day]
    """
    return np.maximum(COLD_BELOW - temperature, 0.0) * COLD_ENERGY


def planning_words(
    planning: Mapping[str, Array], need: Need, temperature: Array, activity: str
) -> tuple[str, ...]:
    """Say what the planning ration is, and how far this place lies from what it assumes.

    Parameters
    ----------
    planning : mapping of array
        The planning ration. [unit/person/day]
    need : Need
        The population's own mean need.
    temperature : array, shape (draws, 12)
        Mean temperature outdoors by calendar month. [degC]
    activity : str
        Lifestyle of the adults: light, moderate or vigorous. [choice]
    """
    energy, own = float(planning["energy"][0, 0]), float(need.mean["energy"][0, 0])
    added_cold = cold_energy(temperature)
    cold, most = float(day_mean(added_cold)[0, 0]), float(added_cold[0].max())
    said = [
        (
            f"The planning ration is {energy:,.0f} kcal, {float(planning['protein'][0, 0]):.0f} g "
            f"of protein and {float(planning['fat'][0, 0]):.0f} g of fat a person a day: a whole "
            "population's mean in light activity at 20 degC, not one person's need."
        ),
        f"From its groups, weights and activity this population needs {own:,.0f} kcal.",
    ]
    if most > 0.0:
        said.append(
            "The planning energy rises by 100 kcal for each 5 K below 20 degC: here by "
            f"{cold:,.0f} kcal on the year's mean and {most:,.0f} kcal in the coldest month, where "
            "shelter and clothing do not make up for it."
        )
    added = ACTIVITY_ENERGY[activity]
    if added > 0.0:
        said.append(
            f"With {activity} activity of adults it rises by about {added:,.0f} kcal for the whole "
            "population."
        )
    return tuple(said)
