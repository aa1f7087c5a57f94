"""Alternatives are gated, then put in order on common draws; document and files say the same."""

import io
import json
import re
import subprocess
from dataclasses import replace

import nbformat
import numpy as np
import pandas as pd
import pytest
from docx import Document as WordDocument

from sitefare.errors import AssumptionError, DesignError, RunError
from sitefare.outputs.comparison import (
    Appraised,
    as_lines,
    keep,
    make_comparison,
    of_appraised,
    of_runs,
    stated_weights,
)
from sitefare.outputs.comparison.files import frame_of
from sitefare.outputs.document import Bullets, Figure, Paragraph, Table
from sitefare.outputs.docx_document import word
from sitefare.outputs.numbers import NBSP
from sitefare.outputs.page import page
from sitefare.outputs.pdf import pdf
from sitefare.outputs.results import as_json
from sitefare.outputs.runs import run_notebook
from sitefare.questions.alternatives import Alternative
from sitefare.questions.comparing import compare
from sitefare.questions.edge import edge
from sitefare.questions.figures import RATIO
from sitefare.questions.ranking import ranks
from sitefare.questions.regret import regret
from sitefare.questions.turning import turning
from sitefare.questions.weighing import weighing

from .conftest import program
from .reading import assert_reads_back

SITES = ["qasr_adhra", "port_anui", "kaldre", "norhaven"]


@pytest.fixture(scope="module")
def found(root):
    """Three sites, two designs, on few draws."""
    asked = [
        Alternative(site, "as_planned", (), x) for site in SITES[:3] for x in ("", "rafts_300")
    ]
    compared = compare(root / "assumptions", asked, 64, 1)
    return Appraised(compared, turning(compared))


@pytest.fixture(scope="module")
def made(found):
    return of_appraised(found, {})


def text_of(document):
    parts = []
    for block in document.blocks:
        if isinstance(block, Paragraph):
            parts.append(block.text)
        elif isinstance(block, Bullets):
            parts += block.items
    return "\n".join(parts).replace(NBSP, " ")


def table(made, anchor):
    return next(b for b in made.document.blocks if isinstance(b, Table) and b.anchor == anchor)


def column(made, anchor, header):
    block = table(made, anchor)
    at = [c.header for c in block.columns].index(header)
    return [block.cell(row, at).replace(NBSP, " ") for row in range(len(block.rows))]


def test_ranks_follow_the_figure_among_those_whose_gates_are_open(made):
    ranked = made.seen.compared.ranked
    assert [line.rank for line in ranked] == list(range(1, len(ranked) + 1))
    ratios = [line.usd(RATIO) for line in ranked]
    assert ratios == sorted(ratios)
    assert not any(line.shut for line in ranked)


def test_the_document_tells_what_the_questions_found(made, found):
    compared = found.compared
    first = ranks(compared, RATIO)
    shown = made.seen.formats
    assert column(made, "order-table", "Chance of being best") == [
        shown.share(one.chance_best).replace(NBSP, " ") for one in first
    ]
    assert column(made, "order-table", "Cost over the local price") == [
        shown.number(one.line.usd(RATIO), 2) for one in first
    ]
    on = {one.line.name for one in edge(compared) if one.on_edge}
    stands = column(made, "edge-table", "Stands")
    for line, words in zip(compared.ranked, stands, strict=True):
        assert (words == "on the edge") == (line.name in on)
    nine = {one.line.name: one.high for one in regret(compared).lines}
    told = column(made, "regret-table", "More than this in 1 draw of 10")
    for line, words in zip(compared.ranked, told, strict=True):
        high = nine[line.name]
        assert words == (shown.number(high, 2) if np.isfinite(high) else "no end")
    scores = weighing(compared).scores
    assert column(made, "score-table", "Score, 0 to 1") == [
        shown.decimal(one.score, 2) for one in scores
    ]


def test_the_first_page_answers(made, found):
    text = text_of(made.document)
    first = found.compared.ranked[0]
    assert f"**{made.seen.name(first)}** comes first of 6 ranked by cost over the local" in text
    assert f"People are counted by one ration everywhere: {first.ration}." in text
    for topic in (
        "How surely", "Regret", "Beside the local price", "On two criteria", "By a weighted score",
        "What would change it", "What it rests on",
    ):  # fmt: skip
        assert f"**{topic}.**" in text, topic
    best = ranks(found.compared, RATIO)[0].chance_best
    assert f"It is the best in {made.seen.share(best)}".replace(NBSP, " ") in text
    assert "No alternative ranked brings the food for less than its local price." in text


