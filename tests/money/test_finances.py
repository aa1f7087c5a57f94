import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.money.bill import ESSENTIAL
from sitefare.money.capital import capital_cost
from sitefare.money.discounting import net_present_value
from sitefare.money.finances import GROUPS
from sitefare.money.prices import fisher
from sitefare.money.rates import ONE
from sitefare.money.statements import gap
from sitefare.timeline import Timeline

INDICATORS = (
    "cost_per_person_day", "cost_per_person_day_net", "capex", "capex_per_person", "npv", "irr",
    "mirr", "payback_years", "discounted_payback_years", "benefit_cost_ratio",
    "levelised_cost_vegetables_kg", "levelised_cost_fish_kg", "peak_funding", "min_dscr",
    "grant_needed", "operating_cost_year", "sales_year", "operating_cost_recovery",
    "subsidy_year_after_grant", "replacement_reserve_year",
)  # fmt: skip
FUNDING_VIEW = (
    "min_dscr", "loan_life_cover", "grant_needed", "subsidy_year_after_grant",
    "grant_needed_debt_cover",
)  # fmt: skip


def loan_and_grant(values, **changed):
    """Half grant, a quarter equity, a quarter loan."""
    more = dict(values)
    more["funding.owner_equity.share"] = value(0.25)
    for key, kind, terms, share in (
        ("grant", "grant", "claims", 0.5),
        ("bank", "loan", "bank", 0.25),
    ):
        given = {
            "title": key, "kind": kind, "terms": terms, "share": value(share),
            "overrun": value(0.0), "ceiling": value(1.0),
        }  # fmt: skip
        more |= {f"funding.{key}.{name}": x for name, x in given.items()}
    terms = {"interest": 0.1, "term": 7.0, "grace": 12.0, "arrangement_fee": 0, "commitment_fee": 0}
    more |= {f"loan.bank.{name}": value(x) for name, x in terms.items()}
    more["loan.bank.quoted"] = "effective"
    return more | changed


def richer(values):
    """Prices and wages at which the farm pays."""
    dear = {n: x * 12.0 for n, x in values.items() if n.startswith("market.") and "price" in n}
    return {**values, **dear, "wage.worker": value(1.0)}


def test_every_indicator_is_given(base, appraised):
    found = appraised(base)
    assert set(INDICATORS) <= set(found.indicators)
    for name, x in found.indicators.items():
        assert x.shape == (1, 1)
        assert np.isfinite(x[0, 0]) or name in found.reasons
    assert set(found.line_group.values()) == set(GROUPS)


@pytest.mark.parametrize("draws", [7, 12, 24, 181])
def test_one_draw_equals_its_row(draws, drawn, appraised):
    values = drawn(draws)
    many = appraised(values)
    last = {k: v if isinstance(v, str) or v.shape[0] == 1 else v[2:3] for k, v in values.items()}
    ones = appraised(last)
    # The synthetic flows differ by draw, so that one case gets the flows of draw 0.
    same = appraised({k: v if isinstance(v, str) else v[:1] for k, v in values.items()})
    for name, x in same.indicators.items():
        assert x[0, 0] == pytest.approx(many.indicators[name][0, 0], rel=1e-12, nan_ok=True), name
    assert ones.indicators["capex"][0, 0] == pytest.approx(
        many.indicators["capex"][2, 0], rel=1e-12
    )
    for name, line in same.lines.items():
        np.testing.assert_allclose(line[0], many.lines[name][0], rtol=1e-12, atol=1e-9)


def test_a_short_clock_works(drawn, appraised):
    found = appraised(drawn(7, Timeline(2027, 5, 4, 3)), Timeline(2027, 5, 4, 3))
    assert found.project_cash.shape == (7, 49)
    assert np.max(gap(found.statements["balance"])) < 1e-9


@pytest.mark.parametrize("kind", ["equal_payment", "equal_principal", "bullet"])
def test_statements_close_in_every_draw(kind, drawn, appraised):
    values = loan_and_grant(drawn(64), **{"loan.bank.repayment": kind})
    found = appraised(values)
    assert np.max(gap(found.statements["balance"])) < 1e-9
    balance, cash = found.statements["balance"], found.statements["cash_flow"]
    np.testing.assert_allclose(np.cumsum(cash["net"], axis=1), balance["cash"])
    for name in ("loans", "deferred_grants", "receivables", "equipment_and_works", "stock"):
        assert np.max(np.abs(balance[name][:, -1])) < 1e-6 * np.max(balance["equity_paid_in"])
    # What is left is cash, and it belongs to the owners.
    owned = balance["equity_paid_in"] + balance["retained_profit"]
    np.testing.assert_allclose(balance["cash"][:, -1], owned[:, -1], rtol=1e-9)


