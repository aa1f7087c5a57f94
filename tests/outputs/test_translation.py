"""Documents in other languages: what is translated, what stays English, which way it runs."""

import importlib.util
import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from sitefare.errors import RunError
from sitefare.outputs.catalogue import ARABIC_OR_HEBREW, END, LEFT, RIGHT, catalogue
from sitefare.outputs.chart_words import axis_titles, localised, shown_words
from sitefare.outputs.document import (
    Caution,
    Column,
    Document,
    Figure,
    Heading,
    Paragraph,
    Table,
)
from sitefare.outputs.drawn import png, svg
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.pdf import pdf
from sitefare.outputs.picture import Picture
from sitefare.outputs.translation import labels, translated
from sitefare.outputs.typefaces import SCRIPTS, faces
from sitefare.outputs.words import direction, words

LANGUAGES = ("ar", "fr")
SMALL_SET = (
    ("qasr_adhra", "as_planned"),
    ("port_anui", "grant_and_soft_loan"),
    ("kaldre", "solar_supply"),
    ("norhaven", "low_cost_build"),
)


def _script():
    path = Path(__file__).parents[1] / "refresh_catalogue.py"
    spec = importlib.util.spec_from_file_location("refresh_catalogue", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


script = _script()


def in_language(document, language):
    """The same document, asked for in another language; its numbers stay as they are."""
    meta = replace(document.metadata, language=language)
    blocks = [
        replace(b, picture=replace(b.picture, language=language))
        if isinstance(b, Figure) and isinstance(b.picture, Picture)
        else b
        for b in document.blocks
    ]
    return translated(Document(meta, tuple(blocks)))


@pytest.fixture(scope="module")
def arabic(proposals):
    return in_language(proposals(*SMALL_SET[0]).document, "ar")


@pytest.fixture(scope="module")
def french(proposals):
    return in_language(proposals(*SMALL_SET[1]).document, "fr")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("site", "scenario"), SMALL_SET)
def test_every_label_of_the_small_set_is_in_the_catalogue(proposals, site, scenario, language):
    # What is missing: run tests/refresh_catalogue.py, then translate what stands empty.
    known = catalogue(language)
    asked = script.asked_of(proposals(site, scenario).document)
    wanted = {(kind, text) for kind, text in asked if kind in script.ASKED}
    lacking = {(k, t) for k, t in wanted if script.wanted(k, t) and known.said(t) is None}
    assert lacking == set()
    assert len(wanted) > 200


@pytest.fixture(scope="module")
def of_many(library, proposals):
    """Every document that tells of many farms, places or runs, and the names it may hold."""
    runs, names = [], set()
    for site, scenario in SMALL_SET:
        made = proposals(site, scenario)
        runs.append(script.run_line(site, scenario, made.results))
        names |= script.names_of(site, made.view.place)
    documents = [
        *script.comparisons(),
        *script.choices(library),
        *script.screens(library),
        *script.batches(runs),
    ]
    return documents, names


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_label_of_documents_of_many_is_in_the_catalogue(of_many, language):
    documents, names = of_many
    known = catalogue(language)
    wanted = {
        (kind, text)
        for document in documents
        for kind, text in script.asked_of(document)
        if kind in script.ASKED and script.wanted(kind, text) and text not in names
    }
    assert {(kind, text) for kind, text in wanted if known.said(text) is None} == set()
    assert len(wanted) > 100


def test_names_that_users_gave_stay_and_words_of_links_are_said(of_many):
    documents, _ = of_many
    failed = Heading(1, "Runs that failed", "failed")
    said = in_language(next(one for one in documents if failed in one.blocks), "fr")
    runs = next(b for b in said.blocks if isinstance(b, Table) and b.anchor == "runs-table")
    assert runs.rows[-1][0] == "lost"  # a word that the catalogue has too
    assert runs.rows[0][1] == "qasr_adhra"
    assert "[classeur](./qasr_adhra/workbook.xlsx)" in runs.rows[0][-1]
    assert runs.rows[-1][-1].startswith("[échoué](#failed-")