def test_the_cheapest_by_every_ration_is_named(made, found):
    text = text_of(made.document)
    told = text.split("Least cost of a person-day: ")[1].split(".")[0]
    named = {}
    for part in told.split("; "):
        name, letters = re.fullmatch(r"\*\*(.+)\*\* by (.+)", part).groups()
        named |= dict.fromkeys(re.split(", | and ", letters), name)
    rations = found.compared.lines[0].rations
    assert set(named) == set("ABCDEFG"[: len(rations)])
    for letter, ration in zip("ABCDEFG", rations, strict=True):
        costs = {
            made.seen.name(x): x.rations[ration].cost_day / x.exchange_rate
            for x in found.compared.ranked
        }
        assert costs[named[letter]] == min(costs.values())


def test_money_side_by_side_is_in_dollars_at_each_rate(made, found):
    shown = [made.seen.formats.amount(x.usd("capex")) for x in found.compared.lines]
    assert column(made, "money-table", "Capital cost") == shown
    for line in found.compared.lines:
        capex = line.results["indicators"]["capex"]["value"]
        assert line.usd("capex") == pytest.approx(capex / line.exchange_rate)
        assert f"{line.currency} a USD" in table(made, "money-table").note


def test_a_shut_gate_keeps_an_alternative_out_of_the_ranking(root):
    shut = make_comparison(
        ["kaldre", "port_anui"],
        "as_planned",
        ["evidence.tenure.status=missing"],
        draws=0,
        root=root,
    )
    assert all(line.rank == 0 for line in shut.seen.compared.lines)
    html = page(shut.document)
    assert "Not ranked while a gate is shut" in html
    assert "No alternative is ranked: a gate is shut at each of the 2." in html
    assert "all (shut: land tenure or lease)" in html
    assert pdf(shut.document)
    assert column(shut, "order-table", "Alternative") == [
        "a. Port Anui (not ranked)", "b. Kaldre (not ranked)",
    ]  # fmt: skip


def test_who_is_best_is_told_of_those_ranked_where_a_gate_is_shut(root):
    # The warehouse as it is feeds more people for less than with the smaller beds laid over it.
    lines = [
        "shut,norhaven,,as_planned,evidence.tenure.status=missing",
        "open,norhaven,media_beds_200,as_planned,",
    ]
    made = make_comparison([], alternatives=lines, draws=0, root=root)
    open_one, shut = made.seen.compared.lines
    assert (open_one.rank, shut.rank) == (1, 0)
    assert shut.usd("people_fed") > open_one.usd("people_fed")
    html = page(made.document)
    assert "Of those ranked no other feeds more people than open" in html
    assert "No other feeds more people" not in html
    assert "Least cost of a person-day of those ranked:" in html


def test_a_farm_that_cannot_be_built_bars_no_other(root):
    # Trout die in the island's water; the cool warehouse can keep them.
    trout = make_comparison(SITES, "as_planned", ["farm_design.species=trout"], 0, root=root)
    refused = "port_anui/as_planned/farm_design.species=trout"
    assert refused in trout.results["refused"]
    assert any("norhaven" in name for name in trout.results["alternatives"])
    assert "Cannot be built or run safely" in page(trout.document)
    rows = frame_of(trout.seen).set_index("alternative")
    assert rows.loc[refused, "status"] == "refused"
    assert rows.loc[refused, "reason"]


def test_no_answer_by_a_figure_is_not_told_as_nobody_fed(root):
    made = make_comparison(SITES[:2], draws=0, root=root, by="payback_years")
    html = page(made.document)
    assert "has an answer by payback, so none comes first." in html
    assert "nobody is fed" not in html.partition("The order")[0]
    assert "not the first by" not in html


def test_what_came_to_no_end_is_not_told_as_what_cannot_be_built(found):
    refused = {"far/as_planned": "it was stopped", "wet/as_planned": "fish die"}
    compared = replace(found.compared, refused=refused, failed=("far/as_planned",))
    html = page(of_appraised(replace(found, compared=compared), {}).document)
    assert re.search("Cannot be built or run safely as asked.{0,200}fish die", html, re.DOTALL)
    assert re.search("the work came to no end.{0,200}it was stopped", html, re.DOTALL)


def test_the_order_of_naming_does_not_matter(root, found, made):
    asked = [x.alternative for x in found.compared.lines]
    compared = compare(root / "assumptions", sorted(asked, key=lambda x: x.design), 64, 1)
    again = of_appraised(Appraised(compared, turning(compared)), {})
    assert as_json(again.results) == as_json(made.results)
    assert page(again.document) == page(made.document)


