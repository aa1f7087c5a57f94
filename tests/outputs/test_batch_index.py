"""The page of a batch says what became of every run, compares them and leads to their files."""

import io
import json
import re
from dataclasses import replace
from urllib.parse import unquote

import docx
import pytest
from pypdf import PdfReader

from sitefare.errors import RunError
from sitefare.outputs.batch_index import DRAWN, SHOWN, RunLine, index_document, index_page
from sitefare.outputs.batch_times import JOURNAL, Times
from sitefare.outputs.document import Bullets, Document, Figure, Metadata, Paragraph, Table
from sitefare.outputs.docx_document import word
from sitefare.outputs.markup import beside, file_link, spans
from sitefare.outputs.pdf import pdf
from sitefare.outputs.run_table import Run

VERSIONS = {"sitefare": "0.5.0", "numpy": "2.4.6"}
DOCUMENTS = {
    "proposal.html": 10, "proposal.pdf": 10, "proposal.docx": 10, "workbook.xlsx": 10,
    "results.json": 10,
}  # fmt: skip


def entry(value, low=None, high=None, **more):
    return {"value": value, "low": low, "high": high, **more}


def run_line(name, cost=8.0, people=40.0, failure="", ration="vegetables", files=(), **more):
    """One run as it would stand on disk; two units of its money are a US dollar."""
    run = Run(name, "some_site", "as_planned", ("price.feed=9 GEL/kg",), 256, 1,
              documents=bool(files), design=more.get("design", ""))  # fmt: skip
    if failure and not files:
        return RunLine(run, f"key {name}", {}, {}, failure)
    ends = (None, None) if cost is None else (cost * 1.8, cost * 3)
    indicators = dict.fromkeys(SHOWN, entry(2000.0)) | {
        "people_fed": entry(people, ration=ration),
        "cost_per_person_day": entry(None if cost is None else 2 * cost, *ends),
        "payback_years": entry(None, reason="not within 15 years; not within 15 years in 9 %"),
    }
    found = {
        "case": {"exchange_rate": 2.0, "appraisal_date": "2027-01", "demonstration_data": True},
        "indicators": indicators,
        "rations": {ration: {"title": f"some {ration} a day"}},
        "provenance": {"input_hash": f"hash{name}"},
    }
    return RunLine(run, f"key {name}", found, files or {"results.json": 10}, failure)


MIXED = (
    run_line("whole", files=DOCUMENTS),
    run_line("قصر.v2", cost=6.0, people=30.0),
    run_line("none", cost=None, people=0.0),
    run_line("lost", failure="site 'nowhere' is not in assumptions/sites"),
    run_line("half", failure="it was stopped at its limit of 900 s", files={"results.json": 10}),
)


def block(document, kind, number=0):
    return [b for b in document.blocks if isinstance(b, kind)][number]


def table(document, anchor):
    return next(b for b in document.blocks if isinstance(b, Table) and b.anchor == anchor)


def column(made, header):
    n = [c.header for c in made.columns].index(header)
    return [made.cell(row, n) for row in range(len(made.rows))]


@pytest.fixture(scope="module")
def mixed():
    return index_document(MIXED, VERSIONS)


def test_it_says_first_what_became_of_the_runs(mixed):
    assert block(mixed, Paragraph).text == "**3 of 5 runs done, 2 failed**; 1 with documents."
    items = block(mixed, Bullets).items
    assert items[0] == "**lost** failed: site 'nowhere' is not in assumptions/sites."
    assert items[2].startswith("Least cost of a person-day of 4 runs, people counted by some veg")
    assert "قصر.v2, 30 people at USD\xa06.00 a person-day (P10–P90 5.40–9.00)" in items[2]
    assert "[whole](./whole/proposal.html), 40 people at USD\xa08.00" in items[3]


