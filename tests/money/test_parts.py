import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.assumptions.declaration import build
from sitefare.errors import AssumptionError
from sitefare.money.bill import BillItem, belongs, bought, driver_of, priced_bill
from sitefare.money.discounting import payback, topping_up
from sitefare.money.labour import WageInputs, hourly_cost, paid_hours
from sitefare.money.phases import phase_weights
from sitefare.money.prices import price_paths
from sitefare.money.tax import TaxRules, income_tax
from sitefare.money.working_capital import trailing
from sitefare.timeline import Timeline


def item(base, **changed):
    values = {k: v for k, v in base.items() if k.startswith("bill.pump.")}
    values |= {f"bill.pump.{name}": value(x) for name, x in changed.items()}
    return build(BillItem, values, "pump")


def test_whole_pieces_and_minimum(base):
    assert bought(item(base, per_driver=0.1, minimum=1, piece=1), 8.0) == 1
    assert bought(item(base, per_driver=0.1, minimum=1, piece=1), 11.0) == 2
    assert bought(item(base, per_driver=0.1, minimum=1, piece=1), 20.0) == 2
    assert bought(item(base, per_driver=2, minimum=0, piece=0), 1.3) == 2.6
    assert bought(item(base, per_driver=2, minimum=5, piece=0), 0.0) == 0


def test_landed_cost_by_hand(base, design):
    bill = priced_bill(base, design)
    n = [key for key, _ in bill.items].index("pump")
    numbers = {k: float(v[0, 0]) for k, v in base.items() if not isinstance(v, str)}
    kilowatts = 0.003 * 500
    goods = numbers["bill.pump.price"] * kilowatts**0.7
    freight = 18 * kilowatts * numbers["freight.imported"]
    cif = (goods + freight) * (1 + numbers["freight.insurance"])
    landed = cif * (1 + numbers["freight.duty"] + numbers["freight.clearing"])
    inland = 18 * kilowatts * numbers["freight.inland"]
    wage = 2.5 * numbers["wage.technician_ratio"] * (1 + numbers["wage.on_cost"])
    assert bill.cost[0, n] == pytest.approx(landed + inland + 5 * kilowatts * wage)


def test_items_follow_the_kinds(design):
    assert belongs("bed=raft|media", design, "x")
    assert not belongs("enclosure=open", design, "x")
    with pytest.raises(AssumptionError, match=r"bill\.x\.where: 'roof=tin'"):
        belongs("roof=tin", design, "x")


def test_unknown_size_is_refused(design):
    with pytest.raises(AssumptionError, match="the design has no size 'moat'; it has battery"):
        driver_of(design, "moat", "bill.x.driver")


@pytest.mark.parametrize("phase", ["early", "even", "late"])
@pytest.mark.parametrize("building", [0, 1, 6, 13])
def test_phases_spend_all_while_building(phase, building, base):
    timeline = Timeline(2027, 1, 3, building)
    weights = phase_weights(base, timeline)[phase]
    assert np.sum(weights) == pytest.approx(1)
    assert np.all(weights[0, building + 1 :] == 0)


def test_price_paths_compound_drift_on_inflation(base, timeline):
    paths = price_paths({**base, "drift.energy": value(0.02)}, timeline)
    assert paths["energy"][0, 12] == pytest.approx(1.04 * 1.02)
    assert paths.real(paths["energy"])[0, 24] == pytest.approx(1.02**2)


def test_unknown_role_is_refused(base):
    with pytest.raises(AssumptionError, match="no wage is known for the role 'guard'"):
        hourly_cost(build(WageInputs, base), "guard")


def test_whole_people_are_paid(base):
    wages = build(WageInputs, base)
    ordinary, overtime = paid_hours(wages, value(100), value(1.0))
    assert (ordinary[0, 0], overtime[0, 0]) == (pytest.approx(173.3), 0)
    ordinary, overtime = paid_hours(wages, value(400), value(2.0))
    assert ordinary[0, 0] + overtime[0, 0] == 400
    ordinary, overtime = paid_hours(wages, value(30), None)
    assert (ordinary[0, 0], overtime[0, 0]) == (30, 0)


def test_losses_are_carried_forward():
    timeline = Timeline(2027, 1, 4, 0)
    profit = np.zeros((1, 49))
    profit[0, [6, 18, 30, 42]] = [-100, 60, 70, 10]
    paid = timeline.by_year(income_tax(profit, TaxRules(value(0.3), value(1.0)), timeline).paid)
    assert paid[0].tolist() == pytest.approx([0, 0, 0, 9, 3])
    half = timeline.by_year(income_tax(profit, TaxRules(value(0.3), value(0.5)), timeline).paid)
    assert half[0].tolist() == pytest.approx([0, 0, 9, 10.5, 1.5])


def test_balances_follow_days():
    flow = np.full((1, 13), 30.0)
    balance = trailing(flow, value(45.0))
    assert balance[0, 6] == pytest.approx(30 * 45 / (365 / 12))
    assert balance[0, -1] == 0


def test_payback_counts_the_last_time_below_zero():
    assert payback(np.array([[-10.0, 12, -5, 6]]), per_year=1)[0, 0] == pytest.approx(2.5)
    assert payback(np.array([[-10.0, 2, 3]]), per_year=1)[0, 0] == np.inf
    assert payback(np.array([[1.0, 2]]), per_year=1)[0, 0] == 0


def test_topping_up_keeps_cash_above_zero():
    balance = np.array([[5.0, -3, -1, -4, 2]])
    assert topping_up(balance)[0, 0] == 4
