"""The command line answers, and refuses in one sentence with a non-zero exit."""

import csv
import io
import json
import os
import re
import signal
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass

import pytest

from sitefare import cli


@dataclass(frozen=True)
class Done:
    """What a command left: its exit code and what it printed."""

    returncode: int
    stdout: str
    stderr: str


@pytest.fixture
def sitefare(root, monkeypatch):
    """Run a command in the project's root, in this process; others below start their own."""

    def run(*words, cwd=root):
        monkeypatch.chdir(cwd)
        monkeypatch.setattr(sys, "argv", ["sitefare", *words])
        printed, told = io.StringIO(), io.StringIO()
        with redirect_stdout(printed), redirect_stderr(told):
            try:
                code = cli.guarded(cli.app)
            except SystemExit as stop:
                code = stop.code or 0
        return Done(code, printed.getvalue(), told.getvalue())

    return run


def test_appraise_prints_indicators(sitefare):
    done = sitefare("appraise", "qasr_adhra")
    assert done.returncode == 0, done.stderr
    assert "People fed" in done.stdout
    assert "Demonstration data" in done.stdout


def test_json_is_what_results_holds_and_repeats_to_the_byte(sitefare):
    first, second = (
        sitefare("appraise", "port_anui", "--draws", "64", "--json").stdout for _ in range(2)
    )
    assert first == second
    found = json.loads(first)
    assert found["schema_version"]
    entry = found["indicators"]["cost_per_person_day"]
    assert set(entry) >= {"value", "unit", "low", "high", "ration"}
    assert found["indicators"]["payback_years"]["reason"]
    assert found["provenance"]["draws"] == 64


def test_design_and_register(sitefare):
    sizes = sitefare("design", "kaldre")
    assert sizes.returncode == 0
    assert "Bed area" in sizes.stdout
    listed = sitefare("register", "kaldre", "--find", "price.feed")
    assert "price.feed" in listed.stdout
    assert "site kaldre" in listed.stdout.replace("\n", " ")


def test_register_reads_back_as_csv(sitefare, tmp_path):
    target = tmp_path / "register.csv"
    assert sitefare("register", "kaldre", "--csv", str(target)).returncode == 0
    lines = target.read_text(encoding="utf-8-sig").splitlines()
    assert lines[0].startswith("name,unit,low,base,high,varies,layer,source")
    assert len(lines) > 500


def test_check_finds_the_shipped_files_sound(sitefare):
    done = sitefare("check")
    assert done.returncode == 0, done.stderr
    assert "site qasr_adhra: sound" in done.stdout


def test_check_tells_a_refused_scenario_once(sitefare, own_assumptions):
    broken = own_assumptions / "scenarios" / "as_planned.csv"
    broken.write_text("name\n", encoding="utf-8")
    (own_assumptions / "sites" / ".hidden").mkdir()
    done = sitefare("check", "--assumptions", str(own_assumptions))
    assert done.returncode == 1
    assert done.stderr.count("refused") == 0
    assert len(done.stderr.splitlines()) == 1
    assert done.stderr.startswith("scenario as_planned: scenarios/as_planned.csv line 1")
    assert "site qasr_adhra: sound" in done.stdout


