"""A small invented document with one of each block, for the writers' tests."""

import math

import pandas as pd
import pytest

from sitefare.outputs import charts
from sitefare.outputs.document import (
    Bullets,
    Caution,
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Heading,
    Metadata,
    PageBreak,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.numbers import Formats

#: Text that each output format would take for its own, were it not escaped.
AWKWARD = """<b>&"' #x $y *z _w @a ~ [q](#r) `c` = - / \\n // ** <!-- </script>"""


def season(column, **series):
    rows = [
        {"month": month, "what": what, column: mean + swing * math.cos(month / 6 * math.pi)}
        for what, (mean, swing) in series.items()
        for month in range(1, 13)
    ]
    return pd.DataFrame(rows)


def every_picture(formats):
    years = range(16)
    cumulative = [-20e6 + 2e6 * year for year in years]
    cash = pd.DataFrame({"year": years, "net": 2e6, "cumulative": cumulative})
    cash = cash.assign(low=cash["cumulative"] - 1e6, high=cash["cumulative"] + 1e6)
    swings = pd.DataFrame(
        [
            ("Price", "1 USD/kg", "2 USD/kg", -5e5, 9e5),
            ("Set point", "24 °C", "28 °C", -4e5, -1e5),
            ("A very long name that has to be wrapped over two lines", "0", "1", 1e5, 2e5),
        ],
        columns=["name", "low_value", "high_value", "low_result", "high_result"],
    )
    water = season("amount", Mains=(40, 9), Rain=(20, 8))
    parts = pd.DataFrame({"what": ["Wages", "Power", "Feed"], "amount": [20.0, 7.0, 5.0]})
    heat = season("celsius", Outdoor=(20, 5), Water=(25, 1)).assign(low=12.0, high=30.0)
    diet = pd.DataFrame({"what": ["Energy", "Vitamin A"], "share": [0.06, 4.2]})
    sites = pd.DataFrame(
        {"site": ["One", "Two"], "value": [0.7, 1.2], "low": [0.5, 0.9], "high": [1.0, 1.9]}
    ).assign(gated=[False, True])
    tasks = pd.DataFrame(
        [("Build", "Tanks", 0, 5), ("Run", "Harvest", 6, 20)],
        columns=["phase", "task", "first", "last"],
    )
    return {
        "cash": charts.cash(cash, formats),
        "tornado": charts.tornado(swings, 2e5, formats),
        "harvest": charts.harvest(
            season("kg", **{f"crop {n}": (50 + n, 5) for n in range(16)}), formats
        ),
        "water": charts.water(water, formats),
        "energy": charts.energy(water, formats),
        "cost_makeup": charts.cost_makeup(parts, formats, per="person-day"),
        "temperatures": charts.temperatures(heat, formats),
        "diet": charts.diet(diet, formats, ration="vegetables and fish"),
        "sites": charts.sites(
            sites, "Cost ratio", "1", formats, reference=1, reference_label="local"
        ),
        "plan": charts.plan(tasks, "2027-02", formats),
        "waterfall": charts.waterfall(
            pd.DataFrame(
                [(f"Line number {n}", (-1) ** n * 4e5 / (n + 1)) for n in range(20)],
                columns=["what", "amount"],
            ),
            formats,
        ),
    }


@pytest.fixture(scope="session")
def pictures():
    return every_picture(Formats("en", "USD"))


def blocks(site, pictures):
    formats = Formats("en", "USD")
    columns = (
        Column("Name"),
        Column("Amount", "USD", align="right", formatter=formats.amount),
        Column("Note"),
    )
    rows = tuple(
        (f"row.number_{n}", 10.5 * n, f"{site} note of some length {n}") for n in range(70)
    )
    return (
        Heading(1, "Summary"),
        Paragraph(
            f"The farm at {plain(site)} is **described** in [](#cash) and [](#list).", "lead"
        ),
        Facts((Fact("Asked for", formats.money(412_345), "range", site, "list"),), lead=1),
        Caution(f"Check {plain(site)}.", "stop"),
        Bullets((plain(site), "see [a row](#row-3)")),
        Heading(1, f"About {site}"),
        Figure(pictures["cash"], plain(site), anchor="cash"),
        Figure(pictures["diet"], "Diet."),
        PageBreak(),
        Heading(2, "Rows"),
        Table(
            columns,
            rows,
            f"All rows of {plain(site)}",
            note="A note.",
            wide=True,
            sortable=True,
            anchor="list",
            strong_rows=(69,),
            row_anchors=tuple(f"row-{n}" for n in range(70)),
        ),
        Paragraph("The end.", "small"),
    )


def make(pictures, site="Demo site", **changes):
    metadata = {
        "title": f"A farm for {site}",
        "site": site,
        "scenario": "as planned",
        "date": "2027-02",
        "input_hash": "0123abcd",
        "version": "0.1.0",
        "missing": ("permits", "water test"),
    } | changes
    return Document(Metadata(**metadata), blocks(site, pictures))


@pytest.fixture(scope="session")
def document(pictures):
    return make(pictures)


@pytest.fixture(scope="session")
def awkward():
    return AWKWARD


@pytest.fixture(scope="session")
def awkward_document(pictures):
    return make(pictures, AWKWARD)


@pytest.fixture(scope="session")
def final_document(pictures):
    return make(pictures, draft=False, missing=())