def test_a_list_of_names_is_said_name_by_name(document):
    farms = "Kaldre (invented), as planned, 300 m²; Port Anui (invented), as planned, 1,000 m²"
    long = f"{'x' * 70}, as planned, 300 m²"
    table = Table((Column("Takes in"),), ((farms,), (long,)), "The farms of the set")
    said = in_language(Document(document.metadata, (Heading(1, "The set"), table)), "fr")
    (first,), (second,) = next(b for b in said.blocks if isinstance(b, Table)).rows
    assert first == farms.replace("as planned", "comme prévu").replace(";", "\u00a0;")
    assert second == long


def test_the_collector_folds_what_differs_only_by_case():
    templates = ["Cost, {currency} a person-day", "Year {number}"]
    assert script.entry_of("Cost, GEL a person-day", templates) == templates[0]
    assert script.entry_of("Year 7", templates) == templates[1]
    assert script.entry_of("Money in GEL of 2027-01", [], "GEL") == "Money in {currency} of {date}"


def test_english_documents_pass_unchanged(document):
    assert translated(document) is document
    assert document.tongue("A sentence.") == ""
    assert not document.apart("−5")


def test_a_language_without_catalogue_is_refused(document):
    with pytest.raises(RunError, match="language 'de' has no catalogue"):
        in_language(document, "de")


def test_structure_and_anchors_stay(proposals, arabic):
    english = proposals(*SMALL_SET[0]).document
    own = [p for p in arabic.placed if not isinstance(p.block, Caution)]
    theirs = [p for p in english.placed if not isinstance(p.block, Caution)]
    assert [(p.anchor, p.number) for p in own] == [(p.anchor, p.number) for p in theirs]
    assert len(arabic.blocks) == len(english.blocks) + 1


def test_sentences_stay_and_numbers_are_the_same(proposals, arabic):
    english = proposals(*SMALL_SET[0]).document

    def of(document, kind):
        return [b for b in document.blocks if isinstance(b, kind)]

    assert [b.text for b in of(english, Paragraph)] == [b.text for b in of(arabic, Paragraph)]
    for before, after in zip(of(english, Table), of(arabic, Table), strict=True):
        for row, said in zip(before.rows, after.rows, strict=True):
            assert [x for x in row if isinstance(x, float)] == [
                x for x in said if isinstance(x, float)
            ]


def test_every_heading_is_in_the_language(arabic):
    headings = [b.text for b in arabic.blocks if isinstance(b, Heading)]
    assert len(headings) > 30
    assert all(ARABIC_OR_HEBREW.search(text) for text in headings)


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_one_says_what_stays_english_and_that_nobody_reviewed_it(document, language):
    made = in_language(document, language)
    own = words(language)
    first, notice = made.blocks[:2]
    assert isinstance(first, Heading)
    assert notice.title == own["about_language"]
    assert own["stays_english"] in notice.text
    assert own["not_reviewed_yet"] in notice.text
    assert made.metadata.subtitle.endswith(own["unreviewed"])
    assert made.tongue(notice.text) == ""


def test_what_stays_english_is_told_from_what_needs_no_language(arabic):
    assert arabic.tongue("The farm costs 12 times as much.") == "en"
    assert arabic.tongue("Yes") == "en"
    assert arabic.tongue(words("ar")["about_language"]) == ""
    for neutral in ("12.5", "USD 412,000", "−3.4 %", "10–20 kg", "2027-02", "–", ""):
        assert arabic.tongue(neutral) == ""
    assert arabic.apart("−96,500")
    assert arabic.apart("A sentence.")
    assert not arabic.apart("–")
    assert not arabic.apart("قصر")


