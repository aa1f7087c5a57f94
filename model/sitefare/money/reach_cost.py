"""What does it cost to hand the food over by the distribution model in force?

Carriage to the people stands with the farm's own carriage. Here are the costs that follow the
model: cooking, cards and lists, and the hours of those who cook, hand over and keep the lists.
Hours are costed at the site's wages, whoever gives them. Lines are nominal money, positive,
(draws, months + 1). A voucher itself is a transfer by the programme: funding, no cost here.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, keys_of, quantity, text
from sitefare.errors import AssumptionError
from sitefare.money.labour import ROLES, WageInputs, hourly_cost
from sitefare.money.operating import Nature, Operating
from sitefare.money.prices import GROUPS, PricePaths
from sitefare.money.project import total
from sitefare.people.handover import Model, model_in_force
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: The driver of what stays whatever is handed over.
YEAR = "year"

#: What a cost or an hour may follow.
DRIVERS = ("kg", "portion", "person_month", YEAR)


@inputs("reach_cost", keyed=True, measure="cost")
class ReachCostItem:
    """Something bought to hand food over by one distribution model."""

    title: Any = text(doc="What is paid for.")
    model: Any = text(doc="Distribution model that it belongs to.")
    driver: Any = choice(
        *DRIVERS,
        doc="What it follows: kilograms handed over, portions, people a month, or years.",
    )
    drift: Any = choice(*GROUPS, doc="Price group that the cost moves by.")
    vat: Any = choice("yes", "no", doc="Whether value-added tax may be charged on it.")
    cost: Array = quantity("money", low=0, doc="Cost of one unit of driver.")


@inputs("reach_staff", keyed=True, measure="hours")
class ReachStaffItem:
    """Hours of people who hand food over by one distribution model."""

    title: Any = text(doc="What is done.")
    model: Any = text(doc="Distribution model that it belongs to.")
    role: Any = choice(*ROLES, doc="At whose wage the hours are costed.")
    driver: Any = choice(
        *DRIVERS,
        doc="What it follows: kilograms handed over, portions, people a month, or years.",
    )
    hours: Array = quantity("h", low=0, high=20000, doc="Hours for one unit of driver.")


def portions(model: Model, fed: PeopleFed, timeline: Timeline) -> Array:
    """Return portions in the food handed over by month: edible weight over that of a portion. [1]

    All food handed over is cooked and carried, also what no balanced portion can be made of.
    """
    one = model.inputs.vegetables + model.inputs.fish
    made = total(fed.edible_g.values()) * DAYS[timeline.calendar][None, :] / one
    return np.asarray(made, dtype=np.float64)


def amounts(model: Model, fed: PeopleFed, timeline: Timeline) -> dict[str, Array]:
    """Return what costs follow, by driver and month. [kg, 1, person, year]

    People a month are portions over the month's days of handing over; in a holiday month, in
    which food may go to households, over all its days.
    """
    made = portions(model, fed, timeline)
    feeding = model.feeding_days[:, timeline.calendar]
    days = np.where(feeding > 0.0, feeding, DAYS[timeline.calendar][None, :])
    return {
        "kg": total(fed.served_kg.values()),
        "portion": made,
        "person_month": made / days,
        YEAR: timeline.running / 12.0,
    }


def with_distribution(
    costs: Operating, values: Values, fed: PeopleFed, paths: PricePaths, timeline: Timeline
) -> Operating:
    """Return operating costs with what handing over costs by the model in force."""
    for name, (line, nature) in delivery_lines(values, fed, paths, timeline).items():
        costs = costs.plus(name, line, nature)
    return costs


def delivery_lines(
    values: Values, fed: PeopleFed, paths: PricePaths, timeline: Timeline
) -> dict[str, tuple[Array, Nature]]:
    """Return each line of the model in force and how it behaves; staff under `wages_…`. [money]

    Raises
    ------
    AssumptionError
        If a cost names a model that is not in the table.
    """
    model = model_in_force(values)
    follow = amounts(model, fed, timeline)
    lines: dict[str, tuple[Array, Nature]] = {}
    for key in _of_model("reach_cost", keys_of(ReachCostItem, values), values, model):
        item = build(ReachCostItem, values, key)
        line = item.cost * follow[str(item.driver)] * paths[str(item.drift)]
        lines[key] = line, Nature(str(item.drift), _behaviour(item.driver), item.vat == "yes")
    wages = build(WageInputs, values)
    for key, work in staff(values, model).items():
        line = hourly_cost(wages, str(work.role)) * work.hours * follow[str(work.driver)]
        nature = Nature("wages", _behaviour(work.driver), taxable=False)
        lines[f"wages_{key}"] = line * paths["wages"], nature
    return lines


def staff(values: Values, model: Model) -> dict[str, ReachStaffItem]:
    """Return the hours that a model asks for, by key."""
    keys = _of_model("reach_staff", keys_of(ReachStaffItem, values), values, model)
    return {key: build(ReachStaffItem, values, key) for key in keys}


def delivery_hours(values: Values, fed: PeopleFed, timeline: Timeline) -> Array:
    """Return hours of handing over by month, by the model in force. [h/month]"""
    model = model_in_force(values)
    follow = amounts(model, fed, timeline)
    hours = (item.hours * follow[str(item.driver)] for item in staff(values, model).values())
    return total(hours) + timeline.running * 0.0


def variable_lines(values: Values) -> tuple[str, ...]:
    """Name the lines of every model that follow the food handed over; staff under `wages_…`."""
    bought = [k for k in keys_of(ReachCostItem, values) if values[f"reach_cost.{k}.driver"] != YEAR]
    work = [k for k in keys_of(ReachStaffItem, values) if values[f"reach_staff.{k}.driver"] != YEAR]
    return (*bought, *(f"wages_{key}" for key in work))


def line_titles(values: Values) -> Mapping[str, str]:
    """Return the titles of the lines of every model, by line."""
    bought = {key: f"reach_cost.{key}.title" for key in keys_of(ReachCostItem, values)}
    worked = {f"wages_{k}": f"reach_staff.{k}.title" for k in keys_of(ReachStaffItem, values)}
    return {line: str(values[name]) for line, name in (bought | worked).items()}


def _behaviour(driver: str) -> str:
    """Say how a cost of a driver behaves."""
    return "fixed" if driver == YEAR else "variable"


def _of_model(table: str, keys: list[str], values: Values, model: Model) -> list[str]:
    """Pick the items of one model.

    Raises
    ------
    AssumptionError
        If an item names no model of the table.
    """
    picked = []
    for key in keys:
        named = str(values[f"{table}.{key}.model"])
        if f"distribution_model.{named}.title" not in values:
            msg = f"{table}.{key}.model: '{named}' is not a distribution model"
            raise AssumptionError(msg)
        if named == model.key:
            picked.append(key)
    return picked
