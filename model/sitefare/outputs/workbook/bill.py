"""What must be bought, how much of each, and what does it cost landed and installed?

One row an item: quantity from the design, price at the supplier, what wind and size do to it,
then the five parts of its cost by the price path each follows, at appraisal-date prices.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build
from sitefare.money.bill import BillItem
from sitefare.money.delivery import COMPONENTS, FreightInputs, duty_rate, landed_factor
from sitefare.money.labour import WageInputs, hourly_cost
from sitefare.money.vat import VatInputs, rate_lost, rate_paid
from sitefare.outputs.workbook import lives
from sitefare.outputs.workbook.frame import Cell, Heading, Item, Scalar, Sheet, Table, TableCell
from sitefare.outputs.workbook.made import Made

#: Column titles of the bill.
COLUMNS = (
    "Item", "Unit", "Key", "Landed and installed", "Category", "Paid", "Quantity", "Price at supplier",
    "Units of price", "Wind", "Abroad", "Goods", "Local goods", "Imported goods landed",
    "Freight from abroad landed", "Carriage", "Installation", "Share of bill",
)  # fmt: skip

#: A millionth of a millionth of noise that whole pieces forgive. [1]
NOISE = "0.000000001"


def quantity(key: str, item: BillItem) -> str:
    """Return the formula of the quantity bought, in whole pieces where there are any."""
    amount = f"MAX({{in:bill.{key}.minimum}},{{in:bill.{key}.per_driver}}*{{design.{item.driver}}})"
    piece = f"{{in:bill.{key}.piece}}"
    return f"IF({piece}>0,ROUNDUP({amount}/MAX({piece},{NOISE})-{NOISE},0)*{piece},{amount})"


def parts(key: str) -> dict[str, str]:
    """Return the formula of each part of an item's cost, by price path."""
    goods, away = f"{{bill.{key}.goods}}", f"{{bill.{key}.abroad}}"
    mass = f"{{in:bill.{key}.mass}}*{{bill.{key}.quantity}}*{{bill.{key}.wind}}"
    carriage = f"({away}*{{in:freight.inland}}+(1-{away})*{{in:freight.local}})"
    return {
        "equipment": f"{goods}*(1-{away})",
        "imported": f"{goods}*{away}*{{bill.landed}}",
        "imported_freight": f"{mass}*{away}*{{in:freight.imported}}*{{bill.landed}}",
        "freight": f"{mass}*{carriage}",
        "wages": f"{{in:bill.{key}.install}}*{{bill.{key}.quantity}}*{{bill.technician_hour}}",
    }


def row(made: Made, n: int) -> tuple[TableCell, ...]:
    """Return the row of the bill's item number `n`."""
    bill = made.money.parts.bill
    key, item = bill.items[n]
    amount = float(bill.quantity[n])
    price = float(item.price[0, 0])
    units = amount * (amount / float(item.reference[0, 0])) ** (float(item.exponent[0, 0]) - 1.0)
    wind = float(bill.goods[0, n]) / (price * units) if price > 0 else 1.0
    size = f"{{bill.{key}.quantity}}"
    scale = f"({size}/{{in:bill.{key}.reference}})^({{in:bill.{key}.exponent}}-1)"
    cost = float(bill.cost[0, n])
    costs = {name: float(bill.parts[0, c, n]) for c, name in enumerate(COMPONENTS)}

    def cell(name: str, formula: str, value: float, kind: str = "number") -> Cell:
        return Cell(value, kind, f"bill.{key}.{name}", formula)  # type: ignore[arg-type]

    return (
        str(item.title), str(item.per), f"bill.{key}",
        Cell(cost, "money", f"bill.{key}.cost", "+".join(f"{{bill.{key}.{c}}}" for c in COMPONENTS),
             strong=True),
        str(item.category).replace("_", " "), str(item.phase),
        cell("quantity", quantity(key, item), amount),
        Cell(price, "number", formula=f"{{in:bill.{key}.price}}"),
        cell("units", f"{size}*{scale}", units),
        cell("wind", f"{{bill.stronger}}^({{in:wind.cost_exponent}}*{{in:bill.{key}.wind}})", wind),
        cell("abroad", lives.abroad(made, key, item), float(bill.imported[n]), "count"),
        cell("goods", f"{{in:bill.{key}.price}}*{{bill.{key}.units}}*{{bill.{key}.wind}}",
             float(bill.goods[0, n]), "money"),
        *(cell(name, formula, costs[name], "money") for name, formula in parts(key).items()),
        Cell(cost / float(np.sum(bill.cost[0])), "share", formula=f"{{bill.{key}.cost}}/{{bill.total}}"),
    )  # fmt: skip


