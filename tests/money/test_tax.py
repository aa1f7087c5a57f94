import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.money.allowances import (
    WRITTEN_OFF,
    AllowanceItem,
    Purchase,
    booked,
    classes,
    deducted,
    first_part,
    timing,
)
from sitefare.money.capital import budget, capital_flows
from sitefare.money.depreciation import declining_balance, schedule, straight_line, sum_of_years
from sitefare.money.prices import price_paths
from sitefare.money.tax import TaxRules, income_tax, relieve
from sitefare.timeline import Timeline

METHODS = ("straight_line", "declining_balance", "sum_of_years")
CONVENTIONS = ("monthly", "full_year", "half_year", "mid_quarter")
TIMELINE = Timeline(2027, 1, 10, 6)
lives = st.floats(0.5, 40)
parts = st.sampled_from([1.0, 0.875, 0.5, 0.125, 1 / 12])


def item(method, life=0.0, factor=2.0, at_once=0.0, switch="yes"):
    return AllowanceItem(
        title="", method=method, switch=switch, life=value(life), factor=value(factor),
        at_once=value(at_once),
    )  # fmt: skip


@given(st.sampled_from(METHODS), lives, parts, st.floats(0.5, 4))
def test_a_schedule_writes_off_the_cost_and_no_more(method, life, first, factor):
    found = schedule(method, life, 45, factor=factor, switch=True, first=first)
    assert np.all(found >= -1e-12)
    assert np.sum(found) == pytest.approx(1, abs=1e-9)
    assert np.all(np.cumsum(found) <= 1 + 1e-9)


@given(st.sampled_from([straight_line, sum_of_years, declining_balance]), lives, parts,
       st.floats(0, 0.9))  # fmt: skip
def test_a_balance_never_falls_below_its_salvage(method, life, first, salvage):
    left = 1 - np.cumsum(method(life, 45, first=first, salvage=salvage))
    assert np.all(left >= salvage - 1e-9)
    assert np.all(np.diff(left) <= 1e-12)


@given(st.floats(1, 40), st.floats(0.5, 4))
def test_without_a_switch_declining_balance_never_ends(life, factor):
    found = schedule("declining_balance", life, 20, factor=factor, switch=False, first=1.0)
    left = 1 - np.cumsum(found)
    assert left == pytest.approx((1 - min(factor / life, 1)) ** np.arange(1, 21))


@pytest.mark.parametrize(
    ("convention", "month", "expected"),
    [
        ("full_year", 7, 1.0), ("half_year", 7, 0.5), ("mid_quarter", 0, 0.875),
        ("mid_quarter", 8, 0.375), ("mid_quarter", 11, 0.125), ("monthly", 0, 1.0),
        ("monthly", 6, 0.5), ("monthly", 35, 1 / 12),
    ],
)  # fmt: skip
def test_part_of_the_first_year(convention, month, expected):
    assert first_part(convention, month) == pytest.approx(expected)


def test_straight_line_over_the_same_months_is_what_the_books_do():
    bought = Purchase("beds", 6, value(1200.0), 60, initial=True)
    taxed = TIMELINE.by_year(deducted(item("straight_line"), bought, "monthly", TIMELINE))
    books = TIMELINE.by_year(booked(bought, (1, 121)))
    assert taxed[0] == pytest.approx(books[0])
    assert books[0, 1] == pytest.approx(120)


def test_a_share_at_once_and_the_rest_by_the_method():
    bought = Purchase("beds", 12, value(1000.0), 60, initial=False)
    half = TIMELINE.by_year(deducted(item("straight_line", 4.0, at_once=0.6), bought,
                                     "full_year", TIMELINE))  # fmt: skip
    assert half[0, :7] == pytest.approx([0, 0, 700, 100, 100, 100, 0])
    rest = TIMELINE.by_year(deducted(item("as_booked", at_once=0.6), bought, "monthly", TIMELINE))
    assert rest[0, :8] == pytest.approx([0, 0, 680, 80, 80, 80, 80, 0])


