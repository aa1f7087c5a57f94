"""How much food energy does a person need, from body weight, age, sex and activity?

Children: energy spent, from a regression on weight, plus energy laid down in growth. Adults:
basal metabolism from weight, times the level of physical activity, plus what pregnancy or milk
takes. FAO/WHO/UNU 2004, Human energy requirements: ch. 4 (children), Table 5.2 (adults).
"""

from collections.abc import Mapping

from sitefare.arrays import Array

#: Basal metabolism of adults by sex and age band: slope [kcal/kg/day], constant [kcal/day].
BASAL: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "female": {"18_29": (14.818, 486.6), "30_59": (8.126, 845.6), "60_on": (9.082, 658.5)},
    "male": {"18_29": (15.057, 692.2), "30_59": (11.472, 873.1), "60_on": (11.711, 587.7)},
}

#: Energy spent by children of 1 to 18: constant, per kg, per kg squared. [kcal/day]
SPENT: Mapping[str, tuple[float, float, float]] = {
    "female": (263.4, 65.3, -0.454),
    "male": (310.2, 63.3, -0.263),
}

#: By how much children in their second year spend less than the regression. [1]
SECOND_YEAR_LESS = 0.07

#: Children: the sexes in a group.
CHILDREN: Mapping[str, tuple[str, ...]] = {
    "child_1_3": ("female", "male"),
    "child_4_6": ("female", "male"),
    "child_7_9": ("female", "male"),
    "girl_10_18": ("female",),
    "boy_10_18": ("male",),
}

#: Share of the years of age in a group that are the second year of life. [1]
SECOND_YEAR: Mapping[str, float] = {"child_1_3": 1 / 3}

#: Share of the years of age of 19 to 50 and of 51 to 65 that lie in each age band. [1]
_19_TO_50 = {"18_29": 11 / 32, "30_59": 21 / 32}
_51_TO_65 = {"30_59": 9 / 15, "60_on": 6 / 15}

#: Adults: sex and age bands of a group.
ADULTS: Mapping[str, tuple[str, Mapping[str, float]]] = {
    "woman": ("female", _19_TO_50),
    "pregnant_woman": ("female", _19_TO_50),
    "lactating_woman": ("female", _19_TO_50),
    "man": ("male", _19_TO_50),
    "woman_51_65": ("female", _51_TO_65),
    "man_51_65": ("male", _51_TO_65),
    "woman_over_65": ("female", {"60_on": 1.0}),
    "man_over_65": ("male", {"60_on": 1.0}),
}

#: Lower end of each class of lifestyle, as a multiple of basal metabolism. [1]
LIFESTYLES: Mapping[str, float] = {"light": 1.40, "moderate": 1.70, "vigorous": 2.00}


def basal_metabolism(sex: str, band: str, weight: Array) -> Array:
    """Return an adult's energy at rest. [kcal/person/day]

    Parameters
    ----------
    sex : str
        `female` or `male`. [choice]
    band : str
        Age band: `18_29`, `30_59` or `60_on`. [choice]
    weight : array
        Body weight. [kg]
    """
    slope, constant = BASAL[sex][band]
    return slope * weight + constant


def child_expenditure(sex: str, weight: Array) -> Array:
    """Return the energy a child of 2 to 18 spends in a moderately active life, growth apart.

    Parameters
    ----------
    sex : str
        `female` or `male`. [choice]
    weight : array
        Body weight. [kg]

    Returns
    -------
    array
        Same shape as the weight. [kcal/person/day]
    """
    constant, linear, square = SPENT[sex]
    return constant + linear * weight + square * weight**2


def energy_required(group: str, weight: Array, laid_down: Array, activity: Array) -> Array:
    """Return a group's mean energy requirement.

    A group of both sexes is their mean; an adult group weighs the age bands by years of age. A
    group of several years is taken at its mean weight, which is at most 1.4 % above the mean of
    the years' own figures, in adolescents.

    Parameters
    ----------
    group : str
        A group of requirements. [choice]
    weight : array, shape (draws, 1)
        Mean body weight. [kg]
    laid_down : array, shape (draws, 1)
        Energy for growth, for pregnancy or for milk. [kcal/person/day]
    activity : array, shape (draws, 1)
        Physical activity level of adults. [1]

    Returns
    -------
    array, shape (draws, 1)
        Requirement. [kcal/person/day]
    """
    if group in CHILDREN:
        sexes = CHILDREN[group]
        spent = sum((child_expenditure(s, weight) for s in sexes), start=weight * 0.0) / len(sexes)
        return spent * (1.0 - SECOND_YEAR_LESS * SECOND_YEAR.get(group, 0.0)) + laid_down
    sex, bands = ADULTS[group]
    basal = sum(
        (share * basal_metabolism(sex, band, weight) for band, share in bands.items()),
        start=weight * 0.0,
    )
    return basal * activity + laid_down


def lifestyle(activity: float) -> str:
    """Name the lifestyle of a physical activity level; below the classes it is `light` too."""
    reached = [name for name, low in LIFESTYLES.items() if activity >= low]
    return reached[-1] if reached else "light"
