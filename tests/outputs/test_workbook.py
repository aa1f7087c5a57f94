"""Does the workbook recalculate to what the model computes, and does it follow its inputs?

LibreOffice recalculates every formula by force, formualizer (a spreadsheet engine of its own)
again with inputs moved; both are held against the model's own numbers, which stand beside the
formulas as cached values.
"""

import io
import re
from functools import cache

import formualizer
import numpy as np
import openpyxl
import pytest
import xlsxwriter
from spreadsheets import cells, changed, place

from sitefare.assumptions.case import moved_values
from sitefare.outputs.workbook import about
from sitefare.outputs.workbook.book import SHEETS, workbook
from sitefare.outputs.workbook.looks import BASE, STYLES
from sitefare.outputs.workbook.made import Made, made_of
from sitefare.outputs.workbook.resolve import input_name

SITES = ("qasr_adhra", "port_anui", "kaldre", "norhaven")
SCENARIOS = ("as_planned", "low_cost_build", "solar_supply", "grant_and_soft_loan")
PAIRS = [(site, scenario) for site in SITES for scenario in SCENARIOS]

#: Pairs changed by ten inputs at random: each site, each scenario.
CHANGED = tuple(zip(SITES, SCENARIOS, strict=True))

#: What the workbook promises: relative agreement with the model. [1]
CLOSE = 1e-6

#: Where terms cancel out, what is left may differ by this of the row's largest number. [1]
CANCELLED = 1e-9

#: Functions that every spreadsheet program knows; none is volatile, none makes an array of cells.
PLAIN = {
    "ABS", "AND", "CHOOSE", "COUNTIF", "EXP", "IF", "INDEX", "INT", "LN", "MATCH", "MAX", "MIN",
    "MOD", "NOT", "OR", "ROUND", "ROUNDUP", "SIGN", "SUM", "SUMIF", "SUMIFS", "SUMPRODUCT",
}  # fmt: skip

#: Largest file. [byte]
LARGEST = 3_000_000


@cache
def made(plan, site, scenario):
    return made_of(plan(site, scenario))


@cache
def written(plan, site, scenario):
    return workbook(made(plan, site, scenario))


@cache
def read(plan, site, scenario):
    return cells(written(plan, site, scenario))


def row_of(at):
    return re.sub("[A-Z]", "", at)


def wrong(expected, found, shown=12):
    """List the formula cells of `expected` whose value `found` does not agree with."""
    listed = []
    for sheet, formulas in expected.formulas.items():
        largest = {}
        for at, x in expected.values[sheet].items():
            if isinstance(x, float):
                row = row_of(at)
                largest[row] = max(largest.get(row, 0.0), abs(x))
        whole = max(largest.values(), default=0.0) if sheet == "Rates" else 0.0
        for at in formulas:
            want, got = expected.values[sheet].get(at), found.get(sheet, {}).get(at)
            if isinstance(want, float) and isinstance(got, float):
                slack = CANCELLED * max(largest[row_of(at)], whole) + CANCELLED
                agrees = abs(want - got) <= CLOSE * max(abs(want), abs(got)) + slack
            else:
                agrees = want == got
            if not agrees:
                listed.append(f"{sheet}!{at}: {want} in the model, {got} in the sheet")
    return listed[:shown]


@cache
def unlocked(plan, site, scenario):
    """Return the defined names of the input cells that are not locked, and their rows."""
    book = openpyxl.load_workbook(io.BytesIO(written(plan, site, scenario)))
    rows = {input_name(row): row for row in plan(site, scenario).case.rows}
    free = {}
    for name, defined in book.defined_names.items():
        if name.startswith("in_"):
            sheet, at = place(defined.attr_text)
            if not book[sheet][at].protection.locked:
                free[name] = rows[name]
    return free


def moved(row, rng):
    """Return another number, or twelve, that a row accepts: up to a fifth less, a quarter more."""
    spec = row.spec
    if spec.kind == "monthly":
        return tuple(
            float(np.clip(x * rng.uniform(0.8, 1.25), spec.low, spec.high)) for x in row.months
        )
    # Shares only go down: some must not add up to more than 1.
    most = 0.99 if (spec.low, spec.high) == (0, 1) else 1.25
    by = row.base * rng.uniform(0.8, most) if row.base else rng.uniform(0.02, 0.1)
    if spec.unit == "month" and spec.varies == "choice":
        by = float(round(by))
    number = float(np.clip(by, spec.low, spec.high))
    return number if number != row.base else float(np.clip(row.base * 0.85, spec.low, spec.high))


