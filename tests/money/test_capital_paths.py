"""Where goods come from, which price path each cost follows, when it is spent, what wind adds."""

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.money.bill import priced_bill
from sitefare.money.budget_lines import capital_lines
from sitefare.money.capital import budget, capital_flows
from sitefare.money.delivery import COMPONENTS, comes_from
from sitefare.money.exchange import import_path, rate_path
from sitefare.money.phases import even_shares, phase_weights
from sitefare.money.prices import price_paths
from sitefare.money.project import total
from sitefare.money.repairs import storm_repairs
from sitefare.money.statements import gap
from sitefare.money.vat import awaiting, cash_effect
from sitefare.timeline import Timeline

STORM = {
    "title": "Storm", "hits": "both", "loss": value(0.25), "wind": value(2.0),
    "outage": value(0.0), "chance": value(0.03),
}  # fmt: skip


def at(bill, key):
    return [name for name, _ in bill.items].index(key)


def abroad(values):
    """A site with money of its own: 8 % inflation at home, 2 % abroad."""
    economy = {"currency": "KES", "inflation": value(0.08), "foreign_inflation": value(0.02)}
    return {**values, **{f"economy.{name}": x for name, x in economy.items()}}


def with_storm(values):
    return {**values, **{f"event.storm.{name}": x for name, x in STORM.items()}}


def with_vat(values, **changed):
    terms = {"rate": 0.2, "recovered": 1.0, "wait": 3.0} | changed
    return {**values, **{f"vat.{name}": value(x) for name, x in terms.items()}}


# Where goods are bought


def test_an_island_ships_what_it_cannot_buy(base, design):
    listed = priced_bill(base, design)
    island = priced_bill({**base, "freight.all_imported": "yes"}, design)
    gravel = at(listed, "gravel")
    assert listed.imported[gravel] == 0
    assert island.imported[gravel] == 1
    assert island.cost[0, gravel] > 5 * listed.cost[0, gravel]
    # Services have no mass and are never shipped.
    np.testing.assert_array_equal(
        island.cost[:, at(island, "training")], listed.cost[:, at(listed, "training")]
    )


def test_the_category_says_more_than_the_site_and_the_item(base):
    values = {**base, "freight.all_imported": "yes"}
    assert comes_from(values, "beds", "local", 10.0) == "imported"
    assert comes_from({**values, "origin.beds.bought": "local"}, "beds", "local", 10.0) == "local"
    assert comes_from({**base, "origin.fish.bought": "local"}, "fish", "imported", 1.0) == "local"
    assert comes_from(base, "fish", "imported", 1.0) == "imported"


def test_parts_add_up_to_cost(base, design):
    bill = priced_bill(base, design)
    assert bill.parts.shape == (1, len(COMPONENTS), len(bill.items))
    np.testing.assert_allclose(np.sum(bill.parts, axis=1), bill.cost)
    np.testing.assert_allclose(bill.goods + bill.delivery + bill.installation, bill.cost)


def test_an_exempt_project_pays_no_duty(base, design):
    values = {**base, "freight.duty": value(0.2)}
    paid = priced_bill(values, design)
    spared = priced_bill({**values, "tax.duty_exempt": "yes"}, design)
    none = priced_bill({**values, "freight.duty": value(0.0)}, design)
    assert np.sum(paid.cost) > 1.02 * np.sum(spared.cost)
    np.testing.assert_array_equal(spared.cost, none.cost)


# Exchange rate


def test_parity_leaves_imports_at_home_prices(base, timeline):
    values = {**abroad(base), "economy.exchange_path": "constant_real"}
    np.testing.assert_allclose(import_path(values, timeline), timeline.growth(value(0.08)))


def test_a_peg_brings_inflation_abroad(base, timeline):
    values = {**abroad(base), "economy.exchange_path": "pegged"}
    np.testing.assert_allclose(import_path(values, timeline), timeline.growth(value(0.02)))
    np.testing.assert_array_equal(rate_path(values, timeline), 1.0)


def test_real_depreciation_makes_imports_dearer(base, timeline):
    values = {**abroad(base), "economy.real_depreciation": value(0.01)}
    assert import_path(values, timeline)[0, 24] == pytest.approx((1.08 * 1.01) ** 2)
    # The dollar needs no exchange.
    own = {**base, "economy.real_depreciation": value(0.01)}
    np.testing.assert_allclose(import_path(own, timeline), timeline.growth(value(0.04)))


def test_a_stated_path_is_followed_and_then_parity(base, timeline):
    points = {"exchange.later.year": value(2.0), "exchange.later.over_spot": value(1.5)}
    values = {**abroad(base), **points, "economy.exchange_path": "stated_table"}
    path = rate_path(values, timeline)
    assert path[0, [0, 12, 24, 36]] == pytest.approx([1, 1.5**0.5, 1.5, 1.5 * 1.08 / 1.02])
    with pytest.raises(AssumptionError, match="the table exchange needs year 0 and at least"):
        rate_path({**abroad(base), "economy.exchange_path": "stated_table"}, timeline)


