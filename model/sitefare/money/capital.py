"""What does building the farm cost, when is it spent, and when is it spent again?

Base estimate = bill × (1 + unlisted items) × overrun of its reference class, then design and
supervision, contingency and land. Equipment is bought again at the end of its life until the
appraisal ends; what is left of it then has a residual value, a line of its own.
Costs are nominal in the month of spending; each asset is written off in equal months.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity
from sitefare.farm.result import Design
from sitefare.money.allowances import Purchase
from sitefare.money.bill import Bill, driver_of, priced_bill
from sitefare.money.prices import PricePaths
from sitefare.money.project import ProjectInputs, draws_of, total
from sitefare.timeline import Timeline


@inputs("capital")
class CapitalInputs:
    """What is added to the bill of quantities."""

    unlisted: Array = quantity("1", low=0, high=1, doc="Items not listed, as a share of the bill.")
    overrun: Array = quantity(
        "1",
        low=0.5,
        high=5,
        doc="Overrun of small works: final over estimated cost in the reference class.",
    )
    design: Array = quantity(
        "1", low=0, high=0.5, doc="Design, permits and supervision, as a share of the works."
    )
    contingency: Array = quantity(
        "money",
        low=0,
        varies="choice",
        doc="Contingency at the appraisal date, from the sampled capital cost; draws hold 0.",
    )


@inputs("land")
class LandInputs:
    """How the land is held."""

    tenure: Any = choice("leased", "bought", "given", doc="How the footprint is held.")
    price: Array = quantity(
        "money/m2", low=0, drift="land", doc="Price of land, where bought.", fact="optional"
    )
    rent: Array = quantity(
        "money/m2/year",
        low=0,
        drift="land",
        doc="Rent of land or floor; of given land, the rent it could bring.",
        fact="optional",
    )


@dataclass(frozen=True)
class Budget:
    """Capital at appraisal-date prices; each part (draws, 1). [money]"""

    bill: Bill
    uplift: Array
    unlisted: Array
    overrun: Array
    design: Array
    contingency: Array
    land: Array

    @property
    def works(self) -> Array:
        """Bill with unlisted items and overrun. [money]"""
        direct: Array = np.sum(self.bill.cost, axis=1, keepdims=True)
        return direct + self.unlisted + self.overrun

    @property
    def total(self) -> Array:
        """All capital, contingency and land included. [money]"""
        return self.works + self.design + self.contingency + self.land


@dataclass(frozen=True)
class CapitalFlows:
    """Capital through the life, nominal; arrays (draws, months + 1), spending positive.

    `depreciation_initial` is the part of `depreciation` on what construction bought;
    `written_off` is book value left in the last month, when residual values are realised;
    `purchases` are what is written off, one by one.
    """

    initial: Mapping[str, Array]
    replacement: Array
    residual: Array
    land: Array
    land_sale: Array
    depreciation: Array
    depreciation_initial: Array
    written_off: Array
    purchases: tuple[Purchase, ...] = ()


def land_cost(values: Values, design: Design) -> Array:
    """Return the price of the footprint where it is bought, else 0. [money]"""
    land = build(LandInputs, values)
    held = 1.0 if land.tenure == "bought" else 0.0
    return held * land.price * driver_of(design, "footprint", "land.price")


def budget(values: Values, design: Design) -> Budget:
    """Return the capital budget at appraisal-date prices."""
    bill = priced_bill(values, design)
    added = build(CapitalInputs, values)
    direct = np.sum(bill.cost, axis=1, keepdims=True)
    unlisted = direct * added.unlisted
    overrun = (direct + unlisted) * (added.overrun - 1.0)
    return Budget(
        bill,
        (1.0 + added.unlisted) * added.overrun,
        unlisted,
        overrun,
        (direct + unlisted + overrun) * added.design,
        added.contingency,
        land_cost(values, design),
    )


def capital_cost(values: Values, design: Design) -> Array:
    """Return the capital cost without contingency, at appraisal-date prices. [money]"""
    parts = budget(values, design)
    return parts.works + parts.design + parts.land


def phase_weights(phase: str, timeline: Timeline) -> Array:
    """Share a payment over months 0 to the end of construction, (1, months + 1); sums to 1. [1]

    `early` covers the first half of construction, `late` the second, `even` all of it.
    """
    last = timeline.construction
    half = last / 2.0
    month = timeline.month
    inside = {
        "early": month <= half,
        "even": month <= last,
        "late": (month >= half) & (month <= last),
    }[phase].astype(np.float64)
    return (inside / np.sum(inside))[None, :]


@dataclass
class Ledger:
    """Running totals of capital through the life while assets are entered one by one."""

    timeline: Timeline
    path: Array
    residual_share: Array
    initial: dict[str, Array]
    replacement: Array
    residual: Array
    depreciation: Array
    depreciation_initial: Array
    purchases: list[Purchase] = field(default_factory=list, init=False)

    def enter(self, cost: Array, spend: Array, life: float, category: str = "") -> None:
        """Write off what construction spent, then replace it until the appraisal ends."""
        built, end = self.timeline.construction, self.timeline.months
        months = max(round(12 * life), 1) if life > 0 else end - built
        spent = np.sum(spend, axis=1, keepdims=True)
        last = min(built + months, end)
        self.depreciation_initial[:, built + 1 : last + 1] += spent / months
        self.purchases.append(Purchase(category, built, spent, months, initial=True))
        bought = built
        for month in range(built + months, end, months) if life > 0 else ():
            price = cost * self.path[:, month : month + 1]
            self.replacement[:, month : month + 1] += price
            self.depreciation[:, month + 1 : month + months + 1] += price / months
            self.purchases.append(Purchase(category, month, price, months, initial=False))
            bought = month
        unused = max(1.0 - (end - bought) / months, 0.0) if life > 0 else 0.0
        self.residual[:, -1:] += cost * self.path[:, -1:] * unused * self.residual_share


def capital_flows(
    values: Values, parts: Budget, paths: PricePaths, timeline: Timeline
) -> CapitalFlows:
    """Lay the budget along the life, with replacements, write-off and residual values."""
    path, share = paths["equipment"], build(ProjectInputs, values).residual_share
    draws = draws_of(parts.total, path, paths["land"], share)
    zero = [np.zeros((draws, timeline.months + 1)) for _ in range(4)]
    ledger = Ledger(timeline, path, share, {}, *zero)
    for (category, phase, life), direct in parts.bill.grouped().items():
        cost = parts.uplift * direct
        spend = cost * path * phase_weights(phase, timeline)
        ledger.initial[category] = ledger.initial.get(category, np.zeros((1, 1))) + spend
        ledger.enter(cost, spend, life, category)
    for name, cost, phase in (
        ("design", parts.design, "early"),
        ("contingency", parts.contingency, "even"),
    ):
        spend = cost * path * phase_weights(phase, timeline)
        ledger.initial[name] = spend
        ledger.enter(cost, spend, 0.0, name)
    return _closed(ledger, parts.land, paths["land"])


def _closed(ledger: Ledger, land: Array, land_path: Array) -> CapitalFlows:
    draws, months = ledger.replacement.shape
    purchase, sale = np.zeros((draws, months)), np.zeros((draws, months))
    purchase[:, :1] += land
    sale[:, -1:] += land * land_path[:, -1:]
    depreciation = ledger.depreciation + ledger.depreciation_initial
    spent = total(ledger.initial.values()) + ledger.replacement
    written_off = np.zeros((draws, months))
    written_off[:, -1:] = np.sum(spent - depreciation, axis=1, keepdims=True)
    return CapitalFlows(
        {name: np.broadcast_to(flow, (draws, months)) for name, flow in ledger.initial.items()},
        ledger.replacement,
        ledger.residual,
        purchase,
        sale,
        depreciation,
        ledger.depreciation_initial,
        written_off,
        tuple(ledger.purchases),
    )
