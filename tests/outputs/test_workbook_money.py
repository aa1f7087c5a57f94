"""Do funding, tax, statements and answers of the workbook follow every rule they are written for?

The shipped cases use one loan, one grant and no tax rule beyond a rate. Here each choice of
lender, grant, tax law and treasury is laid out and every formula of the sheets is evaluated by a
spreadsheet engine (formualizer), all other sheets standing as values. Searches of rates are held
against the model's on flows with none, one and several rates.
"""

from dataclasses import replace

import formualizer
import numpy as np
import pytest
import pyxirr

from sitefare.assumptions.case import base_values
from sitefare.money.rates import GRID, rates_of_return, roots
from sitefare.outputs.workbook import (
    checks,
    funding,
    rates,
    results,
    statements,
    tax,
    views,
    years,
)
from sitefare.outputs.workbook.book import heads, sheets_of
from sitefare.outputs.workbook.filing import written_book
from sitefare.outputs.workbook.frame import (
    Cell,
    Check,
    Given,
    GivenScalar,
    Line,
    Scalar,
    Table,
    row_values,
)
from sitefare.outputs.workbook.made import made_of
from sitefare.outputs.workbook.resolve import FIRST, REFERENCE, VALUE, Resolver, place_all, rows_of

#: The sheets looked at here.
OWN = ("Funding", "Tax", "Statements", "Views", "Years", "Results", "Checks")

#: Cached values and evaluated ones agree to this, of the value or of the row's largest. [1]
CLOSE, CANCELLED = 1e-9, 1e-11

#: An invented farm that earns: large, dear food, cheap work and power.
EARNS = (
    "sales.price_level=5",
    "sales.market_size=20",
    "sales.most_share=1",
    "capital.overrun=0.5",
    "size.bed_area=2500 m2",
    "wage.worker=1 USD/h",
    "tariff.electricity=0.08 USD/kWh",
    "distribution.vegetables_served=0.05",
    "distribution.fish_served=0.05",
)
FUNDED = ("port_anui", "grant_and_soft_loan")

CASES = {
    "losses lapse, holiday, least tax, late payment, overdraft, reserve": (
        *FUNDED, *EARNS, "tax.loss_years=3", "tax.holiday_years=3", "tax.holiday_rate=0.05",
        "tax.minimum_share=0.01", "tax.payment_lag=5", "tax.loss_share=0.6",
        "treasury.overdraft_share=0.3", "treasury.minimum_months=2", "debt_reserve.months=6",
        "debt_reserve.filling=12", "allowance.fish.at_once=0.5", "allowance.structure.at_once=0.9",
    ),
    "allowances ahead of depreciation": (
        *FUNDED, *EARNS, "tax.minimum_share=0.01", "tax.payment_lag=3", "tax.loss_share=0.5",
        "treasury.overdraft_share=0.5", "allowance.structure.method=declining_balance",
        "allowance.fish.at_once=0.5", "tax.convention=half_year",
    ),
    "losses carried back and lapsing": (
        "port_anui", "as_planned", *EARNS, "drift.food=-0.03", "drift.wages=0.02",
        "tax.carry_back_years=1", "tax.loss_years=4", "economy.income_tax=0.3",
        "tax.minimum_share=0.02", "tax.holiday_years=2", "tax.holiday_rate=0.1",
    ),
    "losses carried back, the rest without limit": (
        "port_anui", "as_planned", *EARNS, "drift.food=-0.03", "drift.wages=0.02",
        "tax.carry_back_years=3", "economy.income_tax=0.3",
    ),
    "dollar loan by the quarter, balloon, grant in parts": (
        *FUNDED, "funding.soft_loan.terms=dollar", "funding.agency_grant.terms=tranches",
        "loan.dollar.balloon=0.2",
    ),
    "dollar loan, stated devaluation, interest paid then added": (
        "kaldre", "grant_and_soft_loan", "funding.soft_loan.terms=dollar",
        "loan.dollar.exchange=stated", "loan.dollar.devaluation=0.05",
        "loan.dollar.building_interest=paid", "loan.dollar.grace_interest=capitalised",
        "debt_reserve.months=4",
    ),
    "flat interest": (
        "kaldre", "grant_and_soft_loan", "funding.soft_loan.terms=microfinance",
    ),
    "bullet by the year": (
        "norhaven", "grant_and_soft_loan", "funding.soft_loan.terms=bank",
        "loan.bank.repayment=bullet", "loan.bank.frequency=yearly", "loan.bank.term=5",
    ),
    "loan beyond the appraisal, a ceiling, overrun shared": (
        "norhaven", "grant_and_soft_loan", "funding.soft_loan.terms=bank", "loan.bank.term=20",
        "loan.bank.frequency=quarterly", "funding.soft_loan.ceiling=1",
        "funding.soft_loan.overrun=0.5", "funding.owner_equity.overrun=0.5",
    ),
    "land bought": ("qasr_adhra", "as_planned", "land.tenure=bought", "economy.income_tax=0.2"),
}  # fmt: skip


