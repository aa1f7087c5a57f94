"""What does an hour of each role cost, and what is the wage bill?

Every hour is costed at a wage, whoever works it: whole people are paid for a full month, and
hours beyond what they are paid for are paid as well.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.errors import AssumptionError

ROLES = ("manager", "technician", "worker")


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


def paid_hours(wages: WageInputs, hours: Array, people: Array) -> Array:
    """Return hours paid a month: whole people's, or those worked if more. [h]"""
    return np.maximum(hours, people * wages.paid_hours)