def moves(plan, site, scenario, names, seed):
    """Return what rows of defined names are moved to, by name of row."""
    rng, free = np.random.default_rng(seed), unlocked(plan, site, scenario)
    rows = plan(site, scenario).case.rows
    change = {free[name]: moved(rows[free[name]], rng) for name in names}
    return change | within_one(rows, change)


def within_one(rows, change):
    """Return the shares of all funders once those that moved would ask for more than there is."""
    found = {}
    for part in ("share", "overrun"):
        asked = {
            name: change.get(name, row.base)
            for name, row in rows.items()
            if name.startswith("funding.") and name.endswith("." + part)
        }
        if sum(asked.values()) > 1.0 and not change.keys().isdisjoint(asked):
            found |= {name: x * 0.9 / sum(asked.values()) for name, x in asked.items() if x}
    return found


def values_at(case, change):
    values = moved_values(case, [{k: x for k, x in change.items() if not isinstance(x, tuple)}])
    for name, x in change.items():
        if isinstance(x, tuple):
            values[name] = np.array(x)[None, :]
    return values


def moved_book(plan, site, scenario, change):
    """Return the workbook that the model writes where rows are moved and the plan stays."""
    sized = plan(site, scenario)
    return cells(workbook(made_of(sized, values_at(sized.case, change))))


@pytest.mark.parametrize(("site", "scenario"), PAIRS)
def test_libreoffice_agrees_with_every_formula(plan, office, tmp_path, site, scenario):
    path = tmp_path / "workbook.xlsx"
    path.write_bytes(written(plan, site, scenario))
    found = cells((office([path], "xlsx", tmp_path / "out") / path.name).read_bytes())
    assert not wrong(read(plan, site, scenario), found.values)
    checks = found.values["Checks"]
    assert checks["D3"] == "all OK", checks


@pytest.mark.parametrize(("site", "scenario"), CHANGED)
def test_libreoffice_agrees_after_ten_random_changes(plan, office, tmp_path, site, scenario):
    base, free = read(plan, site, scenario), sorted(unlocked(plan, site, scenario))
    rng = np.random.default_rng(CHANGED.index((site, scenario)))
    picked = [str(name) for name in rng.choice(free, 10, replace=False)]
    change = moves(plan, site, scenario, picked, 11)
    path = tmp_path / "workbook.xlsx"
    typed = {input_name(row): x for row, x in change.items()}
    path.write_bytes(changed(written(plan, site, scenario), typed))
    found = cells((office([path], "xlsx", tmp_path / "out") / path.name).read_bytes())
    assert not wrong(moved_book(plan, site, scenario, change), found.values), change
    # The file's cached values were the unchanged ones: it was recalculated.
    outs = [name for name in base.names if name.startswith("out_")]
    assert any(found.named(name) != base.named(name) for name in outs)


def test_every_unlocked_input_is_followed_in_full(plan, tmp_path):
    # A fifth of all inputs at once, so that each is moved, and with others.
    pair = ("kaldre", "grant_and_soft_loan")
    path = tmp_path / "workbook.xlsx"
    path.write_bytes(written(plan, *pair))
    engine = formualizer.Workbook.load_path(str(path))
    base, free = read(plan, *pair), sorted(unlocked(plan, *pair))
    rows = plan(*pair).case.rows
    for part in np.array_split(np.random.default_rng(5).permutation(free), 5):
        change = moves(plan, *pair, [str(name) for name in part], 7)
        for row, x in change.items():
            put(engine, base.names[input_name(row)], x)
        engine.evaluate_all()
        book = moved_book(plan, *pair, change)
        found = {
            sheet: {at: evaluated(engine, sheet, at) for at in formulas}
            for sheet, formulas in book.formulas.items()
        }
        assert not wrong(book, found)
        for row in change:
            back = rows[row].months if rows[row].spec.kind == "monthly" else rows[row].base
            put(engine, base.names[input_name(row)], back)