def read_by(sheets):
    """Return the keys that the formulas of sheets read."""
    formulas = [
        text
        for sheet in sheets
        for item in sheet.items
        if isinstance(item, Line | Scalar | Check)
        for text in (item.formula, getattr(item, "first", ""))
    ]
    return {found["key"] for text in formulas for found in REFERENCE.finditer(text)}


def frozen(sheet, read):
    """Return a sheet's rows that are read, their formulas standing as the model's values."""

    def still(item):
        if isinstance(item, Table):
            rows = tuple(
                tuple(replace(c, formula="") if isinstance(c, Cell) else c for c in row)
                for row in item.rows
            )
            return replace(item, rows=rows)
        if isinstance(item, Line | Given):
            return Given(item.key, item.label, item.unit, item.values, kind=item.kind)
        return GivenScalar(item.key, item.label, item.unit, item.value, kind=item.kind)

    items = [
        still(item)
        for item in sheet.items
        if isinstance(item, Table) or getattr(item, "key", "") in read
    ]
    return replace(sheet, items=items)


class Opened:
    """Some sheets of a workbook live in a spreadsheet engine, the rest as values."""

    def __init__(self, made, live, path):
        self.made, self.live = made, live
        # Charts and lists of sheets are no part of this.
        every = [s for s in sheets_of(made) if s.name not in ("About", "Charts")]
        read = read_by(s for s in every if s.name in live)
        self.sheets = [s if s.name in live else frozen(s, read) for s in every]
        head = heads(made)
        path.write_bytes(written_book(self.sheets, head, frozenset(), {}))
        self.engine = formualizer.Workbook.load_path(str(path))
        self.lengths = {axis: len(found) for axis, found in head.number.items()}
        self.places = place_all(self.sheets, self.lengths)
        self.engine.evaluate_all()

    def at(self, key, column=None):
        place = self.places.found[key]
        column = place.column if column is None else FIRST + column
        return self.engine.get_value(place.sheet, place.row + 1, column + 1)

    def put(self, key, numbers):
        place = self.places.found[key]
        for n, x in enumerate(numbers):
            self.engine.set_value(place.sheet, place.row + 1, place.column + n + 1, float(x))
        self.engine.evaluate_all()

    def put_input(self, row, x):
        sheet, where = self.places.inputs[row]
        letters, number = where.split("$")[1:]
        column = sum(26**n * (ord(c) - 64) for n, c in enumerate(reversed(letters)))
        self.engine.set_value(sheet, int(number), column, float(x))
        self.engine.evaluate_all()

    def wrong(self):
        """List the cells of live sheets that differ from what the model computed."""
        found = []
        for sheet in (s for s in self.sheets if s.name in self.live):
            for row, item in rows_of(sheet):
                if isinstance(item, Line):
                    values = row_values(item.values, self.lengths[sheet.axis], item.key)
                    cells = [(FIRST + n, x) for n, x in enumerate(values)]
                elif isinstance(item, Scalar | Check):
                    cells = [(VALUE, item.value)]
                else:
                    continue
                size = max((abs(x) for _, x in cells if not isinstance(x, str)), default=0.0)
                for column, want in cells:
                    got = self.engine.get_value(sheet.name, row + 1, column + 1)
                    if not agrees(got, want, size):
                        formula = Resolver(self.places, sheet).formula(item.formula, column)
                        found.append(f"{item.key} {column - FIRST}: {want} {got} {formula}")
        return found


def agrees(got, want, size):
    if isinstance(want, str) or not isinstance(got, int | float):
        return got == want
    return abs(got - want) <= CLOSE * abs(want) + CANCELLED * size + CLOSE


@pytest.mark.parametrize("name", CASES)
def test_every_rule_is_laid_out_as_the_model_has_it(plan, tmp_path, name):
    made = made_of(plan(*CASES[name]))
    opened = Opened(made, OWN, tmp_path / "workbook.xlsx")
    assert not opened.wrong()[:10]
    checked = [i for s in opened.sheets if s.name == "Checks" for i in s.items]
    for check in (item for item in checked if isinstance(item, Check)):
        assert abs(opened.at(check.key)) <= check.tolerance, check.key


def test_the_cases_use_the_rules_that_they_name(plan):
    made = {name: made_of(plan(*case)) for name, case in CASES.items()}
    lapse, allowed, back, free = (made[name] for name in list(CASES)[:4])
    used = [tax.statements_tax(one).tax.uses.table()[:, :, 0] for one in (back, free)]
    for table in used:
        assert np.sum(np.tril(table, -1)) > 0, "a loss is carried back"
        assert np.sum(np.triu(table, 1)) > 0, "a loss is carried forward"
    lapsing = tax.statements_tax(lapse).tax.uses.table()[:, :, 0]
    assert np.sum(np.triu(lapsing, 1)) > 0
    assert tax.statements_tax(lapse).tax.paid.sum() > 0
    assert lapse.statements["balance"]["overdraft"].max() > 0
    assert lapse.books.funding.reserve.max() > 0
    assert tax.differs(allowed.money)
    assert made["land bought"].money.capital.land.sum() > 0