def test_all_runs_stand_in_the_order_of_their_table_in_dollars(mixed):
    runs = table(mixed, "runs-table")
    assert [spans(cell)[0].text for cell in column(runs, "Run")] == [
        "whole", "قصر.v2", "none", "lost", "half",
    ]  # fmt: skip
    assert column(runs, "Person-day") == ["8.00", "6.00", "–", "–", "8.00"]
    assert column(runs, "Capital") == ["1,000", "1,000", "1,000", "–", "1,000"]
    assert column(runs, "Payback")[:4] == ["over 15", "over 15", "over 15", "–"]
    assert runs.sortable
    assert "people counted by some vegetables a day" in runs.caption


def test_runs_of_other_rations_are_told_apart_and_not_compared():
    lines = [run_line("a"), run_line("b", ration="fish"), run_line("c", cost=5.0)]
    document = index_document(lines, VERSIONS)
    runs = table(document, "runs-table")
    assert column(runs, "People counted by") == [
        "some vegetables a day", "some fish a day", "some vegetables a day",
    ]  # fmt: skip
    assert all("of 2 runs" in item for item in block(document, Bullets).items)
    figure = block(document, Figure)
    assert "2 runs, least cost first; people counted by some vegetables" in figure.caption
    assert figure.picture.title.startswith("c costs least a person-day: 40 people at USD\xa05.00")
    assert "gate" not in figure.picture.alt


def test_the_page_takes_the_language_that_all_runs_ask_for(mixed):
    lines = [replace(line, run=replace(line.run, language="fr")) for line in MIXED]
    said = index_document(lines, VERSIONS)
    assert said.metadata.language == "fr"
    assert said.metadata.title == "Comparaison de 5 calculs d’une ferme aquaponique"
    assert table(said, "runs-table").columns[3].header == "Personnes nourries"
    assert index_document([*lines[:-1], MIXED[-1]], VERSIONS).metadata == mixed.metadata


def test_designs_are_told_where_there_are_any(mixed):
    assert column(table(mixed, "runs-table"), "Scenario")[0] == "as planned"
    lines = [run_line("a"), run_line("b", design="rafts_300")]
    told = column(table(index_document(lines, VERSIONS), "runs-table"), "Design, scenario")
    assert told == ["as planned", "rafts 300, as planned"]


def test_failures_say_why_and_what_is_there_is_linked(mixed):
    failed = table(mixed, "failed-table")
    assert column(failed, "Why") == [x.failure for x in MIXED[3:]]
    html = index_page(MIXED, VERSIONS)
    links = [unquote(link) for link in re.findall(r'<a href="\./([^"]*)"', html)]
    assert set(links) == {
        *(f"whole/{name}" for name in DOCUMENTS), "قصر.v2/results.json", "none/results.json",
        "half/results.json", "manifest.json", "runs.parquet",
    }  # fmt: skip
    assert "%D9%82%D8%B5%D8%B1.v2/results.json" in html
    assert [f'<a href="#{a}">failed</a>' in html for a in failed.row_anchors] == [True, True]


def test_it_rests_on_what_stands_on_disk_alone(mixed):
    rests = table(mixed, "rests-table")
    assert column(rests, "Inputs")[:4] == ["hashwhole", "hashقصر.v2", "hashnone", "–"]
    assert "numpy 2.4.6" in " ".join(b.text for b in mixed.blocks if isinstance(b, Paragraph))
    assert "second" not in index_page(MIXED, VERSIONS).split("<script>")[0].lower()
    assert index_page(MIXED, VERSIONS) == index_page(MIXED, VERSIONS)


def test_a_batch_of_which_nothing_is_done_still_has_its_page():
    html = index_page(MIXED[3:4], VERSIONS)
    assert "0 of 1 run done, 1 failed" in html
    assert "<dd>–</dd>" in html  # no appraisal, no date


def test_names_and_reasons_are_never_markup():
    odd = run_line("odd", failure="**a** [b](#c) [d](./e) <script>")
    html = index_page([odd, run_line("x")], VERSIONS)
    assert html.count("**a** [b](#c) [d](./e) &lt;script&gt;") == 2