# Price paths


def flows_of(values, design, timeline, **drifts):
    values = {**values, **{f"drift.{name}": value(x) for name, x in drifts.items()}}
    return capital_flows(
        values, budget(values, design), price_paths(values, timeline), timeline
    ), values


@pytest.mark.parametrize("group", ["wages", "freight", "equipment"])
def test_each_part_follows_its_own_drift(group, base, design, timeline):
    still = {"equipment": 0.0, "freight": 0.0, "wages": 0.0}
    before, _ = flows_of(base, design, timeline, **still)
    after, _ = flows_of(base, design, timeline, **(still | {group: 0.05}))
    assert np.sum(after.replacement) > np.sum(before.replacement)
    assert np.sum(after.residual) > np.sum(before.residual)
    # Month 0 is the appraisal date: nothing has drifted yet.
    for name, flow in after.initial.items():
        assert flow[0, 0] == pytest.approx(before.initial[name][0, 0])


def test_replacements_of_imports_follow_the_exchange_rate(base, design, timeline):
    weak = {**abroad(base), "economy.real_depreciation": value(0.03)}
    steady, _ = flows_of(abroad(base), design, timeline)
    falling, _ = flows_of(weak, design, timeline)
    assert np.sum(falling.replacement) > 1.05 * np.sum(steady.replacement)


def test_flows_tie_to_the_budget(base, design, timeline):
    values = {**base, "economy.inflation": value(0.0), "capital.contingency": value(5e3)}
    still = dict.fromkeys(("equipment", "freight", "wages"), 0.0)
    flows, values = flows_of(values, design, timeline, **still)
    assert np.sum(total(flows.initial.values())) == pytest.approx(
        budget(values, design).total[0, 0]
    )


# Months of spending


@pytest.mark.parametrize(("start", "end"), [(0, 0.5), (0.25, 0.3), (0.5, 1), (1, 1), (0.4, 0.4)])
@pytest.mark.parametrize("last", [0, 1, 6])
def test_even_shares_sum_to_one(start, end, last):
    shares = even_shares(start, end, last)
    assert shares.shape == (last + 1,)
    assert np.sum(shares) == pytest.approx(1)
    assert np.all(shares >= 0)


def test_deposit_and_retention(base, timeline):
    values = {**base, "retention.share": value(0.05), "retention.months": value(6.0)}
    weights = phase_weights(values, timeline)["late"]
    assert weights[0, 0] == pytest.approx(0.95 * 0.3)
    assert weights[0, timeline.construction + 6] == pytest.approx(0.05)
    assert np.sum(weights) == pytest.approx(1)


def test_retention_is_paid_while_funders_pay(base, timeline):
    values = {**base, "retention.share": value(0.05), "retention.months": value(30.0)}
    assert phase_weights(values, timeline)["even"][0, timeline.construction + 12] > 0


def test_retention_keeps_the_books_closed(base, appraised):
    values = with_vat({**base, "retention.share": value(0.1)}, recovered=0.6)
    found = appraised(values)
    assert np.max(gap(found.statements["balance"])) < 1e-9
    assert found.indicators["capex"] == pytest.approx(
        appraised(with_vat(base, recovered=0.6)).indicators["capex"], rel=0.01
    )


# Overhaul


def test_overhaul_falls_at_half_life(base, design, timeline):
    plain = {**base, **{n: value(0.0) for n in base if n.endswith(".overhaul")}}
    before, _ = flows_of(plain, design, timeline)
    after, values = flows_of({**plain, "bill.generator.overhaul": value(0.25)}, design, timeline)
    more = after.replacement - before.replacement
    month = timeline.construction + 12 * 12 // 2
    assert np.flatnonzero(np.abs(more[0]) > 1e-6).tolist() == [month]
    parts = budget(values, design)
    cost = parts.bill.cost[0, at(parts.bill, "generator")] * parts.factor[0, 0]
    real = more[0, month] / 1.04 ** (month / 12)
    assert real == pytest.approx(0.25 * cost, rel=0.05)
    assert parts.reserve[0, 0] > budget(plain, design).reserve[0, 0]


# Wind


def test_a_windy_place_asks_for_a_stronger_house(base, design):
    calm = priced_bill({**base, "place.design_wind": value(20.0)}, design)
    listed = priced_bill(base, design)
    windy = priced_bill({**base, "place.design_wind": value(57.0)}, design)
    np.testing.assert_array_equal(calm.cost, listed.cost)
    house, pump = at(listed, "house_single_film"), at(listed, "pump")
    grown = windy.goods[0, house] / listed.goods[0, house]
    assert grown == pytest.approx(1.5 ** base["wind.cost_exponent"][0, 0])
    assert windy.cost[0, pump] == listed.cost[0, pump]


