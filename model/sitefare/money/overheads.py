"""What does the farm pay each year whatever it harvests: tests, fees, insurance, rent, upkeep?

Yearly costs at appraisal-date prices are paid in equal months while the farm runs, rent from
month 1 on. Lines are nominal money, positive, (draws, months + 1).
"""

from collections.abc import Mapping
from typing import Any

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
from sitefare.farm.result import Design
from sitefare.money.bill import driver_of
from sitefare.money.capital import Budget, LandInputs
from sitefare.money.prices import GROUPS, PricePaths
from sitefare.timeline import Timeline

#: Overheads that no budget, scenario or override may remove.
ESSENTIAL_OVERHEADS = ("microbe_tests", "water_tests")


@inputs("overhead", keyed=True, measure="cost")
class OverheadItem:
    """A yearly cost that follows no flow."""

    title: Any = text(doc="What is paid for.")
    driver: Any = text(doc="Size of the design that the cost follows.")
    essential: Any = choice("yes", "no", doc="Whether food safety forbids removal.")
    drift: Any = choice(*GROUPS, doc="Price group that the cost moves by.")
    behaviour: Any = choice(
        "fixed", "step", doc="Whether the cost stays, or goes in steps with the people employed."
    )
    vat: Any = choice("yes", "no", doc="Whether value-added tax may be charged on it.")
    years: Array = quantity(
        "year",
        low=0,
        varies="choice",
        doc="Years of operation it lasts, fading to nothing; 0 for every year.",
    )
    cost: Array = quantity("money/year", low=0, doc="Yearly cost for one unit of driver.")


@inputs("operations")
class OperationsInputs:
    """How the farm is run."""

    upkeep_factor: Array = quantity(
        "1", low=0, high=5, doc="Upkeep spent over the share each bill item names."
    )
    insurance_share: Array = quantity(
        "1/year", low=0, high=0.2, doc="Yearly insurance premium over the cost of the works."
    )
    unpaid_share: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of workers' hours given unpaid; costed in the project view, not paid in cash.",
    )


def overhead_items(values: Values) -> dict[str, OverheadItem]:
    """Return the overheads by key.

    Raises
    ------
    AssumptionError
        If a test that food safety asks for is removed.
    """
    items = build_all(OverheadItem, values)
    for key in ESSENTIAL_OVERHEADS:
        if key not in items or items[key].essential == "no" or np.any(items[key].cost <= 0):
            msg = f"overhead.{key}: this is essential to food safety and cannot be removed"
            raise AssumptionError(msg)
    return items


def fading(years: Array, timeline: Timeline) -> Array:
    """Return the share left of a cost that fades over its years of operation, 1 without. [1]"""
    months = 12.0 * years
    age = timeline.month[None, :] - timeline.construction - 1.0
    left = np.clip(1.0 - age / np.maximum(months, 1.0), 0.0, 1.0)
    return np.asarray(np.where(months > 0, left, 1.0))


def overheads(
    items: Mapping[str, OverheadItem], design: Design, paths: PricePaths, timeline: Timeline
) -> dict[str, Array]:
    """Return yearly costs of the table paid by the month. [money]"""
    lines = {}
    for key, item in items.items():
        size = driver_of(design, str(item.driver), f"overhead.{key}.driver") / 12.0
        share = fading(item.years, timeline) * timeline.running
        lines[key] = item.cost * size * share * paths[str(item.drift)]
    return lines


def standing_costs(
    values: Values, design: Design, parts: Budget, paths: PricePaths, timeline: Timeline
) -> dict[str, Array]:
    """Return insurance, rent and upkeep. [money]"""
    rules = build(OperationsInputs, values)
    running = timeline.running / 12.0
    wear = np.sum(parts.bill.cost * parts.bill.upkeep, axis=1, keepdims=True) * parts.uplift
    return {
        "upkeep": wear * rules.upkeep_factor * running * paths["equipment"],
        "insurance": rules.insurance_share * parts.works * running * paths["services"],
        "rent": rent(values, design, timeline) * paths["land"],
    }


def rent(values: Values, design: Design, timeline: Timeline) -> Array:
    """Return monthly rent of the footprint from month 1 on, at appraisal-date prices. [money]"""
    land = build(LandInputs, values)
    paid = 0.0 if land.tenure == "bought" else driver_of(design, "footprint", "land.rent") / 12.0
    return land.rent * paid * (timeline.month > 0)
