"""Time value, rates of return, payback and factors against published worked examples.

Sources name the book or test file; the tolerance is half of the last digit printed unless a
comment says more. Most are arithmetic that any right formula shares, hence `identity`; a
figure printed by a worked investment, which set no row here, is `validation`.
"""

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.discounting import (
    capital_recovery,
    discount_factors,
    modified_rate,
    net_present_value,
    payback,
    present_value,
)
from sitefare.money.loans import monthly_rate
from sitefare.money.prices import fisher
from sitefare.money.rates import NONE, ONE, SEVERAL, rates_of_return, roots

SAM = [-16000, 2000, 4000, 5000, 5000, 5000, 5000]
PINK = [-70000, 12000, 15000, 18000, 21000, 26000]


def row(flow):
    return np.array([flow], dtype=np.float64)


def npv(flow, rate):
    return float(net_present_value(row(flow), value(rate), per_year=1)[0, 0])


def irr(flow):
    return float(rates_of_return(row(flow), per_year=1).rate[0, 0])


NPV = [
    pytest.param(
        [-40000, 5000, 8000, 12000, 30000], 0.08, 3065.22267, 1e-4, id="numpy-financial docs"
    ),
    pytest.param(SAM, 0.09, 2835.63, 0.02, id="OpenStax Finance 16.2, embroidery machine"),
    pytest.param(
        [-30000, *range(6000, 19000, 2000)], 0.09, 26946.9, 0.02, id="OpenStax Finance 16.2"
    ),
    pytest.param(
        [-800000, *[150000] * 10], 0.1, 121685, 0.51, id="OpenStax Finance 16.6, solar plant"
    ),
    pytest.param(
        [-25000, 2000, 4000, 8000, 9000, 9000, 9000],
        0.09,
        3970.67,
        0.02,
        id="OpenStax Finance 16.5",
    ),
    # The book adds table factors of three digits, hence half a unit.
    pytest.param([-30000, *[10000] * 5], 0.08, 9927, 0.51, id="OpenStax Accounting 2, 11.3"),
    # Annuity factors of three decimals times 40,000 a year.
    pytest.param([-200000, *[40000] * 10], 0.08, 68400, 9, id="OpenStax Accounting 2, 11.3 table"),
    pytest.param([-1600, 10000, -10000], 0.1, -773.55, 0.006, id="Lorie and Savage 1955, pump"),
    pytest.param([1000, -3000, 2500], 0.1, 338.84, 0.006, id="Brealey, Myers and Allen ch. 5"),
]


@pytest.mark.validation
@pytest.mark.parametrize(("flow", "rate", "expected", "tolerance"), NPV)
def test_net_present_value(flow, rate, expected, tolerance):
    assert npv(flow, rate) == pytest.approx(expected, abs=tolerance)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("flow", "rate", "expected"),
    [
        pytest.param([4, 5, 7], 1.0, 4.125, id="OpenFormula NPV, first"),
        pytest.param([100, 200], 0.1, 256.198347107438, id="OpenFormula NPV, second"),
        pytest.param(PINK, 0.08, 1287.92943111482, id="spreadsheet accuracy workbook NPV"),
    ],
)
def test_the_spreadsheet_convention_discounts_the_first_flow(flow, rate, expected):
    # Printed to 12 digits or more; ours leaves the first flow undiscounted.
    assert npv(flow, rate) / (1 + rate) == pytest.approx(expected, rel=1e-12)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("rate", "expected"),
    list(
        zip(
            [0, 0.03, 0.09, 0.12, 0.14, 0.15, 0.18, 0.21],
            [10000, 7231, 2836, 1081, 42, -442, -1773, -2939],
            strict=True,
        )
    ),
)
def test_net_present_value_profile_of_openstax_16_2(rate, expected):
    # The table prints whole dollars.
    assert npv(SAM, rate) == pytest.approx(expected, abs=0.51)


IRR = [
    pytest.param([-100, 39, 59, 55, 20], 0.28095, 1.1e-5, id="numpy-financial docs 1"),
    pytest.param([-100, 0, 0, 74], -0.0955, 6e-5, id="numpy-financial docs 2"),
    pytest.param([-100, 100, 0, 7], 0.06206, 1.1e-5, id="numpy-financial docs 3"),
    pytest.param(
        [-150000, 15000, 25000, 35000, 45000, 60000], 0.05243, 1.1e-5, id="numpy-financial docs 4"
    ),
    pytest.param([-40000, 5000, 8000, 12000, 30000], 0.1058225984, 1e-9, id="pyxirr readme"),
    pytest.param(
        [-75000, 12000, 15000, 18000, 21000, 24000], 0.0571514288717847, 1e-12, id="formula library"
    ),
    pytest.param(SAM, 0.1409, 5e-5, id="OpenStax Finance 16.2"),
    pytest.param([-800000, *[150000] * 10], 0.1343, 5e-5, id="OpenStax Finance 16.6"),
    pytest.param([-30000, *[10000] * 5], 0.1986, 5e-5, id="OpenStax Accounting 2, 11.4"),
    # Table look-up, whole per cent.
    pytest.param([-312000, *[49944] * 9], 0.08, 5e-4, id="OpenStax Accounting 2, table 1"),
    pytest.param([-60500, *[13256] * 7], 0.12, 5e-4, id="OpenStax Accounting 2, table 2"),
    pytest.param([-105, *[11] * 6], -0.1184, 6e-5, id="Newnan p. 232, loss"),
    pytest.param([*[-87.17] * 180, 5809.3], -0.01352676905, 1e-9, id="pyxirr, 181 flows"),
    pytest.param([*[87.17] * 5, -86.43], -0.49367042606, 1e-9, id="pyxirr, borrowing"),
]