@pytest.mark.parametrize(
    ("language", "number", "money"),
    [("fr", "1\u202f234,5", "−96\u202f500\u00a0JOD"), ("ar", "1,234.5", "−96,500\u00a0JOD"),
     ("fr_CA", "1\u202f234,5", "−96\u202f500\u00a0JOD"), ("ar_EG", "1,234.5", "−96,500\u00a0JOD"),
     ("en", "1,234.5", "−JOD\u00a096,500")],
)  # fmt: skip
def test_digits_are_latin_and_signs_follow_the_locale(language, number, money):
    f = Formats(language, "JOD")
    assert f.decimal(1234.5, 1) == number
    assert f.money(-96_500) == money
    assert f.span(96_500, 97_500, f.money).count("JOD") == 1


#: Charts of the tests' own whose axes stand in no document.
OWN_AXES = ("cost_makeup", "sites", "waterfall", "tornado", "water", "energy")


@pytest.mark.parametrize("language", LANGUAGES)
def test_charts_say_their_words_and_keep_their_data(pictures, language):
    for name, picture in pictures.items():
        english = picture.wide
        said = localised(english, language)
        assert [len(rows) for rows in said.get("datasets", {}).values()] == [
            len(rows) for rows in english.get("datasets", {}).values()
        ]
        shown = set(shown_words(english))
        if name not in OWN_AXES:
            assert all(catalogue(language).said(title) for title in axis_titles(english)), name
        if language == "fr":
            assert {catalogue("fr").said(t) or t for t in shown if "\n" not in t} <= {
                t.replace("\n", " ") for t in shown_words(said)
            } | set(shown_words(said))


def test_arabic_in_a_chart_is_held_together_and_on_one_line(pictures):
    said = shown_words(localised(pictures["cash"].wide, "ar"))
    titled = [text for text in said if "USD" in text and ARABIC_OR_HEBREW.search(text)]
    assert titled
    assert all(text.startswith(RIGHT) and text.endswith(END) for text in titled)
    assert not any("\n" in text for text in said if ARABIC_OR_HEBREW.search(text))


def test_a_chart_in_arabic_is_drawn_with_our_font(pictures):
    spec = localised(pictures["harvest"].wide, "ar")
    assert ARABIC_OR_HEBREW.search(svg(spec))
    assert png(spec) == png(spec)
    assert png(spec) != png(pictures["harvest"].wide)


#: A greeting of each script we ship, invented place names.
NAMES = {
    "greek-cyrillic": "Νέα Άγκυρα Новая Гавань", "arabic": "قصر الأذراء", "hebrew": "נווה מים",
    "georgian": "ახალი ნავი", "armenian": "Նոր նավ", "devanagari": "नया घाट", "bengali": "নতুন ঘাট",
    "thai": "ท่าใหม่", "ethiopic": "አዲስ ወደብ",
}  # fmt: skip


@pytest.mark.parametrize("script_name", sorted(NAMES))
def test_a_place_named_in_another_script_shows_everywhere(document, script_name):
    name = NAMES[script_name]
    meta = replace(document.metadata, title=f"{name}: a farm", site=name)
    made = Document(meta, (*document.blocks, Heading(1, f"{name} itself")))
    html = page(made)
    embedded = {s.name for s in SCRIPTS if f"unicode-range:{s.ranges}" in html}
    assert embedded == {script_name}
    assert pdf(made).startswith(b"%PDF")  # Typst refuses a sign that our font lacks


def test_a_page_embeds_no_script_it_does_not_need(document):
    assert "unicode-range" not in page(document)
    assert "unicode-range" not in faces("µg and Δ and σ")
    assert "unicode-range:U+0600" in faces("قصر")


