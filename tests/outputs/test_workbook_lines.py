"""Are the workbook's sheets People, Running, Income and Working live, and right?

Every formula of theirs is evaluated by a spreadsheet engine (formualizer) and compared with what
the model computes: at base values, and after every input that they follow is moved at once.
"""

import math
from dataclasses import dataclass

import formualizer
import numpy as np
import pytest

from sitefare.assumptions.case import base_values
from sitefare.outputs.workbook import (
    bill,
    capital,
    clock,
    farm,
    income,
    inputs,
    people,
    price_paths,
    renewals,
    running,
    working,
)
from sitefare.outputs.workbook.book import heads, workbook
from sitefare.outputs.workbook.frame import Line, Scalar, row_values
from sitefare.outputs.workbook.made import Made, made_of
from sitefare.outputs.workbook.resolve import FIRST, VALUE, Resolver, place_all

#: The sheets looked at here, and those whose rows they read.
OWN = (people.sheet, running.sheet, income.sheet, working.sheet)
READ = (
    inputs.inputs_sheet,
    inputs.items_sheet,
    clock.sheet,
    farm.sheet,
    price_paths.sheet,
    bill.sheet,
    capital.sheet,
    renewals.sheet,
)

#: Sheets of which every unlocked input is moved; the others have tests of their own.
FOLLOWED = ("Farm", "Prices", "People", "Running", "Income", "Working")

#: Cached values and recalculated ones agree to this. [1]
CLOSE = 1e-9

#: Choices that no shipped case makes, each with the site and scenario it is tried at.
CHOICES = {
    "holiday food sold": (
        "kaldre",
        "as_planned",
        "distribution_model.school_meals.holiday_food=sold",
        "sales.unsold=given",
        "market.lettuce.takes=50",
        "land.tenure=bought",
        "storage.vegetables_window=3.4",
        "people.headline=vegetables_and_fish_mean",
    ),
    "holiday food lost": (
        "kaldre",
        "low_cost_build",
        "distribution_model.school_meals.holiday_food=lost",
        "distribution.cholera_or_hepatitis_e=yes",
        "vat.exempt=yes",
        "storage.fish_window=1",
        "working_capital.receivable_days=120",
        "working_capital.stock_days=0",
    ),
    "vouchers": (
        "norhaven",
        "solar_supply",
        "distribution.model=voucher",
        "tariff.feed_in=0.05 EUR/kWh",
        "people.headline=protein_share",
        "tariff.electricity_from_2=300",
        "tariff.electricity_ratio_2=1.3",
        "tariff.electricity_from_3=600",
        "tariff.electricity_ratio_3=0.8",
        "tariff.water_from_2=5",
        "tariff.water_ratio_2=2",
        "vat.wait=24",
    ),
    "kitchens without credit": (
        "port_anui",
        "grant_and_soft_loan",
        "distribution.model=kitchens",
        "working_capital.stock_days=75",
        "vat.wait=0",
        "working_capital.payable_days=0",
        "operations.unpaid_share=0.35",
        "tariff.demand_on=metered",
        "tariff.ratchet=0.9",
    ),
}


@dataclass(frozen=True)
class Opened:
    """A workbook in an engine, and where its keys stand."""

    made: Made
    engine: formualizer.Workbook
    places: object

    def at(self, key, column=None):
        place = self.places.found[key]
        at = place.column if column is None else FIRST + column
        return self.engine.get_value(place.sheet, place.row + 1, at + 1)

    def row(self, key):
        return np.array([self.at(key, n) for n in range(self.made.timeline.months + 1)])

    def put(self, name, numbers):
        sheet, where = self.places.inputs[name]
        first = where.split(":")[0].split("$")
        column = sum(26**n * (ord(x) - 64) for n, x in enumerate(reversed(first[1])))
        for n, x in enumerate(numbers):
            self.engine.set_value(sheet, int(first[2]), column + n, float(x))


def sheets(made):
    return [make(made) for make in (*READ, *OWN)]


def opened(made):
    found = sheets(made)
    engine = formualizer.Workbook.from_bytes(workbook(made, found))
    engine.evaluate_all()
    places = place_all(found, {a: len(x) for a, x in heads(made).number.items()})
    for sheet in (s for s in found if s.name in FOLLOWED):
        resolver = Resolver(places, sheet)
        for item in sheet.items:
            if isinstance(item, Line | Scalar):
                resolver.formula(item.formula, FIRST if isinstance(item, Line) else VALUE)
    return Opened(made, engine, places)


def apart(book, made):
    """List the formulas of the own sheets that differ from what the model makes of `made`."""
    wrong = []
    for sheet in (make(made) for make in OWN):
        for item in sheet.items:
            if isinstance(item, Line):
                want = row_values(item.values, made.timeline.months + 1, item.key)
                scale = max(abs(x) for x in want)
                got = [book.at(item.key, n) for n in range(len(want))]
            elif isinstance(item, Scalar):
                want, got, scale = [item.value], [book.at(item.key)], abs(item.value)
            else:
                continue
            wrong += [
                (item.key, n, a, b)
                for n, (a, b) in enumerate(zip(want, got, strict=True))
                if not isinstance(b, float | int)
                or not math.isclose(a, b, rel_tol=CLOSE, abs_tol=CLOSE * max(scale, 1e-6))
            ]
    return wrong


