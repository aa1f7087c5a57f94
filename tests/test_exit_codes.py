"""What a command's exit code says, for each kind of command; README's table lists the codes."""

import io
import json
import os
import signal
import subprocess
import sys
import time
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from sitefare import cli

RUNS = "run,site,scenario,settings,draws,seed,documents\n"
GOOD, LOST = "good,kaldre,as_planned,,0,1,no\n", "lost,nowhere,as_planned,,0,1,no\n"


@pytest.fixture
def code(root, monkeypatch, tmp_path):
    """Run a command in the project's root, FILE being a table's path; returns code and streams."""

    def run(*words, text=""):
        table = tmp_path / "table.csv"
        table.write_text(text, encoding="utf-8")
        places = {"FILE": str(table), "OUT": str(tmp_path / "out")}
        monkeypatch.chdir(root)
        monkeypatch.setattr(sys, "argv", ["sitefare", *(places.get(word, word) for word in words)])
        printed, told = io.StringIO(), io.StringIO()
        with redirect_stdout(printed), redirect_stderr(told):
            try:
                found = cli.guarded(cli.app)
            except SystemExit as stop:
                found = stop.code or 0
        return found, printed.getvalue(), told.getvalue()

    return run


CHOOSE = ("choose", "qasr_adhra", "--basis", "base", "--budget", "1000000")
SCREEN = ("screen", "FILE", "-o", "OUT", "--draws", "0", "--workers", "1")
BATCH = ("batch", "FILE", "-o", "OUT", "--workers", "1")

DONE = {
    "question": (("appraise", "qasr_adhra"), ""),
    "answer with documents": ((*CHOOSE, "-o", "OUT"), ""),
    "batch": (BATCH, RUNS + GOOD),
    "screen": (SCREEN, "place,like\nhere,kaldre\n"),
    "check": (("check",), ""),
}

REFUSED = {
    "question": (("appraise", "nowhere"), ""),
    "document": (("propose", "nowhere", "-o", "OUT"), ""),
    "comparison": (("compare", "kaldre", "nowhere", "-o", "OUT"), ""),
    "choice": ((*CHOOSE, "--region", "kaldre"), ""),
    "choice in no language": ((*CHOOSE, "-o", "OUT", "--language", "xx"), ""),
    "choice into a file": ((*CHOOSE, "-o", "README.md"), ""),
    "choice in no style": ((*CHOOSE, "-o", "OUT", "--house-style", "README.md"), ""),
    "choice of nothing": ((*CHOOSE, "--set", "life_support.response_time=99"), ""),
    "no such folder": (("appraise", "kaldre", "--assumptions", "OUT"), ""),
    "proposal of no such folder": (("propose", "kaldre", "-o", "OUT", "--assumptions", "OUT"), ""),
    "batch of a bad table": (BATCH, "run,place\n"),
    "batch of no such folder": ((*BATCH, "--assumptions", "OUT"), RUNS + GOOD),
    "a run that failed": (BATCH, RUNS + GOOD + LOST),
    "screen of a bad table": (SCREEN, "place\n"),
    "a place that failed": (
        SCREEN, "place,like,place.elevation [m]\nhere,kaldre,\ndeep,kaldre,-9000\n",
    ),
    "no workers": ((*BATCH[:-1], "-1"), RUNS + GOOD),
    "no cluster": ((*BATCH, "--cluster", "nowhere"), RUNS + GOOD),
}  # fmt: skip

MISTYPED = {
    "no such command": ("apprise", "kaldre"),
    "no such option": ("batch", "FILE", "-o", "OUT", "--wrokers", "2"),
    "no number": (*SCREEN[:-1], "few"),
    "missing argument": ("choose",),
    "no such choice": (*CHOOSE, "--aim", "most_fish"),
}

UNEXPECTED = {
    "question": ("sitefare.cli.checked", ("appraise", "kaldre")),
    "document": ("sitefare.cli.checked", ("propose", "kaldre", "-o", "OUT")),
    "choice": ("sitefare.commands.choose.checked", CHOOSE),
    "batch": ("sitefare.outputs.batch.run_batch", BATCH),
    "screen": ("sitefare.outputs.screen.screen", SCREEN),
}


@pytest.mark.parametrize(("words", "text"), DONE.values(), ids=DONE.keys())
def test_what_is_done_is_0(code, words, text):
    found, _, told = code(*words, text=text)
    assert found == 0, told


