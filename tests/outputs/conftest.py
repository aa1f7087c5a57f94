"""What the writers' tests share.

A small invented document with one of each block; the proposals of a small set of sites and
scenarios, made once a session; programs outside Python, which CI must have.
"""

import math
import os
import shutil
import subprocess
from functools import cache
from pathlib import Path

import axe_playwright_python
import pandas as pd
import pytest
from playwright.sync_api import sync_playwright

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
from sitefare.outputs.proposal import make_proposal

#: Sites and scenarios whose proposals are written and read back.
SMALL_SET = (
    ("qasr_adhra", "as_planned"),
    ("port_anui", "grant_and_soft_loan"),
    ("kaldre", "solar_supply"),
    ("norhaven", "low_cost_build"),
)

#: Draws of those proposals: enough for ranges, few enough to be quick.
DRAWS = 256

#: LibreOffice recalculates a workbook on loading only with these settings.
RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"
 xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""

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


@cache
def proposal_of(site, scenario):
    return make_proposal(site, scenario, draws=DRAWS)


@pytest.fixture(scope="session")
def proposals():
    """Make the proposal of a site and scenario of the small set, once each."""
    return proposal_of


@pytest.fixture(scope="session", params=SMALL_SET, ids=["-".join(pair) for pair in SMALL_SET])
def small_pair(request):
    """A site and a scenario of the small set, one after another."""
    return request.param


@cache
def written_files(site, scenario, folder):
    proposal_of(site, scenario).write(folder)
    return folder


@pytest.fixture(scope="session")
def written_proposal(tmp_path_factory):
    """Write the files of a proposal of the small set, once each; returns their folder."""
    base = tmp_path_factory.mktemp("proposals")
    return lambda site, scenario: written_files(site, scenario, base / f"{site}-{scenario}")


@pytest.fixture(scope="session", params=SMALL_SET, ids="-".join)
def pair(request):
    """A site and a scenario of the small set, each in turn."""
    return request.param


def program(*names):
    """Find a program, or skip on a user's machine and fail in CI."""
    found = next((path for name in names if (path := shutil.which(name))), None)
    if found is None:
        what = f"{names[0]} is not installed, so what it would read is not checked"
        assert not os.environ.get("CI"), what
        pytest.skip(what)
    return found


@pytest.fixture(scope="session")
def browser():
    """Where the browser stands."""
    return program("chromium", "chromium-browser")


@pytest.fixture(scope="module")
def chromium(browser):
    """A running browser without a window, driven over its remote debugging protocol."""
    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def visit(chromium, tmp_path):
    """Open a page as a reader would: visit(html, width=…, colour scheme and more of a context).

    What goes wrong in it, and whatever it asks of a network, fails the test.
    """
    contexts, wrong = [], []

    def opened(html, width=1280, **wanted):
        target = tmp_path / f"page{len(contexts)}.html"
        target.write_text(html, encoding="utf-8", newline="\n")
        size = {"width": width, "height": 900}
        contexts.append(chromium.new_context(viewport=size, reduced_motion="reduce", **wanted))
        reader = contexts[-1].new_page()
        reader.on("pageerror", lambda error: wrong.append(str(error)))
        reader.on("console", lambda said: wrong.append(said.text))
        reader.on("request", lambda r: None if r.url.startswith("file:") else wrong.append(r.url))
        reader.goto(target.as_uri())
        return reader

    yield opened
    for context in contexts:
        context.close()
    assert wrong == []


#: Rows that an audit keeps of a table: the rest are made by the same lines of the template.
AUDITED = 4

#: What an audit may leave undecided: cells that a scrolling table cuts off, words of one letter.
UNDECIDED = ("elmPartiallyObscured", "shortTextContent")


@pytest.fixture(scope="session")
def audit():
    """Audit an open page by axe-core, every rule: returns what it found and could not decide.

    What is inside drawings is left out: they are pictures with a title and a description, and
    the contrast of their texts is that of the theme, which its tests check.
    """
    axe = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
    trim = f"""document.querySelectorAll('tbody').forEach(
        body => [...body.rows].slice({AUDITED}).forEach(row => row.remove()));
        document.querySelectorAll('svg > :not(title, desc)').forEach(part => part.remove())"""
    run = """axe.run(document, {
        resultTypes: ['violations', 'incomplete'],
        rules: {'target-size': {enabled: true}}})"""

    def audited(reader):
        reader.evaluate(trim)
        reader.evaluate("document.querySelectorAll('main details').forEach(d => d.open = true)")
        reader.wait_for_timeout(200)  # what the page does about it
        reader.evaluate(axe)
        found = reader.evaluate(run)
        return [
            (rule["id"], node["target"], node.get("failureSummary"))
            for kind in ("violations", "incomplete")
            for rule in found[kind]
            for node in rule["nodes"]
            if kind == "violations" or not undecided(node)
        ]

    return audited


def undecided(node):
    told = [check.get("data") for check in node["any"]]
    return bool(told) and all(
        isinstance(x, dict) and x.get("messageKey") in UNDECIDED for x in told
    )


@pytest.fixture(scope="session")
def office(tmp_path_factory):
    """Convert files with LibreOffice, workbooks recalculated; returns the folder of the results.

    Called as office(paths, kind, folder): kind is what `--convert-to` takes, such as xlsx or pdf.
    """
    found = program("soffice", "libreoffice")
    profile = tmp_path_factory.mktemp("office")
    (profile / "user").mkdir()
    (profile / "user" / "registrymodifications.xcu").write_text(RECALCULATE, encoding="utf-8")

    def convert(paths, kind, folder):
        command = [
            found, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--norestore",
            "--convert-to", kind, "--outdir", str(folder), *map(str, paths),
        ]  # fmt: skip
        ran = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
        assert ran.returncode == 0, ran.stderr
        return folder

    return convert
