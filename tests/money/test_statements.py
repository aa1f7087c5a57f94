from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.arrays import value
from sitefare.assumptions.declaration import build
from sitefare.money.allowances import WRITTEN_OFF
from sitefare.money.finances import books_of
from sitefare.money.flows import money_flows
from sitefare.money.overdraft import overdraft
from sitefare.money.project import ProjectInputs
from sitefare.money.statements import (
    Extra,
    assets_of,
    earned,
    gap,
    statements,
    without_overdraft,
)
from sitefare.money.yearly import statement_lines, yearly_statements
from sitefare.timeline import Timeline

CLOCK = Timeline(2027, 1, 15, 6)
LAW = {
    "tax.loss_years": value(5.0), "tax.carry_back_years": value(1.0),
    "tax.payment_lag": value(4.0), "tax.minimum_share": value(0.01),
    "tax.holiday_years": value(2.0), "tax.holiday_rate": value(0.05),
    "tax.convention": "half_year",
}  # fmt: skip


def profitable(values):
    """A farm that pays tax: half by a grant, a quarter by a loan, short months overdrawn."""
    more = {n: x * 12.0 for n, x in values.items() if n.startswith("market.") and "price" in n}
    more |= {"wage.worker": value(1.0), "funding.owner_equity.share": value(0.25)}
    for key, kind, terms, share in (
        ("grant", "grant", "tranches", 0.5),
        ("bank", "loan", "bank", 0.25),
    ):
        given = {
            "title": key, "kind": kind, "terms": terms, "share": value(share),
            "overrun": value(0.0), "ceiling": value(0.0),
        }  # fmt: skip
        more |= {f"funding.{key}.{name}": x for name, x in given.items()}
    more |= {"loan.bank.interest": value(0.1), "loan.bank.term": value(7.0)}
    more |= {"loan.bank.grace": value(12.0), "treasury.overdraft_share": value(0.2)}
    return {**values, **more}


def taxed_faster(values):
    """Every part of the budget written off faster than the books do."""
    more = dict.fromkeys((f"allowance.{k}.method" for k in WRITTEN_OFF), "declining_balance")
    more |= {f"allowance.{key}.life": value(5.0) for key in WRITTEN_OFF}
    more |= {f"allowance.{key}.at_once": value(0.2) for key in WRITTEN_OFF}
    return {**values, **LAW, **more}


@pytest.fixture(scope="module")
def books(drawn, design, flows, fed):
    values = taxed_faster(profitable(drawn(16)))
    made = money_flows(values, design, flows, fed, CLOCK)
    return books_of(values, build(ProjectInputs, values), made, CLOCK)


def test_they_close_under_any_tax_law(drawn, appraised):
    found = appraised(taxed_faster(profitable(drawn(64))))
    balance, income = found.statements["balance"], found.statements["income"]
    assert np.max(gap(balance)) < 1e-9
    assert np.min(balance["tax_payable"]) < np.max(balance["tax_payable"])
    scale = np.max(balance["total_assets"])
    for name in ("tax_payable", "loans", "deferred_grants", "equipment_and_works"):
        assert np.max(np.abs(balance[name][:, -1])) < 1e-9 * scale, name
    # Profit is what retained profit grows by, and cash is what the cash flow leaves.
    grown = np.diff(balance["retained_profit"], axis=1)
    np.testing.assert_allclose(grown, income["profit"][:, 1:], atol=1e-9 * scale)
    cash = np.cumsum(found.statements["cash_flow"]["net"], axis=1)
    np.testing.assert_allclose(cash, balance["cash"], atol=1e-9 * scale)
    lines = {n: x for n, x in income.items() if n not in ("profit", "profit_before_tax")}
    np.testing.assert_allclose(sum(lines.values()), income["profit"], atol=1e-9 * scale)