def followed(book):
    """List the input rows that these sheets read and that are unlocked."""
    locked = book.made.farm_rows.union(*(sheet.locked for sheet in sheets(book.made)))
    return sorted(book.places.used - locked)


def moved_by(book, names, seed):
    """Return new numbers of rows, each within its declared bounds."""
    draw, rows = np.random.default_rng(seed), book.made.case.rows
    found = {}
    for name in names:
        spec, base = rows[name].spec, np.ravel(book.made.values[name])
        base = base if spec.kind == "monthly" else base[:1]
        # What is nothing at base moves too: a by-product that finds a buyer, hours given unpaid.
        raised = np.where(base == 0.0, min(0.3, spec.high), base)
        factor = draw.uniform(0.85, 1.15, base.size)
        found[name] = np.clip(raised * factor, spec.low, spec.high)
    return found


def with_moved(plan, moved):
    values = base_values(plan.case)
    for name, x in moved.items():
        base = values[name]
        values[name] = x[None, :] if x.size > 1 else np.broadcast_to(x[None, :], base.shape)
    return values


@pytest.fixture(scope="module")
def book(plan):
    """The workbook of a site with no grid; tests put back what they move."""
    return opened(made_of(plan("qasr_adhra", "solar_supply")))


def test_formulas_give_what_the_model_gives(book):
    assert apart(book, book.made) == []


@pytest.mark.parametrize("kind", ["vegetables", "fish"])
def test_every_kilogram_ends_somewhere(book, kind):
    ends = [book.row(f"people.{kind}{end}") for end in ("_kg", ".elsewhere", ".staff", ".lost")]
    held = book.row(f"people.{kind}.held")
    harvest = book.row(f"people.{kind}.harvest")
    np.testing.assert_allclose(sum(ends) + np.diff(held, prepend=0.0), harvest, atol=1e-9)
    assert harvest.sum() > 0
    assert min(end.sum() for end in ends) > 0


def test_a_poorer_harvest_feeds_fewer_people_and_sells_less(book):
    rations = [f"people.{key}.persons" for key in book.made.fed.rations]
    before = {key: book.row(key) for key in (*rations, "income.total", "running.total")}
    book.put("adjust.vegetables", [0.8])
    book.engine.evaluate_all()
    after = {key: book.row(key) for key in before}
    book.put("adjust.vegetables", [1.0])
    book.engine.evaluate_all()
    # Only vegetables count in this ration, so a fifth less of them feeds a fifth fewer.
    only = "people.who_vegetables.persons"
    np.testing.assert_allclose(after[only], 0.8 * before[only], rtol=1e-12)
    for key in rations:
        assert (after[key] <= before[key] + 1e-9).all(), key
    assert after["income.total"].sum() < before["income.total"].sum()
    # Less to pack and carry costs less; work does not follow.
    assert after["running.total"].sum() < before["running.total"].sum()
    np.testing.assert_allclose(book.row("people.who_vegetables.persons"), before[only])


def test_a_part_that_a_ration_no_longer_asks_for_holds_nobody_back(book, plan):
    key = book.made.fed.headline
    moved = {f"ration.{key}.vegetables": np.zeros(1)}
    before = book.row(f"people.{key}.persons")
    book.put(f"ration.{key}.vegetables", [0.0])
    book.engine.evaluate_all()
    after, cost = book.row(f"people.{key}.persons"), book.at("people.alternative_cost")
    book.put(f"ration.{key}.vegetables", np.ravel(book.made.values[f"ration.{key}.vegetables"]))
    book.engine.evaluate_all()
    sized = plan("qasr_adhra", "solar_supply")
    fed = made_of(sized, with_moved(sized, moved)).fed
    np.testing.assert_allclose(after, fed.rations[key].persons[0], rtol=CLOSE)
    assert after.max() > before.max()
    assert cost == pytest.approx(float(fed.alternative_cost_person_day[0, 0]))
    np.testing.assert_allclose(book.row(f"people.{key}.persons"), before)


def test_nobody_is_counted_in_ramp_up_whom_the_full_years_do_not_hold(book):
    full = book.row("people.full")
    assert 0 < full.sum() < full.size
    for key in book.made.fed.rations:
        held = book.at(f"people.{key}.held")
        persons = book.row(f"people.{key}.persons")
        assert persons[full == 0].max() <= held * (1 + 1e-12)
        assert persons[full == 1].mean() == pytest.approx(held)


def test_balances_are_settled_in_the_last_month(book):
    for key in ("receivables", "supplies", "payables", "fish_at_cost", "refunds"):
        balance = book.row(f"tied.{key}")
        assert balance[-1] == 0
        assert balance.max() > 0, key
    assert book.row("tied.cash").sum() == pytest.approx(0, abs=1e-6)
    assert book.row("tied.fish_profit").sum() == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("settings", CHOICES.values(), ids=CHOICES)
def test_formulas_follow_every_choice_and_every_input(plan, settings):
    sized = plan(*settings)
    book = opened(made_of(sized))
    assert apart(book, book.made) == []
    names = followed(book)
    assert {"wage.worker", "market.chard.price", "vat.wait", "adjust.fish", "drift.food"} <= set(
        names
    )
    moved = moved_by(book, names, seed=7)
    for name, numbers in moved.items():
        book.put(name, numbers)
    book.engine.evaluate_all()
    assert apart(book, made_of(sized, with_moved(sized, moved))) == []
