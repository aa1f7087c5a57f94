"""What does an hour of each role cost, and what is the wage bill?

Every hour is costed at a wage, whoever works it: whole people are paid for a full month, hours
beyond what they are paid for at an overtime rate, and somebody is on call whenever nobody is at
work. Lines are nominal money, positive, (draws, months + 1).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.errors import AssumptionError
from sitefare.farm.result import FarmFlows
from sitefare.money.prices import PricePaths
from sitefare.timeline import Timeline

ROLES = ("manager", "technician", "worker")

#: Hours of a day in which somebody is at work; in the others one trained person is on call. [h]
STAFFED = 8.0


@inputs("wage")
class WageInputs:
    """Wages at the site."""

    worker: Array = quantity(
        "money/h", low=0, drift="wages", doc="Gross wage of a trained worker.", fact="required"
    )
    technician_ratio: Array = quantity(
        "1", low=1, high=10, doc="Technician's wage over a worker's.", fact="optional"
    )
    manager_ratio: Array = quantity(
        "1", low=1, high=20, doc="Manager's wage over a worker's.", fact="optional"
    )
    on_cost: Array = quantity(
        "1",
        low=0,
        high=1.5,
        doc="Employer's contributions, leave pay and cover, as a share of gross wages.",
        fact="optional",
    )
    paid_hours: Array = quantity(
        "h/month",
        low=0,
        high=400,
        varies="choice",
        doc="Hours paid to one whole person in a month.",
    )
    overtime: Array = quantity(
        "1",
        low=1,
        high=3,
        doc="Pay for an hour of overtime over an ordinary hour.",
        fact="optional",
    )
    on_call: Array = quantity(
        "1", low=0, high=1, doc="Pay for an hour on call over an hour worked.", fact="optional"
    )


@dataclass(frozen=True)
class WageBill:
    """Wages by line, and the part of each that is paid whatever the harvest. [money]"""

    lines: Mapping[str, Array]
    fixed: Mapping[str, Array]


def hourly_cost(wages: WageInputs, role: str) -> Array:
    """Return the cost of an hour of a role, on-costs included. [money/h]

    Raises
    ------
    AssumptionError
        If the role has no wage.
    """
    ratios: dict[str, Array | float] = {
        "manager": wages.manager_ratio,
        "technician": wages.technician_ratio,
        "worker": 1.0,
    }
    if role not in ratios:
        msg = f"no wage is known for the role '{role}'; roles are {', '.join(ROLES)}"
        raise AssumptionError(msg)
    return wages.worker * ratios[role] * (1.0 + wages.on_cost)


def paid_hours(wages: WageInputs, hours: Array, people: Array | None) -> tuple[Array, Array]:
    """Return ordinary hours paid a month, and hours of overtime. [h]

    Whole people are paid a full month; hours of a role that has no whole person are ordinary.
    """
    if people is None:
        return hours, hours * 0.0
    ordinary = people * wages.paid_hours
    return ordinary, np.maximum(hours - ordinary, 0.0)


def wage_bill(values: Values, flows: FarmFlows, paths: PricePaths, timeline: Timeline) -> WageBill:
    """Return the wage bill by role and the pay of people on call, every hour at a wage. [money]"""
    wages = build(WageInputs, values)
    lines, fixed = {}, {}
    for role, hours in flows.role_hours.items():
        cost = hourly_cost(wages, role) * paths["wages"]
        ordinary, beyond = paid_hours(wages, hours, flows.workers.get(role))
        fixed[f"wages_{role}"] = cost * ordinary
        lines[f"wages_{role}"] = cost * (ordinary + wages.overtime * beyond)
    alone = (24.0 - STAFFED) * DAYS[timeline.calendar] * timeline.running
    pay = hourly_cost(wages, "technician") * wages.on_call * alone * paths["wages"]
    lines["wages_on_call"] = fixed["wages_on_call"] = pay
    return WageBill(lines, fixed)