def test_activities_sum_to_the_change_of_cash(drawn, appraised):
    found = appraised(profitable(drawn(16))).statements
    cash = found["cash_flow"]
    parts = [found[name] for name in ("operating", "investing", "financing")]
    # Every line stands in one activity; no sum but the last is among the lines.
    assert [name for part in parts for name in part] == list(cash)[:-1]
    np.testing.assert_allclose(sum(sum(part.values()) for part in parts), cash["net"], atol=1e-6)


def test_allowances_only_put_tax_off(drawn, appraised):
    # With one rate, no holiday, minimum or lapse, all that the law moves is time.
    # An overdraft would move with it.
    plain = {**profitable(drawn(16)), "treasury.overdraft_share": value(0.0)}
    faster = taxed_faster(plain) | {n: x for n, x in plain.items() if n in LAW}
    slow, fast = appraised(plain).statements, appraised(faster).statements
    scale = np.max(slow["balance"]["total_assets"])
    np.testing.assert_allclose(
        np.sum(fast["notes"]["taxable_profit"], axis=1),
        np.sum(slow["income"]["profit_before_tax"], axis=1),
        atol=1e-9 * scale,
    )
    put_off = fast["notes"]["deferred_tax_not_recognised"]
    assert np.max(put_off) > 0
    assert np.max(np.abs(put_off[:, -1])) < 1e-9 * scale
    assert np.max(np.abs(slow["notes"]["deferred_tax_not_recognised"])) < 1e-9 * scale
    np.testing.assert_array_equal(slow["income"]["depreciation"], fast["income"]["depreciation"])


def test_the_law_moves_no_project_figure_by_funding(drawn, appraised):
    values = taxed_faster(drawn(16))
    rich = {n: x for n, x in profitable(values).items() if not n.startswith("funding.")}
    rich |= {n: x for n, x in values.items() if n.startswith("funding.")}
    alone, funded = appraised(rich), appraised(profitable(values))
    for name in ("npv", "mirr", "payback_years", "benefit_cost_ratio", "cost_per_person_day"):
        np.testing.assert_allclose(alone.indicators[name], funded.indicators[name], rtol=1e-12)
    np.testing.assert_array_equal(alone.lines["tax"], funded.lines["tax"])


@pytest.mark.parametrize("draws", [7, 12, 24, 181])
def test_one_draw_equals_its_row(draws, drawn, appraised):
    values = taxed_faster(profitable(drawn(draws)))
    many = appraised(values)
    one = appraised({k: v if isinstance(v, str) else v[:1] for k, v in values.items()})
    for name, lines in many.statements.items():
        scale = max(np.max(np.abs(x[0])) for x in lines.values())
        for line, x in lines.items():
            found = one.statements[name][line][0]
            np.testing.assert_allclose(found, x[0], rtol=1e-12, atol=1e-12 * scale, err_msg=line)


def test_interest_is_part_of_the_assets_only_while_building(books):
    # IAS 23.22: capitalising ends when the asset is ready for use.
    debt = books.funding.debt
    assert np.all(books.borrowing_cost[:, CLOCK.construction + 1 :] == 0)
    assert np.max(books.borrowing_cost[:, : CLOCK.construction + 1]) > 0
    # Start-up follows: interest then added to the loan is a cost of its month all the same.
    unpaid = debt.interest - debt.interest_paid
    assert np.max(unpaid[:, CLOCK.construction + 1 :]) > 0
    assert np.all(debt.interest[:, : CLOCK.construction + 1] == 0)
    bare = replace(books, agreed=replace(books.agreed, limit=value(0.0)))
    np.testing.assert_array_equal(-statements(bare)["income"]["interest"], debt.interest)


