"""How does food reach people: the distribution models a project may choose from?

School meals, a household ration, vouchers at the farm stall, meals in community kitchens, or
sale with a free share: each is one row of a table, and one of them is in force. A row says who
is meant, on how many days food is handed over, how much one person gets each time, what is paid
for, and what goes astray. What handing over costs stands in money/.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, keys_of, quantity, text
from sitefare.assumptions.files import nearest
from sitefare.errors import AssumptionError
from sitefare.people.need import GROUPS

#: The row that names the model in force.
IN_FORCE = "distribution.model"

#: Written for every group of people.
EVERYBODY = "all"


@inputs("distribution_model", keyed=True, measure="leakage")
class ModelInputs:
    """One way of bringing food to people."""

    title: str = text(doc="The model in words.")
    targets: str = text(doc="Groups of the population meant, apart by spaces, or all.")
    holidays: str = text(
        doc="Calendar months, 1 to 12 and apart by spaces, in which the model stands still.",
        optional=True,
    )
    holiday_food: str = choice(
        "households", "sold", "lost", doc="Where the food of the holidays goes."
    )
    voucher: str = choice("no", "yes", doc="Whether the programme pays for the food by voucher.")
    days: Array = quantity(
        "day/year", low=1, high=365, varies="choice", doc="Days a year of handing over."
    )
    vegetables: Array = quantity(
        "g/person/day",
        low=0,
        high=3000,
        varies="choice",
        doc="Vegetables one person gets on a day of handing over, raw edible weight.",
    )
    fish: Array = quantity(
        "g/person/day",
        low=0,
        high=2000,
        varies="choice",
        doc="Fish one person gets on a day of handing over, raw fillet weight.",
    )
    taken: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of the food offered that is taken up, vouchers redeemed; the rest is sold.",
    )
    paid_share: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of the food served that the people served pay for.",
    )
    carriage: Array = quantity(
        "1",
        low=0,
        high=5,
        varies="choice",
        doc="Carriage to the people over the site's price of it; none where they come.",
    )
    meant_share: Array = quantity(
        "1",
        low=0.001,
        high=1,
        varies="choice",
        doc="Share of those groups who are meant, such as the poorest 40 %; 1 for all of them.",
    )
    coverage: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of the people meant that the model can reach: enrolled, registered, near.",
    )
    inclusion_error: Array = quantity(
        "1",
        low=0,
        high=0.99,
        varies="choice",
        doc="Share of the people reached who are not among those meant.",
    )
    household: Array = quantity(
        "person/person",
        low=0,
        high=20,
        varies="choice",
        doc="Others in the household for each person reached, counted as reached indirectly.",
    )
    leakage: Array = quantity(
        "1", low=0, high=1, doc="Share of the food handed over that is diverted or left uneaten."
    )


@dataclass(frozen=True)
class Model:
    """A distribution model with its words read.

    `targets` are groups of the population; `closed` numbers the calendar months, 0 for January,
    in which it stands still.
    """

    key: str
    inputs: ModelInputs
    targets: tuple[str, ...]
    closed: tuple[int, ...]

    @property
    def open_months(self) -> npt.NDArray[np.float64]:
        """1 for calendar months in which the model runs, else 0, (12,). [1]"""
        months = np.ones(12)
        months[list(self.closed)] = 0.0
        return months

    @property
    def feeding_days(self) -> Array:
        """Days of handing over by calendar month, January first, (1, 12). [day/month]

        They lie evenly over the open months; a holiday month has none.
        """
        share = DAYS * self.open_months
        return np.asarray(self.inputs.days * (share / share.sum())[None, :])


def model_of(values: Values, key: str) -> Model:
    """Return one model of the table.

    Raises
    ------
    AssumptionError
        If the table has no such model; if it names an unknown group or month, gives nobody any
        food, or hands over on more days than its open months have.
    """
    if f"distribution_model.{key}.title" not in values:
        known = keys_of(ModelInputs, values)
        msg = f"{IN_FORCE}: '{key}' is not one of {', '.join(known)}{nearest(key, known)}"
        raise AssumptionError(msg)
    made = build(ModelInputs, values, key)
    name = f"distribution_model.{key}"
    model = Model(key, made, _targets(name, made.targets), _closed(name, made.holidays))
    if np.all(made.vegetables + made.fish <= 0.0):
        msg = f"{name}: one person gets no vegetables and no fish; give one above 0"
        raise AssumptionError(msg)
    everybody = model.targets == GROUPS and np.all(made.meant_share >= 1.0)
    if everybody and np.any(made.inclusion_error > 0.0):
        msg = f"{name}.inclusion_error: everybody is meant, so nobody stands outside; give 0"
        raise AssumptionError(msg)
    there = float((DAYS * model.open_months).sum())
    if np.any(made.days > there):
        days = float(np.max(made.days))
        msg = f"{name}.days: {days:g} days a year, where the open months have {there:g}"
        raise AssumptionError(msg)
    return model


def model_in_force(values: Values) -> Model:
    """Return the model the project hands its food over by.

    Raises
    ------
    AssumptionError
        If none is named, or as `model_of`.
    """
    key = values.get(IN_FORCE)
    if not isinstance(key, str):
        msg = f"{IN_FORCE} has no value: name a row of distribution_model.csv"
        raise AssumptionError(msg)
    return model_of(values, key)


def models(values: Values) -> dict[str, Model]:
    """Return every model of the table by key, in its order."""
    return {key: model_of(values, key) for key in keys_of(ModelInputs, values)}


def _targets(name: str, words: str) -> tuple[str, ...]:
    """Read the groups meant."""
    if words.strip() == EVERYBODY:
        return GROUPS
    return _words(
        f"{name}.targets", words, lambda w: w in GROUPS, f"'{EVERYBODY}' or some of {GROUPS}"
    )


def _closed(name: str, words: str) -> tuple[int, ...]:
    """Read the months in which a model stands still, 0 for January."""
    months = {str(m) for m in range(1, 13)}
    found = _words(f"{name}.holidays", words, months.__contains__, "months from 1 to 12")
    if len(set(found)) == len(DAYS):
        msg = f"{name}.holidays: every month is closed; leave one open"
        raise AssumptionError(msg)
    return tuple(sorted({int(m) - 1 for m in found}))


def _words(name: str, words: str, known: Callable[[str], bool], accepted: str) -> tuple[str, ...]:
    """Part a list of words at spaces and refuse one that is not known."""
    found = tuple(words.split())
    for word in found:
        if not known(word):
            msg = f"{name}: '{word}' is not accepted; give {accepted}"
            raise AssumptionError(msg)
    return found
