"""How many proposals a minute, beside a loop of plain papermill in the same run?

Run apart from the test command: `pip install -e '.[bench,test]'`, then
`pytest tests/benchmarks/test_proposals.py -n 0 -s`. SITEFARE_BENCH_RUNS sets how many runs each way
makes (2 unless told). Every way is pinned to its cores, and what is started once (nursery,
processes of a pool) is started before the clock runs and told apart. Processor time stands beside
time by the clock, for a machine that does other work too. Nothing is asserted of time, only that
all ways give the same.
"""

import hashlib
import os
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from itertools import product
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter
from uuid import uuid4

import nbformat
import papermill
import pytest
from clocks import on_cores, taking
from nbformat.v4 import new_code_cell, new_notebook
from rich.console import Console

from sitefare.outputs import docx_document, drawn, picture, proposal, written
from sitefare.outputs.batch import run_batch
from sitefare.outputs.progress import Progress
from sitefare.outputs.run_table import Run
from sitefare.outputs.runs import tidy_notebook
from sitefare.outputs.workbook import book
from sitefare.warm import provisioner
from sitefare.workers import Processes

pytestmark = pytest.mark.skipif(
    not hasattr(os, "sched_setaffinity"), reason="processes cannot be pinned to cores here"
)

RUNS = int(os.environ.get("SITEFARE_BENCH_RUNS", "2"))
SITES = ("kaldre", "qasr_adhra")
PLAIN, WARM = "python3", "sitefare_warm"

#: A notebook that asks for the figures of one case and nothing more.
FIGURES = (
    "site = 'kaldre'\ndraws = 256\nseed = 1",
    """from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import project_library
from sitefare.outputs.results import results
from sitefare.outputs.terminal import rounded_lines
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for""",
    "plan = plan_for(make_case(project_library(), site, 'as_planned'))",
    "print(rounded_lines(results(appraise(plan), uncertainty(plan, draws, seed))))",
)

#: Notebook and parameters of what is made, and whether files are written too.
THINGS = {
    "figures of one case": ("figures", {"draws": 256}, False),
    "uncertainty notebook, shown": ("uncertainty", {"draws": 64, "sample": 16}, False),
    "proposal, shown": ("proposal", {"draws": 256}, False),
    "proposal, all files": ("proposal", {"draws": 256}, True),
}


@pytest.fixture(autouse=True)
def bytecode(monkeypatch):
    """Let processes keep compiled modules, as on a user's machine."""
    monkeypatch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)


def given(parameters, number):
    """Return the parameters of one run: sites in turn, a seed of its own."""
    return {**parameters, "site": SITES[number % len(SITES)], "seed": number + 1}


def source_of(root, notebook, folder):
    """Return where a notebook stands; that of figures alone is written."""
    if notebook != "figures":
        return root / "notebooks" / f"{notebook}.ipynb"
    cells = [new_code_cell(code) for code in FIGURES]
    cells[0].metadata["tags"] = ["parameters"]
    named = {"language_info": {"name": "python"}}
    nbformat.write(new_notebook(cells=cells, metadata=named), folder / "figures.ipynb")
    return folder / "figures.ipynb"


def call_of(root, source, folder, kernel, parameters):
    """Return how papermill is called for one run."""
    folder.mkdir(parents=True)
    return {
        "input_path": str(source),
        "output_path": str(folder / source.name),
        "parameters": parameters,
        "kernel_name": kernel,
        "cwd": str(root / "notebooks"),
        "progress_bar": False,
        "log_output": False,
    }


def end_nurseries():
    """End the nurseries of this process."""
    for found in provisioner._nurseries.values():
        found.close()
    provisioner._nurseries.clear()


@contextmanager
def nurseries():
    """End the nurseries of this process before and after: they keep the cores they started on."""
    end_nurseries()
    try:
        yield
    finally:
        end_nurseries()


def first(folder, kernel):
    """Run a notebook of one line, so that what is started once has started. Returns its call."""
    source = folder / f"{kernel}.ipynb"
    cell = new_code_cell("import sitefare.outputs.proposal, sitefare.outputs.cells")
    nbformat.write(new_notebook(cells=[cell]), source)
    return {
        "input_path": str(source), "output_path": str(folder / f"first-{uuid4().hex}.ipynb"),
        "kernel_name": kernel, "progress_bar": False,
    }  # fmt: skip


