"""A design is a farm laid over a site's own: under the scenario, in US dollars, and told."""

import shutil
from dataclasses import replace

import pytest

from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import read_library
from sitefare.errors import AssumptionError
from sitefare.outputs.checking import check_all
from sitefare.outputs.run_table import read_runs
from sitefare.outputs.stored import Inputs
from sitefare.sizing import plan_for

DESIGN = "rafts_300"
HEAD = "name,unit,low,base,high,varies,source,locator,as_of,basis,note\n"


@pytest.fixture
def own(root, tmp_path):
    """A copy of the shipped assumptions that a test may change."""
    return shutil.copytree(root / "assumptions", tmp_path / "assumptions")


def test_a_design_replaces_the_sites_rows_and_the_scenario_those_of_the_design(own):
    changed = own / "designs" / f"{DESIGN}.csv"
    with changed.open("a", encoding="utf-8") as file:
        file.write("capital.design,1,,0.11,,,judgement,,,judgement,\n")
    library = read_library(own)
    plain, laid = (make_case(library, "kaldre", "as_planned", design=d) for d in ("", DESIGN))
    assert plain.rows["size.bed_area"].base == 500
    assert laid.rows["size.bed_area"].base == 300
    assert laid.rows["size.bed_area"].layer == f"design {DESIGN}"
    assert laid.rows["capital.design"].base == 0.11
    over = make_case(library, "kaldre", "low_cost_build", design=DESIGN)
    assert over.rows["capital.design"].layer == "scenario low_cost_build"
    assert laid.variant == "rafts 300, as planned"
    assert plain.variant == "as planned"


@pytest.mark.parametrize("design", ["media_beds_200", "rafts_300", "rafts_900"])
@pytest.mark.parametrize("site", ["kaldre", "norhaven", "port_anui", "qasr_adhra"])
def test_every_design_stands_at_every_site(library, site, design):
    made = plan_for(make_case(library, site, "as_planned", design=design))
    assert made.design.bed_area == float(design.rpartition("_")[2])


def test_a_range_of_a_design_is_drawn_once_for_all_sites(library):
    case = make_case(library, "kaldre", "as_planned", design=DESIGN)
    assert case.key("size.bed_area") == "size.bed_area"
    assert case.key("wage.worker") == "wage.worker@kaldre"


def test_inputs_hash_and_key_follow_the_design_and_its_file(own):
    runs_file = own.parent / "runs.csv"
    runs_file.write_text(
        "run,site,design,scenario,settings,draws,seed,documents\n"
        "a,kaldre,,as_planned,,64,1,no\n"
        f"b,kaldre,{DESIGN},as_planned,,64,1,no\n"
    )
    a, b = read_runs(runs_file)
    assert (a.design, b.design) == ("", DESIGN)
    before = {run.name: Inputs(own).key(run) for run in (a, b)}
    assert before["a"] != before["b"]
    hashes = {d: make_case(read_library(own), "kaldre", "as_planned", design=d).input_hash
              for d in ("", DESIGN)}  # fmt: skip
    with (own / "designs" / f"{DESIGN}.csv").open("a", encoding="utf-8") as file:
        file.write("farm_design.tank_depth,m,,1.1,,,judgement,,,judgement,\n")
    after = {run.name: Inputs(own).key(run) for run in (a, b)}
    assert after["a"] == before["a"]
    assert after["b"] != before["b"]
    assert Inputs(own).key(replace(b, design="")) == before["a"]
    library = read_library(own)
    assert make_case(library, "kaldre", "as_planned").input_hash == hashes[""]
    assert make_case(library, "kaldre", "as_planned", design=DESIGN).input_hash != hashes[DESIGN]


def test_a_run_table_without_the_column_reads_as_before(tmp_path):
    path = tmp_path / "runs.csv"
    path.write_text("run,site,scenario,settings,draws,seed,documents\na,b,c,,64,1,no\n")
    assert read_runs(path)[0].design == ""


REFUSED = {
    "unknown": (None, "design 'barge' is not in assumptions/designs"),
    "money of a site": (
        HEAD + "price.feed,GEL/kg,,4,,,judgement,,2026,judgement,\n",
        "designs/barge.csv line 2: price.feed is in GEL; a design uses USD",
    ),
    "unknown row": (
        HEAD + "farm_design.bedd,choice,,raft,,,judgement,,,judgement,\n",
        "designs/barge.csv line 2, column name: found 'farm_design.bedd'",
    ),
}


@pytest.mark.parametrize("which", REFUSED)
def test_a_broken_design_is_refused_in_one_sentence(own, which):
    text, words = REFUSED[which]
    if text is not None:
        (own / "designs" / "barge.csv").write_text(text)
    with pytest.raises(AssumptionError) as told:
        make_case(read_library(own), "kaldre", "as_planned", design="barge")
    assert words in str(told.value)
    if text is not None:
        found = [x.text for x in check_all(read_library(own)) if x.refused]
        assert len(found) == 1
        assert words in found[0]