@given(
    st.sampled_from(METHODS), st.sampled_from(CONVENTIONS), st.floats(0.5, 30),
    st.floats(0, 1), st.sampled_from(["yes", "no"]), st.integers(0, 118), st.integers(1, 300),
)  # fmt: skip
def test_tax_and_books_deduct_the_same_in_the_end(
    method, convention, life, at_once, switch, month, months
):
    bought = Purchase("beds", month, np.array([[900.0], [300.0]]), months, initial=True)
    taxed = item(method, life, 1.5, at_once, switch)
    found = timing({"beds": taxed}, (bought,), convention, TIMELINE)
    assert np.sum(found.profit, axis=1) == pytest.approx(0, abs=1e-9)
    allowed = deducted(taxed, bought, convention, TIMELINE)
    assert np.all(allowed >= -1e-9)
    assert np.all(np.sum(allowed, axis=1) <= bought.cost[:, 0] * (1 + 1e-9))
    # One draw is its row among others.
    alone = Purchase("beds", month, bought.cost[1:], months, initial=True)
    single = timing({"beds": taxed}, (alone,), convention, TIMELINE)
    np.testing.assert_array_equal(single.profit[0], found.profit[1])


def test_classes_by_the_books_change_nothing(base):
    assert classes(base) == {}
    assert timing({}, (), "monthly", TIMELINE).profit.shape == (1, 1)


def test_every_part_of_the_budget_has_a_class(rows):
    assert {name.split(".")[1] for name in rows if name.startswith("allowance.")} == set(
        WRITTEN_OFF
    )


def test_a_class_for_no_part_is_refused(base):
    more = {name.replace("beds", "bed"): x for name, x in base.items() if "allowance.beds" in name}
    with pytest.raises(AssumptionError, match=r"allowance\.bed: no part of the budget has this"):
        classes({**base, **more})


def charged(gains, *, construction=0, sales=None, **law):
    """Tax charged by year on yearly gains, at 30 %."""
    timeline = Timeline(2027, 1, len(gains), construction)
    profit = np.zeros((1, timeline.months + 1))
    profit[0, 12::12] = gains
    sold = None if sales is None else np.full((1, timeline.months + 1), sales / 12)
    rules = TaxRules(value(0.3), law.pop("loss_share", value(1.0)), **law)
    return timeline, income_tax(profit, rules, timeline, sold)


def yearly(timeline, flow):
    return timeline.by_year(flow)[0, 1:].tolist()


def test_old_losses_lapse():
    timeline, tax = charged([-100, 20, 0, 90, 50], loss_years=2)
    # 20 of the loss is used in year 2; what is left lapses after year 3.
    assert yearly(timeline, tax.charged) == pytest.approx([0, 0, 0, 27, 15])
    timeline, tax = charged([-100, 20, 0, 90, 50], loss_years=3)
    assert yearly(timeline, tax.charged) == pytest.approx([0, 0, 0, 3, 15])


def test_a_loss_carried_back_brings_a_refund():
    timeline, tax = charged([50, 60, -80, 30], carry_back_years=1)
    # 60 of the loss goes to year 2, the other 20 to year 4.
    assert yearly(timeline, tax.charged) == pytest.approx([15, 18, -18, 3])
    timeline, tax = charged([50, 60, -80, 30], carry_back_years=2)
    assert yearly(timeline, tax.charged) == pytest.approx([15, 18, -24, 9])


def test_a_holiday_starts_with_operation():
    # Building ends in month 14, so year 2 is the first of operation.
    law = {"construction": 14, "holiday_years": 2, "holiday_rate": value(0.1)}
    timeline, tax = charged([10, 10, 10, 10], **law)
    assert yearly(timeline, tax.charged) == pytest.approx([3, 1, 1, 3])


def test_a_loss_is_used_up_in_the_holiday():
    timeline, tax = charged([-10, 10, 10], holiday_years=2)
    assert yearly(timeline, tax.charged) == pytest.approx([0, 0, 3])


def test_minimum_tax_follows_sales():
    law = {"sales": 200.0, "minimum_share": value(0.01)}
    timeline, tax = charged([-50, 5, 100], **law)
    assert yearly(timeline, tax.charged) == pytest.approx([2, 2, 16.5])
    timeline, tax = charged([5, 5, 5], holiday_years=1, **law)
    assert yearly(timeline, tax.charged) == pytest.approx([0, 2, 2])
    # A refund leaves the minimum.
    timeline, tax = charged([100, -100], carry_back_years=1, **law)
    assert yearly(timeline, tax.charged) == pytest.approx([30, 2 - 28])


def test_tax_is_paid_later():
    _, tax = charged([10, 20, 30], payment_lag=5)
    assert np.flatnonzero(tax.charged[0]).tolist() == [12, 24, 36]
    assert np.flatnonzero(tax.paid[0]).tolist() == [17, 29, 36]
    assert tax.paid[0, [17, 29, 36]] == pytest.approx([3, 6, 9])
    _, late = charged([10, 20, 30], payment_lag=14)
    assert late.paid[0, [26, 36]] == pytest.approx([3, 15])