def one_at_a_time(kernel, calls, folder):
    """Run notebooks one after another on one core; return what was taken, and the start's time."""
    with on_cores(1), nurseries():
        start = perf_counter()
        papermill.execute_notebook(**first(folder, kernel))
        started = perf_counter() - start
        with taking() as taken:
            for call in calls:
                papermill.execute_notebook(**call)
    return taken, started


def two_at_a_time(kernel, calls, folder):
    """Run notebooks in two processes on two cores, each with its own nursery."""
    make = partial(ProcessPoolExecutor, 1, mp_context=get_context("spawn"))
    with on_cores(2), make() as one, make() as other:
        pools, start = (one, other), perf_counter()
        for waiting in [
            p.submit(papermill.execute_notebook, **first(folder, kernel)) for p in pools
        ]:
            waiting.result()
        started = perf_counter() - start
        with taking() as taken:
            waiting = [
                pools[number % 2].submit(papermill.execute_notebook, **call)
                for number, call in enumerate(calls)
            ]
            for one_call in waiting:
                one_call.result()
    return taken, started


def in_a_batch(processes, runs, folder, root):
    """Write runs' documents without a kernel, in so many processes on as many cores."""
    with on_cores(processes), taking() as taken, Progress(Console(quiet=True)) as progress:
        done = run_batch(runs, folder, root / "assumptions", Processes(processes), progress)
    assert done.failed == {}
    return taken, 0.0


def shown(capsys, title, lines):
    """Print a table of ways: proposals a minute, ratio to the first."""
    count, (_, base, _) = RUNS * len(SITES), lines[0]
    with capsys.disabled():
        print(f"\n{title}: {count} runs each way; load {os.getloadavg()[0]:.1f}")
        print(f"  {'':42s}  a minute   ratio   processor s each   ratio   started once")
        for name, taken, started in lines:
            each = taken.processor / count
            print(
                f"  {name:42s} {60 * count / taken.seconds:9.2f}"
                f"{base.seconds / taken.seconds:8.2f} {each:18.2f}"
                f"{base.processor / count / each:8.2f} {started:12.1f} s"
            )


def outputs_of(path):
    """Return what a notebook shows, cell by cell."""
    tidy_notebook(path)
    cells = nbformat.read(path, as_version=4).cells
    return [cell.get("outputs") for cell in cells if cell.cell_type == "code"]


