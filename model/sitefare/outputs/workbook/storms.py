"""What does it cost to repair what storms break?

Rows follow `money/repairs`. The share of each item that the storms
of a mean year break comes from the model, as the place's wind and the storms' chances do.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build
from sitefare.money.delivery import COMPONENTS
from sitefare.money.repairs import storm_repairs
from sitefare.money.vat import VatInputs, rate_lost
from sitefare.money.wind import storms
from sitefare.outputs.workbook.costs import cost_line
from sitefare.outputs.workbook.frame import GivenScalar, Heading, Item, Line, Scalar
from sitefare.outputs.workbook.kilograms import added
from sitefare.outputs.workbook.made import Made

#: Components of a cost as printed.
PARTS = {
    "equipment": "goods bought in the country",
    "imported": "goods bought abroad",
    "imported_freight": "freight from abroad",
    "freight": "carriage in the country",
    "wages": "labour",
}

#: Components of a repair that are priced abroad.
LANDED = ("imported", "imported_freight")


def broken(made: Made) -> list[Item]:
    """Return what the storms of a mean year break, by item and by price path."""
    return [
        Heading(
            "What the storms of a mean year break",
            "Share of each item; then its cost at appraisal-date prices.",
        ),
        *broken_items(made),
    ]


def shares(made: Made) -> Mapping[str, float]:
    """Return the share of each item that the storms of a mean year break. [1/year]"""
    bill = made.money.parts.bill
    hit = np.flatnonzero(bill.storm)
    broken = np.zeros(len(hit))
    for occurs, share in storms(made.values, bill.storm[hit]):
        broken += share[0] * occurs[0, 0]
    return {bill.items[n][0]: float(x) for n, x in zip(hit, broken, strict=True)}


def broken_items(made: Made) -> list[Item]:
    """Return the share of each item broken, then what they cost by price path."""
    bill, uplift = made.money.parts.bill, float(made.money.parts.uplift[0, 0])
    found, titles = shares(made), {key: str(item.title) for key, item in bill.items}
    places = {key: n for n, (key, _) in enumerate(bill.items)}
    items: list[Item] = [
        GivenScalar(
            f"running.broken.{key}", titles[key], "1/year",
            share, kind="share",
        )
        for key, share in found.items()
    ]  # fmt: skip
    for n, name in enumerate(COMPONENTS):
        terms = added([f"{{bill.{key}.{name}}}*{{running.broken.{key}}}" for key in found])
        whole = sum(float(bill.parts[0, n, places[key]]) * share for key, share in found.items())
        items.append(
            Scalar(
                f"running.storm.{name}", f"Damage: {PARTS[name]}",
                f"{made.currency}/year", f"({terms})*{{capital.uplift}}", whole * uplift,
            )
        )  # fmt: skip
    return items


def storm_line(made: Made) -> Line:
    """Return storm repairs: what the storms of a year break, at the prices of each part."""
    line = cost_line(made, "storm_repairs", "")
    return replace(line, formula=f"{_repair(COMPONENTS)}*{{vat.factor}}")


def landed_line(made: Made) -> Line:
    """Return the part of storm repairs that is bought abroad."""
    return Line(
        "running.storm_repairs_landed", "Storm repairs: the part bought abroad", made.currency,
        f"{_repair(LANDED)}*{{vat.factor}}", landed_repairs(made), total=True,
    )  # fmt: skip


def _repair(components: tuple[str, ...]) -> str:
    """Return a month's repair of what storms break, insurers' share off, before tax."""
    parts = added([f"{{running.storm.{name}}}*{{price.{name}}}" for name in components])
    return f"({parts})*{{in:wind.uninsured}}*{{running}}/12"


def landed_repairs(made: Made) -> Array:
    """Return the part of storm repairs bought abroad, lost value-added tax in it. [money]"""
    money, values, bill = made.money, made.values, made.money.parts.bill
    landed = np.array([name in LANDED for name in COMPONENTS])[None, :, None]
    abroad = replace(money.parts, bill=replace(bill, parts=bill.parts * landed))
    repairs = storm_repairs(values, abroad, money.paths, made.timeline)
    return np.asarray(repairs * (1.0 + rate_lost(build(VatInputs, values))))
