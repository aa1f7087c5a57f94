"""What does running the farm cost, month by month, and how does each line behave?

Every line is nominal money, positive for a cost, (draws, months + 1): a physical flow times
an appraisal-date price times its group's price path. Each hour is costed at a wage.

A line is variable if it follows feed, fish or harvest; a step if it follows people employed;
fixed if it stays as long as the farm runs; mixed if machines that follow fish, plants and harvest
share a meter with those that run all the time.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.capital import Budget, LandInputs
from sitefare.money.labour import wage_bill
from sitefare.money.overheads import (
    OperationsInputs,
    OverheadItem,
    overhead_items,
    overheads,
    standing_costs,
)
from sitefare.money.prices import PricePaths
from sitefare.money.project import total
from sitefare.money.supplies import supplies
from sitefare.money.tariff import utilities
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: Uses of electricity that follow fish, plants and harvest; the rest runs whatever is grown.
VARIABLE_POWER = ("aeration", "lamps", "cold_store")


@dataclass(frozen=True)
class Nature:
    """How a line behaves: its price group, fixed, variable, step or mixed, and VAT or not."""

    group: str
    behaviour: str
    taxable: bool = True


#: Every operating line but the overheads, whose table says it, and the wages of people at work.
NATURES = {
    "feed": Nature("feed", "variable"),
    "fingerlings": Nature("supplies", "variable"),
    "planting": Nature("supplies", "variable"),
    "dosing": Nature("supplies", "variable"),
    "packing": Nature("supplies", "variable"),
    "transport": Nature("freight", "variable"),
    "sludge": Nature("services", "variable"),
    "electricity": Nature("energy", "mixed"),
    "electricity_fixed": Nature("energy", "fixed"),
    "generator_fuel": Nature("energy", "mixed"),
    "heating_fuel": Nature("energy", "fixed"),
    "water": Nature("water", "variable"),
    "discharge": Nature("water", "variable"),
    "upkeep": Nature("equipment", "fixed"),
    "insurance": Nature("services", "fixed", taxable=False),
    "rent": Nature("land", "fixed", taxable=False),
    "wages_on_call": Nature("wages", "fixed", taxable=False),
}

#: Pay of people bears no VAT; whole people are a step.
WAGES = Nature("wages", "step", taxable=False)


@dataclass(frozen=True)
class Operating:
    """Operating cost by line, and which of it is bought on credit or stocked.

    `unpaid` is the part of a line that is given in kind: volunteers' hours, land lent free.
    `natures` says how each line behaves; `fixed` is the part of each line that is paid whatever
    the harvest with the people employed, so that a line less its fixed part is variable.
    """

    lines: Mapping[str, Array]
    on_credit: Array
    stocked: Array
    unpaid: Mapping[str, Array]
    natures: Mapping[str, Nature]
    fixed: Mapping[str, Array]

    def plus(self, name: str, line: Array, nature: Nature) -> "Operating":
        """Return the costs with one more line, fixed unless it is variable, paid at once."""
        part = np.zeros((1, 1)) if nature.behaviour == "variable" else line
        return replace(
            self,
            lines={**self.lines, name: line},
            natures={**self.natures, name: nature},
            fixed={**self.fixed, name: part},
        )

    def taxed(self, factor: Array) -> "Operating":
        """Return the costs with the value-added tax that is lost on what it may be charged on."""
        due = self.taxable

        lines = {n: x * factor if due[n] else x for n, x in self.lines.items()}

        def grown(name: str, part: Array) -> Array:
            if part is self.lines[name]:
                return lines[name]
            return part * factor if due[name] else part

        return replace(
            self,
            lines=lines,
            fixed={name: grown(name, part) for name, part in self.fixed.items()},
            on_credit=self.on_credit * factor,
            stocked=self.stocked * factor,
        )

    @cached_property
    def total(self) -> Array:
        """All costs, those given in kind too. [money]"""
        return total(self.lines.values())

    @property
    def moving(self) -> dict[str, Array]:
        """The part of each line that follows use, of the lines that have one. [money]"""
        lines = {name: cost for name, cost in self.lines.items() if self.fixed[name] is not cost}
        return {name: cost - self.fixed[name] for name, cost in lines.items()}

    @cached_property
    def given(self) -> Array:
        """What is costed but given in kind. [money]"""
        return total(self.unpaid.values())

    @cached_property
    def taxable(self) -> dict[str, bool]:
        """Whether value-added tax may be charged on a line."""
        return {name: nature.taxable for name, nature in self.natures.items()}


def natures_of(lines: Mapping[str, Array], items: Mapping[str, OverheadItem]) -> dict[str, Nature]:
    """Return how each line behaves."""
    listed = {
        key: Nature(str(item.drift), str(item.behaviour), taxable=item.vat == "yes")
        for key, item in items.items()
    }
    return {name: listed.get(name) or NATURES.get(name) or WAGES for name in lines}


def fixed_parts(
    lines: Mapping[str, Array],
    natures: Mapping[str, Nature],
    wages: Mapping[str, Array],
    flows: FarmFlows,
) -> dict[str, Array]:
    """Return the part of each line that is paid whatever the harvest; `wages` gives theirs. [money]

    Of power and generator fuel it is the share of electricity that pumps, fans, heat, cold and
    controls take.
    """
    moving = total(x for name, x in flows.electricity_kwh.items() if name in VARIABLE_POWER)
    everything = flows.electricity_total_kwh
    stays = 1.0 - moving / np.where(everything > 0, everything, 1.0)
    nothing = np.zeros((1, 1))
    parts = {}
    for name, line in lines.items():
        behaviour = natures[name].behaviour
        mixed = line * stays if behaviour == "mixed" else line
        parts[name] = nothing if behaviour == "variable" else mixed
    return {**parts, **wages}


def unpaid(values: Values, wage_lines: Mapping[str, Array], rent_line: Array) -> dict[str, Array]:
    """Return by line what is costed but given in kind. [money]"""
    given = {}
    share = build(OperationsInputs, values).unpaid_share
    if "wages_worker" in wage_lines and np.any(share > 0):
        given["wages_worker"] = share * wage_lines["wages_worker"]
    if build(LandInputs, values).tenure == "given":
        given["rent"] = rent_line
    return given


def operating(
    values: Values,
    design: Design,
    parts: Budget,
    flows: FarmFlows,
    fed: PeopleFed,
    *,
    paths: PricePaths,
    timeline: Timeline,
) -> Operating:
    """Return every operating cost of the farm."""
    bought = supplies(values, flows, fed, paths)
    metered = utilities(values, design, flows, paths, timeline)
    wages = wage_bill(values, flows, paths, timeline)
    standing = standing_costs(values, design, parts, paths, timeline)
    items = overhead_items(values)
    yearly = overheads(items, design, paths, timeline)
    lines = {**bought, **metered, **wages.lines, **standing, **yearly}
    natures = natures_of(lines, items)
    return Operating(
        lines,
        on_credit=total(bought.values()) + total(metered.values()) + standing["upkeep"],
        stocked=total(bought[name] for name in ("feed", "dosing", "packing")),
        unpaid=unpaid(values, wages.lines, standing["rent"]),
        natures=natures,
        fixed=fixed_parts(lines, natures, wages.fixed, flows),
    )