def digests(folder):
    """Return a digest of every file that a run wrote beside its notebook, by name."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.iterdir())
        if path.suffix != ".ipynb" and path.name != "run.json"
    }


@pytest.mark.parametrize("title", THINGS)
def test_proposals_a_minute_beside_plain_papermill(title, root, tmp_path, capsys):
    notebook, parameters, files = THINGS[title]
    source = source_of(root, notebook, tmp_path)
    numbers = range(RUNS * len(SITES))
    lines = []
    ways = {
        "plain papermill, one core": (PLAIN, one_at_a_time),
        "warm kernels, one core": (WARM, one_at_a_time),
        "plain papermill two at a time, two cores": (PLAIN, two_at_a_time),
        "warm kernels two at a time, two cores": (WARM, two_at_a_time),
    }
    folders = {way: tmp_path / str(number) for number, way in enumerate(ways)}
    for way, (kernel, run) in ways.items():
        calls = []
        for number in numbers:
            folder = folders[way] / f"r{number}"
            extra = {"output_folder": str(folder)} if files else {}
            calls.append(call_of(root, source, folder, kernel, given(parameters, number) | extra))
        lines.append((way, *run(kernel, calls, tmp_path)))
    if files:
        asked = [given(parameters, number) for number in numbers]
        runs = [
            Run(f"r{number}", one["site"], "as_planned", (), one["draws"], one["seed"],
                documents=True)
            for number, one in enumerate(asked)
        ]  # fmt: skip
        for count in (1, 2):
            way = f"batch, no kernel, {count} on as many cores"
            folders[way] = tmp_path / f"batch{count}"
            lines.append((way, *in_a_batch(count, runs, folders[way], root)))
    shown(capsys, title, lines)
    plain, *others = folders.values()
    for number, other in product(numbers, others):
        here, there = plain / f"r{number}", other / f"r{number}"
        assert digests(here) == digests(there)
        assert bool(digests(here)) == files
        if (there / f"{notebook}.ipynb").exists():
            told = [outputs_of(f / f"{notebook}.ipynb") for f in (here, there)]
            assert told[0] == told[1]


# The package gives its sections' functions under the names of their modules.
planting = import_module("sitefare.outputs.proposal.planting")
sensitivity = import_module("sitefare.outputs.proposal.sensitivity")

#: Where the functions of a stage are called, and their names there.
STAGES = {
    "assumptions": [(proposal, "project_library"), (proposal, "make_case")],
    "sizing, appraisal, draws": [
        (proposal, "plan_for"), (proposal, "appraise"), (proposal, "uncertainty"),
    ],
    "sensitivity": [
        (proposal, "swings"), (sensitivity, "group_tornado"), (sensitivity, "with_steps"),
        (sensitivity, "switching"), (sensitivity, "within_reach"),
    ],
    "crop mix": [(planting, "crop_mix")],
    "sections' words and tables": [(proposal, "document")],
    "charts: specifications": [(picture.Picture, "_spec")],
    "charts: drawing": [(drawn, "_svg")],
    "charts: pictures for the Word file": [(drawn, "_png_of")],
    "page": [(written, "page")],
    "PDF": [(written, "pdf")],
    "Word file": [(docx_document, "word")],
    "workbook": [(book, "workbook")],
    "results": [(proposal, "results"), (proposal, "write_results")],
}  # fmt: skip


class Timers:
    """Time by name, each without what stands inside it under another name."""

    def __init__(self):
        self.seconds, self._inside = {}, []

    def around(self, name, function):
        def timed(*args, **options):
            start = perf_counter()
            self._inside.append(0.0)
            try:
                return function(*args, **options)
            finally:
                whole = perf_counter() - start
                own = whole - self._inside.pop()
                self.seconds[name] = self.seconds.get(name, 0.0) + own
                if self._inside:
                    self._inside[-1] += whole

        return timed


def put_timers(monkeypatch):
    """Put timers around the stages' functions, where they are called."""
    timers = Timers()
    for name, places in STAGES.items():
        for place, function in places:
            monkeypatch.setattr(place, function, timers.around(name, getattr(place, function)))
    return timers


def seconds_to(kernel, folder):
    """Return the time of a notebook of one line under a kernel that is warm already. [s]"""
    call = first(folder, kernel)
    notebook = new_notebook(cells=[new_code_cell("1 + 1")])
    for _ in range(2):
        nbformat.write(notebook, call["input_path"])
        start = perf_counter()
        papermill.execute_notebook(**call)
    return perf_counter() - start


def test_where_the_time_goes(root, tmp_path, capsys, monkeypatch):
    with on_cores(1), nurseries():
        kernels = {kernel: seconds_to(kernel, tmp_path) for kernel in (PLAIN, WARM)}
        command = [sys.executable, "-c", "import sitefare.outputs.proposal"]
        imports = []
        for _ in range(3):
            start = perf_counter()
            subprocess.run(command, check=True, cwd=root)
            imports.append(perf_counter() - start)
        drawings = (drawn._svg, drawn._png_of)
        timers = put_timers(monkeypatch)
        wholes = []
        for folder in ("first", "second"):
            timers.seconds.clear()
            for kept in drawings:
                kept.cache_clear()
            start = perf_counter()
            made = proposal.make_proposal("kaldre", "as_planned", draws=256, root=root)
            made.write(tmp_path / folder)
            wholes.append(perf_counter() - start)
    told = sum(timers.seconds.values())
    with capsys.disabled():
        print(f"\nOne proposal with all files, no kernel, one core; load {os.getloadavg()[0]:.1f}")
        print(f"  first in its process {wholes[0]:.1f} s, second {wholes[1]:.1f} s; of the second:")
        for name, took in sorted(timers.seconds.items(), key=lambda x: -x[1]):
            print(f"  {name:42s} {took:6.2f} s {took / wholes[1]:6.1%}")
        print(f"  {'all else':42s} {wholes[1] - told:6.2f} s {1 - told / wholes[1]:6.1%}")
        print(f"  beside it: a kernel's start and end {kernels[PLAIN]:.2f} s, a warm one's")
        print(f"  {kernels[WARM]:.2f} s; importing what a proposal needs {min(imports):.2f} s")
    assert digests(tmp_path / "first") == digests(tmp_path / "second")
    assert set(timers.seconds) == set(STAGES)
    assert Path(tmp_path / "second" / "proposal.html").stat().st_size > 100_000