@pytest.mark.parametrize(("words", "text"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_refused_or_failed_in_part_is_1(code, words, text):
    found, printed, told = code(*words, text=text)
    assert found == 1, told
    assert "Traceback" not in printed + told


@pytest.mark.parametrize("words", MISTYPED.values(), ids=MISTYPED.keys())
def test_what_is_mistyped_is_2(code, words):
    assert code(*words, text=RUNS + GOOD)[0] == 2


@pytest.mark.parametrize(("where", "words"), UNEXPECTED.values(), ids=UNEXPECTED.keys())
def test_what_nobody_foresaw_is_70(code, monkeypatch, where, words):
    def fails(*_, **__):
        msg = "odd"
        raise ZeroDivisionError(msg)

    monkeypatch.setattr(where, fails)
    found, _, told = code(
        *words, text="place,like\nhere,kaldre\n" if words == SCREEN else RUNS + GOOD
    )
    assert found == 70
    assert "an unexpected failure (ZeroDivisionError: odd)" in told.replace("\n", " ")


def test_a_machine_reads_json_alone_from_both_streams(code):
    found, printed, told = code(*BATCH, "--json", text=RUNS + GOOD + LOST)
    assert found == 1
    answer = json.loads(printed)
    assert answer["failed"] == {
        "lost": "site 'nowhere' is not in assumptions/sites; those there are kaldre, norhaven, "
        "port_anui, qasr_adhra"
    }
    assert Path(answer["index"]).is_file()
    lines = [json.loads(line) for line in told.splitlines()]
    assert lines[0]["stage"] == "appraised"
    assert (lines[1]["done"], lines[1]["failed"]) == (1, 1)
    text = "place,like,place.elevation [m]\nhere,kaldre,\ndeep,kaldre,-9000\n"
    found, printed, told = code(*SCREEN, "--json", text=text)
    assert list(json.loads(printed)["failed"]) == ["deep"]
    assert [json.loads(line)["total"] for line in told.splitlines()] == [1, 1]


LONG = {
    "uncertain": (("qasr_adhra", "--draws", "512"), "draws", 512),
    "appraise": (("qasr_adhra", "--draws", "256"), "draws", 256),
    "influence": (("qasr_adhra", "--draws", "256"), "draws", 256),
    "which-site": (("qasr_adhra", "kaldre", "--draws", "256"), "draws of all sites", 512),
    "check-first": (("qasr_adhra", "--draws", "256"), "draws", 256),
    "choose": (("kaldre", "qasr_adhra", "--draws", "16"), "farms appraised", 2),
}


@pytest.mark.parametrize("command", LONG)
def test_long_commands_tell_how_far_they_are(code, monkeypatch, command):
    words, stage, total = LONG[command]
    monkeypatch.setattr("sitefare.commands.options.QUIET", 3600.0)
    found, quick, told = code(command, *words, "--json")
    assert (found, told) == (0, "")
    monkeypatch.setattr("sitefare.commands.options.QUIET", 0.0)
    monkeypatch.setattr("sitefare.outputs.progress.EVERY", 0.0)
    found, printed, told = code(command, *words, "--json")
    assert found == 0
    assert printed == quick
    last = json.loads(told.splitlines()[-1])
    assert (last["stage"], last["total"], last["done"]) == (stage, total, total)


def children(process):
    """Every process that another has started, and those they have."""
    listed = Path(f"/proc/{process}/task/{process}/children")
    own = [int(word) for word in listed.read_text().split()] if listed.exists() else []
    return own + [other for one in own for other in children(one)]


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="no /proc tells of processes here")
@pytest.mark.parametrize(("sign", "expected"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
@pytest.mark.parametrize("command", ["batch", "screen"])
def test_what_is_stopped_is_130_or_143_and_leaves_no_process(
    root, tmp_path, command, sign, expected
):
    table = tmp_path / "table.csv"
    runs = "".join(f"r{n},kaldre,as_planned,,1024,{n},no\n" for n in range(40))
    places = "".join(f"p{n},kaldre\n" for n in range(80))
    table.write_text(RUNS + runs if command == "batch" else f"place,like\n{places}")
    code = (
        # Whoever runs the tests may ignore the signal, which a command at a terminal never does.
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
        "from sitefare.cli import main; main()"
    )
    words = [command, str(table), "-o", str(tmp_path / "out"), "--workers", "2"]
    running = subprocess.Popen(
        [sys.executable, "-c", code, *words], cwd=root, stderr=subprocess.PIPE, text=True
    )
    told = running.stderr.readline()
    assert " 0 of " in told
    for _ in range(200):
        if len(children(running.pid)) >= 2:
            break
        time.sleep(0.05)
    started = children(running.pid)
    assert len(started) >= 2
    os.kill(running.pid, sign)
    _, errors = running.communicate(timeout=60)
    assert running.returncode == expected
    assert errors.splitlines()[-1] == "sitefare: stopped"
    for _ in range(200):
        if not any(Path(f"/proc/{one}").exists() for one in started):
            break
        time.sleep(0.05)
    assert [one for one in started if Path(f"/proc/{one}").exists()] == []
