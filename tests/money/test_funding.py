"""Sources, grants at milestones, overdraft, reserve account, targets."""

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.money.discounting import net_present_value
from sitefare.money.funding import FundingItem, Uses, paid_by
from sitefare.money.grants import GrantTerms, received
from sitefare.money.overdraft import Facility, overdraft
from sitefare.money.prices import fisher
from sitefare.money.reserve import ReserveInputs, reserve
from sitefare.money.statements import gap
from sitefare.money.targets import deepest_month, grant_for_cover, grant_for_return
from sitefare.timeline import Timeline

CLOCK = Timeline(2027, 1, 15, 6)


def funded(values, loan="bank", grant="claims", shares=(0.5, 0.25, 0.25), **changed):
    """Grant, loan and equity in these shares, at library terms, with rows changed."""
    more = dict(values)
    for key, kind, terms, share, overrun in (
        ("grant", "grant", grant, shares[0], 0.0),
        ("lender", "loan", loan, shares[1], 0.0),
        ("owner_equity", "equity", "", shares[2], 1.0),
    ):
        given = {
            "title": key, "kind": kind, "terms": terms, "share": value(share),
            "overrun": value(overrun), "ceiling": value(0.0 if kind == "equity" else 1.0),
        }  # fmt: skip
        more |= {f"funding.{key}.{name}": x for name, x in given.items()}
    changed = {k.replace("__", "."): x for k, x in changed.items()}
    return more | {k: x if isinstance(x, str) else value(x) for k, x in changed.items()}


def rich(values):
    dear = {n: x * 12.0 for n, x in values.items() if n.startswith("market.") and "price" in n}
    return {**values, **dear, "wage.worker": value(1.0)}


EVERYTHING = {
    "debt_reserve__months": 6, "debt_reserve__filling": 0, "treasury__overdraft_share": 0.4,
    "treasury__minimum_months": 1, "loan__dollar__devaluation": 0.06,
    "loan__dollar__exchange": "stated", "economy__currency": "EUR",
}  # fmt: skip


@pytest.mark.parametrize("loan", ["soft", "bank", "microfinance", "dollar"])
@pytest.mark.parametrize("grant", ["claims", "advance_and_claims", "tranches"])
@pytest.mark.parametrize("planned", [0, 2e5])
def test_statements_close_on_any_terms(loan, grant, planned, drawn, appraised):
    values = funded(rich(drawn(24)), loan, grant, funding_plan__need=planned, **EVERYTHING)
    found = appraised(values)
    balance, cash = found.statements["balance"], found.statements["cash_flow"]
    assert np.max(gap(balance)) < 1e-9
    np.testing.assert_allclose(np.cumsum(cash["net"], axis=1), balance["cash"])
    for name in ("loans", "overdraft", "reserve_account", "deferred_grants", "stock"):
        assert np.max(np.abs(balance[name][:, -1])) < 1e-6 * np.max(balance["equity_paid_in"]), name


@pytest.mark.parametrize("loan", ["soft", "microfinance"])
@pytest.mark.parametrize("planned", [0, 2e5])
def test_sources_equal_uses_in_every_month_and_draw(loan, planned, drawn, appraised):
    values = funded(drawn(24), loan, funding_plan__need=planned, debt_reserve__months=6)
    found = appraised(values)
    start_up = slice(0, CLOCK.construction + 12 + 1)
    money = found.funding
    sources = sum(x for name, x in money.items() if name.endswith((".received", ".drawn")))
    cash = found.statements["cash_flow"]
    borrowing = -(cash["interest"] + cash["loan_fees"])
    kept = np.maximum(-cash["reserve_account"], 0.0)
    uses = found.capital_need + borrowing + kept
    np.testing.assert_allclose(sources[:, start_up], uses[:, start_up], rtol=1e-11, atol=1e-7)


def test_what_a_draw_costs_more_falls_on_the_owner(drawn, appraised):
    values = funded(drawn(24), funding_plan__need=2e5)
    found = appraised(values)
    need = np.sum(found.capital_need, axis=1)
    grant, lent = (np.sum(found.funding[k], axis=1) for k in ("grant.received", "lender.drawn"))
    owner = np.sum(found.funding["owner_equity.received"], axis=1)
    np.testing.assert_allclose(grant, 0.5 * np.minimum(need, 2e5))
    np.testing.assert_allclose(lent, 0.25 * np.minimum(need, 2e5))
    fees = -np.sum(found.statements["cash_flow"]["loan_fees"], axis=1)
    assert np.all(fees == 0)
    # Interest paid between start-up and repayment is the farm's own, not the owner's.
    np.testing.assert_allclose(owner, 0.25 * np.minimum(need, 2e5) + np.maximum(need - 2e5, 0))
    assert np.ptp(need) > 0


