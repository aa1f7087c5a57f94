"""What does value-added tax cost, and how long is the farm's money with the state?

Prices everywhere are before value-added tax. The part of the tax on purchases that is not
recovered is a cost; the part that is recovered is paid first and comes back some months later,
so it ties up cash. An exempt project pays none. Pure functions, for capital and for operation.
"""

from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity

#: Longest wait for a refund. [month]
LONGEST_WAIT = 24


@inputs("vat")
class VatInputs:
    """Value-added tax on what the farm buys."""

    rate: Array = quantity(
        "1", low=0, high=0.5, doc="Value-added tax on purchases, of the price.", fact="optional"
    )
    recovered: Array = quantity(
        "1", low=0, high=1, doc="Share of the value-added tax paid that is recovered.",
        fact="optional",
    )  # fmt: skip
    wait: Array = quantity(
        "month", low=0, high=LONGEST_WAIT, doc="Months until value-added tax is refunded.",
        fact="optional",
    )  # fmt: skip
    exempt: Any = choice("no", "yes", doc="Project exempt from value-added tax.", fact="optional")


def rate_paid(terms: VatInputs) -> Array:
    """Return the rate paid on purchases, nothing where the project is exempt. [1]"""
    return terms.rate * (0.0 if terms.exempt == "yes" else 1.0)


def rate_lost(terms: VatInputs) -> Array:
    """Return the rate paid and never recovered: a cost over the price before tax. [1]"""
    return rate_paid(terms) * (1.0 - terms.recovered)


def reclaimed(terms: VatInputs, cost: Array) -> Array:
    """Return tax paid that comes back, from costs that hold the tax lost. [unit of cost]"""
    return cost / (1.0 + rate_lost(terms)) * (rate_paid(terms) * terms.recovered)


def awaiting(flow: Array, wait: Array) -> Array:
    """Return the refunds still to come at month ends, all settled in the last month. [money]

    Parameters
    ----------
    flow : Array, shape (draws, months + 1)
        Tax paid that will be refunded, by month. [money]
    wait : Array, shape (draws, 1)
        Months from payment to refund; a part of a month counts for that part. [month]
    """
    balance = np.zeros(np.broadcast_shapes(flow.shape, wait.shape))
    for back in range(min(LONGEST_WAIT, flow.shape[1])):
        share = np.clip(wait - back, 0.0, 1.0)
        if np.any(share > 0.0):
            balance[:, back:] += share * flow[:, : flow.shape[1] - back]
    balance[:, -1] = 0.0
    return balance


def cash_effect(balance: Array) -> Array:
    """Return the cash that a balance owed to the farm takes; money in is positive. [money]"""
    return -np.diff(balance, axis=1, prepend=0.0)
