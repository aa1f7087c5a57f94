"""Many tasks on a real cluster: one that fails, hangs, dies or loses its worker harms no other.

Scheduler and workers are processes of their own. Tasks are Python expressions and the function is
`eval`, so that any process can call it.
"""

import io
import os
import re
import signal
import subprocess
import sys
import time
from contextlib import suppress

import pytest
from rich.console import Console

from sitefare import cluster as module
from sitefare.cluster import SAME, Cluster, differing, on_worker, versions
from sitefare.errors import RunError
from sitefare.outputs.batch import run_batch
from sitefare.outputs.progress import Progress
from sitefare.outputs.results import PACKAGES
from sitefare.outputs.run_table import MANIFEST, Run
from sitefare.outputs.stored import WRITERS
from sitefare.workers import Here

PLAIN = ("--nthreads", "1", "--no-nanny")


class Started:
    """A scheduler and what was started for it."""

    def __init__(self):
        self.processes = []
        self.scheduler = self.start("scheduler", "--host", "127.0.0.1", "--port", "0")
        for line in self.scheduler.stderr:
            if found := re.search(r"Scheduler at:\s+(tcp://\S+)", line):
                break
        self.address = found[1]

    def run(self, command):
        one = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, start_new_session=True)
        self.processes.append(one)
        return one

    def start(self, *words):
        return self.run([sys.executable, "-m", "dask", *words, "--no-dashboard"])

    def worker(self, *words):
        return self.start("worker", self.address, "--host", "127.0.0.1", *(words or PLAIN))

    def end(self):
        for one in self.processes:
            with suppress(ProcessLookupError):
                os.killpg(one.pid, signal.SIGKILL)
            one.wait()
            one.stderr.close()


@pytest.fixture
def started():
    one = Started()
    yield one
    one.end()


def joined(started, count=1, **options):
    link = Cluster(started.address, **options)
    link.client.wait_for_workers(count, timeout=60)
    return link


def ended(process):
    """Say whether a process ends within ten seconds."""
    for _ in range(200):
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


def test_a_lost_worker_costs_only_its_tasks(started):
    workers = [started.worker() for _ in range(2)]
    tasks = ["1 / 0", *(f"(__import__('time').sleep(0.2), {n})[1]" for n in range(12))]
    found = []
    with joined(started, 2) as link:
        for outcome in link.each(eval, tasks):
            found.append(outcome)
            if len(found) == 3:
                os.kill(workers[0].pid, signal.SIGKILL)
    answers = {x.number: x.answer for x in found}
    assert answers == {0: None, **{n + 1: n for n in range(12)}}
    assert link.client.status == "closed"


@pytest.mark.parametrize("words", [("--nthreads", "2", "--no-nanny"), ("--nthreads", "2")])
def test_a_limit_ends_a_task_and_nothing_else_of_its_worker(started, words):
    started.worker(*words)
    pid = "__import__('os').getpid()"
    tasks = ["__import__('time').sleep(600)", f"(__import__('time').sleep(5), {pid})[1]",
             "__import__('os')._exit(3)", "1 / 0", pid]  # fmt: skip
    with joined(started) as link:
        found = {x.number: x for x in link.each(eval, tasks, limit=8.0)}
    assert found[0].failure == "it was stopped at its limit of 8 s"
    assert found[1].done
    assert found[2].failure == "its process ended without an answer (exit code 3)"
    assert "division by zero" in found[3].failure
    assert found[4].done
    # What served this client ends when it leaves; the worker goes on.
    assert all(ended(found[n].answer) for n in (1, 4))
    with joined(started) as link:
        assert [x.answer for x in link.each(eval, ["6 * 7"], limit=60.0)] == [42]


def test_children_end_with_a_worker_that_is_killed_alone(started):
    worker = started.worker()
    with joined(started, alone=1.0) as link:
        child = next(link.each(eval, ["__import__('os').getpid()"], limit=60.0)).answer
        os.kill(worker.pid, signal.SIGKILL)
        assert ended(child)


