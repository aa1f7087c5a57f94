"""A batch goes on past a failed run, and where it stopped; what it writes is whole or not there."""

import io
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pandas as pd
import pytest
from rich.console import Console

from sitefare.assumptions.library import stamp_of
from sitefare.errors import AssumptionError
from sitefare.outputs.batch import Task, documents, run_batch
from sitefare.outputs.progress import Progress
from sitefare.outputs.run_table import Run, read_runs
from sitefare.outputs.stored import Inputs, place, place_failure, read_stamp, whole
from sitefare.workers import Here, Processes

HEADER = "run,site,scenario,settings,draws,seed,documents\n"


@pytest.fixture
def console():
    return Console(file=io.StringIO(), width=100)


@pytest.fixture
def ran(tmp_path, root, console):
    """Run a table's lines into a folder."""

    def run(lines, folder="out", where=root, workers=None):
        table = tmp_path / "runs.csv"
        table.write_text(HEADER + "\n".join(lines), encoding="utf-8")
        with Progress(console) as progress:
            return run_batch(
                read_runs(table),
                tmp_path / folder,
                where / "assumptions",
                workers or Here(),
                progress,
            )

    return run


def test_a_failed_run_harms_no_other(tmp_path, ran, console):
    lines = [
        "plain,kaldre,as_planned,,0,1,no",
        "lost,nowhere,as_planned,,0,1,no",
        'dear,kaldre,as_planned,"price.feed=9 GEL/kg; wage.worker=12 GEL/h",16,1,no',
        "fatal,kaldre,as_planned,life_support.response_time=99,0,1,no",
        "few,kaldre,as_planned,,few,1,no",
        "seed,kaldre,as_planned,,0,-1,no",
        "part,kaldre,as_planned,,1.5,1,no",
        "maybe,kaldre,as_planned,,0,1,maybe",
    ]
    failed = ran(lines).failed
    assert set(failed) == {"lost", "fatal", "few", "seed", "part", "maybe"}
    assert "column draws: found 'few'" in failed["few"]
    assert "yes or no is accepted" in failed["maybe"]
    assert "site 'nowhere' is not in" in failed["lost"]
    assert "minutes" in failed["fatal"]
    frame = pd.read_parquet(tmp_path / "out" / "runs.parquet").set_index("run")
    assert list(frame["status"]) == ["done", "failed", "done", *["failed"] * 5]
    assert frame.loc["dear", "operating_cost_year"] > frame.loc["plain", "operating_cost_year"]
    found = json.loads((tmp_path / "out" / "dear" / "results.json").read_text(encoding="utf-8"))
    assert found["case"]["settings"] == ["price.feed=9 GEL/kg", "wage.worker=12 GEL/h"]
    assert sorted(p.name for p in (tmp_path / "out" / "lost").iterdir()) == ["run.json"]
    made = json.loads((tmp_path / "out" / "manifest.json").read_text(encoding="utf-8"))
    told = {line["run"]: line for line in made["runs"]}
    assert told["dear"]["input_hash"] == found["provenance"]["input_hash"]
    assert told["dear"]["seconds"] > 0
    assert told["dear"]["seed"] == 1
    assert told["dear"]["draws"] == 16
    assert {"sitefare", "numpy", "typst"} <= set(made["versions"])
    assert told["fatal"]["status"] == "failed"
    assert "appraised: 2 of 8, 6 failed" in console.file.getvalue()


def test_a_worker_that_lives_on_reads_common_tables_that_changed(tmp_path, root, ran):
    own = tmp_path / "own"
    shutil.copytree(root / "assumptions", own / "assumptions")
    line = ["plain,kaldre,as_planned,,0,1,no"]
    ran(line, "before", own)
    found = own / "assumptions" / "common" / "farm_design.csv"
    text = found.read_text(encoding="utf-8")
    assert "farm_design.service_share,1,,0.22," in text
    found.write_text(text.replace("service_share,1,,0.22", "service_share,1,,0.4"), "utf-8")
    ran(line, "after", own)
    capital = [
        json.loads((tmp_path / folder / "plain" / "results.json").read_text(encoding="utf-8"))[
            "indicators"
        ]["capex"]["value"]
        for folder in ("before", "after")
    ]
    assert capital[1] > capital[0]


