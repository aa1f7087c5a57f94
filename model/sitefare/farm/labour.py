"""How many hours does the work take, and how many people is that.

Tasks multiply a driver; hours become whole posts by the project year, with cover for leave,
and never fewer than two trained people, so that fish are cared for every day.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array, whole_up
from sitefare.assumptions.declaration import choice, inputs, quantity, text
from sitefare.timeline import Timeline

ROLES = ("manager", "technician", "worker")


@inputs("task", keyed=True, measure="hours")
class TaskInputs:
    """One task: hours for each unit of its driver, each time it is done."""

    title: str = text(doc="The task in print.")
    role: str = choice(*ROLES, doc="Who does it.")
    driver: str = choice(
        "site",
        "bed_area",
        "covered_area",
        "tank_count",
        "feed_kg",
        "crop_kg",
        "fish_kg",
        "plants",
        "hatchery_volume",
        "sexed_fish",
        "replanted",
        "graded_kg",
        doc="What it is counted by.",
    )
    per: str = choice(
        "day", "week", "month", "unit", doc="How often; 'unit' for each kg, plant or m2 replanted."
    )
    hours: Array = quantity("h", low=0, high=400, doc="Hours per driver, each time.")


@inputs("labour")
class LabourInputs:
    """How hours become posts."""

    post_hours: Array = quantity("h/month", low=60, high=260, doc="Hours at work of a full post.")
    leave_cover: Array = quantity("1", low=1, high=1.6, doc="Posts needed to fill one all year.")
    least_manager: Array = quantity("1", low=0, high=10, varies="choice", doc="Fewest managers.")
    least_technician: Array = quantity(
        "1", low=1, high=20, varies="choice", doc="Fewest trained people beside the manager."
    )
    least_worker: Array = quantity("1", low=0, high=50, varies="choice", doc="Fewest workers.")


@dataclass(frozen=True)
class Labour:
    """Hours by task and by role, posts whole and unrounded by role, (draws, months + 1)."""

    task_hours: Mapping[str, Array]
    role_hours: Mapping[str, Array]
    posts: Mapping[str, Array]
    unrounded: Mapping[str, Array]


def task_hours(
    tasks: Mapping[str, TaskInputs], drivers: Mapping[str, Array], timeline: Timeline
) -> dict[str, Array]:
    """Return hours by task and month once the farm runs, for drivers (draws, months + 1 or 1)."""
    days = DAYS[timeline.calendar][None, :]
    times = {"day": days, "week": days / 7.0, "month": np.ones((1, 1)), "unit": np.ones((1, 1))}
    return {
        key: task.hours * drivers[task.driver] * times[task.per] * timeline.running
        for key, task in tasks.items()
    }


def labour(
    tasks: Mapping[str, TaskInputs],
    rules: LabourInputs,
    drivers: Mapping[str, Array],
    timeline: Timeline,
) -> Labour:
    """Return hours and posts by month."""
    hours = task_hours(tasks, drivers, timeline)
    by_role = dict.fromkeys(ROLES, timeline.running * 0.0)
    for key, task in tasks.items():
        by_role[task.role] = by_role[task.role] + hours[key]
    least = {
        "manager": rules.least_manager,
        "technician": rules.least_technician,
        "worker": rules.least_worker,
    }
    unrounded = {role: _posts(by_role[role], rules, timeline) for role in ROLES}
    posts = {
        role: np.maximum(whole_up(unrounded[role]), least[role]) * timeline.running
        for role in ROLES
    }
    return Labour(hours, by_role, posts, unrounded)


def _posts(hours: Array, rules: LabourInputs, timeline: Timeline) -> Array:
    """Return posts not rounded: the project year's hours over what one post works in it."""
    worked = timeline.by_year(hours)
    running = np.maximum(timeline.by_year(timeline.running), 1.0)
    posts = worked * rules.leave_cover / (running * rules.post_hours)
    return posts[:, timeline.year] * timeline.running


@dataclass(frozen=True)
class Productivity:
    """How much work the farm takes over a year in full production, (draws, 1).

    Hours over bed [h/m2/year], over harvest [h/kg], bed and covered area for each full post of
    work [m2].
    """

    hours_per_bed: Array
    hours_per_kilogram: Array
    bed_per_post: Array
    covered_per_post: Array


def productivity(
    work: Labour, rules: LabourInputs, areas: tuple[float, float], harvest: Array
) -> Productivity:
    """Return the year's work by area and harvest, for comparison with other farms.

    Parameters
    ----------
    areas : tuple of float
        Bed and covered area. [m2]
    harvest : Array, shape (draws, months + 1)
        Vegetables and live fish; the last twelve months are read. [kg]
    """
    bed, covered = areas
    hours = sum((x[:, -12:].sum(axis=1, keepdims=True) for x in work.role_hours.values()), 0.0)
    kilograms = np.sum(harvest[:, -12:], axis=1, keepdims=True)
    posts = np.maximum(hours * rules.leave_cover / (12.0 * rules.post_hours), 1e-6)
    return Productivity(
        hours_per_bed=np.asarray(hours / bed),
        hours_per_kilogram=hours / np.maximum(kilograms, 1e-6),
        bed_per_post=bed / posts,
        covered_per_post=covered / posts,
    )


def sentence(found: Productivity) -> str:
    """Say the work by area and harvest beside what others report."""
    hours, each = float(found.hours_per_bed[0, 0]), float(found.hours_per_kilogram[0, 0])
    bed, covered = float(found.bed_per_post[0, 0]), float(found.covered_per_post[0, 0])
    return (
        f"The work is {hours:.1f} h a year for each m2 of bed and {each:.2f} h for each kilogram; "
        f"a full post tends {bed:,.0f} m2 of bed, {covered:,.0f} m2 covered. Elsewhere one person "
        "tends 310 to 930 m2 covered, which is no target: small farms need two trained people "
        "whatever their size."
    )
