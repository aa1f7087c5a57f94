"""Sites are gated, then ranked by cost over the local price, on common draws."""

import pytest

from sitefare.errors import RunError
from sitefare.outputs.comparison import make_comparison
from sitefare.outputs.page import page
from sitefare.outputs.runs import run_notebook

from .reading import assert_reads_back

SITES = ["qasr_adhra", "port_anui", "kaldre", "norhaven"]


@pytest.fixture(scope="module")
def made(root):
    return make_comparison(SITES, "as_planned", draws=64, root=root)


def test_ranks_follow_the_ratio_among_sites_whose_gates_are_open(made):
    ranked = [line for line in made.lines if line.rank]
    assert [line.rank for line in ranked] == list(range(1, len(ranked) + 1))
    ratios = [line.ratio for line in ranked]
    assert ratios == sorted(ratios)
    assert all(not line.shut for line in ranked)


def test_a_shut_gate_keeps_a_site_out_of_the_ranking(root):
    found = make_comparison(
        ["kaldre", "port_anui"],
        "as_planned",
        ["evidence.tenure.status=missing"],
        draws=0,
        root=root,
    )
    assert all(line.rank == 0 for line in found.lines)
    assert "Not ranked while a gate is shut" in page(found.document)


def test_a_site_that_cannot_be_built_bars_no_other(root):
    # Trout die in the island's water; the cool warehouse can keep them.
    found = make_comparison(SITES, "as_planned", ["farm_design.species=trout"], draws=0, root=root)
    assert "port_anui" in found.results["refused"]
    assert "norhaven" in found.results["sites"]
    assert "Cannot be built or run safely" in page(found.document)


def test_common_rows_share_their_draws(made):
    chances = [line.chance_best for line in made.lines]
    assert sum(chances) == pytest.approx(1.0)


def test_order_of_naming_does_not_matter(root, made):
    again = make_comparison(SITES[::-1], "as_planned", draws=64, root=root)
    assert [x.appraisal.case.site for x in again.lines] == [
        x.appraisal.case.site for x in made.lines
    ]
    assert again.results == made.results


@pytest.mark.parametrize("sites", [["kaldre"], ["kaldre", "kaldre"], []])
def test_fewer_than_two_sites_are_refused(root, sites):
    with pytest.raises(RunError, match="two or more different sites"):
        make_comparison(sites, "as_planned", draws=0, root=root)


def test_the_notebook_writes_its_documents(root, tmp_path):
    notebook = root / "notebooks" / "comparison.ipynb"
    parameters = {"sites": ["kaldre", "norhaven"], "scenario": "low_cost_build", "draws": 16}
    run_notebook(notebook, parameters, tmp_path)
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == [
        "comparison.docx",
        "comparison.html",
        "comparison.ipynb",
        "comparison.json",
        "comparison.pdf",
    ]


@pytest.mark.parametrize(("width", "colours"), [(1280, "light"), (390, "dark")])
def test_its_page_reads_back_and_passes_an_audit(made, visit, audit, width, colours):
    document = made.document
    reader = visit(page(document), width, color_scheme=colours)
    assert_reads_back(document, reader)
    assert reader.evaluate("document.documentElement.scrollWidth") <= width
    assert audit(reader) == []
