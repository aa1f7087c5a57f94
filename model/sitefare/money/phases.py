"""In which months of construction is each part of the capital budget paid?

A phase runs over part of the construction period; a deposit is paid in month 0, when the order
is placed, and the rest in even shares over the months of the phase. Retention, where the
contract has one, is held back from every payment and paid some months after completion, within
the start-up months that funders still pay for.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.money.project import ProjectInputs, whole
from sitefare.timeline import Timeline

PHASES = ("early", "even", "late")


@inputs("phase", keyed=True)
class PhaseInputs:
    """When in construction the items of a phase are paid."""

    start: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Start of the phase, share of construction."
    )
    end: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="End of the phase, share of construction."
    )
    deposit: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Deposit paid with the order in month 0."
    )


@inputs("retention")
class RetentionInputs:
    """What is held back from contractors until the works have proved themselves."""

    share: Array = quantity(
        "1", low=0, high=0.3, varies="choice", doc="Retention, share of every payment."
    )
    months: Array = quantity(
        "month", low=0, high=36, varies="choice", doc="Months from completion to its payment."
    )


def even_shares(start: float, end: float, last: int) -> Array:
    """Share 1 over months 0 to `last` of a window of construction, (last + 1,); sums to 1. [1]

    Month m covers m ÷ (last + 1) to (m + 1) ÷ (last + 1) of construction.
    """
    edge = np.arange(last + 2) / (last + 1)
    inside = np.clip(np.minimum(edge[1:], end) - np.maximum(edge[:-1], start), 0.0, None)
    whole_window = np.sum(inside)
    if whole_window <= 0:
        inside = (np.arange(last + 1) == min(int(start * (last + 1)), last)).astype(np.float64)
        whole_window = np.ones(())
    return np.asarray(inside / whole_window, dtype=np.float64)


def phase_weights(values: Values, timeline: Timeline) -> dict[str, Array]:
    """Return by phase the share of a payment in each month, (1, months + 1); sums to 1. [1]"""
    held = build(RetentionInputs, values)
    last, kept = timeline.construction, float(held.share[0, 0])
    start_up = whole(build(ProjectInputs, values).start_up_months)
    late = min(last + min(whole(held.months), start_up), timeline.months)
    weights = {}
    for name in PHASES:
        phase = build(PhaseInputs, values, name)
        paid = np.zeros((1, timeline.months + 1))
        deposit = float(phase.deposit[0, 0])
        shares = even_shares(float(phase.start[0, 0]), float(phase.end[0, 0]), last)
        paid[0, : last + 1] = (1.0 - deposit) * shares
        paid[0, 0] += deposit
        paid *= 1.0 - kept
        paid[0, late] += kept
        weights[name] = paid
    return weights
