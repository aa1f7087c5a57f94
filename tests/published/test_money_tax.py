"""Depreciation schedules, tax allowances and loss relief against published tables and examples.

Tolerance is half of the last digit printed unless a comment says more. A printed table or worked
asset that set no row is `validation`; a library's or standard's test of the bare formula is
`identity`.
"""

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.allowances import first_part
from sitefare.money.depreciation import (
    declining_balance,
    fixed_rate,
    schedule,
    straight_line,
    sum_of_years,
)
from sitefare.money.discounting import net_present_value
from sitefare.money.tax import TaxRules, income_tax, relieve
from sitefare.timeline import Timeline

# US IRS Publication 946, Appendix A: yearly per cent of cost.
TABLE_A1 = {
    3: [33.33, 44.45, 14.81, 7.41],
    5: [20, 32, 19.2, 11.52, 11.52, 5.76],
    7: [14.29, 24.49, 17.49, 12.49, 8.93, 8.92, 8.93, 4.46],
    10: [10, 18, 14.4, 11.52, 9.22, 7.37, 6.55, 6.55, 6.56, 6.55, 3.28],
    15: [
        5, 9.5, 8.55, 7.7, 6.93, 6.23, 5.9, 5.9, 5.91, 5.9, 5.91, 5.9, 5.91, 5.9, 5.91, 2.95,
    ],
    20: [
        3.75, 7.219, 6.677, 6.177, 5.713, 5.285, 4.888, 4.522, 4.462, 4.461, 4.462, 4.461, 4.462,
        4.461, 4.462, 4.461, 4.462, 4.461, 4.462, 4.461, 2.231,
    ],
}  # fmt: skip
TABLE_A2 = {
    3: [58.33, 27.78, 12.35, 1.54],
    5: [35, 26, 15.6, 11.01, 11.01, 1.38],
    7: [25, 21.43, 15.31, 10.93, 8.75, 8.74, 8.75, 1.09],
    10: [17.5, 16.5, 13.2, 10.56, 8.45, 6.76, 6.55, 6.55, 6.56, 6.55, 0.82],
}
TABLE_A5 = {5: [5, 38, 22.8, 13.68, 10.94, 9.58]}
MACRS = [
    *(("half_year", 0, life, row, "A-1") for life, row in TABLE_A1.items()),
    *(("mid_quarter", 0, life, row, "A-2") for life, row in TABLE_A2.items()),
    *(("mid_quarter", 9, life, row, "A-5") for life, row in TABLE_A5.items()),
]


@pytest.mark.validation
@pytest.mark.parametrize(
    ("convention", "month", "life", "expected"),
    [
        pytest.param(convention, month, life, row, id=f"Pub. 946 Table {table}, {life} years")
        for convention, month, life, row, table in MACRS
    ],
)
def test_macrs_percentages(convention, month, life, expected):
    # 200 % declining balance to ten years, 150 % beyond, turning to straight line. The tables are
    # rounded so that each row sums to 100, hence up to 0.0075 beyond the last digit printed.
    found = schedule(
        "declining_balance",
        life,
        len(expected),
        factor=2.0 if life <= 10 else 1.5,
        switch=True,
        first=first_part(convention, month),
    )
    assert 100 * found == pytest.approx(expected, abs=0.0075)
    assert np.sum(found) == pytest.approx(1, abs=1e-12)


def shares(cost, amounts):
    return [x / cost for x in amounts]


# cost, salvage, life, method, yearly amounts, tolerance
ASSETS = [
    pytest.param(
        58000, 10000, 5, straight_line, [9600] * 5, 0.5, id="OpenStax Accounting 1, 11.2, SL"
    ),
    pytest.param(
        58000, 10000, 5, declining_balance, [23200, 13920, 8352, 2528, 0], 0.5,
        id="OpenStax Accounting 1, 11.2, DDB",
    ),
    pytest.param(
        10000, 1000, 5, declining_balance, [4000, 2400], 0.5, id="OpenStax Accounting 1, Liam, DDB"
    ),
    pytest.param(
        10000, 1000, 5, straight_line, [1800], 0.5, id="OpenStax Accounting 1, Liam, SL"
    ),
    pytest.param(
        900, 70, 5, sum_of_years, [277, 221, 166, 111, 55], 0.6, id="Newnan p. 345, SOYD"
    ),
    pytest.param(
        10000, 1600, 6, sum_of_years, [2400, 2000, 1600, 1200, 800, 400], 0.6,
        id="Newnan 11-1, SOYD",
    ),
    # The book rounds each year's figure before the next, hence a unit.
    pytest.param(
        10000, 1600, 6, declining_balance, [3333, 2222, 1482, 988, 375, 0], 1.0,
        id="Newnan 11-1, DDB",
    ),
    pytest.param(12000, 600, 4, straight_line, [2850] * 4, 0.6, id="Newnan 11-4, SL"),
    pytest.param(
        12000, 600, 4, sum_of_years, [4560, 3420, 2280, 1140], 0.6, id="Newnan 11-4, SOYD"
    ),
    pytest.param(
        12000, 600, 4, declining_balance, [6000, 3000, 1500, 750], 0.6, id="Newnan 11-4, DDB"
    ),
]  # fmt: skip


