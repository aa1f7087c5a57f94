"""What do work, upkeep, overheads and handing food over cost by the month?

Rows follow `money/labour`, `money/overheads` and `money/reach_cost`.
"""

from dataclasses import replace

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import build, build_all, keys_of
from sitefare.farm.labour import ROLES
from sitefare.money.capital import LandInputs
from sitefare.money.labour import STAFFED, WageInputs, hourly_cost
from sitefare.money.overheads import OverheadItem
from sitefare.money.reach_cost import (
    YEAR,
    ReachCostItem,
    ReachStaffItem,
    amounts,
    line_titles,
)
from sitefare.outputs.workbook.costs import cost_line
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar
from sitefare.outputs.workbook.made import Made
from sitefare.people.handover import Model, model_in_force


def rate_items(made: Made) -> list[Item]:
    """Return the cost of an hour by role, employer's contributions in it."""
    wages = build(WageInputs, made.values)
    items: list[Item] = [Heading("What an hour of work costs", "Employer's contributions in it.")]
    for role in ROLES:
        ratio = "" if role == "worker" else f"*{{in:wage.{role}_ratio}}"
        items.append(
            Scalar(
                f"running.hour.{role}", f"An hour of a {role}", f"{made.currency}/h",
                f"{{in:wage.worker}}{ratio}*(1+{{in:wage.on_cost}})",
                float(hourly_cost(wages, role)[0, 0]), kind="price",
            )
        )  # fmt: skip
    return items


def paid_formula(made: Made, role: str, *, overtime: bool) -> str:
    """Return what a role's hours cost: whole people's months, and hours beyond at overtime."""
    if role not in made.flows.workers:
        return f"{{farm.hours.{role}}}*{{running.hour.{role}}}"
    ordinary = f"{{farm.posts.{role}}}*{{in:wage.paid_hours}}"
    if not overtime:
        return f"{ordinary}*{{running.hour.{role}}}"
    beyond = f"{{in:wage.overtime}}*MAX({{farm.hours.{role}}}-{ordinary},0)"
    return f"({ordinary}+{beyond})*{{running.hour.{role}}}"


def wage_lines(made: Made) -> list[Line]:
    """Return wages by role and the pay of people on call."""
    alone = (
        f"(24-{STAFFED:.0f})*{{days}}*{{running}}*{{in:wage.on_call}}*{{running.hour.technician}}"
    )
    formulas = {
        f"wages_{role}": paid_formula(made, role, overtime=True) for role in made.flows.role_hours
    }
    formulas["wages_on_call"] = alone
    return [cost_line(made, name, formula) for name, formula in formulas.items()]


def standing_lines(made: Made) -> list[Line]:
    """Return upkeep, insurance and rent, and the yearly costs of the table of overheads."""
    month = "{running}/12"
    bought = build(LandInputs, made.values).tenure == "bought"
    kept = "{capital.upkeep_base}*{capital.uplift}"
    rent = "{in:land.rent}*{design.footprint}/12*IF({month}>0,1,0)"
    formulas = {
        "upkeep": f"{kept}*{{in:operations.upkeep_factor}}*{month}",
        "insurance": f"{{capital.budget_works}}*{{in:operations.insurance_share}}*{month}",
        "rent": "0*{running}" if bought else rent,
    }
    for key, item in build_all(OverheadItem, made.values).items():
        yearly = f"{{in:overhead.{key}.cost}}*{{design.{item.driver}}}*{month}"
        formulas[key] = yearly + fading_formula(key, item)
    return [cost_line(made, name, formula) for name, formula in formulas.items()]


def fading_formula(key: str, item: OverheadItem) -> str:
    """Return what is left of a cost that fades over its years; nothing where none fades."""
    if not np.any(item.years > 0):
        return ""
    years = f"{{in:overhead.{key}.years}}"
    age = "({month}-{in:project.construction}-1)"
    return f"*IF({years}>0,MAX(0,MIN(1,1-{age}/MAX(12*{years},1))),1)"


def handing_items(made: Made) -> list[Item]:
    """Return what the costs of handing food over follow."""
    model = model_in_force(made.values)
    follow = amounts(model, made.fed, made.timeline)
    row = f"in:distribution_model.{model.key}"
    portion = f"({{{row}.vegetables}}+{{{row}.fish}})"
    return [
        Heading(f"Handing over: {model.inputs.title}"),
        Line(
            "running.handing_days", "Days of handing over in the month", "day",
            handing_days(model), days_of(model, made), kind="number",
        ),
        Line(
            "running.portions", "Portions handed over", "1",
            f"({{people.vegetables_g}}+{{people.fish_g}})*{{days}}/{portion}", follow["portion"],
            kind="number", total=True,
        ),
        Line(
            "running.person_months", "People who get them", "person",
            "{running.portions}/{running.handing_days}", follow["person_month"], kind="number",
        ),
    ]  # fmt: skip


def handing_days(model: Model) -> str:
    """Return the days of handing over in a month: even over the open months, all in holidays."""
    there = float(np.sum(DAYS * model.open_months))
    days = f"{{in:distribution_model.{model.key}.days}}*{{days}}/{there:.0f}"
    if not model.closed:
        return days
    closed = ",".join(f"{{calendar}}={month + 1}" for month in model.closed)
    return f"IF(OR({closed}),{{days}},{days})"


def days_of(model: Model, made: Made) -> Array:
    """Return the same days as the model has them, (1, months + 1). [day/month]"""
    feeding = model.feeding_days
    return np.where(feeding > 0.0, feeding, DAYS[None, :])[:, made.timeline.calendar]


def handing_lines(made: Made) -> list[Line]:
    """Return what handing food over costs by the model in force; staff under `wages_…`."""
    follow = {
        "kg": "{people.served_kg}",
        "portion": "{running.portions}",
        "person_month": "{running.person_months}",
        YEAR: "{running}/12",
    }
    model, values = model_in_force(made.values).key, made.values
    titles = line_titles(values)
    lines = []
    for key in keys_of(ReachCostItem, values):
        item = build(ReachCostItem, values, key)
        if item.model == model:
            formula = f"{{in:reach_cost.{key}.cost}}*{follow[str(item.driver)]}"
            lines.append(replace(cost_line(made, key, formula), label=titles[key]))
    for key in keys_of(ReachStaffItem, values):
        work = build(ReachStaffItem, values, key)
        if work.model == model:
            hours = f"{{in:reach_staff.{key}.hours}}*{follow[str(work.driver)]}"
            name = f"wages_{key}"
            line = cost_line(made, name, f"{hours}*{{running.hour.{work.role}}}")
            lines.append(replace(line, label=titles[name]))
    return lines