def put(engine, reference, x):
    """Set the cell of a reference, or cells side by side, in the engine."""
    sheet, at = place(reference)
    row, column = at_number(at)
    for n, number in enumerate(x if isinstance(x, tuple) else (x,)):
        engine.set_value(sheet, row, column + n, number)


def at_number(at):
    letters, row = re.fullmatch(r"([A-Z]+)(\d+)", at).groups()
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    return int(row), column


def evaluated(engine, sheet, at):
    x = engine.get_value(sheet, *at_number(at))
    return float(x) if isinstance(x, int | float) else x


def test_payback_follows_prices_and_a_yield_multiplier(plan, office, tmp_path):
    # As planned the food is given away and the money never comes back: sold dear, it does.
    pair = ("qasr_adhra", "as_planned")
    rows = plan(*pair).case.rows
    dear = {name: 6.0 * rows[name].base for name in unlocked(plan, *pair).values()
            if name.startswith("market.") and name.endswith(".price")}  # fmt: skip
    sold = {"distribution_model.kitchens.paid_share": 1.0, "sales.served_price_share": 1.0}
    changes = [{**dear, **sold, "adjust.vegetables": x, "adjust.fish": 3.0} for x in (4.0, 5.0)]
    paths = [tmp_path / f"yield_{n}.xlsx" for n, _ in enumerate(changes)]
    for path, change in zip(paths, changes, strict=True):
        typed = {input_name(row): x for row, x in change.items()}
        path.write_bytes(changed(written(plan, *pair), typed))
    folder, found = office(paths, "xlsx", tmp_path / "out"), []
    for path, change in zip(paths, changes, strict=True):
        book = cells((folder / path.name).read_bytes())
        want = made_of(plan(*pair), values_at(plan(*pair).case, change)).appraisal.indicators
        for name in ("payback_years", "cost_per_person_day", "people_fed", "npv"):
            got = book.named(f"out_{name}")
            assert got == pytest.approx(want[name][0, 0], rel=CLOSE), (name, change)
            assert got in book.values["About"].values()
        found.append(book.named("out_payback_years"))
    assert read(plan, *pair).named("out_payback_years") == "not within 15 years"
    assert 0.0 < found[1] < found[0] < 15.0


@pytest.mark.parametrize(("site", "scenario"), CHANGED)
def test_every_indicator_is_a_named_cell_with_its_value(plan, site, scenario):
    book = read(plan, site, scenario)
    for name, found in made(plan, site, scenario).appraisal.indicators.items():
        shown = book.named("out_" + name.replace(".", "_"))
        x = float(found[0, 0])
        if np.isfinite(x):
            assert shown == pytest.approx(x, rel=1e-9, abs=1e-12), name
        else:
            assert isinstance(shown, str), name


def test_every_value_in_force_has_a_named_cell(plan):
    case = plan("qasr_adhra", "as_planned").case
    book = read(plan, "qasr_adhra", "as_planned")
    for name, row in case.rows.items():
        if case.uses(name) and row.spec.kind == "quantity":
            # A cell holds sixteen digits.
            assert book.named(input_name(name)) == pytest.approx(row.base, rel=1e-15), name


def test_what_the_farm_reads_stays_locked_and_money_does_not(plan):
    pair = ("qasr_adhra", "as_planned")
    free = set(unlocked(plan, *pair).values())
    assert not free & made(plan, *pair).farm_rows
    assert {"price.feed", "capital.overrun", "wage.worker", "adjust.vegetables", "drift.food",
            "economy.inflation", "market.lettuce.price", "bill.pump.price"} <= free  # fmt: skip
    assert "capital.contingency" not in free


def test_formulas_use_plain_functions_only(plan):
    for sheet, formulas in read(plan, "port_anui", "grant_and_soft_loan").formulas.items():
        for at, formula in formulas.items():
            unquoted = re.sub(r'"[^"]*"', "", formula)
            used = set(re.findall(r"([A-Z][A-Z0-9.]*)\(", unquoted))
            assert used <= PLAIN, f"{sheet}!{at}: {used - PLAIN}"
            assert "{" not in unquoted
            assert "[" not in unquoted