def test_the_overdraft_settles_under_any_tax_law(books):
    # Its interest moves tax, tax moves cash, cash moves its interest: all three agree.
    found = statements(books)
    interest = -found["cash_flow"]["overdraft_interest"]
    assert np.max(interest) > 0
    owed = np.concatenate(
        [np.zeros((len(interest), 1)), found["balance"]["overdraft"][:, :-1]], axis=1
    )
    scale = np.max(found["balance"]["total_assets"])
    np.testing.assert_allclose(interest, owed * books.agreed.rate, atol=1e-12 * scale)
    drawn = overdraft(without_overdraft(books) + relief(books, interest), books.agreed)
    np.testing.assert_allclose(drawn.balance, found["balance"]["overdraft"], atol=1e-11 * scale)
    assert np.max(gap(found["balance"])) < 1e-9


def relief(books, interest):
    """Cash that tax on the overdraft's interest leaves."""
    before = earned(books, np.zeros((1, 1))).tax.paid
    saved = before - earned(books, interest).tax.paid
    assert np.max(np.abs(saved)) > 0
    return saved


def ends_at_nothing(rng, shape):
    """A balance that is zero in month 0 and at the end."""
    balance = rng.normal(0, 1e4, shape)
    balance[:, [0, -1]] = 0
    return balance


def moved(balance):
    return np.diff(balance, axis=1, prepend=0.0)


def extras(seed, shape):
    """One of every kind of line that another module may add."""
    rng = np.random.default_rng(seed)
    refund, fish, held, drawn, dearer = (ends_at_nothing(rng, shape) for _ in range(5))
    fee = np.abs(rng.normal(0, 100, shape))
    return {
        "vat_receivable": Extra(cash=-moved(refund), asset=refund),
        "fish_at_cost": Extra(profit=moved(fish), asset=fish, taxed=False),
        "escrow": Extra("financing", cash=-moved(held), asset=held),
        "bridge": Extra("financing", cash=moved(drawn), claim=drawn),
        "exchange": Extra("financing", profit=-moved(dearer), claim=dearer),
        "fees": Extra("financing", cash=-fee, profit=-fee),
    }


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_lines_of_other_modules_are_taken_and_close(books, seed):
    shape = books.funding.need.shape
    more = extras(seed, shape)
    plain, found = statements(books), statements(replace(books, extra=more))
    assert np.max(gap(found["balance"])) < 1e-9
    assert {"vat_receivable", "fish_at_cost", "escrow"} <= set(assets_of(found["balance"]))
    assert "bridge" not in assets_of(found["balance"])
    assert "bridge" in found["balance"]
    before, after = (sum(one["operating"].values()) for one in (plain, found))
    # Tax answers the fees and the loss of exchange; VAT is the only other operating cash.
    tax = found["cash_flow"]["tax"] - plain["cash_flow"]["tax"]
    np.testing.assert_allclose(
        after - before - tax, np.broadcast_to(more["vat_receivable"].cash, shape), atol=1e-4
    )


@pytest.mark.parametrize("name", ["vat_receivable", "bridge", "exchange"])
def test_a_line_that_does_not_balance_opens_a_gap(books, name):
    more = extras(3, books.funding.need.shape)
    more[name] = replace(more[name], asset=None, claim=None)
    assert np.min(gap(statements(replace(books, extra=more))["balance"])) > 1e-6


def test_profit_not_taxed_moves_no_tax(books):
    # No overdraft: cash given would spare its interest, which is taxed.
    books = replace(books, agreed=replace(books.agreed, limit=value(0.0)))
    shape = books.funding.need.shape
    gift = {"gift": Extra(cash=np.full(shape, 50.0), profit=np.full(shape, 50.0), taxed=False)}
    plain, found = statements(books), statements(replace(books, extra=gift))
    np.testing.assert_allclose(found["income"]["tax"], plain["income"]["tax"], atol=1e-6)
    taxed = statements(replace(books, extra={"gift": replace(gift["gift"], taxed=True)}))
    assert np.sum(taxed["income"]["tax"]) < np.sum(plain["income"]["tax"])


