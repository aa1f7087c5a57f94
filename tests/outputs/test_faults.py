"""Full disks, killed processes, spoilt files, two commands in one folder: what is left is whole.

A full disk is a limit on the size of any file that the command writes: to the program both are a
write that the system refuses.
"""

import hashlib
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pandas as pd
import psutil
import pytest
from rich.console import Console

from sitefare.assumptions.places import read_places
from sitefare.errors import RunError
from sitefare.outputs import screen as screening
from sitefare.outputs.batch import run_batch
from sitefare.outputs.held import HELD, held
from sitefare.outputs.progress import Progress
from sitefare.outputs.run_table import Run, read_runs
from sitefare.outputs.screen import PARTS, TABLE, screen
from sitefare.questions.screening import asked_of
from sitefare.workers import Here

HEADER = "run,site,scenario,settings,draws,seed,documents\n"

#: The command, given what may be written into one file at most. [byte]
LIMITED = """
import resource, sys
from sitefare.cli import main
if int(sys.argv[1]):
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]),) * 2)
del sys.argv[1]
main()
"""


@pytest.fixture
def command(root):
    """Start the command line in the project's root: words, and the most that a file may hold."""

    def start(*words, most=0):
        return subprocess.Popen(
            [sys.executable, "-c", LIMITED, str(most), *map(str, words)],
            cwd=root,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    return start


@pytest.fixture
def batch(tmp_path):
    """Run a batch here into tmp_path/out."""

    def run(runs, assumptions, workers=None):
        with Progress(Console(file=io.StringIO())) as progress:
            return run_batch(runs, tmp_path / "out", assumptions, workers or Here(), progress)

    return run


@pytest.fixture
def table(tmp_path):
    """Write a table of runs."""

    def write(*lines):
        path = tmp_path / "runs.csv"
        path.write_text(HEADER + "\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


def plain_run(name, site="kaldre", scenario="as_planned", **options):
    given = {"settings": (), "draws": 0, "seed": 1, "documents": False} | options
    return Run(name, site, scenario, **given)


def left(folder):
    """Every file that a folder holds, by its place in it."""
    return {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()}


def refusal(started):
    """Wait for a command that is refused; return its one sentence."""
    printed, told = started.communicate(timeout=300)
    sentences = [line for line in told.splitlines() if line.startswith("sitefare:")]
    assert started.returncode == 1, told
    assert len(sentences) == 1
    assert "Traceback" not in printed + told
    return sentences[0]


@pytest.mark.skipif(os.name != "posix", reason="sizes of files cannot be limited here")
def test_a_full_disk_is_one_sentence_and_leaves_nothing_half_written(command, table, tmp_path):
    runs, out = table("one,kaldre,as_planned,,0,1,no"), tmp_path / "out"
    asked = ("batch", runs, "-o", out, "--workers", "1")
    said = refusal(command(*asked, most=4096))
    assert "File too large" in said
    assert not any(Path(name).name in ("results.json", "run.json") for name in left(out))
    assert not any(".making" in name or name == HELD for name in left(out))
    # With room again the same command does what is missing.
    again = command(*asked)
    again.communicate(timeout=300)
    assert again.returncode == 0
    assert json.loads((out / "one" / "results.json").read_text(encoding="utf-8"))


def test_a_folder_that_cannot_be_is_one_sentence(command, table, tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    runs = table("one,kaldre,as_planned,,0,1,no")
    said = refusal(command("batch", runs, "-o", tmp_path / "file" / "out", "--workers", "1"))
    assert "Not a directory" in said
    assert (tmp_path / "file").read_text(encoding="utf-8") == "in the way"


def test_where_no_lock_can_be_held_no_file_is_opened_that_could_not_be_removed(
    tmp_path, monkeypatch
):
    monkeypatch.setattr("sitefare.outputs.held.sys.platform", "win32")
    with held(tmp_path / "out"):
        assert not list((tmp_path / "out").iterdir())


@pytest.mark.skipif(os.name != "posix", reason="no lock is held here")
def test_two_commands_never_write_into_one_folder(batch, command, table, tmp_path, root):
    out = tmp_path / "out"
    runs = table("one,kaldre,as_planned,,0,1,no")
    with held(out):
        said = refusal(command("batch", runs, "-o", out, "--workers", "1"))
        assert "another command is writing into" in said
        assert left(out) == {HELD}
        with pytest.raises(RunError, match="another command is writing into"), held(out):
            pass
    assert left(out) == set()
    # One that was killed holds nothing.
    code = (
        "import sys, time; from pathlib import Path; from sitefare.outputs.held import held\n"
        "with held(Path(sys.argv[1])): print('held', flush=True); time.sleep(600)"
    )
    one = subprocess.Popen(
        [sys.executable, "-c", code, str(out)], cwd=root, stdout=subprocess.PIPE, text=True
    )
    assert one.stdout.readline() == "held\n"
    with pytest.raises(RunError), held(out):
        pass
    one.kill()
    one.wait()
    one.stdout.close()
    assert batch(read_runs(runs), root / "assumptions").failed == {}
    assert HELD not in left(out)


def workers_at_work(pid):
    """Return a command's workers that have spent four seconds; one that ends meanwhile is none."""
    found = []
    for one in psutil.Process(pid).children(recursive=True):
        with suppress(psutil.Error):
            if "spawn_main" in " ".join(one.cmdline()) and sum(one.cpu_times()[:2]) > 4.0:
                found.append(one)
    return found


@pytest.mark.skipif(os.name != "posix", reason="processes are told apart by POSIX signals")
def test_a_worker_killed_while_it_makes_documents_costs_no_run(command, table, tmp_path):
    runs, out = table("one,qasr_adhra,as_planned,,0,1,yes"), tmp_path / "out"
    running = command("batch", runs, "-o", out, "--workers", "1")
    killed = []
    for _ in range(6000):
        if running.poll() is not None:
            break
        if (out / "one" / "run.json").exists():
            workers = workers_at_work(running.pid)
            if workers:
                # Four seconds of work in, it is past its imports and amid a proposal.
                assert not (out / "one" / "proposal.html").exists()
                workers[0].send_signal(signal.SIGKILL)
                killed.append(workers[0].pid)
                break
        time.sleep(0.05)
    printed, told = running.communicate(timeout=600)
    assert killed, told
    assert running.returncode == 0, told
    assert "1 of 1 runs done" in printed
    assert {"one/proposal.html", "one/proposal.pdf", "one/workbook.xlsx"} <= left(out)
    stamp = json.loads((out / "one" / "run.json").read_text(encoding="utf-8"))
    assert stamp["documents"]
    assert all((out / "one" / n).stat().st_size == size for n, size in stamp["files"].items())


def test_a_file_that_was_spoilt_is_made_again(batch, tmp_path, root):
    runs = [plain_run("one"), plain_run("two")]
    batch(runs, root / "assumptions")
    path = tmp_path / "out" / "one" / "results.json"
    good = path.read_bytes()
    # One digit of one number: the same size, and still JSON.
    at = next(i for i, c in enumerate(good) if i > len(good) // 2 and c in b"123456")
    path.write_bytes(good[:at] + b"9" + good[at + 1 :])
    assert json.loads(path.read_text(encoding="utf-8"))
    assert batch(runs, root / "assumptions").kept == {"two"}
    assert path.read_bytes() == good


def test_a_change_of_assumptions_redoes_only_the_runs_that_rest_on_it(batch, tmp_path, root):
    project = shutil.copytree(root / "assumptions", tmp_path / "assumptions")
    runs = [
        plain_run("here"),
        plain_run("there", "norhaven"),
        plain_run("sun", "norhaven", "solar_supply"),
    ]
    names = {run.name for run in runs}
    batch(runs, project)
    assert batch(runs, project).kept == names
    for place, touched in {
        "sites/kaldre/site.csv": {"here"},
        "scenarios/solar_supply.csv": {"sun"},
        "sites/norhaven/evidence.csv": {"there", "sun"},
        "sites/qasr_adhra/site.csv": set(),
        "common/labour.csv": names,
    }.items():
        path = project / place
        path.write_text(path.read_text(encoding="utf-8") + "\n", encoding="utf-8")
        assert batch(runs, project).kept == names - touched, place


def test_a_part_of_a_screen_that_was_spoilt_is_made_again(tmp_path, library, root, monkeypatch):
    monkeypatch.setattr(screening, "CHUNK", 1)
    path = tmp_path / "places.csv"
    path.write_text("place,like\none,kaldre\ntwo,kaldre\nthree,kaldre\n", encoding="utf-8")
    places = read_places(path, library)
    asked = asked_of(library, places, "as_planned", [], 0, 1)

    def run():
        with Progress(console := Console(file=io.StringIO())) as progress:
            screen(places, asked, root / "assumptions", tmp_path / "out", Here(), progress)
        return (tmp_path / "out" / TABLE).read_bytes(), console.file.getvalue()

    whole, _ = run()
    cut, bent, _ = sorted((tmp_path / "out" / PARTS).iterdir())
    good = bent.read_bytes()
    cut.write_bytes(cut.read_bytes()[:100])
    # A bit of a page's data: the file's frame, its sizes and its types are as they were.
    at = good.index(b"kaldre")
    bent.write_bytes(good[:at] + bytes([good[at] ^ 1]) + good[at + 1 :])
    assert pd.read_parquet(bent)["like"][0] != "kaldre"
    again, told = run()
    assert again == whole
    assert "2 of 2" in told
    assert bent.read_bytes() == good


def test_place_and_language_of_the_machine_change_no_byte(written_proposal, proposals, root):
    draws = proposals("qasr_adhra", "as_planned").results["provenance"]["draws"]
    code = (
        "import hashlib, json, locale, sys; from pathlib import Path\n"
        "locale.setlocale(locale.LC_ALL, '')\n"
        "from sitefare.outputs.batch import Task, documents\n"
        "from sitefare.outputs.run_table import Run\n"
        f"run = Run('x', 'qasr_adhra', 'as_planned', (), {draws}, 1, documents=True)\n"
        "files = documents(Task(run, Path('assumptions').resolve()))\n"
        "print(json.dumps({n: hashlib.sha256(b).hexdigest() for n, b in files.items()}))"
    )
    elsewhere = {"TZ": "Pacific/Kiritimati", "LC_ALL": "C", "LANG": "C", "PYTHONHASHSEED": "7"}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, env={**os.environ, **elsewhere},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    folder = written_proposal("qasr_adhra", "as_planned")
    here = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.iterdir()}
    assert json.loads(done.stdout) == here


def test_a_table_as_spreadsheets_save_it_is_the_same_table(tmp_path):
    settings = '"price.feed=9 GEL/kg; wage.worker=12.5 GEL/h"'
    lines = [
        ["run", "site", "scenario", "settings", "draws", "seed", "documents"],
        ["a", "kaldre", "as_planned", settings, "16", "1", "no"],
        ["b", "norhaven", "solar_supply", "", "0", "2", "yes"],
    ]  # fmt: skip
    plain, saved = tmp_path / "plain.csv", tmp_path / "saved.csv"
    plain.write_text("\n".join(",".join(x) for x in lines) + "\n", encoding="utf-8")
    body = "\r\n".join(";".join(x) for x in lines) + "\r\n" + ";" * 6 + "\r\n"
    saved.write_bytes(b"\xef\xbb\xbf" + body.encode())
    assert read_runs(saved) == read_runs(plain)
    assert read_runs(plain)[0].settings == ("price.feed=9 GEL/kg", "wage.worker=12.5 GEL/h")


@pytest.mark.parametrize(
    ("kind", "text"), [("batch", HEADER), ("screen", "place,like\n"), ("batch", "")]
)
def test_a_table_without_lines_is_refused_in_a_sentence(command, tmp_path, kind, text):
    path = tmp_path / "empty.csv"
    path.write_text(text, encoding="utf-8")
    said = refusal(command(kind, path, "-o", tmp_path / "out"))
    assert "empty.csv" in said
    assert not (tmp_path / "out").exists()