@pytest.mark.validation
@pytest.mark.parametrize(("flow", "expected", "tolerance"), IRR)
def test_internal_rate_of_return(flow, expected, tolerance):
    assert irr(flow) == pytest.approx(expected, abs=tolerance)


SEVERAL_ROOTS = [
    pytest.param([-1600, 10000, -10000], [0.25, 4.0], 1e-9, id="Lorie and Savage 1955, pump"),
    pytest.param([-14, 42, -29], [0.0774, 0.9226], 6e-5, id="strip mine"),
    pytest.param([-50, 51, 47, -17, -17, -17], [0.0823, 0.2245], 6e-5, id="tax lag"),
    pytest.param([100, -230, 132], [0.1, 0.2], 6e-5, id="jrvFinance vignette"),
    pytest.param([-1, 6, -11, 6], [0, 1, 2], 1e-9, id="Hazen 2003 type"),
    pytest.param([-180, *[50] * 6, -70], [-0.3829, 0.1045], 6e-5, id="Newnan p. 235"),
    # The documentation prints only the second; the first is recomputed.
    pytest.param([-100, 100, 0, -7], [-0.6789, -0.0833], 6e-5, id="numpy-financial docs, two"),
    # Rates to a tenth of a per cent.
    pytest.param([-60, *[12] * 9, -15], [-0.44, 0.1156], 6e-4, id="Helmsley type"),
]


@pytest.mark.validation
@pytest.mark.parametrize(("flow", "expected", "tolerance"), SEVERAL_ROOTS)
def test_several_rates_are_all_told_and_none_is_chosen(flow, expected, tolerance):
    answer = rates_of_return(row(flow), per_year=1)
    assert np.isnan(answer.rate[0, 0])
    assert answer.status[0, 0] == SEVERAL
    assert roots(np.array(flow, dtype=float), per_year=1) == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
@pytest.mark.parametrize("flow", [[1000, -3000, 2500], [1, 2, 3], [-1, -2, -3]])
def test_no_rate_is_told(flow):
    # Brealey, Myers and Allen ch. 5; numpy-financial tests.
    answer = rates_of_return(row(flow), per_year=1)
    assert np.isnan(answer.rate[0, 0])
    assert answer.status[0, 0] == NONE
    assert roots(np.array(flow, dtype=float), per_year=1).size == 0


MIRR = [
    pytest.param([100, 200, -50, 300, -200], 0.05, 0.06, 0.342823387842, 1e-10, id="OpenFormula"),
    pytest.param(PINK, 0.1, 0.12, 0.0986691073371502, 1e-12, id="accuracy workbook 1"),
    pytest.param(PINK, 0.2, 0.13, 0.102307932029938, 1e-12, id="accuracy workbook 2"),
    pytest.param(PINK, 0.12, 0.15, 0.109627339393136, 1e-12, id="accuracy workbook 3"),
    pytest.param(
        [-4500, -800, 800, 800, 600, 600, 800, 800, 700, 3000], 0.08, 0.055, 0.0666, 5e-5,
        id="numpy-financial docs 1",
    ),
    pytest.param([-120000, 39000, 30000, 21000, 37000, 46000], 0.1, 0.12, 0.126094, 5e-7, id="2"),
    pytest.param([-100, 50, -60, 70], 0.1, 0.12, -0.03909366594, 1e-10, id="docs 3"),
    pytest.param([-1000, 100, 250, 500, 500], 0.1, 0.1, 0.10401626745, 1e-10, id="pyxirr"),
    pytest.param(SAM, 0.09, 0.09, 0.12, 5e-4, id="OpenStax Finance 16.4"),
]  # fmt: skip


@pytest.mark.validation
@pytest.mark.parametrize(("flow", "finance", "reinvest", "expected", "tolerance"), MIRR)
def test_modified_rate_of_return(flow, finance, reinvest, expected, tolerance):
    found = modified_rate(row(flow), value(finance), value(reinvest), per_year=1)
    assert found[0, 0] == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("flow", "expected"),
    [
        pytest.param([-150000, *[20000] * 10], 7.5, id="OpenStax Accounting 2, 11.2 a"),
        pytest.param(
            [-150000, 10000, 20000, 20000, 15000, 15000, *[20000] * 5], 8.5, id="OpenStax 11.2 b"
        ),
        pytest.param([-40000, 10000, 10000, 5000, 5000, *[7500] * 4], 5.33, id="OpenStax 11.2 c"),
        pytest.param([-50000, *[15000] * 6], 3.33, id="OpenStax 11.2 d"),
        pytest.param(SAM, 4.0, id="OpenStax Finance 16.1"),
    ],
)
def test_payback(flow, expected):
    assert payback(row(flow), per_year=1)[0, 0] == pytest.approx(expected, abs=0.005)


