"""Warm kernels answer as ordinary ones do, alone and after each other, and leave nothing behind."""

import os
import signal
import time

import nbformat
import papermill
import pytest
from jupyter_client.kernelspec import KernelSpecManager
from nbclient.exceptions import DeadKernelError
from nbformat.v4 import new_code_cell, new_notebook

from sitefare.warm import provisioner
from sitefare.warm.forked import Nursery, NurseryError

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kernels cannot be forked here")

KERNEL = "sitefare_warm"

CODE = (
    "import os, random, sys, threading\nimport numpy",
    "print(os.getcwd())",
    "print(sorted(k for k in os.environ if k.startswith('SITEFARE')))",
    "print(sum(numpy.arange(5)), threading.active_count() > 0)",
    "{'answer': 6 * 7}",
)


@pytest.fixture(scope="module", autouse=True)
def one_nursery():
    """Start one nursery for these tests, and end it."""
    yield
    for found in provisioner._nurseries.values():
        found.close()
    provisioner._nurseries.clear()


def ran(folder, cells, kernel=KERNEL, **options):
    """Run cells in a kernel; return what they printed or gave."""
    source, target = folder / "source.ipynb", folder / "target.ipynb"
    nbformat.write(new_notebook(cells=[new_code_cell(cell) for cell in cells]), source)
    papermill.execute_notebook(
        str(source), str(target), kernel_name=kernel, progress_bar=False, cwd=str(folder), **options
    )
    told = []
    for cell in nbformat.read(target, as_version=4).cells:
        told += [o.get("text") or o["data"]["text/plain"] for o in cell.outputs]
    return told


def test_the_kernel_is_installed_with_the_project():
    assert KERNEL in KernelSpecManager().find_kernel_specs()


def test_a_warm_kernel_answers_as_an_ordinary_one(tmp_path, monkeypatch):
    monkeypatch.setenv("SITEFARE_TEST", "1")
    assert ran(tmp_path, CODE) == ran(tmp_path, CODE, kernel="python3")


def test_kernels_are_forked_fresh_and_go_away(tmp_path):
    cells = (
        "import os, sys, random, numpy\nprint('sitefare.outputs.proposal' in sys.modules)",
        "print('left' in globals()); left = 1",
        "print(os.getpid(), os.getppid(), random.random(), numpy.random.random())",
    )
    first, second = (ran(tmp_path, cells) for _ in range(2))
    assert first[:2] == second[:2] == ["True\n", "False\n"]
    one, two = first[2].split(), second[2].split()
    assert one[1] == two[1] != str(os.getpid())
    assert all(a != b for a, b in zip(one[:1] + one[2:], two[:1] + two[2:], strict=True))
    for pid in (int(one[0]), int(two[0])):
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def test_a_killed_kernel_is_told_soon(tmp_path):
    begun = time.monotonic()
    with pytest.raises(DeadKernelError):
        ran(tmp_path, ["import os; os.kill(os.getpid(), 9)"])
    assert time.monotonic() - begun < 60


def test_a_cell_that_hangs_is_stopped(tmp_path):
    with pytest.raises(Exception, match=r"timed out|timeout"):
        ran(tmp_path, ["import time; time.sleep(600)"], execution_timeout=2)


def test_without_a_nursery_kernels_start_in_the_ordinary_way(tmp_path, monkeypatch):
    def gone():
        msg = "not here"
        raise NurseryError(msg)

    monkeypatch.setattr(provisioner, "nursery", gone)
    cells = ["import os, sys; print(os.getppid(), 'sitefare' in sys.modules)"]
    assert ran(tmp_path, cells) == [f"{os.getpid()} False\n"]


def test_a_nursery_that_died_is_replaced(tmp_path):
    ran(tmp_path, ["1"])
    old = provisioner.nursery()
    old.process.kill()
    old.process.wait()
    assert ran(tmp_path, ["2 + 2"]) == ["4"]
    assert provisioner.nursery() is not old


def test_a_fork_is_a_process_that_can_be_waited_for_and_ended():
    nursery = Nursery()
    argv = ["x", "--help"]
    helped = nursery.fork(argv, dict(os.environ), "")
    assert helped.wait(timeout=60) == 0
    asleep = nursery.fork(["x", "-f", "/nowhere/at/all.json"], dict(os.environ), "")
    asleep.send_signal(signal.SIGKILL)
    assert asleep.wait(timeout=60) == -9
    nursery.close()
    assert not nursery.alive
    with pytest.raises(NurseryError):
        nursery.fork(argv, dict(os.environ), "")
