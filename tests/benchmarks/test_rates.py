"""How fast is the rate of return of many flows, and is it the same rate?

Run apart from the test command: `pip install -e '.[bench,test]'`, then
`pytest tests/benchmarks/test_rates.py -s`. 100,000 flows of 241 months go through the solver and,
row by row, through pyxirr; numpy-financial takes a part of them and is scaled up.
"""

from time import perf_counter

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr

from sitefare.money.rates import NONE, ONE, rates_of_return

ROWS, MONTHS, PART = 100_000, 241, 40


@pytest.fixture(scope="module")
def flows():
    """Seven months of building, noisy surpluses, replacements every five years, a resale."""
    rng = np.random.default_rng(11)
    flow = rng.normal(1.0, 0.4, (ROWS, MONTHS)) * rng.uniform(0.3, 3.0, (ROWS, 1))
    flow[:, :7] = -rng.uniform(3.0, 15.0, (ROWS, 7))
    flow[:, 60::60] -= rng.uniform(0.0, 10.0, (ROWS, 1))
    flow[:, -1] += rng.uniform(0.0, 20.0, ROWS)
    return flow


def seconds(run, *given):
    start = perf_counter()
    made = run(*given)
    return perf_counter() - start, made


def monthly(rate):
    return (1.0 + rate) ** (1.0 / 12.0) - 1.0


def yearly(rates):
    return np.array([np.nan if r is None else (1.0 + r) ** 12 - 1.0 for r in rates], dtype=float)


def test_ratio_to_libraries_row_by_row(flows, capsys):
    rates_of_return(flows[:1024])
    ours = min(seconds(rates_of_return, flows)[0] for _ in range(2))
    found = rates_of_return(flows)
    theirs, their_rates = seconds(lambda: [pyxirr.irr(row) for row in flows])
    slow, slow_rates = seconds(lambda: [npf.irr(row) for row in flows[:PART]])
    one = found.status[:, 0] == ONE
    rate = monthly(found.rate[:, 0])
    library = np.array([np.nan if r is None else r for r in their_rates], dtype=float)
    # A library may answer with a root below −99 % a year, where ours does not look.
    same = one & np.isfinite(library) & (library > -0.3)
    apart = np.max(np.abs(rate[same] - library[same]))
    part = one[:PART] & np.isfinite(np.array(slow_rates, dtype=float))
    apart_slow = np.max(np.abs(rate[:PART][part] - np.array(slow_rates)[part]))
    fast_ratio, slow_ratio = theirs / ours, slow / PART * ROWS / ours
    with capsys.disabled():
        print(
            f"\n{ROWS:,} flows of {MONTHS} months: ours {1e6 * ours / ROWS:.1f} µs a flow, "
            f"pyxirr {1e6 * theirs / ROWS:.1f} µs ({fast_ratio:.1f} times), numpy-financial "
            f"{1e6 * slow / PART:,.0f} µs ({slow_ratio:,.0f} times, from {PART} flows)\n"
            f"one rate in {np.mean(one):.1%}; furthest from pyxirr {apart:.1e} a month in "
            f"{np.mean(same):.1%}, from numpy-financial {apart_slow:.1e}"
        )
    assert apart < 1e-9
    assert apart_slow < 1e-9
    assert np.mean(same[one]) > 0.99
    assert fast_ratio > 8
    assert slow_ratio > 1000


def test_never_hangs(capsys):
    rng = np.random.default_rng(3)
    hard = rng.normal(0.0, 1.0, (20_000, MONTHS)) * 10.0 ** rng.uniform(-300, 300, (20_000, 1))
    hard[::7] = 0.0
    hard[1::7] = np.abs(hard[1::7])
    taken, found = seconds(rates_of_return, hard)
    with capsys.disabled():
        print(f"\n20,000 flows of noise at any scale: {1e6 * taken / len(hard):.1f} µs a flow")
    assert np.all(found.status[::7] == NONE)
    assert taken < 20


def test_time_of_a_block(flows, benchmark):
    benchmark(rates_of_return, flows[:1024])