def test_years_are_sums_of_months(books):
    closed = statements(books)
    found = yearly_statements(closed, CLOCK)
    for kind in ("income", "cash_flow"):
        for name, monthly in closed[kind].items():
            by_year = getattr(found, kind)[name]
            months = np.broadcast_to(monthly, (len(monthly), CLOCK.months + 1))
            assert by_year.shape[1] == CLOCK.years + 1
            np.testing.assert_allclose(by_year[:, 0], months[:, 0])
            np.testing.assert_allclose(by_year[:, 3], months[:, 25:37].sum(axis=1), atol=1e-6)
            np.testing.assert_allclose(by_year.sum(axis=1), months.sum(axis=1), atol=1e-3)
    cash = found.cash_flow
    np.testing.assert_allclose(cash["opening_cash"] + cash["net"], cash["closing_cash"], atol=1e-3)
    assert np.max(gap(found.balance)) < 1e-9
    np.testing.assert_allclose(
        found.balance["retained_profit"] - found.opening["retained_profit"],
        found.income["profit"],
        atol=1e-3,
    )
    np.testing.assert_array_equal(found.balance["loans"][:, 4], closed["balance"]["loans"][:, 48])


def test_printed_lines_add_up(books):
    lines = statement_lines(statements(books), CLOCK)
    assert [line.statement for line in lines] == sorted(
        (line.statement for line in lines), key=["income", "cash_flow", "balance"].index
    )
    told = {(line.statement, line.name): np.array(line.amounts) for line in lines}
    scale = told["balance", "total_assets"].max()

    def near(found, expected):
        np.testing.assert_allclose(found, expected, atol=1e-9 * scale)

    near(told["balance", "total_assets"], told["balance", "total_claims"])
    opening = told.get(("cash_flow", "opening_cash"), np.zeros(3))
    closing = told["cash_flow", "closing_cash"]
    near(opening + told["cash_flow", "net"], closing)
    held = told.get(("balance", "cash"), np.zeros(3))
    near(closing, held - told.get(("balance", "cash_short_of_funding"), 0.0))
    # Year 1 and 2 stand side by side, so one closes where the other opens.
    near(opening[1], closing[0])
    assert opening[0] == 0
    parts = [x for (kind, name), x in told.items() if kind == "income" and "profit" not in name]
    near(sum(parts), told["income", "profit"])
    near(told["balance", "retained_profit"][1] - told["balance", "retained_profit"][0],
         told["income", "profit"][1])  # fmt: skip
    assert not any(name == "land" for _, name in told)


def test_cash_below_zero_is_a_claim(base, appraised):
    found = appraised(base)
    told = {
        (line.statement, line.name): np.array(line.amounts)
        for line in statement_lines(found.statements, CLOCK)
    }
    scale = told["balance", "equity_paid_in"].max()
    ends = found.cash_balance[0, [12, 24, 60]]
    assert ends[2] < 0
    short, held = (
        told.get(("balance", name), np.zeros(3)) for name in ("cash_short_of_funding", "cash")
    )
    np.testing.assert_allclose(short, np.maximum(-ends, 0.0), atol=1e-9 * scale)
    np.testing.assert_allclose(held, np.maximum(ends, 0.0), atol=1e-9 * scale)
    names = [name for kind, name in told if kind == "balance"]
    cut = names.index("total_assets")
    for lines, end in (
        (names[:cut], "total_assets"),
        (names[cut + 1 : -1], "total_claims"),
    ):
        sums = sum(told["balance", name] for name in lines)
        np.testing.assert_allclose(sums, told["balance", end], atol=1e-9 * scale)
    np.testing.assert_allclose(
        told["balance", "total_assets"], told["balance", "total_claims"], atol=1e-9 * scale
    )


def test_years_beyond_the_appraisal_are_left_out(books):
    lines = statement_lines(statements(books), CLOCK, (1, 15, 40))
    assert {len(line.amounts) for line in lines} == {2}
