"""When does a grant arrive?

A grant pays its share of the planned need, never more than was planned. Parts of it arrive at
milestones: when the project starts, when building ends, after months of operation. The rest is
claimed as money is spent. A milestone pays its part of the planned sum; the last one settles
what the grant owes on what was really spent, so that what is not spent is not paid.
"""

from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity, text
from sitefare.errors import AssumptionError
from sitefare.money.project import draws_of, whole
from sitefare.timeline import Timeline


@inputs("grant", keyed=True, table=True)
class GrantTerms:
    """Milestones at which a grant is paid."""

    title: Any = text(doc="Terms of the grant.")
    on_start: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of the grant paid at the start."
    )
    on_completion: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of the grant paid when building ends."
    )
    on_operation: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of the grant paid after months of operation."
    )
    operation_months: Array = quantity(
        "month", low=0, high=120, varies="choice", doc="Months of operation before the last part."
    )


def milestones(key: str, terms: GrantTerms, timeline: Timeline) -> list[tuple[int, Array]]:
    """List month and part of each payment, in order of time.

    Raises
    ------
    AssumptionError
        If the parts exceed the grant.
    """
    built = timeline.construction
    parts = [
        (0, terms.on_start),
        (built, terms.on_completion),
        (min(built + whole(terms.operation_months), timeline.months), terms.on_operation),
    ]
    if float(np.max(sum((part for _, part in parts), np.zeros((1, 1))))) > 1.0 + 1e-9:
        msg = f"grant.{key}.on_start: the parts paid at milestones add up to more than the grant"
        raise AssumptionError(msg)
    return [(month, part) for month, part in parts if np.any(part > 0)]


def received(key: str, terms: GrantTerms, owed: Array, planned: Array, timeline: Timeline) -> Array:
    """Return what a grant pays by month, (draws, months + 1). [money]

    Parameters
    ----------
    owed : Array, shape (draws, months + 1)
        What it owes on each month's spending. [money]
    planned : Array, shape (draws, 1)
        What it owes on the need as planned. [money]
    """
    due = milestones(key, terms, timeline)
    fixed = sum((part for _, part in due), np.zeros((1, 1)))
    total = fixed * np.sum(owed, axis=1, keepdims=True)
    paid = np.zeros((draws_of(owed, planned, fixed), owed.shape[1]))
    paid += (1.0 - fixed) * owed
    settled = np.zeros((1, 1))
    for n, (month, part) in enumerate(due):
        open_sum = total - settled
        asked = open_sum if n == len(due) - 1 else np.minimum(part * planned, open_sum)
        paid[:, month : month + 1] += asked
        settled = settled + asked
    return paid


def held_back(paid: Array, share: Array) -> Array:
    """Return payments of which a share is held back until a later month pays it. [money]

    What is still held in the last month is paid then.

    Parameters
    ----------
    paid : Array, shape (draws, months + 1)
        Payments when nothing is held back. [money]
    share : Array, shape (draws, months + 1) or (draws, 1)
        Part of what is due in the month that is held back. [1]
    """
    shape = (draws_of(paid, share), paid.shape[1])
    held = np.broadcast_to(share, shape)
    late, waiting = np.zeros(shape), np.zeros((shape[0], 1))
    for month in range(shape[1]):
        at = slice(month, month + 1)
        due = paid[:, at] + waiting
        waiting = due * held[:, at] if month < shape[1] - 1 else np.zeros((shape[0], 1))
        late[:, at] = due - waiting
    return late