def test_one_formula_runs_along_each_row(plan):
    # Each month's formula is the one to its left moved by a column, but where a row's ends clip it.
    book = read(plan, "norhaven", "as_planned")
    last = re.compile(r"\$?[A-Z]{1,3}\$?\d+")
    for sheet in ("Farm", "Capital", "Running", "Statements"):
        formulas = book.formulas[sheet]
        rows = {}
        for at in formulas:
            row, column = at_number(at)
            if column > 60:
                rows.setdefault(row, []).append(last.sub("x", formulas[at]))
        for row, found in rows.items():
            assert len(set(found)) == 1, f"{sheet} row {row}: {set(found)}"


def test_sheets_are_protected_without_a_password_and_listed(plan):
    book = openpyxl.load_workbook(io.BytesIO(written(plan, "qasr_adhra", "as_planned")))
    for sheet in book:
        assert sheet.protection.sheet, sheet.title
        assert not sheet.protection.password, sheet.title
    assert len(book.sheetnames) == len(SHEETS)
    assert book.sheetnames == ["About", *(name for name, _ in about.SHEETS)]


def test_text_that_starts_with_a_sign_stays_text(plan, office, tmp_path):
    sized = plan("qasr_adhra", "as_planned")
    names = {"place.name": "=1+1", "bill.pump.title": "@SUM(A1)", "bill.fish_tank.title": "+3",
             "bill.blower.title": "-4"}  # fmt: skip
    values = {**moved_values(sized.case, [{}]), **names}
    appraisal = made_of(sized, values).appraisal
    data = workbook(Made(appraisal, values))
    path = tmp_path / "signs.xlsx"
    path.write_bytes(data)
    office([path], "xlsx", tmp_path / "out")
    for book in (cells(data), cells((tmp_path / "out" / "signs.xlsx").read_bytes())):
        kept = {x for sheet in book.values.values() for x in sheet.values() if isinstance(x, str)}
        assert {"@SUM(A1)", "+3", "-4"} <= kept
        assert any(x.startswith("=1+1") for x in kept)
        written_formulas = {f for sheet in book.formulas.values() for f in sheet.values()}
        assert not written_formulas & {"1+1", "SUM(A1)", "@SUM(A1)"}


def test_a_place_named_in_arabic_does_not_turn_a_cell_round():
    # ISO/IEC 29500-1, 18.8.1: readingOrder 1 is left to right, 0 asks the cell's first letter.
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        title = book.add_format({**BASE, **STYLES["title"]})
        book.add_worksheet().write(0, 0, "قصر: workbook of the appraisal", title)
    cell = openpyxl.load_workbook(file).active["A1"]
    assert cell.alignment.readingOrder == 1
    assert all("reading_order" not in style for style in STYLES.values())


def test_the_same_appraisal_gives_the_same_bytes(plan):
    pair = ("norhaven", "as_planned")
    assert workbook(made_of(plan(*pair))) == written(plan, *pair)


@pytest.mark.parametrize(("site", "scenario"), CHANGED)
def test_the_file_stays_small(plan, site, scenario):
    assert len(written(plan, site, scenario)) < LARGEST


def test_tax_classes_of_their_own_are_live(plan, tmp_path):
    sized = plan(
        "norhaven", "as_planned", "allowance.structure.method=declining_balance",
        "allowance.fish.method=straight_line", "allowance.fish.life=5",
        "allowance.water.at_once=0.4", "allowance.design.method=sum_of_years",
        "tax.convention=half_year",
    )  # fmt: skip
    data = workbook(made_of(sized))
    path = tmp_path / "workbook.xlsx"
    path.write_bytes(data)
    engine, book = formualizer.Workbook.load_path(str(path)), cells(data)
    change = {"bill.fish_tank.price": 1234.0, "allowance.water.at_once": 0.25}
    for row, x in change.items():
        put(engine, book.names[input_name(row)], x)
    timing = made_of(sized, values_at(sized.case, change)).money.timing
    keys = {x: at for at, x in book.values["Capital"].items() if isinstance(x, str)}
    for key, want in (("timing_profit", timing.profit), ("timing_initial", timing.initial)):
        row = int(row_of(keys[f"capital.{key}"]))
        for month in (6, 12, 13, 24, 96, sized.case.timeline.months):
            found = engine.evaluate_cell("Capital", row, 6 + month)
            assert found == pytest.approx(want[0, month], rel=CLOSE, abs=1e-4), (key, month)
    assert np.any(timing.profit != 0)