GAINS = st.lists(
    st.lists(st.floats(-1e6, 1e6), min_size=9, max_size=9), min_size=1, max_size=4
)  # fmt: skip


@settings(max_examples=200)
@given(GAINS, st.floats(0, 1), st.integers(0, 6), st.integers(0, 4))
def test_relief_of_losses(gains, share, years, back):
    gain = np.array([[0.0, *row] for row in gains])
    rules = TaxRules(value(0.3), value(share), years, back)
    found = relieve(gain, rules)
    small = 1e-9 * (1 + np.abs(gain).max())
    assert np.all(found.used >= 0)
    assert np.all(found.open >= 0)
    # No more is relieved than was lost, nor than the share of a year's profit.
    assert np.all(found.used.sum(axis=2) + found.open <= np.maximum(-gain, 0) + small)
    assert np.all(found.used.sum(axis=1) <= share * np.maximum(gain, 0) + small)
    lost, used = np.indices((10, 10))
    outside = (used < lost - back) | ((used > lost + years) & (years > 0))
    assert np.all(found.used[:, outside] == 0)
    if not years:
        # Without a limit a loss is used or stays open.
        total = found.used.sum(axis=2) + found.open
        np.testing.assert_allclose(total, np.maximum(-gain, 0), atol=small)
    for n in range(len(gain)):
        alone = relieve(gain[n : n + 1], rules)
        np.testing.assert_array_equal(alone.used[0], found.used[n])


@given(GAINS, st.floats(0, 1), st.integers(0, 6), st.integers(0, 4), st.integers(0, 24))
def test_tax_is_paid_in_full_and_never_more_than_the_profits_bear(gains, share, years, back, lag):
    timeline = Timeline(2027, 1, 9, 5)
    profit = np.zeros((len(gains), 109))
    profit[:, 12::12] = gains
    rules = TaxRules(value(0.3), value(share), years, back, payment_lag=lag)
    tax = income_tax(profit, rules, timeline)
    small = 1e-9 * (1 + np.abs(profit).max())
    np.testing.assert_allclose(tax.charged.sum(axis=1), tax.paid.sum(axis=1), atol=small)
    running = np.cumsum(tax.charged, axis=1)
    assert np.all(running >= -small)
    assert np.all(running <= 0.3 * np.cumsum(np.maximum(profit, 0), axis=1) + small)
    if not back:
        assert np.all(tax.charged >= 0)


def test_tax_reaches_the_project_view(base, appraised):
    dear = {n: x * 12.0 for n, x in base.items() if n.startswith("market.") and "price" in n}
    rich = {**base, **dear, "wage.worker": value(1.0)}
    npv = appraised(rich).indicators["npv"][0, 0]

    def with_law(**law):
        more = {name.replace("__", "."): x for name, x in law.items()}
        return appraised({**rich, **more}).indicators["npv"][0, 0]

    at_once = {f"allowance__{key}__at_once": value(1.0) for key in WRITTEN_OFF}
    assert with_law(**at_once) > npv
    assert with_law(tax__holiday_years=value(3.0)) > npv
    assert with_law(tax__payment_lag=value(6.0)) > npv
    assert with_law(tax__minimum_share=value(0.19)) < npv
    assert with_law(tax__loss_share=value(0.0)) < npv
    slow = dict.fromkeys((f"allowance__{key}__method" for key in WRITTEN_OFF), "straight_line")
    lives = {f"allowance__{key}__life": value(40.0) for key in WRITTEN_OFF}
    assert with_law(**slow, **lives) < npv
    assert with_law(**slow, tax__convention="full_year") > with_law(**slow)


def test_the_purchases_are_what_the_books_write_off(drawn, design):
    # The tax law starts from single purchases, the books from their sum.
    values, clock = drawn(7), Timeline(2027, 1, 15, 6)
    capital = capital_flows(values, budget(values, design), price_paths(values, clock), clock)
    shape = capital.depreciation.shape
    for wanted, expected in (
        (capital.purchases, capital.depreciation),
        ([one for one in capital.purchases if one.initial], capital.depreciation_initial),
    ):
        found = sum(booked(one, shape) for one in wanted)
        np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-6)
    spent = sum(capital.initial.values()) + capital.replacement
    bought = sum(one.cost for one in capital.purchases)
    np.testing.assert_allclose(np.sum(spent, axis=1, keepdims=True), bought, rtol=1e-12)
    assert {one.category for one in capital.purchases} <= set(WRITTEN_OFF)
