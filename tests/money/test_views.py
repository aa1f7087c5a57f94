"""Owners', nominal and economic views agree with the project view where they must."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.discounting import capital_recovery, net_present_value, present_value
from sitefare.money.finances import finances
from sitefare.money.indicators import cover_by_year, debt_cover, loan_life_cover, servicing
from sitefare.money.prices import fisher
from sitefare.money.rates import ONE, SEVERAL, rates_of_return
from sitefare.money.views import received_over_paid
from sitefare.timeline import Timeline

NEUTRAL = {
    "economic.conversion_factor": 1.0, "economic.shadow_wage": 1.0, "economic.carbon_price": 0.0,
    "economic.energy_tax": 0.0, "economic.discount_rate": 0.06,
}  # fmt: skip


def one(found, name):
    return float(found.indicators[name][0, 0])


def with_loan(values, kind="equal_payment", share=0.4):
    given = {
        "title": "bank", "kind": "loan", "terms": "bank", "share": value(share),
        "overrun": value(0.0), "ceiling": value(0.0),
    }  # fmt: skip
    terms = {"interest": 0.1, "term": 8.0, "grace": 12.0, "arrangement_fee": 0, "commitment_fee": 0}
    more = {**values, "funding.owner_equity.share": value(1.0 - share)}
    more |= {f"funding.bank.{name}": x for name, x in given.items()}
    more |= {f"loan.bank.{name}": value(x) for name, x in terms.items()}
    return more | {"loan.bank.quoted": "effective", "loan.bank.repayment": kind}


def richer(values):
    dear = {n: x * 12.0 for n, x in values.items() if n.startswith("market.") and "price" in n}
    return {**values, **dear, "wage.worker": value(1.0)}


def test_nominal_view_is_worth_the_same(drawn, appraised):
    values = drawn(32)
    found = appraised(values).indicators
    np.testing.assert_allclose(found["npv_nominal"], found["npv"], rtol=1e-9)
    inflation = values["economy.inflation"]
    np.testing.assert_allclose(found["mirr_nominal"], fisher(found["mirr"], inflation), atol=1e-10)


def test_nominal_rate_of_return_is_fishers(base, appraised):
    found = appraised(richer(base))
    assert one(found, "irr_nominal") == pytest.approx(1.04 * (1 + one(found, "irr")) - 1, abs=1e-9)
    assert one(found, "payback_years_nominal") < one(found, "payback_years")
    assert one(found, "irr_equity_nominal") == pytest.approx(
        1.04 * (1 + one(found, "irr_equity")) - 1, abs=1e-9
    )


def test_owners_who_pay_all_own_the_project(base, appraised):
    # No loan, grant or gift in kind, and a tax that is the same: owners' cash is the project's.
    found = appraised({**richer(base), "owners.discount_rate": value(0.06)})
    for name in ("npv", "irr", "mirr", "payback_years", "discounted_payback_years"):
        assert one(found, f"{name}_equity") == pytest.approx(one(found, name), rel=1e-9), name


def test_owners_flow_is_cash_less_what_they_paid_in(drawn, appraised):
    found = appraised(with_loan(drawn(16)))
    cash = found.statements["cash_flow"]
    view = found.views["equity"]
    np.testing.assert_allclose(
        view.flow, (cash["net"] - cash["equity"]) / found.inflation, rtol=1e-9, atol=1e-6
    )
    assert view.group["loans_drawn"] == view.group["interest"] == "funding"


def test_a_loan_below_the_return_lifts_the_owners_return(base, appraised):
    plain, lent = appraised(richer(base)), appraised(with_loan(richer(base)))
    assert one(plain, "irr_equity") > 0.06
    assert one(lent, "irr_equity") > one(plain, "irr_equity")
    assert one(lent, "npv") == pytest.approx(one(plain, "npv"), rel=1e-12)


def test_funding_moves_no_economic_figure(base, appraised):
    plain, lent = appraised(base), appraised(with_loan(base))
    for name in ("npv_economic", "benefit_cost_ratio_economic", "break_even_price"):
        assert one(plain, name) == one(lent, name)


def test_received_over_paid():
    flow, factors = np.array([[-100.0, 60.0, -10.0, 80.0]]), np.ones((1, 4))
    assert received_over_paid(flow, factors)[0, 0] == pytest.approx(140 / 110)
    assert np.isnan(received_over_paid(np.abs(flow), factors)[0, 0])


def test_equivalent_annual_cost_is_worth_all_costs(base, appraised):
    found = appraised(base)
    factors = found.views["project"].factors
    lines, group = found.lines, found.line_group
    costs = sum(x for n, x in lines.items() if group[n] not in ("income", "residual"))
    yearly = one(found, "equivalent_annual_cost")
    assert yearly == pytest.approx(
        -present_value(costs, factors)[0, 0] * capital_recovery(value(0.06), value(15.0))[0, 0]
    )
    level = np.array([[0.0, *[yearly] * 15]])
    assert net_present_value(level, value(0.06), per_year=1)[0, 0] == pytest.approx(
        -present_value(costs, factors)[0, 0]
    )


# The economic view.


def test_neutral_conversions_leave_the_project_but_for_tax_duty_and_food(base, appraised):
    given = {name: value(x) for name, x in NEUTRAL.items()}
    given |= {"freight.duty": value(0.0), "vat.exempt": "yes"}
    found = appraised({**base, **given})
    view, project = found.views["economic"], found.views["project"]
    changed = {"food_reaching_people", "stock_held", "carbon"}
    for name, x in view.lines.items():
        if name not in changed:
            np.testing.assert_allclose(x, project.lines[name], rtol=1e-12, atol=1e-9, err_msg=name)
    gone = set(project.lines) - set(view.lines)
    assert gone == {"paid_by_people_served", "working_capital", "tax"}
    assert "storm_repairs" in view.lines
    food = view.lines["food_reaching_people"]
    np.testing.assert_allclose(0.8 * food, found.value_of_food_given, rtol=1e-12)
    assert np.sum(view.lines["carbon"]) == 0
    # Stock is bought and in the end used up.
    assert np.sum(view.lines["stock_held"]) == pytest.approx(0, abs=1e-6)


def test_duty_is_a_transfer(base, appraised):
    free, taxed = (appraised({**base, "freight.duty": value(d)}) for d in (0.0, 0.25))
    assert one(taxed, "npv") < one(free, "npv")
    assert one(taxed, "npv_economic") == pytest.approx(one(free, "npv_economic"), rel=1e-12)


def test_value_added_tax_is_a_transfer(base, appraised):
    free, taxed = (appraised({**base, "vat.exempt": said}) for said in ("yes", "no"))
    assert one(taxed, "npv") < one(free, "npv")
    assert one(taxed, "npv_economic") == pytest.approx(one(free, "npv_economic"), rel=1e-12)


MOVES = [
    ("economic.shadow_wage", 0.5, "more"),
    ("economic.conversion_factor", 0.8, "less"),
    ("economic.energy_tax", 0.3, "more"),
    ("economic.discount_rate", 0.12, "more"),
    ("economic.feed_imported", 0.9, "less"),
    ("economic.fuel_imported", 0.99, "less"),
    ("economic.supplies_imported", 0.9, "less"),
    ("local_price.tomato.price", 3.0, "more"),
]


@pytest.mark.parametrize(("name", "given", "way"), MOVES)
def test_direction_of_each_conversion(name, given, way, base, appraised):
    before, after = appraised(base), appraised({**base, name: value(given)})
    gain = one(after, "npv_economic") - one(before, "npv_economic")
    assert gain > 0 if way == "more" else gain < 0
    assert one(after, "npv") == one(before, "npv")


def test_emissions_cost_carbon(base, flows, fed, design, timeline):
    emitting = replace(flows, emissions_kg=1000.0 * timeline.running)
    found = finances(base, design, emitting, fed, timeline)
    cost = -found.views["economic"].lines["carbon"]
    price, growth = (float(base[f"economic.carbon_{n}"][0, 0]) for n in ("price", "growth"))
    # A tonne in month 24, two years of inflation and of real rise later.
    assert cost[0, 24] == pytest.approx(price * (1 + growth) ** 2 * 1.04**2)
    assert cost[0, 0] == 0


def test_an_imported_good_at_the_shadow_rate(base, appraised):
    # Feed imported whole at a factor of 0.8 costs 1 ÷ 0.8 of its price.
    given = {"economic.feed_imported": value(1.0), "economic.conversion_factor": value(0.8)}
    given |= {"vat.exempt": "yes"}
    found = appraised({**base, **given})
    economic, project = (found.views[v].lines["feed"] for v in ("economic", "project"))
    np.testing.assert_allclose(economic, 1.25 * project)


# Debt cover.


def test_cover_by_year_and_its_least():
    timeline = Timeline(2027, 1, 3, 0)
    month = np.ones((1, 37))
    repaid = month * (timeline.month > 12)
    cover = cover_by_year(3.0 * month, month + repaid, repaid, timeline)
    assert np.isnan(cover[0, :2]).all()
    assert cover[0, 2:] == pytest.approx([1.5, 1.5])
    assert debt_cover(cover)[0, 0] == pytest.approx(1.5)
    assert np.isnan(debt_cover(np.full((1, 4), np.nan))[0, 0])


LOANS = {
    "monthly": {},
    "equal_principal": {"loan.bank.repayment": "equal_principal"},
    "bullet": {"loan.bank.repayment": "bullet"},
    "quarterly": {"loan.bank.frequency": "quarterly"},
    "yearly": {"loan.bank.frequency": "yearly", "loan.bank.grace_interest": "capitalised"},
    "paid while building": {"loan.bank.building_interest": "paid"},
    "foreign": {"loan.bank.currency": "EUR", "loan.bank.exchange": "stated",
                "loan.bank.devaluation": value(0.05)},
}  # fmt: skip


@pytest.mark.parametrize("kind", LOANS)
def test_loan_life_cover_of_a_multiple_of_the_service(kind, base, appraised):
    found = appraised({**with_loan(base), **LOANS[kind]})
    debt = found.loans["bank"]
    built = 6
    cover = loan_life_cover(1.4 * debt.service, debt, built)
    assert cover[0, 0] == pytest.approx(1.4, rel=1e-12)
    # At the loan's own cost, the service is worth the debt when its first period begins.
    months = np.flatnonzero(servicing(debt.service, debt.drawn, built)[0])
    begins = months[0] - 1
    assert debt.service[0, months[-1]] > 0
    assert np.all(np.diff(months) == 1)
    monthly = 1.1 ** (1 / 12) - 1
    home = 1.05 ** (1 / 12) if kind == "foreign" else 1.0
    later = (1 + monthly) * home
    worth = np.sum(debt.service[0, months] / later ** (months - begins))
    assert worth == pytest.approx(debt.balance[0, begins], rel=1e-9)
    # Even cash is worth the same whatever months it is paid for in.
    even = loan_life_cover(np.ones(debt.balance.shape), debt, built)[0, 0]
    level = np.sum(1.0 / later ** (months - begins)) / debt.balance[0, begins]
    assert even == pytest.approx(level, rel=1e-9)


def test_loan_life_cover_lies_between_least_and_most_yearly_cover(base, appraised):
    found = appraised(with_loan(richer(base)))
    cover = found.debt_cover[np.isfinite(found.debt_cover)]
    assert one(found, "min_dscr") == np.min(cover)
    assert np.min(cover) < one(found, "loan_life_cover") < np.max(cover)


def test_no_debt_no_cover(base, appraised):
    found = appraised(base)
    assert found.reasons["loan_life_cover"] == "no loan is repaid"


def test_every_rate_of_each_view_is_told(base, appraised):
    found = appraised(base)
    for name, view in (
        ("irr", "project"), ("irr_equity", "equity"), ("irr_economic", "economic"),
        ("irr_nominal", "nominal"),
    ):  # fmt: skip
        rates = rates_of_return(found.views[view].flow)
        if rates.status[0, 0] == ONE:
            assert one(found, name) == pytest.approx(rates.rate[0, 0], rel=1e-12)
        else:
            assert "changes sign" in found.reasons[name]
            several = rates.status[0, 0] == SEVERAL
            assert found.reasons[name].startswith("several" if several else "no rate")