REFUSED = {
    "unknown site": (
        ("appraise", "qasr"),
        "site 'qasr' is not in assumptions/sites; those there are kaldre, norhaven",
    ),
    "unknown scenario": (
        ("appraise", "kaldre", "--scenario", "as_plan"),
        "'as_plan' is not in assumptions/scenarios; the nearest known name is 'as_planned'",
    ),
    "unknown row": (("appraise", "kaldre", "--set", "price.fed=1 USD/kg"), "nearest known name"),
    "odd draws": (("appraise", "kaldre", "--draws", "100"), "power of two"),
    "seed": (("appraise", "kaldre", "--seed", "-1"), "seed must be a whole number from 0"),
    "too many draws": (("appraise", "kaldre", "--draws", "2097152"), "at most 1,048,576"),
    "language": (
        ("propose", "kaldre", "-o", "x", "--language", "xx"),
        "language 'xx' has no catalogue; en, ar, fr are accepted",
    ),
    "empty output": (("propose", "kaldre", "-o", ""), "give a folder to write into"),
    "file as output": (("propose", "kaldre", "-o", "README.md"), "README.md is a file"),
    "currency": (("appraise", "kaldre", "--set", "economy.currency=gel"), "no ISO 4217 code"),
    "infinite": (("appraise", "kaldre", "--set", "crop.chard.cull=1e999"), "at most 1e+12"),
    "path as site": (("appraise", "../common"), "is not in assumptions/sites"),
    "essential": (("appraise", "kaldre", "--set", "bill.alarm.price=0 USD"), "essential"),
    "nobody near": (("design", "kaldre", "--set", "life_support.response_time=60"), "minutes"),
    "one site": (("compare", "kaldre", "-o", "x"), "two or more different sites"),
    "no place to write": (("compare", "kaldre", "norhaven"), "give a folder to write into with -o"),
    "unknown design": (
        ("compare", "kaldre", "norhaven", "-o", "x", "--design", "raft_300"),
        "the nearest known name is 'rafts_300'",
    ),
    "unknown figure": (
        ("compare", "kaldre", "norhaven", "--json", "--by", "nvp"),
        "the nearest known name is 'npv'",
    ),
    "the same alternative twice": (
        ("compare", "kaldre", "--json", "--design", "", "--design", "rafts_300", "--design", ""),
        "an alternative stands once in a comparison; twice or more: kaldre/as_planned",
    ),
    "a weight without a number": (
        ("compare", "kaldre", "norhaven", "--json", "--weight", "people"),
        "--weight people: write criterion=number",
    ),
    "a weight of nothing known": (
        ("compare", "kaldre", "norhaven", "--json", "--weight", "peeple=2"),
        "the nearest known name is 'people'",
    ),
    "runs and sites": (
        ("compare", "kaldre", "--json", "--runs", "runs.csv"),
        "leave out sites",
    ),
    "no runs": (("batch", "nowhere.csv", "-o", "x"), "nowhere.csv"),
}


@pytest.mark.parametrize(("words", "sentence"), REFUSED.values(), ids=REFUSED.keys())
def test_refusals_are_one_sentence(sitefare, words, sentence, tmp_path):
    words = [str(tmp_path / "x") if word == "x" else word for word in words]
    done = sitefare(*words)
    assert done.returncode == 1
    assert sentence in done.stderr.replace("\n", " ")
    assert "Traceback" not in done.stderr + done.stdout


def test_plain_terminals_are_served(root):
    environment = {
        "PATH": "/usr/bin:/bin",
        "LC_ALL": "C",
        "PYTHONUTF8": "0",
        "PYTHONIOENCODING": "ascii",
    }
    command = [sys.executable, "-c", "from sitefare.cli import main; main()", "design", "kaldre"]
    done = subprocess.run(
        command, cwd=root, capture_output=True, text=True, check=False, env=environment
    )
    assert done.returncode == 0, done.stderr


