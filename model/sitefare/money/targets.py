"""Which grant at month 0 would meet a target?

Money in nominal flows; each answer is a sum at month 0, on top of the funding planned, in
closed form, with tax and the rest of the plan held. Cash held earns nothing.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.money.discounting import discount_factors, present_value
from sitefare.timeline import Timeline


@inputs("grant_target")
class TargetInputs:
    """What a grant should bring about."""

    equity_return: Array = quantity(
        "1/year", low=0, high=1, varies="choice", doc="Return asked by owners, real."
    )
    debt_cover: Array = quantity(
        "1", low=0, high=5, varies="choice", doc="Debt cover asked by lenders, in every year."
    )


@dataclass(frozen=True)
class Asked:
    """What funders measure the plan by.

    `cash` is net cash with no overdraft and `floor` the least kept, (draws, months + 1) [money];
    owners ask a real `equity_return` [1/year], lenders a `debt_cover` [1].
    """

    cash: Array
    floor: Array
    equity_return: Array
    debt_cover: Array


def grant_for_cash(net: Array, floor: Array) -> Array:
    """Return the grant that keeps cash at or above the least kept, (draws, 1). [money]

    The deepest shortfall of the cash balance. `net` is cash of the plan, overdraft left out.
    """
    lowest: Array = np.min(np.cumsum(net, axis=1) - floor, axis=1, keepdims=True)
    return np.maximum(-lowest, 0.0)


def grant_for_return(net: Array, equity: Array, rate: Array, inflation: Array) -> Array:
    """Return the grant that gives owners a real return on what they put in, (draws, 1). [money]

    Owners put in what the plan asks, cover what is short and take what is left, month by month:
    their flow is `net` less `equity` paid in. A grant at month 0 adds itself to its worth.
    """
    owners = (net - equity) / inflation
    worth = present_value(owners, discount_factors(rate, net.shape[1]))
    return np.maximum(-worth, 0.0)


def grant_for_cover(
    available: Array, service: Array, repaid: Array, lent: Array, cover: Array, timeline: Timeline
) -> Array:
    """Return the grant in place of debt that gives every year a debt cover, (draws, 1). [money]

    Service falls with the loan, all loans alike: the loans that can stay are the least of
    available ÷ (cover × service) over years that repay. 0 without debt.
    """
    cash, due, back = (timeline.by_year(x) for x in (available, service, repaid))
    asked = cover * due
    free = np.where((back > 0) & (asked > 0), cash / np.where(asked > 0, asked, 1.0), 1.0)
    stays = np.clip(np.min(free, axis=1, keepdims=True), 0.0, 1.0)
    replaced: Array = (1.0 - stays) * np.sum(lent, axis=1, keepdims=True)
    return replaced


def deepest_month(net: Array) -> Array:
    """Return the month in which cumulative cash is deepest, 0 if never below zero. [month]"""
    cash = np.cumsum(net, axis=1)
    month = np.argmin(cash, axis=1)[:, None].astype(np.float64)
    return np.where(np.min(cash, axis=1, keepdims=True) < 0, month, 0.0)