def test_a_ceiling_holds_a_source_back():
    uses = Uses(np.array([[60.0, 60.0, 60.0]]), np.zeros((1, 3)), value(100.0), 0)
    item = FundingItem(
        title="A bank", kind="loan", terms="bank", overrun=value(0.5), ceiling=value(1.2),
        share=value(0.5),
    )  # fmt: skip
    paid = paid_by(item, uses)
    assert paid[0] == pytest.approx([30, 30, 0])


def parts(start, completion, operation, months=12.0):
    return GrantTerms(
        title="A grant", on_start=value(start), on_completion=value(completion),
        on_operation=value(operation), operation_months=value(months),
    )  # fmt: skip


def test_milestones_pay_planned_sums_and_settle_on_what_was_spent():
    owed = np.zeros((2, CLOCK.months + 1))
    owed[0, :10], owed[1, :10] = 10.0, 6.0
    paid = received("x", parts(0.4, 0.4, 0.2), owed, value(100.0), CLOCK)
    assert paid[0, [0, 6, 18]] == pytest.approx([40, 40, 20])
    # The cheaper draw gets its tranches until what it is owed is used up.
    assert paid[1, [0, 6, 18]] == pytest.approx([40, 20, 0])
    np.testing.assert_allclose(np.sum(paid, axis=1), np.sum(owed, axis=1))
    assert received("x", parts(0, 0, 0), owed, value(100.0), CLOCK) == pytest.approx(owed)
    with pytest.raises(AssumptionError, match=r"grant\.x\.on_start"):
        received("x", parts(0.6, 0.6, 0), owed, value(1.0), CLOCK)


def test_an_advance_is_never_behind_spending(base, appraised):
    found = appraised(funded(base, "soft", "advance_and_claims"))
    assert np.min(found.cash_balance[0, :19]) > -1e-6
    late = appraised(funded(base, "soft", "tranches"))
    assert np.min(late.cash_balance[0, :19]) < 0
    held = appraised(funded(base, "soft", "tranches", treasury__overdraft_share=0.3))
    assert np.min(held.cash_balance[0, :19]) > -1e-6
    assert np.max(held.statements["balance"]["overdraft"]) > 0


def test_an_overdraft_walks_as_by_hand():
    agreed = Facility(value(100.0), value(0.01), np.zeros((1, 6)))
    made = overdraft(np.array([[10.0, -60.0, -70.0, 200.0, 5.0, 5.0]]), agreed)
    # 50 short; 50.5 + 70 passes the limit: 20.5 stands below zero; then all is repaid.
    assert made.interest[0] == pytest.approx([0, 0, 0.5, 1.0, 0, 0])
    assert made.balance[0] == pytest.approx([0, 50, 100, 0, 0, 0])


def test_overdraft_keeps_the_least_cash_and_its_interest_is_counted(drawn, appraised):
    values = funded(
        rich(drawn(12)), "bank", treasury__overdraft_share=1.5, treasury__minimum_months=2
    )
    found = appraised(values)
    cash, balance = found.statements["cash_flow"], found.statements["balance"]
    owed = balance["overdraft"]
    rate = 1.15 ** (1 / 12) - 1
    np.testing.assert_allclose(-cash["overdraft_interest"][:, 1:], owed[:, :-1] * rate, atol=1e-7)
    drawn_now = owed > 1e-6
    costs = -cash["operating_costs"]
    floor = 2 * CLOCK.by_year(costs)[:, CLOCK.year] / 12
    inside = drawn_now & (owed < 0.999 * np.max(owed, axis=1, keepdims=True))
    assert np.any(inside)
    np.testing.assert_allclose(balance["cash"][inside], floor[inside], rtol=1e-6)


@pytest.mark.parametrize("draws", [7, 24, 181])
def test_one_draw_equals_its_row(draws, drawn, appraised):
    values = funded(rich(drawn(draws)), "dollar", "tranches", **EVERYTHING)
    many = appraised(values)
    one = appraised({k: v if isinstance(v, str) else v[:1] for k, v in values.items()})
    for name, x in one.indicators.items():
        np.testing.assert_allclose(x[0], many.indicators[name][0], rtol=1e-12, err_msg=name)
    for name, x in one.statements["cash_flow"].items():
        wide = np.broadcast_to(many.statements["cash_flow"][name], many.project_cash.shape)
        scale = np.max(np.abs(wide[0])) + 1.0
        np.testing.assert_allclose(
            np.broadcast_to(x, one.project_cash.shape)[0], wide[0], atol=1e-12 * scale, err_msg=name
        )


