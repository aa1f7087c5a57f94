"""How much income tax is due, after allowances and losses carried forward?

Tax is reckoned on each project year's profit and paid in the year's last month. Month 0 counts
with year 1. Losses are carried forward without time limit, against up to a share of a profit.
"""

from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity
from sitefare.money.project import draws_of
from sitefare.timeline import Timeline


@inputs("tax")
class TaxInputs:
    """Rules of the income tax, and of duty."""

    duty_exempt: Any = choice("no", "yes", doc="Project exempt from import duty.", fact="optional")
    loss_share: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of a year's profit that earlier losses may offset.",
        fact="optional",
    )


def income_tax(profit: Array, rate: Array, loss_share: Array, timeline: Timeline) -> Array:
    """Return tax paid by month from a monthly profit, (draws, months + 1), positive. [money]

    Allowances are already inside the profit as straight-line depreciation.
    """
    yearly = timeline.by_year(profit)
    yearly[:, 1] += yearly[:, 0]
    draws = draws_of(profit, rate, loss_share)
    losses = np.zeros((draws, 1))
    paid = np.zeros((draws, profit.shape[1]))
    for year in range(1, timeline.years + 1):
        gain = yearly[:, year : year + 1]
        used = np.minimum(losses, loss_share * np.maximum(gain, 0.0))
        losses = losses - used + np.maximum(-gain, 0.0)
        paid[:, 12 * year : 12 * year + 1] = rate * (np.maximum(gain, 0.0) - used)
    return paid
