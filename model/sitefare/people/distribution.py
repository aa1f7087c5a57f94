"""Where the harvest goes: lost, staff meals, the people served, or sold elsewhere.

Every kilogram ends in one place: harvest = served + elsewhere + staff + lost + change in store.
Crops are in fresh weight, fish in live weight. Food that the people do not accept, and raw food
where cholera or hepatitis E is present, is served to nobody and counted as lost.

The distribution model in force says in which months food is handed over, which part of it is
taken up and paid for, and how much goes astray. What nobody takes is sold elsewhere.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity, text
from sitefare.people.food import FoodInputs, is_fish
from sitefare.people.handover import Model, model_in_force
from sitefare.people.storage import StorageInputs, stored
from sitefare.timeline import Timeline


@inputs("distribution")
class DistributionInputs:
    """Shares that decide where a kilogram of harvest goes."""

    model: str = text(doc="Distribution model in force, a key of the table of distribution models.")
    vegetables_loss: Array = quantity(
        "1", low=0, high=1, doc="Crop lost by hand-over: share of the marketable crop."
    )
    fish_loss: Array = quantity(
        "1", low=0, high=1, doc="Share of harvested fish lost between harvest and hand-over."
    )
    staff_meals: Array = quantity(
        "1", low=0, high=1, doc="Share of sound food eaten by the farm's staff."
    )
    vegetables_served: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of the remaining vegetables given or sold to the people served.",
    )
    fish_served: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of the remaining fish given or sold to the people served.",
    )
    cholera_or_hepatitis_e: str = choice(
        "no",
        "yes",
        doc="Whether cholera or hepatitis E is present; then only cooked food counts.",
        fact="optional",
    )


@inputs("acceptance", keyed=True)
class AcceptanceInputs:
    """Whether the people served eat a food."""

    share: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Share of the food offered that the people served accept and eat.",
        fact="optional",
    )


@dataclass(frozen=True)
class Destinations:
    """Kilograms a month by food key, life arrays (draws, months + 1); `held` at month end."""

    served: Mapping[str, Array]
    elsewhere: Mapping[str, Array]
    staff: Mapping[str, Array]
    lost: Mapping[str, Array]
    held: Mapping[str, Array]


@dataclass(frozen=True)
class _Rules:
    distribution: DistributionInputs
    storage: StorageInputs
    acceptance: Mapping[str, AcceptanceInputs]
    model: Model
    given: Array | None


def withheld(food: FoodInputs, cholera_or_hepatitis_e: str) -> bool:
    """Tell whether a food is kept from people because it is eaten raw where disease is present."""
    return cholera_or_hepatitis_e == "yes" and food.eaten == "raw"


def destinations(
    values: Values,
    harvest: Mapping[str, Array],
    foods: Mapping[str, FoodInputs],
    timeline: Timeline,
) -> Destinations:
    """Send each month's harvest of each food to where it ends.

    Parameters
    ----------
    values : mapping
        Resolved values.
    harvest : mapping of array, shape (draws, months + 1)
        Marketable crop and live fish, by food key. [kg/month]
    foods : mapping
        Composition rows of the same keys.
    timeline : Timeline
        The project's clock.

    Returns
    -------
    Destinations
        By food key. [kg/month]

    Raises
    ------
    AssumptionError
        If the distribution model in force is not in the table, or its words do not hold.
    """
    distribution = build(DistributionInputs, values)
    model = model_in_force(values)
    whole_year = not model.closed or model.inputs.holiday_food == "households"
    rules = _Rules(
        distribution,
        build(StorageInputs, values),
        {key: build(AcceptanceInputs, values, key) for key in harvest},
        model,
        None if whole_year else model.open_months[timeline.calendar][None, :],
    )
    ends = {key: _ends(key, each, foods[key], rules) for key, each in harvest.items()}
    names = ("served", "elsewhere", "staff", "lost", "held")
    columns = [{key: each[i] for key, each in ends.items()} for i in range(len(names))]
    return Destinations(*columns)


def _ends(key: str, harvest: Array, food: FoodInputs, rules: _Rules) -> tuple[Array, ...]:
    """Split one food's harvest: served, elsewhere, staff, lost, held. [kg]"""
    shares, store, terms = rules.distribution, rules.storage, rules.model.inputs
    fish = is_fish(food)
    loss = shares.fish_loss if fish else shares.vegetables_loss
    served_share = shares.fish_served if fish else shares.vegetables_served
    sound = harvest * (1.0 - loss)
    staff = sound * shares.staff_meals
    offered = (sound - staff) * (served_share * terms.taken)
    elsewhere = sound - staff - offered
    counts = 0.0 if withheld(food, shares.cholera_or_hepatitis_e) else 1.0
    accepted = offered * (rules.acceptance[key].share * counts)
    window = store.fish_window if fish else store.vegetables_window
    waste = store.fish_loss if fish else store.vegetables_loss
    kept = stored(accepted, window, waste)
    handed, late = _in_season(kept.released, rules)
    served = handed * (1.0 - terms.leakage)
    lost = (harvest - sound) + (offered - accepted) + kept.spoiled + (handed - served)
    if terms.holiday_food == "sold":
        return served, elsewhere + late, staff, lost, kept.held
    return served, elsewhere, staff, lost + late, kept.held


def _in_season(flow: Array, rules: _Rules) -> tuple[Array, Array]:
    """Part what falls in months of handing over from what falls in closed ones. [kg]

    What is harvested late in a holiday and keeps is still handed over once it ends.
    """
    if rules.given is None:
        return flow, np.zeros((1, 1))
    kept = flow * rules.given
    return kept, flow - kept