def test_no_funding_moves_a_project_figure(drawn, appraised):
    plain = appraised({**drawn(12), "economy.currency": "EUR"})
    other = appraised(funded(drawn(12), "dollar", "tranches", **EVERYTHING))
    for name in ("npv", "irr", "mirr", "payback_years", "capex", "peak_funding", "sales_year"):
        np.testing.assert_allclose(plain.indicators[name], other.indicators[name], rtol=1e-12)


def test_the_reserve_holds_the_next_payments_and_is_released():
    service = np.zeros((1, CLOCK.months + 1))
    service[0, 19:79] = 10.0
    terms = ReserveInputs(months=value(6), filling=value(0))
    held = reserve(terms, service, CLOCK)
    assert held[0, [5, 12, 18, 40, 75, 78, 180]] == pytest.approx([0, 0, 60, 60, 30, 0, 0])
    slow = reserve(ReserveInputs(months=value(6), filling=value(24)), service, CLOCK)
    assert slow[0, [18, 30, 40]] == pytest.approx([30, 60, 60])


def test_the_grant_for_cash_leaves_exactly_nothing(drawn, appraised):
    found = appraised(funded(rich(drawn(12)), "bank", "tranches"))
    left = found.indicators["grant_needed"] + found.cash_balance
    short = found.indicators["grant_needed"] > 0
    assert np.any(short)
    assert np.abs(np.min(left, axis=1, keepdims=True)[short]).max() < 1e-6


def test_the_grant_for_a_return_gives_owners_that_return(base, appraised):
    found = appraised(funded(base, "soft"))
    cash = found.statements["cash_flow"]
    owners = cash["net"] - cash["equity"]
    owners = owners + np.eye(1, owners.shape[1]) * found.indicators["grant_needed_equity_return"]
    nominal = fisher(value(0.1), value(0.04))
    assert abs(net_present_value(owners, nominal)[0, 0]) < 1e-6
    worth = np.array([[-100.0, 300.0]])
    assert grant_for_return(worth, np.zeros((1, 2)), value(0.1), np.ones((1, 2)))[0, 0] == 0


def test_the_grant_for_a_cover_gives_every_year_that_cover():
    clock = Timeline(2027, 1, 3, 0)
    service = np.concatenate([np.zeros((2, 1)), np.full((2, 36), 10.0)], axis=1)
    income = service * np.array([[1.0], [-1.0]])
    lent = np.eye(1, 37) * 300.0 * np.ones((2, 1))
    found = grant_for_cover(income, service, service, lent, value(1.25), clock)
    # Cover of 1.0 against 1.25: a fifth of the loan goes; where cash is negative, all of it.
    assert found[:, 0] == pytest.approx([60, 300])
    assert np.all(grant_for_cover(income, 0 * service, 0 * service, lent, value(1.3), clock) == 0)


def test_the_deepest_month_is_named():
    flow = np.array([[-5.0, -5.0, 3.0], [1.0, 1.0, 1.0]])
    assert deepest_month(flow)[:, 0] == pytest.approx([1, 0])


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"loan": "nobody"}, r"funding\.lender\.terms: 'nobody' is no loan; one of soft, bank"),
        ({"grant": "soft"}, r"funding\.grant\.terms: 'soft' is no grant; one of claims"),
        ({"shares": (0.8, 0.25, 0.25)}, r"shares add up to 1\.3 of the capital need"),
        ({"funding__grant__overrun": 0.5}, r"overruns add up to 1\.5 of the overrun"),
    ],
)
def test_funding_that_cannot_be_is_refused(changed, message, base, appraised):
    with pytest.raises(AssumptionError, match=message):
        appraised(funded(base, **changed))


def test_loan_tables_are_handed_over(base, appraised):
    found = appraised(funded(base, "dollar", economy__currency="EUR"))
    table = found.loans["lender"].table
    assert set(table) == {
        "opening", "drawn", "charged", "exchange_loss", "interest_paid", "fees_paid",
        "principal", "closing",
    }  # fmt: skip
    assert np.sum(table["exchange_loss"]) > 0