def test_a_level_payment_is_the_annuity_of_the_debt(plan, tmp_path):
    # pyxirr's pmt: a spreadsheet's PMT, written by others.
    made = made_of(plan("norhaven", "grant_and_soft_loan"))
    opened = Opened(made, ("Funding",), tmp_path / "workbook.xlsx")
    loan = next(key for key in opened.places.found if key.endswith(".payments"))[: -len("payments")]
    first = int(opened.at(f"{loan}first"))
    paid = [opened.at("debt.service", month) for month in range(first + 1, first + 20)]
    payment = -pyxirr.pmt(
        opened.at(f"{loan}rate"), int(opened.at(f"{loan}payments")), opened.at(f"{loan}debt")
    )
    assert paid == pytest.approx([payment] * len(paid), rel=1e-9)


def test_sources_beyond_the_need_are_told(plan, tmp_path):
    made = made_of(plan("kaldre", "grant_and_soft_loan"))
    opened = Opened(made, ("Funding", "Checks"), tmp_path / "workbook.xlsx")
    assert opened.at("check.funding.share") == 0
    opened.put_input("funding.owner_equity.share", 0.4)
    assert opened.at("check.funding.share") == pytest.approx(0.3)
    sheet = next(s for s in opened.sheets if s.name == "Checks")
    row = next(r for r, i in rows_of(sheet) if getattr(i, "key", "") == "check.funding.share")
    assert opened.engine.get_value("Checks", row + 1, FIRST + 2) == "look"


# What a project brings in a month after it is built, and what it costs: flows by hand.
def flow_of(spent, months=180, **later):
    flow = np.zeros(months + 1)
    flow[0] = -spent
    for month, x in later.items():
        flow[int(month[1:])] += x
    return flow


def two_rates(low, high):
    """A flow of three payments worth nothing at two yearly rates, scaled."""
    a, b = 1.0 / (1.0 + low), 1.0 / (1.0 + high)
    # (x - a)(x - b), x the yearly factor.
    return flow_of(-1e6 * a * b, m12=-1e6 * (a + b), m24=1e6)


FLOWS = {
    "level income": np.concatenate([[-1e6], np.full(180, 12e3)]),
    "never recovered": np.concatenate([[-1e6], np.full(180, -5e3)]),
    "nothing": np.zeros(181),
    "two rates apart": two_rates(0.05, 0.6),
    "two rates nearer than the grid": two_rates(0.1, 0.105),
    "turns without reaching nothing": two_rates(0.1, 0.105) + flow_of(-2e3),
    "on the grid": flow_of(1e6, m12=1e6 * float(np.exp(GRID[70]))),
    "deep loss": np.concatenate([[-1e6], np.full(12, 5e4), np.full(168, -1e3)]),
}


@pytest.mark.parametrize("name", FLOWS)
def test_the_search_finds_what_the_model_finds(name):
    flow = FLOWS[name]
    found, search = rates_of_return(flow[None, :]), rates.Search(flow)
    assert min(search.count(), 2) == found.status[0, 0], roots(flow)
    if found.status[0, 0] == 1:
        assert search.rate() == pytest.approx(found.rate[0, 0], rel=1e-8)
        # pyxirr's irr is another's; it takes monthly periods.
        monthly = pyxirr.irr(list(flow), guess=float((1 + found.rate[0, 0]) ** (1 / 12) - 1))
        assert (1 + monthly) ** 12 - 1 == pytest.approx(search.rate(), rel=1e-6)


def test_random_flows_are_searched_as_the_model_does():
    rng = np.random.default_rng(11)
    flows = rng.normal(size=(60, 121)) * np.exp(rng.normal(size=(60, 121)))
    flows[:, 0] -= rng.uniform(0, 60, 60)
    found = rates_of_return(flows)
    several = 0
    for flow, status, rate in zip(flows, found.status[:, 0], found.rate[:, 0], strict=True):
        search = rates.Search(flow)
        assert min(search.count(), 2) == status
        several += status == 2
        if status == 1:
            assert search.rate() == pytest.approx(rate, rel=1e-7, abs=1e-9)
    assert several > 5


def test_the_rates_sheet_follows_a_flow_typed_in(plan, tmp_path):
    made = made_of(plan("qasr_adhra", "as_planned"))
    opened = Opened(made, ("Rates", "Results"), tmp_path / "workbook.xlsx")
    assert not [w for w in opened.wrong() if w.startswith("rates.")][:10]
    for flow in FLOWS.values():
        opened.put("real.net", flow)
        search = rates.Search(flow)
        assert opened.at("rates.irr.count") == search.count()
        shown = opened.at("out.irr")
        if search.count() == 1:
            assert shown == pytest.approx(search.rate(), rel=1e-7)
        else:
            assert shown == ("several rates" if search.count() else "no rate")


def test_modules_that_make_sheets_are_the_sheets_looked_at(plan):
    made = made_of(plan("qasr_adhra", "as_planned"), base_values(plan("qasr_adhra").case))
    named = [m.sheet(made).name for m in (funding, tax, statements, views, years, results, checks)]
    assert tuple(named) == OWN