def test_ctrl_c_stops_with_a_word(root):
    code = (
        # Whoever runs the tests may ignore the signal, which a command at a terminal never does.
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
        "import sitefare.cli as cli, time; print('up', flush=True); "
        "cli.library = lambda folder: time.sleep(60); cli.main()"
    )
    running = subprocess.Popen(
        [sys.executable, "-c", code, "check"],
        cwd=root, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert running.stdout.readline() == "up\n"
    import time  # noqa: PLC0415

    time.sleep(1)
    os.kill(running.pid, signal.SIGINT)
    _, errors = running.communicate(timeout=20)
    assert running.returncode == 130
    assert errors == "sitefare: stopped\n"


def test_narrow_terminals_keep_whole_numbers():
    from rich.console import Console  # noqa: PLC0415

    from sitefare.outputs.terminal import indicator_table, print_whole  # noqa: PLC0415

    entry = {"value": -7123456, "low": -98765432, "high": 1234567, "unit": "GEL"}
    share = {"value": 0.087, "low": 0.042, "high": 0.109, "unit": "1"}
    fed = {"value": 41.3, "low": 16, "high": 45, "unit": "person", "ration": "vegetables"}
    found = {
        "case": {
            "site": "s",
            "design": "",
            "scenario": "as_planned",
            "appraisal_date": "2027-01",
            "demonstration_data": False,
        },
        "provenance": {"draws": 8},
        "indicators": {"people_fed": fed, "npv": entry, "operating_cost_recovery": share},
    }
    console = Console(file=io.StringIO(), width=40)
    print_whole(console, indicator_table(found))
    text = console.file.getvalue()
    assert "-7,120,000" in text
    assert "-98,800,000" in text
    assert "8.7 " in text
    assert "ration vegetables" in text.replace("\n", " ")


def test_cells_of_an_export_are_no_formulas():
    from sitefare.outputs.register import inert  # noqa: PLC0415

    assert inert("=1+1") == "'=1+1"
    assert inert("@x") == "'@x"
    assert inert("-3.5") == "-3.5"


def test_find_says_when_nothing_holds_the_text(sitefare):
    done = sitefare("register", "kaldre", "--find", "zzzz")
    assert done.returncode == 1
    assert "no name holds 'zzzz'" in done.stderr


def test_mistyped_command_exits_two(sitefare):
    done = sitefare("apprise", "kaldre")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_outside_a_project_it_says_where_to_go(sitefare, tmp_path):
    done = sitefare("appraise", "kaldre", cwd=tmp_path)
    assert done.returncode == 1
    assert "run sitefare inside a checkout" in done.stderr.replace("\n", " ")


@pytest.fixture
def own_assumptions(root, tmp_path):
    """A copy of the shipped assumptions that a test may change."""
    import shutil  # noqa: PLC0415

    return shutil.copytree(root / "assumptions", tmp_path / "assumptions")


def test_new_site_asks_at_most_25_facts_and_reads_back(sitefare, own_assumptions):
    done = sitefare("new", "north_shore", "--assumptions", str(own_assumptions))
    assert done.returncode == 0, done.stderr
    folder = own_assumptions / "sites" / "north_shore"
    form = (folder / "FORM.md").read_text(encoding="utf-8")
    asked = int(form.split("facts.")[0].split()[-1])
    assert asked <= 25
    # Blank cells are refused in a sentence until they are filled …
    done = sitefare("check", "--assumptions", str(own_assumptions))
    assert done.returncode == 1
    assert re.search(
        r"site 'north_shore': 47 of \d+ lines are not filled in yet \(climate.temperature, "
        r"climate.temperature_range, climate.humidity …\); FORM.md in its folder asks for them",
        done.stderr,
    )
    # … neither source nor basis is filled in for anybody …
    assert "judgement" not in (folder / "site.csv").read_text(encoding="utf-8-sig")
    # … a document not held needs no other source, and a food stands in one line …
    with (folder / "evidence.csv").open(encoding="utf-8-sig", newline="") as file:
        assert all(line["source"] and line["basis"] for line in csv.DictReader(file))
    with (folder / "local_price.csv").open(encoding="utf-8-sig", newline="") as file:
        foods = [line["key"] for line in csv.DictReader(file)]
    assert len(foods) == len(set(foods))
    # … and filled ones read back: another site's answers fit the same tables.
    filled = own_assumptions / "sites" / "kaldre"
    for name in ("site.csv", "climate.csv", "population.csv", "local_price.csv"):
        assert (folder / name).exists()
        (folder / name).write_bytes((filled / name).read_bytes())
    (folder / "evidence.csv").unlink(missing_ok=True)
    done = sitefare("appraise", "north_shore", "--assumptions", str(own_assumptions))
    assert done.returncode == 0, done.stderr


def test_new_refuses_a_site_that_exists(sitefare, own_assumptions):
    done = sitefare("new", "kaldre", "--assumptions", str(own_assumptions))
    assert done.returncode == 1
    assert "site 'kaldre' exists already" in done.stderr
    assert sitefare("new", "../x", "--assumptions", str(own_assumptions)).returncode == 1


def test_explain_prints_terms_rows_and_a_chart(sitefare, tmp_path):
    chart = tmp_path / "npv.svg"
    done = sitefare("explain", "port_anui", "npv", "--chart", str(chart))
    assert done.returncode == 0, done.stderr
    assert "price.feed" in done.stdout
    assert "Sum" in done.stdout
    assert chart.read_text(encoding="utf-8").startswith("<svg")
    refused = sitefare("explain", "port_anui", "nvp")
    assert refused.returncode == 1
    assert "'nvp' is not an indicator" in refused.stderr


def test_register_stands_in_whole_lines_where_no_terminal_shows_it(sitefare):
    done = sitefare("register", "kaldre", "--find", "crop.lettuce.cull")
    lines = done.stdout.splitlines()
    assert len(lines) == 2
    assert lines[1].split()[0] == "crop.lettuce.cull"


def test_the_house_style_is_handed_out_once_and_wears(sitefare, tmp_path):
    target = tmp_path / "agency.docx"
    assert sitefare("house-style", str(target)).returncode == 0
    again = sitefare("house-style", str(target))
    assert again.returncode == 1
    assert "is there already" in again.stderr
    made = sitefare("design", "kaldre", "-o", str(tmp_path / "out"), "--house-style", str(target))
    assert made.returncode == 0, made.stderr
    assert (tmp_path / "out" / "design.docx").stat().st_size > 10_000


@pytest.mark.parametrize("command", [("propose", "kaldre"), ("compare", "kaldre", "norhaven")])
def test_a_house_style_is_refused_before_any_work(sitefare, tmp_path, command):
    wrong = tmp_path / "wrong.docx"
    wrong.write_text("words", encoding="utf-8")
    done = sitefare(*command, "-o", str(tmp_path / "out"), "--house-style", str(wrong))
    assert done.returncode == 1
    assert done.stderr == "sitefare: the house style wrong.docx is not a Word document (.docx)\n"
    assert not (tmp_path / "out").exists()


def test_compare_prints_the_numbers_of_every_alternative(sitefare, tmp_path):
    words = ("compare", "kaldre", "--design", "", "--design", "media_beds_200", "--draws", "4")
    done = sitefare(*words, "--json", "--by", "capex", "--weight", "people=40", "--workers", "1")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["by"] == "capex"
    assert found["unit"] == "USD"
    assert [x["design"] for x in found["order"]] == ["media_beds_200", ""]
    values = [x["value"] for x in found["order"]]
    assert values == sorted(values)
    told = [json.loads(line) for line in done.stderr.splitlines()]
    assert {x["stage"] for x in told} >= {"Alternatives appraised"}
    assert told[-1]["done"] == told[-1]["total"]
    assert not list(tmp_path.iterdir())


def test_compare_goes_on_past_what_cannot_be_built_and_says_so(sitefare):
    words = ("compare", "port_anui", "norhaven", "--draws", "0", "--json", "--workers", "1")
    done = sitefare(*words, "--set", "farm_design.species=trout")
    assert done.returncode == 1
    found = json.loads(done.stdout)
    assert list(found["refused"]) == ["port_anui/as_planned/farm_design.species=trout"]
    assert [x["site"] for x in found["order"]] == ["norhaven"]
    assert all(json.loads(line) for line in done.stderr.splitlines())


def test_compare_reads_a_table_of_runs_and_any_assumptions(sitefare, own_assumptions, tmp_path):
    runs = tmp_path / "runs.csv"
    runs.write_text(
        "run,site,scenario,settings,draws,seed,documents\n"
        "plain,kaldre,as_planned,,0,1,no\n"
        "culled,kaldre,as_planned,crop.lettuce.cull=0.3,0,1,no\n",
        encoding="utf-8",
    )
    words = ("compare", "--runs", str(runs), "--draws", "0", "--json", "--by", "people_fed")
    done = sitefare(*words, "--assumptions", str(own_assumptions))
    assert done.returncode == 0, done.stderr
    assert [x["title"] for x in json.loads(done.stdout)["order"]] == ["plain", "culled"]


def test_choose_finds_farms_for_a_budget(sitefare):
    words = ("choose", "kaldre", "qasr_adhra", "--basis", "base", "--bed-area", "300")
    done = sitefare(*words, "--bed-area", "500", "--budget", "1000000", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["best"]["capital"] <= 1_000_000
    assert found["best"]["people_fed"] == max(
        one["people_fed"] for one in (found["best"], *found["next_best"])
    )
    assert [x["title"] for x in found["limits"]] == ["Budget"]
    shown = sitefare(*words, "--budget", "1000000")
    assert "Most people fed, counted by the base case" in " ".join(shown.stdout.split())
    assert shown.stdout.startswith("People by 200 g of vegetables and 30 g of fish fillet a person")


CHOOSE_REFUSED = {
    "no draws": (("kaldre", "--draws", "0"), "--basis mean needs draws"),
    "budget": (("kaldre", "--budget", "nan"), "--budget takes a number from 0; found nan"),
    "people": (
        ("kaldre", "--least-people", "-1"),
        "--least-people takes a number from 0; found -1",
    ),
    "others": (("kaldre", "--others", "-1"), "--others takes a whole number from 0; found -1"),
    "region elsewhere": (
        ("kaldre", "--region", "kaldr=hills"),
        "'kaldr' is not among the sites given; the nearest known name is 'kaldre'",
    ),
    "region": (("kaldre", "--region", "kaldre"), "--region kaldre: write NAME=value"),
    "limit name": (("kaldre", "--limit", "hills.people=3"), "write REGION.NAME=number"),
    "limit number": (("kaldre", "--limit", "h.least_people=few"), "found 'few'"),
    "no region": (
        ("kaldre", "--basis", "base", "--limit", "h.least_people=3"),
        "region 'h' has no site; regions of the sites: none has one",
    ),
    "too few people": (
        ("kaldre", "--basis", "base", "--least-people", "9000"),
        "people in all asks 9,000",
    ),
}


@pytest.mark.parametrize(("words", "said"), CHOOSE_REFUSED.values(), ids=CHOOSE_REFUSED.keys())
def test_choose_refuses_in_a_sentence(sitefare, words, said):
    done = sitefare("choose", *words)
    assert done.returncode == 1
    assert said in done.stderr.replace("\n", " ")