@pytest.mark.parametrize("count", [3, 40, 1000])
def test_it_reads_with_few_runs_and_with_many(count):
    lines = [run_line(f"run_{n}", cost=5.0 + n, files=DOCUMENTS) for n in range(count)]
    document = index_document(lines, VERSIONS)
    assert len(table(document, "runs-table").rows) == count
    drawn = block(document, Figure).picture
    assert len(drawn.wide["datasets"][next(iter(drawn.wide["datasets"]))]) <= DRAWN
    assert len(index_page(lines, VERSIONS)) < 600_000 + 2_000 * count


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("colours", ["light", "dark"])
def test_an_audit_finds_nothing(visit, audit, width, colours):
    lines = [*MIXED, *(run_line(f"more_{n}", cost=5.0 + n) for n in range(30))]
    reader = visit(index_page(lines, VERSIONS), width, color_scheme=colours)
    assert reader.evaluate("document.documentElement.scrollWidth") <= width
    assert audit(reader) == []


def test_the_table_sorts_and_filters(visit):
    reader = visit(index_page(MIXED, VERSIONS))
    reader.get_by_role("button", name="Person-day").click()
    names = reader.locator("#runs-table tbody tr th").all_inner_texts()
    assert names[:3] == ["قصر.v2", "whole", "half"]
    reader.locator("#runs-table-filter").fill("failed")
    shown = reader.locator("#runs-table tbody tr:visible th").all_inner_texts()
    assert sorted(shown) == ["half", "lost"]


BAD_PATHS = ["../a", "a/../b", "a//b", "%2e%2e/a", "a/..%2fb", "a\\b", "a:b", "a?b", ".", "a/%20"]


@pytest.mark.parametrize("path", BAD_PATHS)
def test_a_link_never_leaves_the_folder(path):
    with pytest.raises(RunError, match="only files in the document's folder"):
        beside(path)
    with pytest.raises(RunError, match="only files in the document's folder"):
        Document(Metadata("t", "s", "c", "2027-02", "h", "v"), (Paragraph(f"[x](./{path})"),))


def test_a_link_to_a_file_is_a_link_on_a_page_and_words_on_paper():
    link = file_link("the [file]", "ä b.c", "d.html")
    assert spans(link)[0].file == "./%C3%A4%20b.c/d.html"
    assert "".join(span.text for span in spans(link)) == "the [file]"
    document = Document(
        Metadata("t", "s", "c", "2027-02", "h", "v"), (Paragraph(f"See {link} here."),)
    )
    pages = PdfReader(io.BytesIO(pdf(document))).pages
    assert "See the [file] here." in " ".join("".join(p.extract_text() for p in pages).split())
    paragraphs = docx.Document(io.BytesIO(word(document))).paragraphs
    assert "See the [file] here." in [paragraph.text for paragraph in paragraphs]


def test_times_outlive_a_killed_start(tmp_path):
    first = Times(tmp_path)
    first.note("a", "k", 2.0)
    first.note("b", "k", 1.0)
    with (tmp_path / JOURNAL).open("a", encoding="utf-8") as file:
        file.write('\n{"run": "c", "ke')  # cut short
    second = Times(tmp_path)
    second.note("a", "k", 3.0)
    assert [second.of(name, "k") for name in "abc"] == [5.0, 1.0, None]
    assert second.of("a", "another") is None
    runs = [{"run": "a", "key": "k", "seconds": 5.0}, {"run": "d", "key": "k", "seconds": None}]
    (tmp_path / "manifest.json").write_text(json.dumps({"runs": runs}), encoding="utf-8")
    second.close()
    assert not (tmp_path / JOURNAL).exists()
    assert [Times(tmp_path).of(name, "k") for name in "ad"] == [5.0, None]
    (tmp_path / "manifest.json").write_text("[1", encoding="utf-8")
    assert Times(tmp_path).of("a", "k") is None


def test_documents_that_were_asked_for_and_failed_are_not_told_as_not_asked_for():
    half = run_line("half", failure="it was stopped", files={"results.json": 10})
    page = index_page([half], VERSIONS)
    assert "0 with documents" in page
    assert "no documents were asked for" not in page
    assert "no documents were asked for" in index_page([run_line("plain")], VERSIONS)
