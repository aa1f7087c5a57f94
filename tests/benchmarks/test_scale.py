"""How do time and memory grow with places and draws, and do workers share the work?

Run apart from the test command: `pip install -e '.[bench,cluster,test]'`, then
`pytest tests/benchmarks/test_scale.py -n 0 -s`. SITEFARE_BENCH_PLACES sets the numbers of places
(10 unless told; 10,100,1000 takes about half an hour on two cores), SITEFARE_BENCH_DRAWS the draws
(1024). Places are invented. Nothing is asserted of time, only that every way gives the same bytes
and that memory does not grow with places beyond their table.
"""

import os
from contextlib import contextmanager

import numpy as np
import pandas as pd
import pytest
from clocks import on_cores, remembering, taking
from clusters import running_cluster
from rich.console import Console

from sitefare.assumptions.library import read_library
from sitefare.assumptions.places import read_places
from sitefare.outputs import screen as screening
from sitefare.outputs.progress import Progress
from sitefare.outputs.screen import TABLE, screen
from sitefare.questions.alternatives import alternatives
from sitefare.questions.comparing import compare
from sitefare.questions.screening import asked_of
from sitefare.workers import Cluster, Here, Processes

pytestmark = pytest.mark.skipif(
    not hasattr(os, "sched_setaffinity"), reason="processes cannot be pinned to cores here"
)

COUNTS = [int(x) for x in os.environ.get("SITEFARE_BENCH_PLACES", "10").split(",")]
DRAWS = int(os.environ.get("SITEFARE_BENCH_DRAWS", "1024"))
SHARED = int(os.environ.get("SITEFARE_BENCH_SHARED", "32"))
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def invented_places(folder, count):
    """Write a table of invented places around one site: latitude, height, climate and prices vary.

    Returns its path.
    """
    rng = np.random.default_rng(7)
    mild = np.array([-7, -5, 0, 6, 11, 14, 17, 17, 13, 7, 1, -5], dtype=float)
    shift = rng.uniform(-4.0, 8.0, (count, 1))
    frame = pd.DataFrame({
        "place": [f"invented_{number}" for number in range(count)],
        "like": "kaldre",
        "longitude": rng.uniform(40.0, 50.0, count).round(2),
        "place.latitude [deg]": rng.uniform(38.0, 45.0, count).round(2),
        "place.elevation [m]": rng.uniform(100.0, 2000.0, count).round(),
        "tariff.electricity [GEL/kWh]": rng.uniform(0.15, 0.45, count).round(3),
        "local_price.lettuce.price [GEL/kg]": rng.uniform(4.0, 12.0, count).round(2),
    })  # fmt: skip
    for number, month in enumerate(MONTHS):
        frame[f"climate.temperature.{month} [degC]"] = (mild[number] + shift[:, 0]).round(1)
    frame["as_of"] = "2026-06"
    path = folder / f"places{count}.csv"
    frame.to_csv(path, index=False)
    return path


@pytest.fixture
def screened(root, tmp_path):
    """Screen so many invented places by some workers; returns the table's path, time and memory."""
    library = read_library(root / "assumptions")

    def run(count, workers, name, draws=DRAWS):
        output = tmp_path / name
        with remembering() as memory, taking() as taken:
            places = read_places(invented_places(tmp_path, count), library)
            asked = asked_of(library, places, "as_planned", [], draws, 1)
            with Progress(Console(quiet=True)) as progress:
                lines, failed = screen(
                    places, asked, library.folder.resolve(), output, workers, progress
                )
        assert failed == {}
        assert list(lines["status"]) == ["done"] * count
        return output / TABLE, taken, memory

    return run


@contextmanager
def cluster(workers):
    """A link to a scheduler with workers of one thread each, every one a process of its own."""
    with running_cluster(workers) as (address, _), Cluster(address) as link:
        link.client.wait_for_workers(workers, timeout=120)
        yield link


