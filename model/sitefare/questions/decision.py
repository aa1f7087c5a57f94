"""What is funding the farm worth in each draw, beside not funding it?

Two payoffs, a declared choice. By food: (worth of a person-day − its cost) × person-days, where
the worth is the local price of the same food times what the funder accepts. By money: the
project's net present value and the sum that the funder accepts as lost. Not funding is 0.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import Array, value
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build, choice, inputs, quantity
from sitefare.money.discounting import capital_recovery
from sitefare.money.project import ProjectInputs
from sitefare.questions.additive import Flat
from sitefare.questions.figures import RATIO


@inputs("decision")
class DecisionInputs:
    """What the funder's yes or no is judged by."""

    payoff: str = choice(
        "food", "npv", doc="Whether funding is judged by food for people or by money returned"
    )
    worth: Array = quantity(
        "1",
        low=0,
        high=1e6,
        varies="choice",
        doc="Worth of a person-day of this food to the funder, in times its local price",
    )
    gift: Array = quantity(
        "1",
        low=0,
        high=1e6,
        varies="choice",
        doc="Sum the funder accepts as lost, in times the planned capital cost",
    )


#: The figure whose spread matters to each payoff: cost over the local price, or money.
DECIDED_BY = {"food": RATIO, "npv": "npv"}


@dataclass(frozen=True)
class Stake:
    """A decision's payoff in two parts, (draws,) each: payoff = `loss` + level × `unit`. [money]

    `level` is the funder's: times the local price, or times the planned capital cost.
    """

    payoff: str
    loss: Flat
    unit: Flat
    level: float

    def at(self, level: float | None = None) -> Flat:
        """Return the payoff of funding by draw, (draws,). [money]"""
        return np.asarray(self.loss + (self.level if level is None else level) * self.unit)

    @property
    def even(self) -> float:
        """Level at which funding and not funding are worth the same on average; inf if none. [1]"""
        unit = float(self.unit.mean())
        return -float(self.loss.mean()) / unit if unit > 0 else float("inf")

    @property
    def decided_by(self) -> str:
        """The figure whose spread matters."""
        return DECIDED_BY[self.payoff]


def stake(base: Appraisal, indicators: Mapping[str, Array]) -> Stake:
    """Return what is at stake in the decision on a plan, from its draws. [money]

    Present value of project costs is their equivalent annual cost ÷ the capital recovery factor;
    person-days are that ÷ cost per person-day, none where nobody is fed.

    Parameters
    ----------
    base : Appraisal
        The plan at its base values.
    indicators : mapping of array, shape (draws, 1)
        Its indicators by draw.
    """
    values, timeline = base_values(base.case), base.case.timeline
    asked, project = build(DecisionInputs, values), build(ProjectInputs, values)
    if asked.payoff == "npv":
        npv = indicators["npv"][:, 0]
        capital = float(base.indicators["capex"][0, 0])
        return Stake("npv", npv, np.full(npv.shape, capital), float(asked.gift[0, 0]))
    recovery = capital_recovery(project.discount_rate, value(timeline.years))
    costs = indicators["equivalent_annual_cost"] / recovery
    cost = indicators["cost_per_person_day"]
    fed = np.isfinite(cost)
    days = np.where(fed, costs / np.where(fed, cost, 1.0), 0.0)
    worth = days * indicators["alternative_cost_person_day"]
    return Stake("food", -costs[:, 0], worth[:, 0], float(asked.worth[0, 0]))