def terms(made: Made) -> Iterator[Item]:
    """Yield what every item shares: landed factor, hour of installation, wind, tax."""
    values = made.values
    freight, vat = build(FreightInputs, values), build(VatInputs, values)
    duty = duty_rate(values, freight)
    exempt = values["tax.duty_exempt"] == "yes"
    landed = landed_factor(freight.insurance, duty, freight.clearing)
    yield Scalar(
        "bill.landed", "Cost landed over goods plus freight", "1",
        f"(1+{{in:freight.insurance}})*(1+{'0' if exempt else '{in:freight.duty}'}+{{in:freight.clearing}})",
        float(landed[0, 0]), "Insurance on goods and freight, then duty and clearing on that sum.",
        "path",
    )  # fmt: skip
    yield Scalar(
        "bill.technician_hour", "An hour of installation", f"{made.currency}/h",
        "{in:wage.worker}*{in:wage.technician_ratio}*(1+{in:wage.on_cost})",
        float(hourly_cost(build(WageInputs, values), "technician")[0, 0]),
        "A technician's hour, on-costs included.", "price",
    )  # fmt: skip
    gust, reference = (_one(values[name]) for name in ("place.design_wind", "wind.reference_gust"))
    yield Scalar(
        "bill.stronger", "Design gust over the listed prices' gust", "1",
        "MAX({in:place.design_wind}/{in:wind.reference_gust},1)", max(gust / reference, 1.0),
        "A frame's price follows a power of it.", "path",
    )  # fmt: skip
    paid = "0" if vat.exempt == "yes" else "{in:vat.rate}"
    yield Scalar("capital.vat_paid", "Value-added tax paid on purchases", "1", paid,
                 float(rate_paid(vat)[0, 0]), kind="rate")  # fmt: skip
    yield Scalar("capital.vat_lost", "Value-added tax paid and not recovered", "1",
                 "{capital.vat_paid}*(1-{in:vat.recovered})", float(rate_lost(vat)[0, 0]),
                 "A cost over every price before tax.", "rate")  # fmt: skip


def _one(x: Array | str) -> float:
    """Return a number of one draw."""
    assert not isinstance(x, str)  # noqa: S101
    return float(x[0, 0])


def sums(made: Made) -> Iterator[Item]:
    """Yield the bill's sum, and its sum by price path."""
    bill, currency = made.money.parts.bill, made.currency
    keys = [key for key, _ in bill.items]
    yield Scalar("bill.total", "Bill of quantities", currency, ranged(keys, "cost"),
                 float(np.sum(bill.cost)), kind="money", strong=True)  # fmt: skip
    for c, name in enumerate(COMPONENTS):
        yield Scalar(f"bill.{name}", f"of it {TITLES[name]}", currency, ranged(keys, name),
                     float(np.sum(bill.parts[0, c])), kind="money")  # fmt: skip


#: What each part of a cost is called.
TITLES = {
    "equipment": "goods bought in the country",
    "imported": "goods bought abroad, landed",
    "imported_freight": "freight from abroad, landed",
    "freight": "carriage in the country",
    "wages": "installation",
}


def ranged(keys: list[str], name: str) -> str:
    """Return the sum of one column of the bill, whose items stand one beneath another."""
    return f"SUM({{bill.{keys[0]}.{name}}}:{{bill.{keys[-1]}.{name}}})"


def sheet(made: Made) -> Sheet:
    """Return the sheet Bill."""
    lead = (
        f"Bill of quantities in {made.currency} at appraisal-date prices: quantity × price × size "
        "and wind, then landed, carried and installed. Each part follows its own price path."
    )
    count = len(made.money.parts.bill.items)
    table = Table(COLUMNS, tuple(row(made, n) for n in range(count)))
    items = (Heading("What every item shares"), *terms(made), Heading("Items"), table,
             Heading("Sums"), *sums(made), *lives.items(made))  # fmt: skip
    widths = {4: 12.0, 5: 8.0, **dict.fromkeys(range(6, 18), 11.0)}
    return Sheet("Bill", "Bill of quantities", lead, items, widths=widths, locked=lives.CALENDAR)