def test_sources_equal_uses(drawn, appraised):
    found = appraised(loan_and_grant(drawn(16)))
    received = sum(x for name, x in found.funding.items() if name.endswith((".received", ".drawn")))
    cash = found.statements["cash_flow"]
    building = slice(0, 7)
    paid = ("capital", "land", "operating_costs", "working_capital", "sales", "replacements")
    uses = -sum(cash[name] for name in paid)[:, building]
    np.testing.assert_allclose(received[:, building], uses, rtol=1e-12)


def test_loans_are_repaid_exactly(base, appraised):
    found = appraised(loan_and_grant(base))
    drawn, repaid = np.sum(found.funding["bank.drawn"]), -np.sum(found.funding["bank.repaid"])
    # Interest is added to the debt through six months of building and twelve of start-up.
    monthly = 1.1 ** (1 / 12) - 1
    lent = np.broadcast_to(found.funding["bank.drawn"], (1, 181))[0, :19]
    added = sum(x * ((1 + monthly) ** (18 - month) - 1) for month, x in enumerate(lent))
    assert repaid - drawn == pytest.approx(added, rel=1e-9)
    assert found.statements["balance"]["loans"][0, -1] == 0


def test_funding_moves_no_project_figure(drawn, appraised):
    values = drawn(16)
    plain, funded = appraised(values), appraised(loan_and_grant(values))
    for name, x in plain.indicators.items():
        if name not in FUNDING_VIEW and "_equity" not in name:
            np.testing.assert_allclose(x, funded.indicators[name], rtol=1e-12, err_msg=name)
    assert not np.allclose(plain.cash_balance, funded.cash_balance)


def test_funding_beyond_the_need_is_refused(base, appraised):
    values = loan_and_grant(base, **{"funding.owner_equity.share": value(0.8)})
    with pytest.raises(AssumptionError, match=r"shares add up to 1\.55"):
        appraised(values)


def test_debt_cover_needs_debt(base, appraised):
    assert appraised(base).reasons["min_dscr"] == "no loan is repaid"
    found = appraised(loan_and_grant(richer(base)))
    assert found.indicators["min_dscr"][0, 0] > 1


def test_npv_at_the_rate_of_return_is_zero(base, appraised):
    found = appraised(richer(base))
    assert found.rates_status[0, 0] == ONE
    rate = found.indicators["irr"]
    left = net_present_value(found.project_cash_real, rate)
    assert abs(left[0, 0]) < 1e-9 * np.sum(np.abs(found.project_cash_real))
    assert found.indicators["payback_years"][0, 0] < 15


def test_real_flows_at_the_real_rate_equal_nominal_at_the_nominal(base, appraised):
    found = appraised(base)
    nominal = fisher(value(0.06), value(0.04))
    assert net_present_value(found.project_cash, nominal)[0, 0] == pytest.approx(
        found.indicators["npv"][0, 0], rel=1e-12
    )


def test_groups_sum_to_the_project_cash(base, appraised):
    found = appraised(base)
    np.testing.assert_allclose(sum(found.lines.values()), found.project_cash)
    np.testing.assert_allclose(np.sum(found.nominal_yearly), np.sum(found.project_cash))


def test_capital_budget_adds_up(base, design, appraised):
    found = appraised(base)
    items = found.capital_items
    assert sum(i.share for i in items) == pytest.approx(1)
    total = sum(i.landed_cost for i in items)
    assert total == pytest.approx(float(capital_cost(base, design)[0, 0]))
    # Spent at the prices of half a year of building, so within drift of the budget.
    assert found.indicators["capex"][0, 0] == pytest.approx(total, rel=0.02)
    assert 100 < total / design.bed_area < 1500


def test_contingency_is_spent_and_counted(base, appraised):
    plain = appraised(base).indicators["capex"]
    more = appraised({**base, "capital.contingency": value(1e4)}).indicators["capex"]
    assert more[0, 0] - plain[0, 0] == pytest.approx(1e4, rel=0.02)