def test_a_second_start_does_only_what_is_missing_or_changed(tmp_path, root, ran):
    project = tmp_path / "project"
    shutil.copytree(root / "assumptions", project / "assumptions")
    lines = [f"{site},{site},as_planned,,0,1,no" for site in ("kaldre", "norhaven", "port_anui")]
    assert ran(lines, where=project).kept == frozenset()
    assert ran(lines, where=project).kept == {"kaldre", "norhaven", "port_anui"}
    # A site's own file changed, a result cut short, a run's own line changed.
    table = project / "assumptions" / "sites" / "kaldre" / "site.csv"
    table.write_text(table.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    (tmp_path / "out" / "norhaven" / "results.json").write_text("{}", encoding="utf-8")
    again = ran([*lines[:2], "port_anui,port_anui,solar_supply,,0,1,no"], where=project)
    assert again.kept == frozenset()
    text = (tmp_path / "out" / "norhaven" / "results.json").read_text(encoding="utf-8")
    assert json.loads(text)["case"]["site"] == "norhaven"
    common = project / "assumptions" / "common" / "labour.csv"
    common.write_text(common.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert ran(lines[:2], where=project).kept == frozenset()


def contents(folder):
    """Every file of a batch by its place, times left out."""
    found = {}
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.name != "manifest.json":
            found[str(path.relative_to(folder))] = path.read_bytes()
    made = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    found["manifest"] = [{**line, "seconds": 0} for line in made["runs"]]
    return found


def test_killed_at_any_moment_it_ends_with_the_same_bytes(tmp_path, root, ran):
    lines = [f"run_{n},qasr_adhra,as_planned,,16,{n},no" for n in range(1, 7)]
    ran(lines, "whole", workers=Processes(2))
    command = [
        sys.executable, "-c", "from sitefare.cli import main; main()", "batch",
        str(tmp_path / "runs.csv"), "-o", str(tmp_path / "cut"), "--workers", "1",
    ]  # fmt: skip
    running = subprocess.Popen(command, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    for _ in range(2400):
        done = list((tmp_path / "cut").glob("*/run.json"))
        if len(done) >= 2 or running.poll() is not None:
            break
        time.sleep(0.05)
    os.kill(running.pid, signal.SIGKILL)
    running.communicate()
    assert not (tmp_path / "cut" / "runs.parquet").exists()
    for path in (tmp_path / "cut").glob("*/results.json"):
        json.loads(path.read_text(encoding="utf-8"))
    (tmp_path / "cut" / "run_6").mkdir(exist_ok=True)
    (tmp_path / "cut" / "run_6" / ".making-1-results.json").write_bytes(b"half")
    again = ran(lines, "cut", workers=Processes(2))
    assert len(again.kept) >= 2
    assert contents(tmp_path / "cut") == contents(tmp_path / "whole")


def test_a_run_that_hangs_is_stopped_at_its_limit(tmp_path, root, console):
    asked = [Run("one", "kaldre", "as_planned", (), 0, 1, documents=False)]
    with Progress(console) as progress:
        done = run_batch(
            asked, tmp_path / "out", root / "assumptions", Processes(1), progress, limit=0.05
        )
    assert done.failed == {"one": "it was stopped at its limit of 0.05 s"}
    assert read_stamp(tmp_path / "out" / "one").failure


def test_documents_without_a_kernel_are_those_of_the_proposal(proposals, written_proposal, root):
    made = proposals("qasr_adhra", "as_planned")
    run = Run("x", "qasr_adhra", "as_planned", (), made.results["provenance"]["draws"], 1,
              documents=True)  # fmt: skip
    files = documents(Task(run, root / "assumptions"))
    folder = written_proposal("qasr_adhra", "as_planned")
    assert set(files) == {path.name for path in folder.iterdir()}
    for name, content in files.items():
        assert content == (folder / name).read_bytes(), name


def test_documents_are_added_to_results_that_stand(tmp_path, root, console, monkeypatch):
    run = Run("one", "kaldre", "as_planned", (), 0, 1, documents=True)
    monkeypatch.setattr(
        "sitefare.outputs.batch.documents",
        lambda _: {"results.json": b"{}", "proposal.html": b"<html>"},
    )
    for expected in (frozenset(), {"one"}):
        with Progress(console) as progress:
            done = run_batch([run], tmp_path / "out", root / "assumptions", Here(), progress)
        assert done.kept == expected
    assert (tmp_path / "out" / "one" / "proposal.html").read_bytes() == b"<html>"


def test_what_is_placed_is_whole_and_nothing_else_stays(tmp_path, root):
    run = Run("one", "kaldre", "as_planned", (), 0, 1, documents=False)
    key = Inputs(root / "assumptions").key(run)
    folder = tmp_path / "one"
    place(folder, {"a.txt": b"12", "b.txt": b"3"}, key, documents=True)
    assert whole(folder, key, documents=True)
    place(folder, {"a.txt": b"45"}, key, documents=False)
    assert sorted(p.name for p in folder.iterdir()) == ["a.txt", "run.json"]
    assert whole(folder, key, documents=False)
    assert not whole(folder, key, documents=True)
    assert not whole(folder, "another", documents=False)
    (folder / "run.json").write_text("{", encoding="utf-8")
    assert not whole(folder, key, documents=False)


def test_no_file_of_others_is_removed_from_a_runs_folder(tmp_path):
    (tmp_path / "site.csv").write_text("mine", encoding="utf-8")
    (tmp_path / "proposal.pdf").write_bytes(b"left by a batch that was killed")
    place(tmp_path, {"results.json": b"{}"}, "key", documents=False)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["results.json", "run.json", "site.csv"]
    place_failure(tmp_path, "key", "why")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["run.json", "site.csv"]


def test_a_weather_file_below_a_sites_folder_is_an_input(tmp_path, root):
    folder = shutil.copytree(root / "assumptions", tmp_path / "assumptions")
    run = Run("one", "kaldre", "as_planned", (), 0, 1, documents=False)
    hours = folder / "sites" / "kaldre" / "hours" / "x.epw"
    hours.parent.mkdir()
    hours.write_text("one", encoding="utf-8")
    before, stamp = Inputs(folder).key(run), stamp_of(folder)
    hours.write_text("two", encoding="utf-8")
    assert Inputs(folder).key(run) != before
    assert stamp_of(folder) != stamp


def test_a_run_may_name_its_design_and_the_language_of_its_documents(tmp_path, root):
    table = tmp_path / "runs.csv"
    head = HEADER.replace("documents", "documents,language,design")
    lines = "a,k,s,,0,1,yes,fr,rafts_300\nb,k,s,,0,1,no,,\nc,k,s,,0,1,yes,xx,\n"
    table.write_text(head + lines, encoding="utf-8")
    runs = read_runs(table)
    assert [(run.language, run.design) for run in runs] == [
        ("fr", "rafts_300"), ("en", ""), ("en", ""),
    ]  # fmt: skip
    assert [bool(run.wrong) for run in runs] == [False, False, True]
    assert "language 'xx' has no catalogue" in runs[2].wrong
    inputs = Inputs(root / "assumptions")
    french, english = (replace(runs[1], language=word) for word in ("fr", "en"))
    assert inputs.key(french) != inputs.key(english)
    assert inputs.key(runs[0]) != inputs.key(replace(runs[0], design=""))


def test_assumptions_may_stand_anywhere(tmp_path, root, console):
    own = shutil.copytree(root / "assumptions", tmp_path / "elsewhere" / "numbers")
    (own / "sites" / "kaldre").rename(own / "sites" / "moved")
    asked = [Run("one", "moved", "as_planned", (), 0, 1, documents=False)]
    with Progress(console) as progress:
        assert run_batch(asked, tmp_path / "out", own, Here(), progress).failed == {}
    found = json.loads((tmp_path / "out" / "one" / "results.json").read_text(encoding="utf-8"))
    assert found["case"]["site"] == "moved"


def test_the_page_is_there_when_the_batch_is_done_and_not_before(tmp_path, ran, monkeypatch):
    lines = ["plain,kaldre,as_planned,,0,1,no", "lost,nowhere,as_planned,,0,1,no"]
    ran(lines)
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert "1 of 2 runs done, 1 failed" in page
    assert 'href="./plain/results.json"' in page

    def killed(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("sitefare.outputs.batch.index_page", killed)
    with pytest.raises(KeyboardInterrupt):
        ran(lines)
    assert not (tmp_path / "out" / "index.html").exists()
    monkeypatch.undo()
    ran(lines)
    assert (tmp_path / "out" / "index.html").read_text(encoding="utf-8") == page


BAD = {
    "unknown column": ("run,site,scenario,set,draws,seed,documents\n", "column 'set' is not known"),
    "name twice": (HEADER + "a,k,s,,0,1,no\na,k,s,,0,1,no\n", "a name of its own"),
    "name of a file of ours": (
        HEADER + "Index.html,k,s,,0,1,no\n",
        "the batch's own file is called",
    ),
    "name leaves the folder": (HEADER + "../a,k,s,,0,1,no\n", "a name of letters"),
}


@pytest.mark.parametrize(("body", "message"), BAD.values(), ids=BAD.keys())
def test_a_bad_table_is_refused(tmp_path, body, message):
    table = tmp_path / "runs.csv"
    table.write_text(body, encoding="utf-8")
    with pytest.raises(AssumptionError) as refusal:
        read_runs(table)
    assert message in str(refusal.value)
