"""What does building the farm cost, when is it spent, and when is it spent again?

Base estimate = bill × (1 + unlisted items) × overrun of its reference class, then design and
supervision, value-added tax that is not recovered, contingency and land. Equipment is overhauled
at half its life where the bill says so, and bought again at the end of it until the appraisal
ends; what is left of it then has a residual value, a line of its own. Each part of a cost (goods
bought at home or abroad, freight, carriage, labour) follows its own price path to the month of
spending; each asset is written off in equal months.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity
from sitefare.farm.result import Design
from sitefare.money.allowances import Purchase
from sitefare.money.bill import Bill, driver_of, priced_bill
from sitefare.money.delivery import COMPONENTS
from sitefare.money.phases import phase_weights
from sitefare.money.prices import PricePaths
from sitefare.money.project import ProjectInputs, draws_of, total
from sitefare.money.vat import VatInputs, rate_lost
from sitefare.timeline import Timeline

Months = npt.NDArray[np.intp]


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
    vat_rate: Array
    contingency: Array
    land: Array

    @property
    def works(self) -> Array:
        """Bill with unlisted items and overrun. [money]"""
        direct: Array = np.sum(self.bill.cost, axis=1, keepdims=True)
        return direct + self.unlisted + self.overrun

    @property
    def vat(self) -> Array:
        """Value-added tax on works and design that is not recovered. [money]"""
        return (self.works + self.design) * self.vat_rate

    @property
    def factor(self) -> Array:
        """What a thing costs over its line of the bill: uplift and tax not recovered. [1]"""
        return self.uplift * (1.0 + self.vat_rate)

    @property
    def total(self) -> Array:
        """All capital, contingency and land included. [money]"""
        return self.works + self.design + self.vat + self.contingency + self.land

    @property
    def reserve(self) -> Array:
        """Yearly sum that replaces and overhauls what wears out, (draws, 1). [money/year]"""
        bill = self.bill
        lasting = bill.life > 0
        wear = bill.cost * (1.0 + bill.overhaul) / np.where(lasting, bill.life, 1.0) * lasting
        yearly: Array = np.sum(wear, axis=1, keepdims=True) * self.factor
        return yearly


@dataclass(frozen=True)
class CapitalFlows:
    """Capital through the life, nominal; arrays (draws, months + 1), spending positive.

    `spent` is what construction spends by category in its months, (draws, first months);
    `purchases` are what is written off, one by one.
    """

    spent: Mapping[str, Array]
    replacement: Array
    residual: Array
    land: Array
    land_sale: Array
    purchases: tuple[Purchase, ...] = ()

    @cached_property
    def works(self) -> Array:
        """What construction spends, land left out. [money]"""
        return self._through_life(total(self.spent.values()))

    @cached_property
    def initial(self) -> Mapping[str, Array]:
        """What construction spends by category, through the life. [money]"""
        return {name: self._through_life(flow) for name, flow in self.spent.items()}

    def _through_life(self, spent: Array) -> Array:
        """Lay what construction spends along the life. [money]"""
        flow = np.zeros(self.replacement.shape)
        flow[:, : spent.shape[1]] = spent
        return flow

    def _written(self, *, initial: bool) -> Array:
        """Return the write-off of what construction bought, or of what came later. [money]"""
        flow = np.zeros(self.replacement.shape)
        for one in self.purchases:
            if one.initial == initial:
                flow[:, one.month + 1 : one.month + one.months + 1] += one.cost / one.months
        return flow

    @cached_property
    def depreciation_initial(self) -> Array:
        """Depreciation of what construction bought. [money]"""
        return self._written(initial=True)

    @cached_property
    def depreciation(self) -> Array:
        """All depreciation, in equal months. [money]"""
        return self._written(initial=False) + self.depreciation_initial

    @cached_property
    def written_off(self) -> Array:
        """Book value left in the last month, when residual values are realised. [money]"""
        flow = np.zeros(self.replacement.shape)
        left = self.works + self.replacement - self.depreciation
        flow[:, -1:] = np.sum(left, axis=1, keepdims=True)
        return flow


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
        rate_lost(build(VatInputs, values)),
        added.contingency,
        land_cost(values, design),
    )


def capital_cost(values: Values, design: Design) -> Array:
    """Return the capital cost without contingency, at appraisal-date prices. [money]"""
    parts = budget(values, design)
    return parts.works + parts.design + parts.vat + parts.land


@dataclass
class Ledger:
    """Running totals of capital through the life while assets are entered one by one.

    `path` holds the nominal price paths of a cost's parts, (draws, components, months + 1);
    `paying` counts the months, month 0 among them, in which construction may spend.
    """

    timeline: Timeline
    path: Array
    residual_share: Array
    paying: int
    replacement: Array
    residual: Array
    spent: dict[str, Array] = field(default_factory=dict, init=False)
    purchases: list[Purchase] = field(default_factory=list, init=False)

    def price(self, cost: Array, month: int) -> Array:
        """Return the nominal price in a month of a cost by its parts, (draws, 1). [money]"""
        priced: Array = np.sum(cost * self.path[..., month], axis=1, keepdims=True)
        return priced

    def spend(self, name: str, cost: Array, curve: tuple[Months, Array]) -> Array:
        """Spend a cost by its parts along a curve: months and weighted paths. (draws, months)."""
        months, weighted = curve
        spent: Array = np.sum(cost[:, :, None] * weighted, axis=1)
        if name not in self.spent:
            self.spent[name] = np.zeros((len(self.replacement), self.paying))
        self.spent[name][:, months] += spent
        return spent

    def enter(
        self, cost: Array, spend: Array, life: float, overhaul: float = 0.0, *, category: str = ""
    ) -> None:
        """Write off what construction spent, then replace it until the appraisal ends."""
        built, end = self.timeline.construction, self.timeline.months
        months = max(round(12 * life), 1) if life > 0 else end - built
        spent = np.sum(spend, axis=1, keepdims=True)
        self.purchases.append(Purchase(category, built, spent, months, initial=True))
        bought = built
        for month in range(built + months, end, months) if life > 0 else ():
            self.renew(category, self.price(cost, month), month, months)
            bought = month
        half = months // 2
        for month in range(built + half, end, months) if overhaul > 0 and life > 0 else ():
            self.renew(category, overhaul * self.price(cost, month), month, months - half)
        unused = max(1.0 - (end - bought) / months, 0.0) if life > 0 else 0.0
        self.residual[:, -1:] += self.price(cost, end) * unused * self.residual_share

    def renew(self, category: str, price: Array, month: int, months: int) -> None:
        """Pay for an asset or its overhaul in a month and write it off over the months after."""
        self.replacement[:, month : month + 1] += price
        self.purchases.append(Purchase(category, month, price, months, initial=False))


def capital_flows(
    values: Values, parts: Budget, paths: PricePaths, timeline: Timeline
) -> CapitalFlows:
    """Lay the budget along the life, with replacements, write-off and residual values."""
    share = build(ProjectInputs, values).residual_share
    path = np.stack(np.broadcast_arrays(*[paths[name] for name in COMPONENTS]), axis=1)
    draws = draws_of(parts.total, path, paths["land"], share)
    replaced, residual = (np.zeros((draws, timeline.months + 1)) for _ in range(2))
    curves = {}
    for phase, weights in phase_weights(values, timeline).items():
        months = np.flatnonzero(weights[0])
        curves[phase] = (months, path[:, :, months] * weights[:, None, months])
    paying = 1 + max(int(months[-1]) for months, _ in curves.values())
    ledger = Ledger(timeline, path, share, paying, replaced, residual)
    for (category, phase, life, overhaul), direct in parts.bill.grouped().items():
        cost = parts.factor * direct
        spend = ledger.spend(category, cost, curves[phase])
        ledger.enter(cost, spend, life, overhaul, category=category)
    for name, sum_, phase in (
        ("design", parts.design * (1.0 + parts.vat_rate), "early"),
        ("contingency", parts.contingency, "even"),
    ):
        cost = _as_works(parts, sum_)
        ledger.enter(cost, ledger.spend(name, cost, curves[phase]), 0.0, category=name)
    return _closed(ledger, parts.land, paths["land"])


def _as_works(parts: Budget, amount: Array) -> Array:
    """Split a sum by price path as the works are split, (draws, components). [money]"""
    works = np.sum(parts.bill.parts, axis=2)
    split: Array = amount * works / np.sum(works, axis=1, keepdims=True)
    return split


def _closed(ledger: Ledger, land: Array, land_path: Array) -> CapitalFlows:
    draws, months = ledger.replacement.shape
    purchase, sale = np.zeros((draws, months)), np.zeros((draws, months))
    purchase[:, :1] += land
    sale[:, -1:] += land * land_path[:, -1:]
    return CapitalFlows(
        ledger.spent, ledger.replacement, ledger.residual, purchase, sale, tuple(ledger.purchases)
    )
