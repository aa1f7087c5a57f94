"""How fast is the pipeline: one appraisal, a tornado, many draws, two processes; and its memory?

Run apart from the test command: `pip install -e '.[bench,test]'`, then
`pytest tests/benchmarks/test_draws.py -s`. Each figure stands beside its rival in one run:
the same count of plain array passes on blocks that fit the processor's cache, and the same draws
appraised one by one (64 of them, scaled). Nothing here is asserted of time, only of results.
"""

import cProfile
import pstats
import subprocess
import sys
from functools import partial
from multiprocessing import get_context
from time import perf_counter, process_time

import numpy as np
import pytest

from sitefare.appraisal import (
    appraise,
    appraise_blocks,
    appraise_many,
    drawn_indicators,
    sampled_values,
)
from sitefare.assumptions.case import block_of
from sitefare.questions.tornado import swings

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]
MANY, SAMPLE, BLOCK, SEED = 16_384, 64, 256, 1

#: Functions that make new arrays of a counted one, beside arithmetic.
MAKERS = ("where", "concatenate", "broadcast_to", "stack", "take", "ascontiguousarray", "zeros")

MEMORY = """
import resource, sys
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import project_library
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for
plan = plan_for(make_case(project_library(None), sys.argv[1], "as_planned", ()))
found = uncertainty(plan, int(sys.argv[2]), 1)
assert found.draws["npv"].shape == (int(sys.argv[2]), 1)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def seconds(run, times=1, clock=process_time):
    """Time a run on one core, the least of some times, with what it gave."""
    best, made = np.inf, None
    for _ in range(times):
        start = clock()
        made = run()
        best = min(best, clock() - start)
    return best, made


class Counted(np.ndarray):
    """An array that counts the elements of every pass over it and over what comes of it."""

    elements = 0

    def __array_ufunc__(self, ufunc, method, *inputs, out=None, **options):
        plain = [x.view(np.ndarray) if isinstance(x, Counted) else x for x in inputs]
        if out is not None:
            options["out"] = tuple(x.view(np.ndarray) for x in out)
        if isinstance(options.get("where"), Counted):
            options["where"] = options["where"].view(np.ndarray)
        made = getattr(ufunc, method)(*plain, **options)
        Counted.elements += max(np.size(made), *(np.size(x) for x in plain))
        if out is not None:
            return out[0]
        return made.view(Counted) if isinstance(made, np.ndarray) else made


def counted_by(make, *given, **options):
    """Make an array as NumPy does, and count what comes of it."""
    plain = [x.view(np.ndarray) if isinstance(x, Counted) else x for x in given]
    return np.asarray(make(*plain, **options)).view(Counted)


def count_elements(plan, values, monkeypatch):
    """Count the elements that one block's array passes go over."""
    block = block_of(values, slice(0, BLOCK))
    counted = {n: x if isinstance(x, str) else x.view(Counted) for n, x in block.items()}
    with monkeypatch.context() as patched:
        for name in MAKERS:
            patched.setattr(np, name, partial(counted_by, getattr(np, name)))
        Counted.elements = 0
        appraise(plan, counted)
    return Counted.elements


def seconds_of_passes(elements):
    """Time plain sums and products over as many elements, 64 draws of 181 months at a time."""
    rng = np.random.default_rng(1)
    a, b, c = rng.uniform(1.0, 2.0, (3, 64, 181))
    times = round(elements / a.size / 2)

    def run():
        for _ in range(times):
            np.multiply(a, b, out=c)
            np.add(a, b, out=c)

    return seconds(run, 3)[0]


@pytest.mark.parametrize("site", SITES)
def test_one_appraisal_warm(plan, site, benchmark):
    sized = plan(site)
    appraise(sized)
    benchmark(appraise, sized)


@pytest.mark.parametrize("site", SITES)
def test_tornado_of_all_rows(plan, site, benchmark, capsys):
    sized = plan(site)
    found = benchmark.pedantic(swings, (sized,), rounds=3, warmup_rounds=1)
    with capsys.disabled():
        print(f"\n{site}: both ends of {len(sized.case.uncertain)} rows")
    assert len(found["npv"]) == 2 * len(sized.case.uncertain)


