"""How much money is tied up between paying and being paid?

Receivables and payables follow the flows of the last months by their days. Supplies are bought
their days ahead of use, so the first feed is bought before the first fish eat; spare parts are
bought when building ends. All are settled in the last month of the appraisal.

Fish in the tanks stand at cost: feed and fingerlings are added while they grow and taken out as
fish leave, by weight. IAS 41 asks for fair value, and allows cost where no market price can be
measured reliably, as for fish too small to sell. It moves profit between months, never cash;
fish left in the last month are written off.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.farm.result import FarmFlows
from sitefare.money.project import draws_of
from sitefare.money.vat import cash_effect
from sitefare.timeline import Timeline

LONGEST = 120


@inputs("working_capital")
class WorkingCapitalInputs:
    """Days of credit and stock."""

    receivable_days: Array = quantity(
        "day", low=0, high=LONGEST, doc="Days until buyers outside the people served pay."
    )
    payable_days: Array = quantity("day", low=0, high=LONGEST, doc="Days of suppliers' credit.")
    stock_days: Array = quantity(
        "day", low=0, high=LONGEST, doc="Days of feed, dosing and packing held."
    )
    spares_share: Array = quantity("1", low=0, high=0.2, doc="Spare parts held, of the works.")


@dataclass(frozen=True)
class WorkingCapital:
    """Balances at month ends and what they take, (draws, months + 1). [money]

    `supplies` are feed, dosing, packing and spare parts, the last alone in `spares`;
    `fish_at_cost` is what the fish in the tanks cost; `cash` is what balances other than fish
    take, money in positive; `fish_profit` is the month's cost put on fish less what left with
    fish sold, a gain of profit that is no cash. `first_cohort` is feed and fingerlings bought
    before the first fish leave, (draws, 1).
    """

    receivables: Array
    supplies: Array
    payables: Array
    cash: Array
    fish_at_cost: Array
    first_cohort: Array
    spares: Array

    @property
    def stock(self) -> Array:
        """Supplies, spare parts and fish. [money]"""
        return self.supplies + self.fish_at_cost

    @cached_property
    def fish_profit(self) -> Array:
        """Cost put on fish in the tanks less cost that left with fish. [money]"""
        return np.diff(self.fish_at_cost, axis=1, prepend=0.0)


def trailing(flow: Array, days: Array) -> Array:
    """Return the last `days` of a monthly flow as a balance, nothing in the last month. [money]"""
    balance = np.zeros(np.broadcast_shapes(flow.shape, days.shape))
    for back in range(LONGEST * 12 // 365 + 1):
        share = np.clip(days / MEAN_MONTH - back, 0.0, 1.0)
        if np.any(share > 0.0):
            balance[:, back:] += share * flow[:, : flow.shape[1] - back]
    balance[:, -1] = 0.0
    return balance


def ahead(flow: Array, days: Array) -> Array:
    """Return the next `days` of a monthly flow as a balance, nothing in the last month. [money]"""
    balance = np.zeros(np.broadcast_shapes(flow.shape, days.shape))
    for on in range(1, LONGEST * 12 // 365 + 2):
        share = np.clip(days / MEAN_MONTH - (on - 1), 0.0, 1.0)
        if np.any(share > 0.0):
            balance[:, :-on] += share * flow[:, on:]
    return balance


def spare_parts(share: Array, works: Array, path: Array, timeline: Timeline) -> Array:
    """Return spare parts held at cost from the end of building to the month before last. [money]"""
    built = timeline.construction
    held = (timeline.month >= built) & (timeline.month < timeline.months)
    parts: Array = share * works * path[:, built : built + 1] * held[None, :]
    return parts


def fish_at_cost(bought: Array, flows: FarmFlows) -> Array:
    """Return what the fish in the tanks cost, weighted by weight, at month ends. [money]

    Ordinary deaths are borne by the fish that live; fish killed by the water leave with their
    cost. (opening + bought) × the share of the month's live weight that stays.
    """
    gone = flows.fish_live_kg + flows.fish_deaths_kg
    stood = gone + flows.fish_biomass_kg
    stays = np.where(stood > 0, flows.fish_biomass_kg / np.where(stood > 0, stood, 1.0), 0.0)
    cost = np.zeros((draws_of(bought, stays), bought.shape[1]))
    for month in range(1, bought.shape[1] - 1):
        at = slice(month, month + 1)
        cost[:, at] = (cost[:, month - 1 : month] + bought[:, at]) * stays[:, at]
    return cost


def first_cohort(bought: Array, flows: FarmFlows) -> Array:
    """Return feed and fingerlings bought before the first fish leave, (draws, 1). [money]"""
    before = np.cumsum(flows.fish_live_kg, axis=1) <= 0
    return np.asarray(np.sum(bought * before, axis=1, keepdims=True))


def working_capital(
    values: Values,
    sales: Array,
    on_credit: Array,
    stocked: Array,
    *,
    spares: tuple[Array, Array],
    fish: tuple[Array, FarmFlows],
    timeline: Timeline,
) -> WorkingCapital:
    """Return balances and the cash flow of their changes; money in is positive.

    Parameters
    ----------
    sales, on_credit, stocked : Array, shape (draws, months + 1)
        Sales on credit, costs bought on credit, costs of what is kept in stock. [money]
    spares : tuple of Array
        Cost of the works at the appraisal date, (draws, 1) [money], and the path of its price.
    fish : tuple of Array and FarmFlows
        Feed and fingerlings by month [money], and the farm's flows.
    """
    days = build(WorkingCapitalInputs, values)
    works, path = spares
    bought, flows = fish
    receivables = trailing(sales, days.receivable_days)
    parts = spare_parts(days.spares_share, works, path, timeline)
    supplies = ahead(stocked, days.stock_days) + parts
    payables = trailing(on_credit, days.payable_days)
    net = payables - receivables - supplies
    return WorkingCapital(
        receivables,
        supplies,
        payables,
        np.diff(net, axis=1, prepend=0.0),
        fish_at_cost(bought, flows),
        first_cohort(bought, flows),
        parts,
    )


def with_refunds(tied_up: WorkingCapital, awaited: Array) -> WorkingCapital:
    """Return the balances with tax to be refunded among what others owe. [money]"""
    cash = tied_up.cash + cash_effect(awaited)
    return replace(tied_up, receivables=tied_up.receivables + awaited, cash=cash)