def test_the_arabic_page(arabic, tmp_path, browser):
    html = page(arabic)
    assert len(html.encode()) < 4_000_000
    assert '<html lang="ar" dir="rtl">' in html
    english = re.findall(r"<p[^>]*><span([^>]*)>An aquaponic farm", html)
    assert english == [' lang="en" dir="ltr"']
    probe = """<script>addEventListener('load', () => document.fonts.ready.then(() => {
      const spans = [...document.querySelectorAll('main [lang=en]')];
      document.title = 'measured ' + [
        document.documentElement.scrollWidth - innerWidth,
        [...document.fonts].filter(f => f.status == 'loaded' && f.unicodeRange.includes('600')).length,
        spans.filter(s => getComputedStyle(s).direction != 'ltr').length,
        [...document.querySelectorAll('h2')].filter(h => getComputedStyle(h).direction == 'rtl').length,
        document.querySelectorAll('h2').length,
        [...document.querySelectorAll('main svg')].filter(s => getComputedStyle(s).direction != 'ltr').length,
      ].join(' ');
    }));</script></body>"""  # noqa: E501
    framed = tmp_path / "page.html"
    framed.write_text(html.replace("</body>", probe), encoding="utf-8")
    command = [
        browser, "--headless", "--no-sandbox", "--disable-gpu", "--window-size=1280,900",
        f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=8000", "--dump-dom",
        framed.as_uri(),
    ]  # fmt: skip
    dumped = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True).stdout
    found = re.search(r"measured (-?\d+) (\d+) (\d+) (\d+) (\d+) (\d+)", dumped)
    assert found, dumped[:300]
    sideways, loaded, wrong, right_to_left, headings, turned = (int(x) for x in found.groups())
    assert sideways <= 0
    assert loaded == 2
    assert wrong == turned == 0
    assert right_to_left == headings > 20


def test_the_arabic_pdf_names_its_language_and_its_headings(document, tmp_path):
    made = in_language(document, "ar")
    target = tmp_path / "a.pdf"
    target.write_bytes(pdf(made))
    read = PdfReader(target)
    assert read.trailer["/Root"]["/Lang"] == "ar"
    outline = {entry.title for entry in read.outline if not isinstance(entry, list)}
    assert words("ar")["contents"] not in outline
    assert made.blocks[0].text in outline
    text = "".join(p.extract_text() for p in read.pages)
    assert "described" in text
    assert pdf(made) == target.read_bytes()


def test_french_page_marks_english_and_leaves_numbers(french):
    html = page(french)
    assert '<html lang="fr" dir="ltr">' in html
    assert re.search(r'<p class="lead"><span lang="en">An aquaponic farm', html)
    assert not re.search(r'<span lang="en">[−\d.,\s]+(?:kg|FJD|%)?</span>', html)
    assert ' dir="ltr"' not in html.split("<main", 1)[1]


def test_labels_are_told_by_kind(document):
    kinds = {kind for kind, _ in labels(document)}
    assert kinds >= {"title", "heading", "column", "unit", "card", "caption", "document"}


def test_direction_marks_stay_out_of_other_languages(french):
    for text in (french.metadata.title, *(b.text for b in french.blocks if isinstance(b, Heading))):
        assert not set(text) & {LEFT, RIGHT, END}
    assert direction("fr") == "ltr"


@pytest.mark.parametrize(("site", "scenario"), SMALL_SET[:2])
def test_amounts_in_two_currencies(proposals, site, scenario):
    made = proposals(site, scenario)
    case, results = made.view.appraisal.case, made.results
    table = next(p.block for p in made.document.placed if p.anchor == "two-currencies")
    assert results["case"]["reporting_currency"] == "USD"
    rate = results["case"]["exchange_rate"]
    assert [c.unit for c in table.columns] == ["", case.currency, "USD"]
    for _, local, reported in table.rows:
        assert local == pytest.approx(reported * rate, rel=1e-9)
    npv = {row[0]: row[2] for row in table.rows}["Net present value"]
    assert npv == pytest.approx(results["indicators"]["npv"]["value"] / rate, rel=1e-9)
    row = case.rows["economy.exchange_rate"]
    assert row.as_of in table.note
    assert row.source in table.note
    assert made.view.formats.number(rate) in table.note
    capital = next(p.block for p in made.document.placed if p.anchor == "capital-table")
    total = capital.rows[-1]
    assert sum(line[2] for line in capital.rows[:-1]) == pytest.approx(total[2], rel=1e-9)
    assert total[1] == pytest.approx(total[2] * rate, rel=1e-9)
