"""Is the farm worth its resources to the country, whoever pays and whoever gains?

The project's lines are revalued in domestic prices (Squire and van der Tak 1975; ADB 2017):
- taxes and duty go, as transfers; so does the net tax inside power and fuel;
- imports are priced by the shadow exchange rate, 1 over the standard conversion factor;
- unskilled hours cost what the worker would add elsewhere, a share of the wage;
- food that reaches people, given or sold to them, is worth what it costs in the local market;
- emissions of the energy used cost a carbon price that rises in real terms;
- claims between firms are no resource: working capital is stocks alone.
Skilled wages, land rents and domestic goods stand at market prices. Nominal; money in positive.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.farm.result import FarmFlows
from sitefare.money.bill import Bill, FreightInputs
from sitefare.money.capital import Budget, CapitalFlows, capital_flows
from sitefare.money.discounting import present_value
from sitefare.money.indicators import Solved
from sitefare.money.prices import PricePaths
from sitefare.money.rates import rates_of_return
from sitefare.money.views import MoneyView
from sitefare.people.alternative import LocalPriceInputs
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: Operating lines that are partly imported, by the row that says how far.
IMPORTED = {
    "feed": "feed_imported",
    "fingerlings": "supplies_imported",
    "planting": "supplies_imported",
    "dosing": "supplies_imported",
    "packing": "supplies_imported",
    "generator_fuel": "fuel_imported",
    "heating_fuel": "fuel_imported",
}

#: Lines of energy, whose price holds taxes less subsidies.
ENERGY = ("electricity", "electricity_fixed", "generator_fuel", "heating_fuel")

#: Cash that people served pay; the economic value of their food stands in its place.
REPLACED = ("paid_by_people_served", "working_capital", "tax")


@inputs("economic")
class EconomicInputs:
    """How the economic view revalues market prices."""

    discount_rate: Array = quantity(
        "1/year", low=-0.05, high=0.5, varies="choice", doc="Social discount rate, real."
    )
    conversion_factor: Array = quantity(
        "1",
        low=0.5,
        high=1.5,
        doc="Standard conversion factor: border over domestic prices of traded goods.",
    )
    shadow_wage: Array = quantity(
        "1",
        low=0,
        high=1.5,
        doc="Shadow wage factor: economic cost of an unskilled hour over its wage.",
    )
    carbon_price: Array = quantity(
        "money/t", low=0, doc="Carbon price of a tonne of carbon dioxide at the appraisal date."
    )
    carbon_growth: Array = quantity(
        "1/year", low=-0.05, high=0.15, doc="Real yearly rise of the carbon price."
    )
    energy_tax: Array = quantity(
        "1",
        low=-2,
        high=0.9,
        doc="Taxes less subsidies in power and fuel, as a share of their price.",
    )
    feed_imported: Array = quantity("1", low=0, high=1, doc="Imported share of the cost of feed.")
    fuel_imported: Array = quantity("1", low=0, high=1, doc="Imported share of the cost of fuel.")
    supplies_imported: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Imported share of young fish, seed, dosing and packing.",
    )


@dataclass(frozen=True)
class Market:
    """The project as the market prices it: nominal lines, budget and what they came from."""

    lines: Mapping[str, Array]
    group: Mapping[str, str]
    parts: Budget
    stock: Array
    paths: PricePaths


def foreign(share: Array | float, terms: EconomicInputs) -> Array:
    """Return the economic over the market price of a good imported by a share of its cost. [1]"""
    return 1.0 - share + share / terms.conversion_factor


def economic_bill(values: Values, bill: Bill, terms: EconomicInputs) -> Bill:
    """Return the bill without duty, what is imported at the shadow exchange rate."""
    freight = build(FreightInputs, values)
    imported = np.array([float(item.origin == "imported") for _, item in bill.items])
    mass = np.array([float(item.mass[0, 0]) for _, item in bill.items]) * bill.quantity
    at_port = (bill.goods + mass * freight.imported) * (1.0 + freight.insurance)
    duty = imported * at_port * freight.duty
    dearer = imported * at_port * (foreign(1.0, terms) - 1.0)
    return replace(bill, cost=bill.cost - duty + dearer)


def economic_capital(
    values: Values, parts: Budget, paths: PricePaths, timeline: Timeline, terms: EconomicInputs
) -> tuple[CapitalFlows, dict[str, Array]]:
    """Return capital through the life at economic prices, and factors of what follows it. [1]"""
    bill = economic_bill(values, parts.bill, terms)
    before, after = (np.sum(b.cost, axis=1, keepdims=True) for b in (parts.bill, bill))
    cared, planned = (np.sum(b.cost * b.upkeep, axis=1, keepdims=True) for b in (bill, parts.bill))
    scale = after / before
    changed = replace(
        parts,
        bill=bill,
        unlisted=parts.unlisted * scale,
        overrun=parts.overrun * scale,
        design=parts.design * scale,
        contingency=parts.contingency * scale,
    )
    upkeep = cared / np.where(planned > 0, planned, 1.0)
    following = {"upkeep": upkeep, "insurance": scale}
    return capital_flows(values, changed, paths, timeline), following


def _running(
    market: Market, terms: EconomicInputs, following: Mapping[str, Array]
) -> dict[str, Array]:
    """Return income and operating lines at economic prices. [money]"""
    factors = dict.fromkeys(ENERGY, 1.0 - terms.energy_tax)
    for name, row in IMPORTED.items():
        factors[name] = factors.get(name, np.ones((1, 1))) * foreign(getattr(terms, row), terms)
    factors |= {"wages_worker": terms.shadow_wage, **following}
    return {
        name: x * factors[name] if name in factors else x
        for name, x in market.lines.items()
        if market.group[name] in ("income", "operating") and name not in REPLACED
    }


def food_value(values: Values, fed: PeopleFed, paths: PricePaths) -> Array:
    """Return what the food that reaches people, staff too, costs in the local market. [money]"""
    found: Array = np.zeros((1, 1))
    for key, kg in fed.served_kg.items():
        reaches = kg + fed.staff_kg.get(key, np.zeros((1, 1)))
        found = found + reaches * build(LocalPriceInputs, values, key).price
    return np.asarray(found * paths["food"])


def carbon_cost(terms: EconomicInputs, flows: FarmFlows, paths: PricePaths, t: Timeline) -> Array:
    """Return the cost of the emissions of the energy used. [money]"""
    path = paths.inflation * t.growth(terms.carbon_growth)
    return np.asarray(flows.emissions_kg / 1000.0 * terms.carbon_price * path)


def economic_view(
    values: Values,
    market: Market,
    flows: FarmFlows,
    fed: PeopleFed,
    reinvestment: Array,
    timeline: Timeline,
) -> MoneyView:
    """Return the project revalued for the country, before funding; nominal lines. [money]"""
    terms, paths = build(EconomicInputs, values), market.paths
    capital, following = economic_capital(values, market.parts, paths, timeline, terms)
    running = _running(market, terms, following)
    lines = {f"capital_{name}": -flow for name, flow in capital.initial.items()}
    group = dict.fromkeys(lines, "capital") | {name: market.group[name] for name in running}
    more = {
        "capital_land": (-capital.land, "capital"),
        "replacements": (-capital.replacement, "replacement"),
        "food_reaching_people": (food_value(values, fed, paths), "income"),
        "carbon": (-carbon_cost(terms, flows, paths, timeline), "operating"),
        "stock_held": (-np.diff(market.stock, axis=1, prepend=0.0), "working_capital"),
        "residual_equipment": (capital.residual, "residual"),
        "residual_land": (capital.land_sale, "residual"),
    }
    lines |= running | {name: flow for name, (flow, _) in more.items()}
    group |= {name: part for name, (_, part) in more.items()}
    return MoneyView(lines, group, paths.inflation, terms.discount_rate, reinvestment)


def economic_worth(view: MoneyView) -> tuple[dict[str, Array], dict[str, Solved]]:
    """Return the economic indicators, and the rates behind them."""
    flow, factors = view.flow, view.factors
    gains = present_value(view.sum_of("income", "residual"), factors)
    costs = gains - present_value(flow * view.deflator, factors)
    rates = rates_of_return(flow)
    return {
        "npv_economic": gains - costs,
        "irr_economic": rates.rate,
        "benefit_cost_ratio_economic": np.where(
            costs > 0, gains / np.where(costs > 0, costs, 1.0), np.nan
        ),
    }, {"irr_economic": Solved(rates, flow)}
