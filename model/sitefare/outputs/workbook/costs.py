"""What does each thing that the farm buys cost by the month? Supplies, power, fuel, water.

Rows follow `money/supplies` and `money/tariff`: a flow of sheet Farm times a price times the path
of its price group, with the value-added tax that is lost where it may be charged.
"""

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import build
from sitefare.money.tariff import HEATING_FUEL, TariffInputs, billed_demand
from sitefare.money.vat import VatInputs, rate_lost, rate_paid
from sitefare.outputs.lines import printed_line
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar
from sitefare.outputs.workbook.kilograms import added
from sitefare.outputs.workbook.made import Made
from sitefare.people.handover import model_in_force

#: Lines of what is bought on credit, first and last: supplies, then what is metered.
FIRST_BOUGHT, LAST_BOUGHT = "feed", "discharge"


def cost_line(made: Made, name: str, formula: str) -> Line:
    """Return an operating line, with lost value-added tax where it may be charged."""
    costs = made.money.operating
    nature = costs.natures[name]
    whole = f"({formula})*{{price.{nature.group}}}"
    if nature.taxable:
        whole += "*{vat.factor}"
    label = printed_line(name)
    return Line(f"running.{name}", label, made.currency, whole, costs.lines[name], total=True)


def vat_items(made: Made) -> list[Item]:
    """Return what value-added tax adds to a price, and what of a cost comes back."""
    terms = build(VatInputs, made.values)
    lost = float(rate_lost(terms)[0, 0])
    back = float((rate_paid(terms) * terms.recovered)[0, 0]) / (1.0 + lost)
    note = "The project is exempt." if terms.exempt == "yes" else ""
    return [
        Heading("Value-added tax on purchases", "Prices everywhere else are before it."),
        Scalar(
            "vat.lost", "Tax that is paid and never recovered, over the price", "1",
            "{capital.vat_lost}", lost, note, kind="share",
        ),
        Scalar(
            "vat.factor", "Cost over the price before tax", "1", "1+{vat.lost}", 1.0 + lost,
            kind="path",
        ),
        Scalar(
            "vat.reclaimed", "Tax that is refunded, over a cost that holds the tax lost", "1",
            "{capital.vat_paid}*{in:vat.recovered}/{vat.factor}", back, note, kind="share",
        ),
    ]  # fmt: skip


def supply_lines(made: Made) -> list[Line]:
    """Return feed, young fish and plants, dosing, packing, carriage and sludge."""
    model = model_in_force(made.values).key
    dosing = [f"{{farm.dosing.{key}}}*{{in:dosing.{key}.price}}" for key in made.flows.dosing_kg]
    carriage = f"{{in:price.distribution}}*{{in:distribution_model.{model}.carriage}}"
    sold = "{people.elsewhere_kg}*{in:price.transport}"
    formulas = {
        "feed": "{farm.feed}*{in:price.feed}",
        "fingerlings": "{farm.fingerlings}*{in:price.fingerling}",
        "planting": "{farm.plants_started}*{in:price.planting}",
        "dosing": added(dosing),
        "packing": "({people.served_kg}+{people.elsewhere_kg})*{in:price.packing}",
        "transport": f"{sold}+{{people.served_kg}}*{carriage}",
        "sludge": "{farm.sludge}*{in:price.sludge}",
    }
    return [cost_line(made, name, formula) for name, formula in formulas.items()]


def demand_items(made: Made) -> list[Item]:
    """Return the power that the demand charge counts."""
    tariff, grid = build(TariffInputs, made.values), made.flows.grid_kwh
    connected = made.design.drivers["grid_connection"]
    values = billed_demand(tariff, connected, grid, made.timeline)
    items: list[Item] = [Heading("Power that the demand charge counts")]
    if tariff.demand_on == "connected":
        formula = "{design.grid_connection}*{running}"
        label = "Power charged: connected"
    else:
        items.append(peak_item(made, connected))
        formula = "MAX({running.peak_kw},{in:tariff.ratchet}*MAX({running.peak_kw<11..<1}))"
        label = "Power charged: the month's peak, or the ratchet's share of eleven months' highest"
    return [*items, Line("running.demand_kw", label, "kW", formula, values, kind="number")]


def peak_item(made: Made, connected: float) -> Item:
    """Return the month's metered peak, at most what is connected [kW]."""
    factor = build(TariffInputs, made.values).load_factor
    hours = 24.0 * DAYS[made.timeline.calendar][None, :]
    peak: Array = np.minimum(made.flows.grid_kwh / hours / factor, connected)
    formula = "MIN({farm.grid}/(24*{days})/{in:tariff.load_factor},{design.grid_connection})"
    return Line("running.peak_kw", "The month's peak", "kW", formula, peak, kind="number")


def electricity_formula() -> str:
    """Return the energy charge of a month's use: three blocks, exact at their edges."""
    first, use = "{in:tariff.electricity}", "{farm.grid}"
    second, third = "{in:tariff.electricity_ratio_2}", "{in:tariff.electricity_ratio_3}"
    return (
        f"{first}*({use}+({second}-1)*MAX({use}-{{in:tariff.electricity_from_2}},0)"
        f"+{second}*({third}-1)*MAX({use}-{{in:tariff.electricity_from_3}},0))"
    )


def utility_lines(made: Made) -> list[Line]:
    """Return power, fuel, water and discharge."""
    fuel = str(made.values[HEATING_FUEL])
    standing = "{in:tariff.standing}*IF({design.grid_connection}>0,1,0)*{running}"
    water = (
        "{in:tariff.water}*({farm.water}"
        "+({in:tariff.water_ratio_2}-1)*MAX({farm.water}-{in:tariff.water_from_2},0))"
    )
    formulas = {
        "electricity": electricity_formula(),
        "electricity_fixed": f"{{in:tariff.demand}}*{{running.demand_kw}}+{standing}",
        "generator_fuel": "{farm.generator_fuel}*{in:price.generator_fuel}",
        "heating_fuel": f"{{farm.heating_fuel}}*{{in:heating_fuel_price.{fuel}}}",
        "water": water,
        "discharge": "{farm.discharge}*{in:tariff.discharge}",
    }
    return [cost_line(made, name, formula) for name, formula in formulas.items()]
