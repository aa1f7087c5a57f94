"""What does it cost to repair the house after storms?

The expected repair at base, and the repair of the storms that come in a draw, in the year they
come, at that year's prices of goods, freight and labour; less what the insurer pays. Value-added
tax is added to it as to every line.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build
from sitefare.money.capital import Budget
from sitefare.money.delivery import COMPONENTS
from sitefare.money.operating import Nature, Operating
from sitefare.money.prices import PricePaths
from sitefare.money.wind import WindInputs, storms
from sitefare.timeline import Timeline


def storm_repairs(values: Values, parts: Budget, paths: PricePaths, timeline: Timeline) -> Array:
    """Return storm repairs by month, nominal, spread over the year of the storm. [money]"""
    uninsured, bill = build(WindInputs, values).uninsured, parts.bill
    cost, hit = np.zeros((1, timeline.months + 1)), np.flatnonzero(bill.storm)
    for occurs, share in storms(values, bill.storm[hit]):
        broken = np.sum(bill.parts[:, :, hit] * share[:, None, :], axis=2) * parts.uplift
        for n, name in enumerate(COMPONENTS):
            cost = cost + broken[:, n : n + 1] * paths[name] * occurs
    return cost * uninsured * timeline.running / 12.0


def with_storms(costs: Operating, repairs: Array) -> Operating:
    """Return operating costs with storm repairs as a line of their own."""
    return costs.plus("storm_repairs", repairs, Nature("equipment", "fixed"))
