"""A batch goes on past a failed run and says which failed and why."""

import io
import json

import pandas as pd
import pytest
from rich.console import Console

from sitefare.errors import AssumptionError
from sitefare.outputs.batch import read_runs, run_batch

HEADER = "run,site,scenario,settings,draws,seed,documents\n"


@pytest.fixture
def console():
    return Console(file=io.StringIO(), width=100)


def test_a_failed_run_harms_no_other(tmp_path, root, console):
    table = tmp_path / "runs.csv"
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
    table.write_text(HEADER + "\n".join(lines), encoding="utf-8")
    failed = run_batch(table, tmp_path / "out", root, console)
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
    assert not (tmp_path / "out" / "lost").exists()


BAD = {
    "unknown column": ("run,site,scenario,set,draws,seed,documents\n", "column 'set' is not known"),
    "name twice": (HEADER + "a,k,s,,0,1,no\na,k,s,,0,1,no\n", "a name of its own"),
    "name leaves the folder": (HEADER + "../a,k,s,,0,1,no\n", "a name of letters"),
}


@pytest.mark.parametrize(("body", "message"), BAD.values(), ids=BAD.keys())
def test_a_bad_table_is_refused(tmp_path, body, message):
    table = tmp_path / "runs.csv"
    table.write_text(body, encoding="utf-8")
    with pytest.raises(AssumptionError) as refusal:
        read_runs(table)
    assert message in str(refusal.value)
