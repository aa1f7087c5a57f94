"""Which figures are alternatives compared by, in what unit, and which way is better?

Those of the data dictionary, and two that only a comparison asks: the cost of a person-day over
the local price of the same food, and the yearly subsidy for each person fed.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.files import nearest
from sitefare.errors import RunError
from sitefare.questions.dictionary import INDICATORS, Indicator

#: The measure that ranks sites: cost over the local price of the same food. [1]
RATIO = "cost_over_alternative"

#: Subsidy a year after the grant over people fed. [money/person/year]
SUBSIDY = "subsidy_year_per_person"

#: Figures that only a comparison asks.
COMPARED: dict[str, Indicator] = {
    RATIO: Indicator(
        "Cost over the local price",
        "1",
        "cost per person-day over the price of the same food bought locally",
        "less",
    ),
    SUBSIDY: Indicator(
        "Subsidy a year for each person fed",
        "money/person/year",
        "subsidy a year after the grant over people fed; never where nobody is fed",
        "less",
    ),
}


def ratio_of(indicators: Mapping[str, Array]) -> Array:
    """Return cost per person-day over the alternative's, (draws, 1). [1]"""
    alternative = indicators["alternative_cost_person_day"]
    cost = indicators["cost_per_person_day"]
    known = alternative > 0
    return np.where(known, cost / np.where(known, alternative, 1.0), np.nan)


def subsidy_of(indicators: Mapping[str, Array]) -> Array:
    """Return the yearly subsidy for each person fed, (draws, 1); inf where nobody is fed."""
    people = np.asarray(indicators["people_fed"])
    fed = people > 0
    yearly = indicators["subsidy_year_after_grant"]
    return np.where(fed, yearly / np.where(fed, people, 1.0), np.inf)


def parts_of(name: str) -> tuple[str, ...]:
    """Name the indicators of an appraisal that a figure is made of."""
    if name == RATIO:
        return ("cost_per_person_day", "alternative_cost_person_day")
    return ("subsidy_year_after_grant", "people_fed") if name == SUBSIDY else (name,)


def made_of(name: str, indicators: Mapping[str, Array]) -> Array:
    """Return a figure from its parts, (draws, 1)."""
    if name == RATIO:
        return ratio_of(indicators)
    return subsidy_of(indicators) if name == SUBSIDY else indicators[name]


def with_compared(indicators: Mapping[str, Array]) -> dict[str, Array]:
    """Return indicators, (draws, 1) each, with the figures that only a comparison asks."""
    return {**indicators, RATIO: ratio_of(indicators), SUBSIDY: subsidy_of(indicators)}


def figure(name: str) -> Indicator:
    """Return what is known of a figure; `people_fed.RATION` is known as `people_fed` is.

    Raises
    ------
    RunError
        If there is none of the name, naming the nearest.
    """
    known = {**INDICATORS, **COMPARED}
    first, _, ration = name.partition(".")
    if name in known:
        return known[name]
    if ration and first in ("people_fed", "cost_per_person_day"):
        return known[first]
    msg = f"'{name}' is not a figure that alternatives are compared by{nearest(name, known)}"
    raise RunError(msg)


def ordering(name: str) -> Indicator:
    """Return what is known of a figure that can put alternatives in order.

    Raises
    ------
    RunError
        As `figure`, or if neither more nor less of it is better.
    """
    found = figure(name)
    if not found.better:
        msg = f"neither more nor less of {name} is better, so it puts nothing in order"
        raise RunError(msg)
    return found


def is_money(name: str) -> bool:
    """Say whether a figure is in money, so that it is compared in US dollars."""
    return "money" in figure(name).unit


def goodness(name: str, x: Array) -> Array:
    """Return numbers of which more is better, the same shape; no answer is the worst, -inf.

    Parameters
    ----------
    name : str
        The figure.
    x : array
        Its values: nan where undefined, inf where never. [any unit]
    """
    signed = -x if ordering(name).better == "less" else x
    return np.where(np.isnan(signed), -np.inf, signed)