def test_no_worker_for_a_while_is_told_and_ends_the_wait(started):
    worker = started.worker()
    with joined(started, alone=1.0) as link:
        outcomes = link.each(eval, ["1", "__import__('time').sleep(600)"])
        assert next(outcomes).answer == 1
        os.kill(worker.pid, signal.SIGKILL)
        with pytest.raises(RunError, match=r"no worker at tcp://\S+ for 1 s; what is done stays"):
            next(outcomes)


def test_a_scheduler_that_goes_ends_the_wait(started):
    started.worker()
    with joined(started, alone=3.0) as link:
        outcomes = link.each(eval, ["1", "__import__('time').sleep(600)"])
        assert next(outcomes).answer == 1
        os.kill(started.scheduler.pid, signal.SIGKILL)
        with pytest.raises(RunError, match="what is done stays"):
            next(outcomes)


def test_a_worker_that_comes_late_takes_up_the_work(started):
    with Cluster(started.address) as link:
        outcomes = link.each(eval, ["6 * 7"])
        started.worker()
        assert [x.answer for x in outcomes] == [42]


def until_refused(address):
    """Connect again and again until a worker is there and refused; fails after a minute."""
    for _ in range(120):
        Cluster(address).close()
        time.sleep(0.5)


def test_other_versions_are_refused_in_a_sentence(started, monkeypatch):
    started.worker()
    installed = module.version
    monkeypatch.setattr(module, "version", lambda x: "0.1" if x == "numpy" else installed(x))
    versions.cache_clear()
    words = rf"so bytes would differ: numpy {re.escape(installed('numpy'))} \(here 0\.1\)$"
    with pytest.raises(RunError, match=words):
        until_refused(started.address)
    versions.cache_clear()


def test_a_worker_that_cannot_import_us_is_refused(started):
    code = "import sys; sys.modules['sitefare'] = None; from dask.__main__ import main; main()"
    command = [sys.executable, "-c", code, "worker", started.address, "--host", "127.0.0.1"]
    started.run([*command, *PLAIN, "--no-dashboard"])
    with pytest.raises(RunError, match="cannot import this project"):
        until_refused(started.address)


def test_what_differs_is_told_and_a_late_worker_is_asked_again():
    ours = versions()
    assert set(ours) == {"Python", *SAME}
    assert {*PACKAGES, *WRITERS} <= set(SAME)
    assert differing(ours, ours) == ""
    theirs = {**ours, "numpy": "0.1", "typst": ""}
    words = differing(ours, theirs)
    assert words == f"numpy 0.1 (here {ours['numpy']}), typst none (here {ours['typst']})"
    assert on_worker(ours, lambda task: (task, "", 0.0), 5) == (5, "", 0.0)
    answer, failure, _ = on_worker(theirs, lambda task: (task, "", 0.0), 5)
    assert answer is None
    assert failure.startswith("its worker has other versions: numpy ")


def contents(folder):
    """Every file of a batch by its place, but the manifest, which holds times."""
    paths = [p for p in sorted(folder.rglob("*")) if p.is_file() and p.name != MANIFEST]
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


def test_a_batch_on_a_cluster_that_loses_a_worker_is_that_of_this_process(started, root, tmp_path):
    workers = [started.worker() for _ in range(2)]
    runs = [Run(f"r{n}", "qasr_adhra", "as_planned", (), 16, n, documents=False) for n in range(6)]
    lost = []

    class Watched(Progress):
        def stage(self, title, total):
            ended = super().stage(title, total)

            def noted(failed=False, count=1):  # noqa: FBT002
                if not lost:
                    lost.append(os.kill(workers[0].pid, signal.SIGKILL))
                ended(failed, count)

            return noted

    console = Console(file=io.StringIO())
    with joined(started, 2) as link, Watched(console) as progress:
        there = run_batch(runs, tmp_path / "there", root / "assumptions", link, progress, 300.0)
    with Progress(console) as progress:
        run_batch(runs, tmp_path / "here", root / "assumptions", Here(), progress)
    assert lost
    assert there.failed == {}
    assert contents(tmp_path / "there") == contents(tmp_path / "here")


def test_no_scheduler_is_told_in_a_sentence():
    with pytest.raises(RunError, match=re.escape("no Dask scheduler answers at tcp://127.0.0.1:9")):
        Cluster("tcp://127.0.0.1:9")