@pytest.mark.parametrize("site", SITES)
def test_many_draws_beside_passes_and_draw_by_draw(plan, site, monkeypatch, capsys):
    sized = plan(site)
    values = sampled_values(sized, 1024, SEED)
    appraise_many(sized, block_of(values, slice(0, BLOCK)))
    thousand, found = seconds(lambda: appraise_many(sized, values), 3)
    many, _ = seconds(lambda: drawn_indicators(sized, MANY, SEED))
    rows = [block_of(values, slice(i, i + 1)) for i in range(SAMPLE)]
    singly, each = seconds(lambda: [appraise(sized, row).indicators for row in rows])
    elements = count_elements(sized, values, monkeypatch)
    passes = seconds_of_passes(elements * 1024 / BLOCK)
    by_draw = singly / SAMPLE * 1024
    with capsys.disabled():
        print(
            f"\n{site}: 1,024 draws {thousand:.2f} s, {MANY:,} draws {many:.1f} s; passes over "
            f"{elements / BLOCK / 1e6:.2f} million elements a draw {passes:.2f} s, ratio "
            f"{thousand / passes:.1f}; draw by draw {by_draw:.1f} s, ratio {by_draw / thousand:.0f}"
        )
    for i, one in enumerate(each):
        for name, x in one.items():
            np.testing.assert_allclose(found[name][i], x[0], rtol=1e-9, equal_nan=True)


def test_two_processes_against_one(plan, capsys):
    sized, draws = plan("kaldre"), 4096
    one, whole = seconds(lambda: drawn_indicators(sized, draws, SEED), 2, perf_counter)
    shares = [(sized, draws // 2, SEED, first) for first in (0, draws // 2)]
    with get_context("spawn").Pool(2) as pool:
        pool.starmap(drawn_indicators, [(sized, BLOCK, SEED)] * 4, chunksize=2)
        two, halves = seconds(
            lambda: pool.starmap(drawn_indicators, shares, chunksize=1), 2, perf_counter
        )
    with capsys.disabled():
        print(f"\n{draws:,} draws: one process {one:.2f} s, two {two:.2f} s, {one / two:.2f} times")
    for name, x in whole.items():
        joined = np.concatenate([half[name] for half in halves])
        assert joined.tobytes() == x.tobytes(), name


@pytest.mark.parametrize("draws", [16_384, 131_072])
def test_peak_memory(draws, root, capsys):
    given = [sys.executable, "-c", MEMORY, "kaldre", str(draws)]
    done = subprocess.run(given, capture_output=True, text=True, check=True, cwd=root)
    with capsys.disabled():
        print(f"\n{draws:,} draws, every indicator and cash by year: {float(done.stdout):,.0f} MB")


@pytest.mark.parametrize("site", SITES)
def test_where_the_time_goes(plan, site, capsys):
    sized = plan(site)
    values = sampled_values(sized, 1024, SEED)
    stages = {
        "farm": ("farm/flows.py", "farm_flows"),
        "  of it the house's hours": ("farm/house_year.py", "house_year"),
        "  of it fish": ("farm/fish.py", "fish_path"),
        "people": ("people/fed.py", "people_fed"),
        "money": ("money/finances.py", "finances"),
        "  of it before funding": ("money/flows.py", "money_flows"),
        "  of it break-evens": ("money/breakeven.py", "break_even"),
        "  of it rates of return": ("money/rates.py", "rates_of_return"),
        "all": ("appraisal.py", "appraise"),
    }
    shown = []
    for what, blocks in (("one", [block_of(values, slice(0, 1))] * 8), ("draws", None)):
        profile = cProfile.Profile(builtins=False)
        profile.enable()
        if blocks is None:
            for _ in appraise_blocks(sized, values):
                pass
        else:
            for block in blocks:
                appraise(sized, block)
        profile.disable()
        stats = pstats.Stats(profile).stats
        took = {
            stage: sum(x[3] for k, x in stats.items() if k[0].endswith(file) and k[2] == name)
            for stage, (file, name) in stages.items()
        }
        shown.append((what, took))
    with capsys.disabled():
        print(f"\n{site}: share of one appraisal and of 1,024 draws, under the profiler")
        for stage in stages:
            parts = [f"{took[stage] / took['all']:6.0%}" for _, took in shown]
            print(f"  {stage:28s}{''.join(parts)}")