@pytest.mark.parametrize("sites", [["kaldre"], ["kaldre", "kaldre"], []])
def test_fewer_than_two_sites_are_refused(root, sites):
    with pytest.raises(RunError, match="two or more different sites"):
        make_comparison(sites, "as_planned", draws=0, root=root)


def row(words):
    return f"A,kaldre,,as_planned,{words}"


BROKEN = {
    "unknown design": (
        {"sites": SITES, "designs": ["raft"]}, AssumptionError, "design 'raft' is not in",
    ),
    "no ration after the dot": (
        {"sites": SITES, "by": "people_fed."}, RunError, "'people_fed.' is not a figure that",
    ),
    "unknown scenario": (
        {"sites": SITES, "scenarios": ["planned"]}, AssumptionError, "'planned' is not in",
    ),
    "the same twice": (
        {"sites": SITES, "designs": ["", "rafts_300", "rafts_300"]}, RunError, "stands once",
    ),
    "unknown indicator": ({"sites": SITES, "by": "nvp"}, RunError, "nearest known name is 'npv'"),
    "no direction": ({"sites": SITES, "by": "jobs_fte"}, RunError, "puts nothing in order"),
    "unknown criterion": (
        {"sites": SITES[2:], "weights": ["peeple=1"]}, RunError, "'peeple' is not a criterion",
    ),
    "no weight": ({"sites": SITES, "weights": ["people"]}, RunError, "write criterion=number"),
    "weight twice": (
        {"sites": SITES, "weights": ["people=1", "people=2"]}, RunError, "has a weight already",
    ),
    "weight below nothing": (
        {"sites": SITES[2:], "weights": ["people=-1"]}, RunError, "a number from 0 is accepted",
    ),
    "rations differ": (
        {"sites": [], "alternatives": [row(""), row("people.headline=full_ration")]},
        RunError, "compared by one ration; these name full_ration, vegetables_and_fish",
    ),
    "a line with a cell too many": (
        {"sites": [], "alternatives": ["A,kaldre,,as_planned,,"]}, RunError, "are accepted, parted",
    ),
    "nobody can be built": (
        {"sites": SITES[1:3], "settings": ["farm_design.species=trout"]},
        DesignError, "no farm can be built as asked",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", BROKEN.values(), ids=BROKEN)
def test_what_cannot_be_compared_is_refused_in_one_sentence(root, case):
    asked, error, words = case
    with pytest.raises(error, match=re.escape(words)) as raised:
        make_comparison(**asked, draws=0, root=root)
    assert "\n" not in str(raised.value)


def test_a_table_of_runs_is_compared_line_by_line(tmp_path):
    runs = tmp_path / "runs.csv"
    lines = [
        "run,site,scenario,settings,draws,seed,documents",
        "near,kaldre,as_planned,crop.lettuce.cull=0.1; crop.chard.cull=0.2,64,1,no",
        "far,kaldre,as_planned,,64,1,no",
    ]
    runs.write_text("\n".join(lines), encoding="utf-8")
    asked = of_runs(runs)
    assert [one.title for one in asked] == ["near", "far"]
    assert asked[0].settings == ("crop.lettuce.cull=0.1", "crop.chard.cull=0.2")
    cells = [line.split(",") for line in as_lines(asked)]
    assert [x[1] for x in cells] == ["kaldre", "kaldre"]
    again = lines[1].replace("near", "again")
    runs.write_text("\n".join([*lines, again]), encoding="utf-8")
    with pytest.raises(RunError, match="stands once"):
        of_runs(runs)
    runs.write_text("\n".join([*lines[:2], "x,kaldre,as_planned,,many,1,no"]), encoding="utf-8")
    with pytest.raises(RunError, match="found 'many'"):
        of_runs(runs)


def test_names_of_alternatives_survive_lines_of_text():
    from sitefare.outputs.comparison.asking import of_lines  # noqa: PLC0415

    asked = (
        Alternative("kaldre", "as_planned", ("a=1", 'b="x, y"'), "rafts_300", 'A "first", of two'),
        Alternative("norhaven", "as_planned"),
    )
    assert of_lines(as_lines(asked)) == asked


def test_files_read_back(made, found, tmp_path):
    written = made.write(tmp_path)
    assert sorted(x.name for x in written) == [
        "comparison.csv", "comparison.docx", "comparison.html", "comparison.json",
        "comparison.parquet", "comparison.pdf",
    ]  # fmt: skip
    numbers = json.loads((tmp_path / "comparison.json").read_text(encoding="utf-8"))
    assert [x["rank"] for x in numbers["order"]] == [1, 2, 3, 4, 5, 6]
    sheet = pd.read_csv(io.BytesIO((tmp_path / "comparison.csv").read_bytes()))
    columns = pd.read_parquet(tmp_path / "comparison.parquet")
    assert list(sheet.columns) == list(columns.columns)
    for n, line in enumerate(found.compared.lines):
        assert columns["alternative"][n] == line.name
        for kept in (sheet, columns):
            assert kept["npv"][n] == pytest.approx(line.results["indicators"]["npv"]["value"])
            assert kept["npv_usd"][n] == pytest.approx(line.usd("npv"), rel=1e-9)
            low, _ = line.usd_ends("capex")
            assert kept["capex_low_usd"][n] == pytest.approx(low, rel=1e-9)
        told = numbers["order"][n]
        assert told["alternative"] == line.name
        assert told["value"] == pytest.approx(line.usd(RATIO), rel=1e-9)
        assert columns["chance_best"][n] == told["chance_best"]
        assert columns["score"][n] == told["score"]
        assert numbers["alternatives"][line.name] == line.results


def test_weights_given_move_the_score_and_are_told(found, made):
    people = of_appraised(found, stated_weights(["people=1000"]))
    assert column(people, "weights-table", "Share of all weight")[1].startswith("9")
    assert "given with the question" in table(people, "weights-table").note
    most = max(found.compared.ranked, key=lambda line: line.usd("people_fed"))
    assert column(people, "score-table", "Alternative, with its rank")[0].endswith(
        people.seen.name(most)
    )
    assert people.results["order"] != made.results["order"]


def test_the_notebook_writes_its_documents_from_what_was_appraised(root, tmp_path, found, made):
    notebook = root / "notebooks" / "comparison.ipynb"
    kept = keep(found, tmp_path)
    asked = [x.alternative for x in found.compared.lines]
    out = tmp_path / "out"
    parameters = {"sites": [], "alternatives": as_lines(asked), "appraised": str(kept), "draws": 64}
    run_notebook(notebook, parameters, out)
    assert sorted(path.name for path in out.iterdir()) == [
        "comparison.csv", "comparison.docx", "comparison.html", "comparison.ipynb",
        "comparison.json", "comparison.parquet", "comparison.pdf",
    ]  # fmt: skip
    assert (out / "comparison.html").read_text(encoding="utf-8") == page(made.document)
    assert (out / "comparison.json").read_text(encoding="utf-8") == as_json(made.results)
    ran = nbformat.read(out / "comparison.ipynb", as_version=4)
    given = next(x.source for x in ran.cells if "injected-parameters" in x.metadata.get("tags", []))
    assert "alternatives = [" in given
    assert str(tmp_path) not in json.dumps(ran)


def test_a_file_that_holds_no_comparison_is_refused(tmp_path):
    with pytest.raises(RunError, match="no appraised alternatives are there"):
        make_comparison([], appraised=tmp_path / "appraised")
    (tmp_path / "appraised").write_bytes(b"words")
    with pytest.raises(RunError, match="no appraised alternatives are there"):
        make_comparison([], appraised=tmp_path / "appraised")


@pytest.mark.parametrize(("width", "colours"), [(1280, "light"), (390, "dark")])
def test_its_page_reads_back_and_passes_an_audit(made, visit, audit, width, colours):
    document = made.document
    reader = visit(page(document), width, color_scheme=colours)
    assert_reads_back(document, reader)
    assert reader.evaluate("document.documentElement.scrollWidth") <= width
    assert audit(reader) == []


def test_its_pdf_and_word_file_hold_every_alternative(made, tmp_path):
    (tmp_path / "made.pdf").write_bytes(pdf(made.document))
    command = [program("pdftotext"), "-layout", str(tmp_path / "made.pdf"), "-"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    (tmp_path / "made.docx").write_bytes(word(made.document))
    file = WordDocument(str(tmp_path / "made.docx"))
    styled = [x.text for x in file.paragraphs if x.style.name.startswith("Heading")]
    for _, text, _ in made.document.contents:
        assert " ".join(text.split()) in " ".join(printed.split())
        assert any(text in heading for heading in styled)
    cells = {cell.text for block in file.tables for line in block.rows for cell in line.cells}
    for line in made.seen.compared.lines:
        assert made.seen.marked(line) in cells


def test_pictures_say_the_same_as_the_text(made):
    figures = {b.anchor: b for b in made.document.blocks if isinstance(b, Figure)}
    assert set(figures) == {"ranges-figure", "edge-figure", "regret-figure", "score-figure"}
    assert figures["edge-figure"].picture.title == made.seen.edge_words
    assert made.seen.name(made.seen.compared.ranked[0]) in figures["ranges-figure"].picture.title
