"""The runner refuses what a notebook does not take, and leaves whole files or none."""

import json
import re
import subprocess
import sys

import nbformat
import pytest

from sitefare.errors import RunError
from sitefare.outputs.runs import (
    checked_parameters,
    declared_parameters,
    remove_abandoned,
    run_notebook,
    tidy_notebook,
)


@pytest.fixture(scope="module")
def notebook(root):
    return root / "notebooks" / "proposal.ipynb"


def test_parameters_are_read_from_their_cell(notebook):
    assert declared_parameters(notebook) == {
        "site": "qasr_adhra", "scenario": "as_planned", "design": "", "settings": [],
        "draws": 2048, "seed": 1, "language": "en", "house_style": "", "assumptions": "",
        "output_folder": "",
    }  # fmt: skip


FEED = "price.feed=1.4 EUR/kg"

BAD = {
    "unknown": (
        {"sight": "kaldre"},
        "parameter 'sight' is not known; the nearest known name is 'site'",
    ),
    "text for a number": ({"draws": "64"}, "draws takes a value of type int; found '64'"),
    "truth for a number": ({"draws": True}, "draws takes a value of type int; found True"),
    "number for text": ({"site": 3}, "site takes a value of type str; found 3"),
    "tuple for a list": ({"settings": ("a=1",)}, "settings takes a value of type list"),
    "list of numbers": ({"settings": [1]}, "settings takes a list of text"),
}


@pytest.mark.parametrize(("given", "message"), BAD.values(), ids=BAD.keys())
def test_a_wrong_parameter_is_refused(notebook, given, message):
    with pytest.raises(RunError) as refusal:
        checked_parameters(notebook, given)
    assert message in str(refusal.value)


@pytest.fixture(scope="module")
def cells_told():
    """Title and number of cells told of, and how many have ended."""
    return []


@pytest.fixture(scope="module")
def ran(notebook, tmp_path_factory, cells_told):
    """The proposal notebook run with parameters that are not its defaults."""
    folder = tmp_path_factory.mktemp("proposal")
    parameters = {
        "site": "norhaven", "scenario": "solar_supply", "settings": [FEED], "draws": 32, "seed": 7,
        "language": "fr",
    }  # fmt: skip

    def stage(title, total):
        cells_told[:] = [title, total, 0]

        def ended(failed=False, count=1):  # noqa: FBT002
            cells_told[2] += 0 if failed else count

        return ended

    run_notebook(notebook, parameters, folder, stage)
    return folder


def test_the_runner_tells_of_every_cell(ran, cells_told):
    cells = len(nbformat.read(ran / "proposal.ipynb", as_version=4).cells)
    assert cells_told == ["cells of the notebook", cells, cells]


def test_all_documents_appear_and_nothing_else(ran):
    names = sorted(path.name for path in ran.iterdir())
    assert names == [
        "proposal.docx",
        "proposal.html",
        "proposal.ipynb",
        "proposal.pdf",
        "results.json",
        "workbook.xlsx",
    ]


def test_the_notebook_ran_with_what_it_was_given(ran, root):
    found = json.loads((ran / "results.json").read_text(encoding="utf-8"))
    assert found["case"]["site"] == "norhaven"
    assert found["case"]["settings"] == [FEED]
    assert found["provenance"]["seed"] == 7
    command = [
        sys.executable, "-c", "from sitefare.cli import main; main()", "appraise", "norhaven",
        "--scenario", "solar_supply", "--set", FEED, "--draws", "32", "--seed", "7",
        "--json",
    ]  # fmt: skip
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)
    assert done.stdout == (ran / "results.json").read_text(encoding="utf-8")


def test_numbers_follow_the_language(ran):
    html = (ran / "proposal.html").read_text(encoding="utf-8")
    assert re.search(r"\d,\d\d\xa0EUR/kg", html)
    assert not re.search(r"\d\.\d\d\xa0EUR/kg", html)


def test_the_notebook_shows_charts_offline_and_no_machine(ran, root):
    notebook = nbformat.read(ran / "proposal.ipynb", as_version=4)
    bundles = [
        o.data for c in notebook.cells if c.cell_type == "code" for o in c.outputs if "data" in o
    ]
    charts = [data for data in bundles if "image/png" in data]
    assert len(charts) >= 9
    text = (ran / "proposal.ipynb").read_text(encoding="utf-8")
    assert str(root) not in text
    assert str(ran) not in text
    assert "papermill" not in notebook.metadata


def test_a_failing_cell_leaves_no_file(notebook, tmp_path):
    with pytest.raises(RunError, match=r"proposal.ipynb: site 'nowhere' is not in"):
        run_notebook(notebook, {"site": "nowhere"}, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_plain_papermill_runs_it_too(notebook, tmp_path, root):
    target = tmp_path / "ran.ipynb"
    command = [
        sys.executable, "-m", "papermill", str(notebook), str(target), "-p", "site", "kaldre",
        "-p", "draws", "0", "--cwd", str(root / "notebooks"), "--no-progress-bar",
    ]  # fmt: skip
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Kaldre" in target.read_text(encoding="utf-8")


def test_two_runs_at_once_do_not_meet(notebook, tmp_path, root):
    code = (
        "import sys; from pathlib import Path; from sitefare.outputs.runs import run_notebook; "
        "run_notebook(Path(sys.argv[1]), {'site': sys.argv[2], 'draws': 0}, Path(sys.argv[3]))"
    )
    sites = ("kaldre", "port_anui")
    started = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(notebook), site, str(tmp_path / site)],
            cwd=root, stderr=subprocess.PIPE, text=True,
        )
        for site in sites
    ]  # fmt: skip
    errors = [run.communicate(timeout=300)[1] for run in started]
    assert [run.returncode for run in started] == [0, 0], errors
    for site in sites:
        found = json.loads((tmp_path / site / "results.json").read_text(encoding="utf-8"))
        assert found["case"]["site"] == site
    assert not list(root.glob("kernel-ipc*"))


def test_the_cell_of_what_was_given_keeps_its_name(tmp_path):
    texts = []
    for name in ("a", "b"):
        cell = nbformat.v4.new_code_cell(
            'house_style = "/y"\noutput_folder = "/x"', id=f"run-{name}"
        )
        cell.metadata["tags"] = ["injected-parameters"]
        nbformat.write(nbformat.v4.new_notebook(cells=[cell]), tmp_path / name)
        tidy_notebook(tmp_path / name)
        texts.append((tmp_path / name).read_bytes())
    assert texts[0] == texts[1]
    assert b"/x" not in texts[0]
    assert b"/y" not in texts[0]


def test_what_a_killed_run_left_is_removed(tmp_path):
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    left = tmp_path / f".making-{dead.pid}-x"
    left.mkdir()
    (left / "proposal.pdf").write_text("half", encoding="utf-8")
    remove_abandoned(tmp_path)
    assert not left.exists()
