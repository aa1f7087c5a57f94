"""How do prices move: inflation, each group's real drift, the exchange rate, imports?

A path is the nominal price in a month of what costs 1 at the appraisal date.
"""

from collections.abc import Iterator

from sitefare.money.exchange import rate_path
from sitefare.money.prices import GROUPS, DriftInputs
from sitefare.outputs.workbook.farm import words
from sitefare.outputs.workbook.frame import Given, Heading, Item, Line, Sheet
from sitefare.outputs.workbook.made import Made

#: The exchange rate of parity, over the spot rate.
PARITY = "((1+{in:economy.inflation})/(1+{in:economy.foreign_inflation}))^({month}/12)"


def growth(rate: str) -> str:
    """Return the formula of a yearly rate's growth, the rate's row named."""
    return f"(1+{{in:{rate}}})^({{month}}/12)"


def exchange(made: Made) -> Iterator[Item]:
    """Yield the exchange rate's path by the choice in force."""
    path = str(made.values["economy.exchange_path"])
    rate = rate_path(made.values, made.timeline)
    label, unit = "Local money for one US dollar, over the appraisal date's", "1"
    note = f"Choice in force: {words(path)}."
    if made.currency == "USD" or path == "pegged":
        yield Line("price.exchange", label, unit, "1", rate, note, "path")
    elif path == "constant_real":
        yield Line("price.exchange", label, unit, PARITY, rate, note, "path")
    elif path == "inflation_difference":
        formula = f"{PARITY}*{growth('economy.real_depreciation')}"
        yield Line("price.exchange", label, unit, formula, rate, note, "path")
    else:
        yield Given("price.exchange", label, unit, rate, note + " Values from the table.", "path")


def paths(made: Made) -> Iterator[Item]:
    """Yield the path of every price group."""
    held, docs = made.money.paths, DriftInputs.__dataclass_fields__
    yield Line("price.inflation", "General prices", "1", growth("economy.inflation"),
               held.inflation, kind="path", strong=True)  # fmt: skip
    for group in GROUPS:
        label = docs[group].metadata["spec"].doc.rstrip(".")
        formula = f"{{price.inflation}}*{growth(f'drift.{group}')}"
        yield Line(f"price.{group}", label, "1", formula, held[group], kind="path")
    yield Heading("Imports", "They follow inflation abroad and the exchange rate.")
    yield from exchange(made)
    abroad = "economy.inflation" if made.currency == "USD" else "economy.foreign_inflation"
    for name, drift, label in (
        ("imported", "equipment", "Imported goods"),
        ("imported_freight", "freight", "Freight from abroad"),
    ):
        formula = f"{growth(abroad)}*{{price.exchange}}*{growth(f'drift.{drift}')}"
        yield Line(f"price.{name}", label, "1", formula, held[name], kind="path")


def sheet(made: Made) -> Sheet:
    """Return the sheet Prices."""
    lead = (
        "Nominal price in each month of what costs 1 at the appraisal date: "
        "(1 + inflation)^(months/12) times (1 + real drift of its group)^(months/12)."
    )
    stated = made.values["economy.exchange_path"] == "stated_table" and made.currency != "USD"
    parity_rows = {"economy.foreign_inflation", "economy.inflation"} if stated else set()
    return Sheet("Prices", "Price paths", lead, tuple(paths(made)), axis="months",
                 locked=frozenset(parity_rows))  # fmt: skip