@pytest.mark.parametrize("key", ESSENTIAL)
@pytest.mark.parametrize(("field", "given"), [("per_driver", 0.0), ("price", 0.0)])
def test_essential_items_cannot_be_removed(key, field, given, base, appraised):
    values = {**base, f"bill.{key}.{field}": value(given), f"bill.{key}.minimum": value(0)}
    with pytest.raises(AssumptionError, match=f"bill.{key}.*cannot be removed"):
        appraised(values)


@pytest.mark.parametrize(("field", "given"), [("essential", "no"), ("where", "bed=raft")])
def test_essential_items_cannot_be_declared_away(field, given, base, appraised):
    with pytest.raises(AssumptionError, match=r"alarm.*cannot be removed"):
        appraised({**base, f"bill.alarm.{field}": given})


def test_food_safety_tests_cannot_be_removed(base, appraised):
    with pytest.raises(AssumptionError, match="microbe_tests"):
        appraised({**base, "overhead.microbe_tests.cost": value(0)})


DIRECTIONS = [
    ("wage.worker", 2.0, "cost_per_person_day"),
    ("freight.imported", 3.0, "capex"),
    ("freight.inland", 3.0, "capex"),
    ("tariff.electricity", 2.0, "operating_cost_year"),
    ("tariff.electricity_ratio_2", 1.5, "operating_cost_year"),
    ("tariff.demand", 2.0, "operating_cost_year"),
    ("heating_fuel_price.lpg", 2.0, "operating_cost_year"),
    ("wage.on_call", 2.0, "operating_cost_year"),
    ("price.feed", 2.0, "levelised_cost_fish_kg"),
    ("sales.price_level", 1.5, "sales_year"),
    ("freight.duty", 2.0, "capex"),
    ("operations.upkeep_factor", 2.0, "operating_cost_year"),
    ("capital.overrun", 1.3, "peak_funding"),
]


@pytest.mark.parametrize(("name", "factor", "indicator"), DIRECTIONS)
def test_dearer_is_dearer(name, factor, indicator, base, appraised):
    before = appraised(base).indicators[indicator][0, 0]
    after = appraised({**base, name: base[name] * factor}).indicators[indicator][0, 0]
    assert after > before * 1.0001


def test_cost_follows_people_served(base, appraised):
    found = appraised(base).indicators
    one, half = (
        found[f"cost_per_person_day.{name}"][0, 0]
        for name in ("vegetables_and_fish", "who_vegetables")
    )
    assert half == pytest.approx(2 * one)
    assert found["cost_per_person_day_net"] < found["cost_per_person_day"]


def test_unpaid_hours_are_costed_but_not_paid(base, appraised):
    paid = appraised(base)
    unpaid = appraised({**base, "operations.unpaid_share": value(0.5)})
    assert unpaid.indicators["npv"] == paid.indicators["npv"]
    assert unpaid.cash_balance[0, -1] > paid.cash_balance[0, -1]
    assert np.max(gap(unpaid.statements["balance"])) < 1e-9


def test_bought_land_is_sold_again(base, appraised):
    found = appraised({**base, "land.tenure": "bought"})
    assert found.lines["capital_land"][0, 0] < 0
    assert found.lines["residual_land"][0, -1] > 0
    assert np.all(found.lines["rent"] == 0)
    assert np.max(gap(found.statements["balance"])) < 1e-9


def test_every_row_of_the_tables_can_be_read(rows, money_prefixes):
    elsewhere = {"price_index", "place", "distribution_model"}
    assert {name.split(".")[0] for name in rows} - elsewhere == set(money_prefixes)
    assert len([n for n in rows if n.startswith("bill.") and n.endswith(".price")]) >= 36


def test_larger_farm_costs_less_a_square_metre(base, appraised):
    small, large = appraised(base), appraised(base, scale=4.0)
    ratio = large.indicators["capex"][0, 0] / small.indicators["capex"][0, 0]
    assert 2.5 < ratio < 4


def test_lent_land_is_costed_but_not_paid(base, appraised):
    leased, lent = appraised(base), appraised({**base, "land.tenure": "given"})
    np.testing.assert_array_equal(leased.lines["rent"], lent.lines["rent"])
    assert np.all(lent.statements["income"]["rent"] == 0)
    assert lent.indicators["npv"] == leased.indicators["npv"]
    assert np.sum(lent.given_in_kind) == pytest.approx(-np.sum(lent.lines["rent"]))
