"""Is the farm worth its resources to the country, whoever pays and whoever gains?

The project's lines are revalued in domestic prices (Squire and van der Tak 1975; ADB 2017):
- taxes, duty and value-added tax go, as transfers; so does the net tax inside power and fuel;
- imports are priced by the shadow exchange rate, 1 over the standard conversion factor;
- unskilled hours cost what the worker would add elsewhere, a share of the wage;
- food that reaches people, given or sold to them, is worth what it costs in the local market;
- emissions of the energy used cost a carbon price that rises in real terms;
- claims between firms are no resource: working capital is stocks alone, fish left out.
Skilled wages, land rents and domestic goods stand at market prices. Nominal; money in positive.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.farm.result import FarmFlows
from sitefare.money.bill import Bill
from sitefare.money.capital import Budget, CapitalFlows, capital_flows
from sitefare.money.delivery import COMPONENTS, FreightInputs, duty_rate
from sitefare.money.discounting import present_value
from sitefare.money.income import Income
from sitefare.money.indicators import Solved
from sitefare.money.later import Later, sums_by
from sitefare.money.prices import PricePaths
from sitefare.money.rates import rates_of_return
from sitefare.money.repairs import storm_repairs
from sitefare.money.vat import VatInputs, rate_lost
from sitefare.money.views import MoneyView
from sitefare.money.working_capital import WorkingCapital
from sitefare.people.alternative import LocalPriceInputs
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: A line's name, its group and its flow by month. [money]
Line = tuple[str, str, Array]

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

#: Components of a cost of construction on which duty is paid.
LANDED = ("imported", "imported_freight")

#: Lines that are reckoned anew: what people served pay, and repairs at economic prices.
REPLACED = ("paid_by_people_served", "storm_repairs")


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
    """The project as the market prices it: nominal lines, budget and what they came from.

    `taxable` says on which operating lines value-added tax is paid.
    """

    lines: Mapping[str, Array]
    group: Mapping[str, str]
    taxable: Mapping[str, bool]
    parts: Budget
    tied_up: WorkingCapital
    income: Income
    paths: PricePaths


def foreign(share: Array | float, terms: EconomicInputs) -> Array:
    """Return the economic over the market price of a good imported by a share of its cost. [1]"""
    return 1.0 - share + share / terms.conversion_factor


def economic_bill(values: Values, bill: Bill, terms: EconomicInputs) -> Bill:
    """Return the bill without duty, what is imported at the shadow exchange rate.

    What lands costs its price at the port times 1 + duty + clearing; the port's price is foreign.
    """
    freight = build(FreightInputs, values)
    paid = 1.0 + duty_rate(values, freight) + freight.clearing
    factor = (foreign(1.0, terms) + freight.clearing) / paid
    landed = np.array([name in LANDED for name in COMPONENTS])
    parts = bill.parts * np.where(landed, factor, 1.0)[:, :, None]
    return replace(bill, parts=parts, cost=np.sum(parts, axis=1))


def economic_budget(values: Values, parts: Budget, terms: EconomicInputs) -> tuple[Budget, Array]:
    """Return the budget at economic prices, no value-added tax in it, and works over works. [1]

    A contingency is a sum, tax included; it follows the works.
    """
    bill = economic_bill(values, parts.bill, terms)
    before, after = (np.sum(b.cost, axis=1, keepdims=True) for b in (parts.bill, bill))
    scale = after / before
    changed = replace(
        parts,
        bill=bill,
        unlisted=parts.unlisted * scale,
        overrun=parts.overrun * scale,
        design=parts.design * scale,
        vat_rate=np.zeros((1, 1)),
        contingency=parts.contingency * scale / (1.0 + parts.vat_rate),
    )
    return changed, scale


def following(before: Bill, after: Bill, scale: Array) -> dict[str, Array]:
    """Return economic over market cost of running lines that follow the works. [1]"""
    cared, planned = (np.sum(b.cost * b.upkeep, axis=1, keepdims=True) for b in (after, before))
    return {"upkeep": cared / np.where(planned > 0, planned, 1.0), "insurance": scale}


def _running(
    market: Market, terms: EconomicInputs, works: Mapping[str, Array], vat: Array
) -> Iterator[Line]:
    """Yield income and operating lines at economic prices, `vat` lost taken off. [money]"""
    factors = dict.fromkeys(ENERGY, 1.0 - terms.energy_tax)
    for name, row in IMPORTED.items():
        factors[name] = factors.get(name, np.ones((1, 1))) * foreign(getattr(terms, row), terms)
    factors |= {"wages_worker": terms.shadow_wage, **works}
    for name in (name for name, taxed in market.taxable.items() if taxed):
        factors[name] = factors.get(name, np.ones((1, 1))) / (1.0 + vat)
    for name, group in market.group.items():
        if group in ("income", "operating") and name not in REPLACED:
            x = market.lines[name]
            yield name, group, x * factors[name] if name in factors else x


def food_value(values: Values, fed: PeopleFed, earned: Income, paths: PricePaths) -> Array:
    """Return what the food that reaches people costs in the local market. [money]

    Food given, what staff eat, and what people served pay for.
    """
    worth = {key: build(LocalPriceInputs, values, key).price for key in fed.served_kg}
    served = sum((kg * worth[key] for key, kg in fed.served_kg.items()), np.zeros((1, 1)))
    return np.asarray(earned.given + earned.staff + served * fed.served_sold_share * paths["food"])


def stock_held(tied_up: WorkingCapital, scale: Array, vat: Array) -> Array:
    """Return supplies and spare parts at economic prices, at month ends. [money]"""
    return np.asarray((tied_up.supplies - tied_up.spares) / (1.0 + vat) + tied_up.spares * scale)


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
    rate = terms.discount_rate
    parts, scale = economic_budget(values, market.parts, terms)
    capital = capital_flows(values, parts, paths, timeline)
    vat = rate_lost(build(VatInputs, values))
    works = following(market.parts.bill, parts.bill, scale)
    stock = stock_held(market.tied_up, scale, vat)

    def running() -> Iterator[Line]:
        yield from _running(market, terms, works, vat)
        yield "replacements", "replacement", -capital.replacement
        yield "storm_repairs", "operating", -storm_repairs(values, parts, paths, timeline)
        yield "food_reaching_people", "income", food_value(values, fed, market.income, paths)
        yield "carbon", "operating", -carbon_cost(terms, flows, paths, timeline)
        yield "stock_held", "working_capital", -np.diff(stock, axis=1, prepend=0.0)
        yield "residual_equipment", "residual", capital.residual
        yield "residual_land", "residual", capital.land_sale

    return _viewed(capital, running, MoneyView({}, {}, paths.inflation, rate, reinvestment))


def _viewed(
    capital: CapitalFlows, running: Callable[[], Iterator[Line]], empty: MoneyView
) -> MoneyView:
    """Return the view with its sums; lines by name are made when they are read."""
    group = {f"capital_{name}": "capital" for name in (*capital.spent, "land")}

    def noted() -> Iterator[tuple[str, Array]]:
        for name, part, flow in running():
            group[name] = part
            yield part, flow

    def lines() -> dict[str, Array]:
        works = {f"capital_{name}": -flow for name, flow in capital.initial.items()}
        later = {name: flow for name, _, flow in running()}
        return {**works, "capital_land": -capital.land, **later}

    sums = {"capital": -(capital.works + capital.land), **sums_by(noted())}
    return replace(
        empty, lines=Later(lines), group=group, sums={(g,): flow for g, flow in sums.items()}
    )


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