@pytest.mark.validation
@pytest.mark.parametrize(("cost", "salvage", "life", "method", "expected", "tolerance"), ASSETS)
def test_textbook_assets(cost, salvage, life, method, expected, tolerance):
    found = method(life, len(expected), salvage=salvage / cost)
    assert cost * found == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
def test_a_part_first_year():
    # OpenStax Accounting 1, 11.2: bought at the start of month 4, so 9 months count.
    found = 58000 * straight_line(5, 6, first=first_part("monthly", 3), salvage=10 / 58)
    assert found == pytest.approx([7200, 9600, 9600, 9600, 9600, 2400], abs=0.5)


@pytest.mark.identity
def test_open_formula_straight_line_and_digits():
    # OpenFormula SLN and SYD: 4,000 less 500 over four years.
    assert 4000 * straight_line(4, 4, salvage=1 / 8) == pytest.approx([875] * 4)
    assert 4000 * sum_of_years(4, 4, salvage=1 / 8)[1] == pytest.approx(1050)


@pytest.mark.identity
def test_open_formula_fixed_declining():
    # OpenFormula DB rounds the rate to three decimals.
    rate = round(fixed_rate(500 / 4000, 4), 3)
    full = 4000 * declining_balance(4, 5, rate=rate)
    assert full[[1, 4]] == pytest.approx([963.9, 0], abs=0.005)
    late = 4000 * declining_balance(4, 5, rate=rate, first=2 / 12)
    assert late[1] == pytest.approx(1510.65, abs=0.005)


@pytest.mark.identity
def test_fixed_declining_with_a_part_first_year():
    # Spreadsheet reference, DB: 7 months in the first year, 5 in the seventh.
    rate = round(fixed_rate(0.1, 6), 3)
    found = 1e6 * declining_balance(6, 7, rate=rate, first=7 / 12)
    assert found == pytest.approx(
        [186083.333333, 259639.416667, 176814.44275, 120410.63551275, 81999.64278418,
         55841.75673603, 15845.09847385], abs=1e-5,
    )  # fmt: skip
    whole = 1e6 * declining_balance(6, 6, rate=rate)
    expected = [319000, 217239, 147939.759, 100746.975879, 68608.690573599, 46722.518280621]
    assert whole == pytest.approx(expected, abs=1e-5)


@pytest.mark.identity
def test_double_declining_examples():
    # OpenFormula DDB; spreadsheet reference DDB; function library, 1,000,000 to 100,000 in six.
    assert 4000 * declining_balance(4, 4, salvage=1 / 8)[1] == pytest.approx(1000)
    late = declining_balance(5, 5, rate=2.3 / 5, salvage=1 / 11)
    assert late[4] == pytest.approx(0)
    years = 2400 * declining_balance(10, 10, salvage=1 / 8)
    assert years[[0, 9]] == pytest.approx([480, 22.1225472], abs=1e-6)
    slower = 2400 * declining_balance(10, 2, rate=0.15, salvage=1 / 8)
    assert slower[1] == pytest.approx(306)
    assert 2400 * declining_balance(120, 1, salvage=1 / 8)[0] == pytest.approx(40)
    assert 2400 * declining_balance(3650, 1)[0] == pytest.approx(1.31506849315065)
    six = 1e6 * declining_balance(6, 6, salvage=0.1)
    expected = [333333.33, 222222.22, 148148.15, 98765.43, 65843.62, 31687.24]
    assert six == pytest.approx(expected, abs=0.006)