def test_storm_repairs_are_the_expected_loss(base, design, timeline):
    values = with_storm({**base, "place.design_wind": value(35.0)})
    parts, paths = budget(values, design), price_paths(values, timeline)
    cost = storm_repairs(values, parts, paths, timeline)
    broken = np.sum(parts.bill.cost * parts.bill.storm) * parts.factor[0, 0]
    year = slice(timeline.construction + 1, timeline.construction + 13)
    expected = 0.03 * broken * base["wind.uninsured"][0, 0]
    assert np.sum(cost[0, year]) == pytest.approx(expected, rel=0.06)
    assert np.all(cost[0, : timeline.construction + 1] == 0)


def test_storms_are_repaired_in_the_years_they_come(base, design, timeline):
    values = with_storm(base)
    came = np.zeros((3, timeline.months + 1))
    came[1] = timeline.year == 4
    came[2] = 1.0
    values["occurrence.storm"] = came
    cost = storm_repairs(values, budget(values, design), price_paths(values, timeline), timeline)
    assert np.all(cost[0] == 0)
    assert np.all((cost[1] > 0) == (timeline.year == 4))
    np.testing.assert_array_equal(cost[1, timeline.year == 4], cost[2, timeline.year == 4])


def test_repairs_cost_what_operation_reports(base, appraised):
    calm, stormy = appraised(base), appraised(with_storm(base))
    more = stormy.indicators["operating_cost_year"] - calm.indicators["operating_cost_year"]
    assert more[0, 0] > 0
    assert np.all(stormy.lines["storm_repairs"] <= 0)
    assert np.max(gap(stormy.statements["balance"])) < 1e-9


# Value-added tax


def test_refunds_wait(timeline):
    flow = np.zeros((1, timeline.months + 1))
    flow[0, 2] = 100.0
    balance = awaiting(flow, value(2.5))
    assert balance[0, 1:7].tolist() == [0, 100, 100, 50, 0, 0]
    cash = cash_effect(balance)
    assert cash[0, 1:7].tolist() == [0, -100, 0, 50, 50, 0]
    assert np.all(awaiting(flow, value(0.0)) == 0)


def test_recovered_tax_ties_up_cash_and_costs_nothing(base, appraised):
    free = appraised(with_vat(base, rate=0.0))
    paid = appraised(with_vat(base))
    assert paid.indicators["capex"] == pytest.approx(free.indicators["capex"])
    built = slice(0, 4)
    assert np.sum(paid.project_cash[0, built]) < 1.1 * np.sum(free.project_cash[0, built])
    assert paid.indicators["npv"] < free.indicators["npv"]
    assert np.sum(paid.lines["working_capital"]) == pytest.approx(0, abs=1e-6)
    assert np.max(gap(paid.statements["balance"])) < 1e-9


def test_tax_not_recovered_is_capital(base, design, appraised):
    free = appraised(with_vat(base, rate=0.0)).indicators["capex"]
    lost = appraised(with_vat(base, recovered=0.0)).indicators["capex"]
    assert lost == pytest.approx(1.2 * free)
    parts = budget(with_vat(base, recovered=0.5), design)
    assert parts.vat == pytest.approx(0.1 * (parts.works + parts.design))


def test_an_exempt_project_pays_no_tax(base, appraised):
    free = appraised(with_vat(base, rate=0.0)).indicators
    exempt = appraised({**with_vat(base, recovered=0.3), "vat.exempt": "yes"}).indicators
    for name in ("capex", "npv", "peak_funding"):
        assert exempt[name] == pytest.approx(free[name], rel=1e-12)


# Funder's budget


@pytest.mark.parametrize("tenure", ["leased", "bought"])
def test_budget_lines_add_up(tenure, base, design, timeline):
    values = with_vat(
        {**base, "land.tenure": tenure, "capital.contingency": value(2e4)}, recovered=0.4
    )
    parts, paths = budget(values, design), price_paths(values, timeline)
    lines = capital_lines(values, parts, paths, timeline)
    assert sum(line.cost for line in lines) == pytest.approx(parts.total[0, 0])
    for line in lines:
        assert line.quantity * line.unit_cost * line.months * line.share == pytest.approx(line.cost)
    flows = capital_flows(values, parts, paths, timeline)
    spent = total(flows.initial.values()) + flows.land
    np.testing.assert_allclose(sum(line.by_month for line in lines), spent[0], rtol=1e-9)


def test_a_short_clock_without_building(base, design):
    clock = Timeline(2027, 1, 3, 0)
    flows, _ = flows_of(base, design, clock)
    assert np.all(total(flows.initial.values())[:, 1:] == 0)