def test_two_workers_against_one(screened, capsys, monkeypatch):
    # As few places a task as give every worker several tasks.
    monkeypatch.setattr(screening, "CHUNK", 4)
    found = {}
    for count in (1, 2):
        with on_cores(count):
            found[f"{count} processes"] = screened(SHARED, Processes(count), f"processes{count}")
            with cluster(count) as link:
                # Workers import before the clock runs: a cluster is there already.
                screened(4 * count, link, f"warm{count}", 64)
                found[f"{count} cluster workers"] = screened(SHARED, link, f"cluster{count}")
    with capsys.disabled():
        print(f"\n{SHARED} places, {DRAWS} draws each; load {os.getloadavg()[0]:.1f}")
        for way, (_, taken, memory) in found.items():
            print(
                f"  {way:18s} {taken.seconds:7.1f} s, {60 * SHARED / taken.seconds:6.1f} places a "
                f"minute, {taken.processor / SHARED:.2f} s of processor a place; most memory "
                f"{memory.parent:.0f} MB here, {memory.child:.0f} MB a worker"
            )
        for kind in ("processes", "cluster workers"):
            one, two = (found[f"{count} {kind}"][1] for count in (1, 2))
            print(
                f"  two {kind} against one: {one.seconds / two.seconds:.2f} times; as their "
                f"processor time would have it {2 * one.processor / two.processor:.2f}"
            )
    first, *others = [path.read_bytes() for path, _, _ in found.values()]
    for other in others:
        assert other == first


def told(compared):
    """Everything that a comparison of figures rests on, as bytes."""
    return [
        (line.name, line.rank, line.results, {n: x.tobytes() for n, x in line.draws.items()})
        for line in compared.lines
    ]


def test_comparing_on_two_workers_against_one(root, capsys):
    sites = ("kaldre", "norhaven", "port_anui", "qasr_adhra")
    asked = alternatives(sites, (), ("as_planned", "solar_supply", "low_cost_build"))
    found, times = {}, {}
    for count in (1, 2):
        with on_cores(count), taking() as taken, Processes(count) as workers:
            found[count] = compare(root / "assumptions", asked, DRAWS, 1, workers=workers)
        times[count] = taken
    with capsys.disabled():
        print(
            f"\n{len(asked)} alternatives compared, {DRAWS} common draws: one process "
            f"{times[1].seconds:.1f} s, two {times[2].seconds:.1f} s, "
            f"{times[1].seconds / times[2].seconds:.2f} times, as processor time would have it "
            f"{2 * times[1].processor / times[2].processor:.2f}; load {os.getloadavg()[0]:.1f}"
        )
    assert len(found[1].lines) + len(found[1].refused) == len(asked)
    assert told(found[1]) == told(found[2])


@pytest.mark.parametrize("count", COUNTS)
def test_time_and_memory_by_number_of_places(screened, count, capsys):
    with on_cores(2):
        path, taken, memory = screened(count, Processes(2), "places")
    with capsys.disabled():
        print(
            f"\n{count:,} places, {DRAWS} draws each, two processes: {taken.seconds:.0f} s, "
            f"{60 * count / taken.seconds:.0f} places a minute, {taken.processor / count:.2f} s of "
            f"processor a place; most memory {memory.parent:.0f} MB here, {memory.child:.0f} MB a "
            f"worker; table {path.stat().st_size / 2**20:.2f} MB; load {taken.load:.1f}"
        )
    assert len(pd.read_parquet(path)) == count


@pytest.mark.parametrize("draws", [64, 256, 1024, 4096])
def test_time_and_memory_by_number_of_draws(screened, draws, capsys):
    with on_cores(1):
        _, taken, memory = screened(8, Processes(1), "draws", draws)
    with capsys.disabled():
        print(
            f"\n8 places, {draws:,} draws each, one process: {taken.seconds:.1f} s, "
            f"{taken.processor / 8:.2f} s of processor a place; most memory "
            f"{memory.child:.0f} MB a worker; load {taken.load:.1f}"
        )


def copied(task):
    """Answer a task with the lines of one place appraised before, under each place's own key."""
    return screening.parquet([{**copied.line, "place": place.key} for place in task.places])


@pytest.mark.parametrize("count", [1_000, 10_000])
def test_what_many_places_cost_besides_their_appraisal(screened, count, monkeypatch, capsys):
    path, _, _ = screened(1, Here(), "one", 64)
    copied.line = pd.read_parquet(path).to_dict("records")[0]
    monkeypatch.setattr(screening, "lines_of", copied)
    with remembering() as before:
        before.look()
    path, taken, memory = screened(count, Here(), "copies", 64)
    held = pd.read_parquet(path).memory_usage(deep=True).sum() / 2**20
    grown = memory.parent - before.parent
    with capsys.disabled():
        print(
            f"\n{count:,} places whose lines are at hand: {taken.seconds:.1f} s besides appraising,"
            f" {taken.processor:.1f} s of processor;"
            f" memory grows by {grown:.0f} MB, the table itself is {held:.0f} MB"
        )
    assert len(pd.read_parquet(path)) == count
    # The table, its parts and the lines of the table of places: no more than a few of each.
    assert grown < 8 * held + 100