@pytest.mark.validation
def test_declining_balance_stops_at_the_salvage():
    # IMSL (JMSL) Numerical Library 3.0, Finance.ddb, example 1: 2,500 to 500 over 24 periods.
    found = 2500 * declining_balance(24, 24, salvage=0.2)
    expected = [
        208.333333333333, 190.972222222222, 175.05787037037, 160.469714506173, 147.097238297325,
        134.839135105881, 123.602540513725, 113.302328804248, 103.86046807056, 95.2054290646802,
        87.2716432093901, 79.9990063668494, 73.3324225029452, 67.2213872943665, 61.6196050198359,
        56.4846379348497, 51.777584773612, 47.4627860424778, 22.0906464672553, 0, 0, 0, 0, 0,
    ]  # fmt: skip
    # Period 11 as printed is off its neighbours, each 11/12 of the one before, in the seventh
    # decimal (…432 for …433): a slip of a digit, so that one is held to a millionth.
    others = np.arange(24) != 10
    assert found[others] == pytest.approx(np.array(expected)[others], abs=1e-8)
    assert found[10] == pytest.approx(expected[10], abs=1e-6)
    assert np.sum(found) == pytest.approx(2000)


@pytest.mark.identity
def test_variable_declining_to_the_switch():
    # OpenFormula VDB, 10,000 to 600 in ten years at 150 %, bought an eighth into the year. VDB
    # restarts its test of the switch at each call, so its later figures (767.79, then 767.41) do
    # not add up to 9,400; a ledger must, and keeps to 767.79 from the switch on.
    found = 10000 * declining_balance(10, 11, rate=0.15, first=0.875, salvage=0.06, switch=True)
    assert found[:6] == pytest.approx(
        [1312.5, 1303.125, 1107.65625, 941.5078125, 800.281640625, 767.7910823171], abs=1e-6
    )
    assert found[5:10] == pytest.approx(found[5])
    assert np.sum(found) == pytest.approx(9400)


@pytest.mark.validation
def test_losses_carried_back_and_forward():
    # 26 CFR 1.172-6, example: 1954 is year 1. The loss of 1956 goes back two years and that of
    # 1958 three, the same here since there is no year before 1954; five years forward.
    gain = np.array([[0.0, 15, 30, -75, 20, -150, 30, 35, 75, 17, 53]]) * 1000
    found = relieve(gain, TaxRules(value(0.5), value(1.0), loss_years=5, carry_back_years=3))
    used = found.used[0]

    def at_hand(loss, order):
        done = np.cumsum([0.0, *used[loss, order[:-1]]])
        return (-gain[0, loss] - done).tolist()

    # 1954, 1955, 1957, 1958 (a loss), 1959, 1960, 1961.
    assert at_hand(3, [1, 2, 4, 5, 6, 7, 8]) == [75e3, 60e3, 30e3, 10e3, 10e3, 0, 0]
    # 1955, 1956 (a loss), 1957, 1959 to 1963.
    assert at_hand(5, [2, 3, 4, 6, 7, 8, 9, 10]) == [
        150e3, 150e3, 150e3, 150e3, 130e3, 95e3, 20e3, 3e3,
    ]  # fmt: skip
    assert found.open[0].tolist() == [0] * 11


@pytest.mark.validation
@pytest.mark.parametrize(
    ("method", "expected"),
    [
        pytest.param("straight_line", [1300, 1300, -72], id="straight line"),
        pytest.param("sum_of_years", [1566.7, 1433.3, 24], id="sum of years"),
    ],
)
def test_after_tax_worth_by_method(method, expected):
    # Jensen, Operations Research Models and Methods: 5,000; 1,500 a year for five; tax 40 %; 10 %.
    # The owner has other profits, which the first year's loss under sum of years relieves.
    timeline, other, rules = Timeline(2027, 1, 5, 0), 1000.0, TaxRules(value(0.4), value(1.0))
    allowed = 5000 * schedule(method, 5, 5, factor=2.0, switch=True, first=1.0)
    profit = np.zeros((1, 61))
    profit[0, 12::12] = 1500 + other - allowed
    tax = timeline.by_year(income_tax(profit, rules, timeline).paid)
    tax[:, 1:] -= 0.4 * other
    flow = np.array([[-5000.0, *[1500.0] * 5]]) - tax
    worth = net_present_value(flow, value(0.1), per_year=1)[0, 0]
    assert [flow[0, 1], flow[0, 2]] == pytest.approx(expected[:2], abs=0.051)
    # Whole dollars.
    assert worth == pytest.approx(expected[2], abs=0.6)