@pytest.mark.validation
def test_discounted_payback_of_openstax_16_1():
    factors = discount_factors(value(0.09), len(SAM), per_year=1)
    assert payback(row(SAM) * factors, per_year=1)[0, 0] == pytest.approx(5.05, abs=0.005)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("rate", "years", "expected"),
    [
        pytest.param(
            0.035, [1, 2, 3, 4, 5, 10, 20, 30],
            [0.9662, 0.9335, 0.9019, 0.8714, 0.842, 0.7089, 0.5026, 0.3563],
            id="HM Treasury Green Book, factors to year 30",
        ),
        pytest.param(
            0.07, range(1, 10),
            [0.9346, 0.8734, 0.8163, 0.7629, 0.713, 0.6663, 0.6227, 0.582, 0.5439],
            id="Patton, Sawicki and Clark, appendix 7.2",
        ),
    ],
)  # fmt: skip
def test_discount_factors(rate, years, expected):
    # Tables print four decimals.
    factors = discount_factors(value(rate), 31, per_year=1)[0]
    assert factors[list(years)] == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.validation
def test_omb_circular_a94_sample_format():
    # Appendix B works with four-decimal factors, hence 0.011.
    costs = row([0, 10, 20, 30, 30, 20, 10, 5, 5, 5, 5])
    benefits = row([0, 0, 0, 5, 10, 30, 40, 40, 40, 40, 25])
    factors = discount_factors(value(0.07), 11, per_year=1)
    assert present_value(costs, factors)[0, 0] == pytest.approx(106.4, abs=0.011)
    assert present_value(benefits, factors)[0, 0] == pytest.approx(142.41, abs=0.011)


@pytest.mark.identity
def test_capital_recovery_over_twenty_years():
    # Masters-type table, 2 to 12 %, four decimals.
    rates = np.arange(2, 13)[:, None] / 100.0
    expected = [
        0.0612,
        0.0672,
        0.0736,
        0.0802,
        0.0872,
        0.0944,
        0.1019,
        0.1095,
        0.1175,
        0.1256,
        0.1339,
    ]
    assert capital_recovery(rates, value(20))[:, 0] == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.identity
@pytest.mark.parametrize(("years", "expected"), [(10, 8.53), (20, 14.88), (25, 17.41), (30, 19.6)])
def test_uniform_present_value_at_three_per_cent(years, expected):
    # NIST Handbook 135 factors, two decimals.
    assert 1 / capital_recovery(value(0.03), value(years))[0, 0] == pytest.approx(
        expected, abs=0.0051
    )


@pytest.mark.validation
def test_dam_height_capital_recovery():
    # Newnan p. 315: 700,000 at 5 % over 50 years; whole dollars.
    assert 700000 * capital_recovery(value(0.05), value(50))[0, 0] == pytest.approx(38344, abs=0.51)


@pytest.mark.validation
def test_levelised_cost_by_fixed_charge():
    # Short, Packey and Holt 1995 formula; the example prints three decimals.
    factor = capital_recovery(value(0.08), value(10))[0, 0]
    assert factor == pytest.approx(0.14903, abs=5.1e-6)
    assert 1500 * factor / (8760 * 0.22) + 0.04 == pytest.approx(0.156, abs=5e-5 + 5e-4)


@pytest.mark.identity
def test_fisher_exactly():
    # Newnan p. 465: 2 % real and 5 % inflation.
    assert fisher(value(0.02), value(0.05))[0, 0] == pytest.approx(0.071, abs=1e-12)


@pytest.mark.validation
def test_stadium_in_then_and_todays_money():
    # Newnan, inflation chapter: 1.2 million, 8 % market rate, 6 % inflation, 55 years.
    real = 1.08 / 1.06 - 1
    assert real == pytest.approx(0.01887, abs=1e-5)
    assert fisher(value(real), value(0.06))[0, 0] == pytest.approx(0.08, abs=1e-12)
    then = 1.2e6 / discount_factors(value(0.08), 56, per_year=1)[0, -1]
    assert then == pytest.approx(82696600, abs=50)
    # The book rounds the factor of 1.887 % to four digits.
    assert then * discount_factors(value(0.06), 56, per_year=1)[0, -1] == pytest.approx(
        3355000, abs=300
    )


@pytest.mark.identity
def test_effective_yearly_rate_of_one_and_a_half_per_cent_a_month():
    # OpenStax Finance ch. 8, five decimals.
    assert monthly_rate(0.19562) == pytest.approx(0.015, abs=1e-6)


@pytest.mark.identity
def test_one_root_is_an_answer():
    assert rates_of_return(row(SAM), per_year=1).status[0, 0] == ONE
