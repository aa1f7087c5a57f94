"""Catalogues: complete, of one mind about placeholders, open to further languages."""

import re
import shutil

import pytest
from babel.dates import get_month_names
from babel.messages.pofile import read_po
from babel.units import format_unit

from sitefare.errors import RunError
from sitefare.outputs import catalogue as catalogues
from sitefare.outputs.catalogue import (
    END,
    LEFT,
    LOCALE,
    PLACEHOLDER,
    base,
    catalogue,
    check_language,
    languages,
    right_to_left,
    translate,
)
from sitefare.outputs.dates import month_and_year
from sitefare.outputs.words import ENGLISH, words

LANGUAGES = ("ar", "fr")
TEMPLATE = LOCALE / "sitefare.pot"


def entries(path):
    with path.open("rb") as file:
        return {(m.id, m.context): m for m in read_po(file) if m.id}


def po(language):
    return LOCALE / language / "LC_MESSAGES" / "sitefare.po"


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    """A copy of the catalogues that a test may change."""
    shutil.copytree(LOCALE, tmp_path / "locale")
    monkeypatch.setattr(catalogues, "LOCALE", tmp_path / "locale")
    catalogue.cache_clear()
    yield tmp_path / "locale"
    catalogue.cache_clear()


def test_the_languages_that_come_with_the_kit():
    assert languages() == ("en", *LANGUAGES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_entry_of_the_template_is_translated(language):
    asked, said = entries(TEMPLATE), entries(po(language))
    assert set(asked) == set(said)
    assert [key for key, message in said.items() if not message.string] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_placeholders_agree(language):
    for message in entries(po(language)).values():
        asked, given = (
            sorted(m[0] for m in PLACEHOLDER.finditer(text))
            for text in (message.id, message.string)
        )
        assert asked == given, message.id


def test_arabic_is_written_in_arabic():
    latin = re.compile(r"[A-Za-z]{3,}")
    codes = {"TAN", "Esc", "Sitefare"}
    for message in entries(po("ar")).values():
        bare = PLACEHOLDER.sub("", message.string)
        assert set(latin.findall(bare)) <= codes, message.string


@pytest.mark.parametrize("language", LANGUAGES)
def test_months_and_units_are_those_of_cldr(language):
    # Unicode CLDR, through Babel: short month names and short unit patterns.
    english = get_month_names("abbreviated", "stand-alone", "en")
    own = get_month_names("abbreviated", "stand-alone", language)
    for month in range(1, 13):
        assert translate(english[month], language).lower() == own[month].lower()
    for unit, key in (("mass-kilogram", "kg"), ("mass-gram", "g"), ("volume-cubic-meter", "m³")):
        cldr = format_unit(3, unit, "short", locale=language)
        assert translate(key, language) in cldr


@pytest.mark.parametrize(
    ("text", "french"),
    [
        ("Water", "Eau"),
        ("water", "eau"),
        ("Million GEL", "Millions de GEL"),
        ("Net present value [million GEL]", "Valeur actuelle nette [million GEL]"),
        ("Year 10", "Année 10"),
        ("Tasks of 2027-01 prices", "Tasks of 2027-01 prices"),
        ("Cash recovered and cost by model, FJD at 2027-01 prices",
         "Recettes et coût par modèle, FJD aux prix de janvier 2027"),
        ("−5,700 to −3,240 FJD", "−5,700 à −3,240\u00a0FJD"),
        ("Kaldre: what could happen", "Kaldre\u00a0: ce qui pourrait arriver"),
        ("12\u00a0years", "12\u00a0ans"),
        ("Permits, tenure,\nwater test, quotes", "Permis, foncier, analyse d’eau, devis"),
        ("no such label", "no such label"),
        ("G", "G"),
        ("2. Kaldre · own design (not ranked)", "2. Kaldre · conception du site (non classée)"),
        ("behind 1, 2 and 4", "derrière 1, 2 et 4"),
        ("to build to last", "to build to last"),
    ],
)  # fmt: skip
def test_labels_are_said(text, french):
    assert translate(text, "fr") == french


def test_a_value_inside_arabic_keeps_its_own_direction():
    said = translate("Kaldre (invented): proposal for an aquaponic farm", "ar")
    assert said.startswith(f"{LEFT}Kaldre (invented){END}:")
    assert LEFT not in translate("Year 10", "ar")


def test_a_name_in_arabic_needs_no_marks_in_arabic():
    assert LEFT not in translate("قصر: proposal for an aquaponic farm", "ar")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_writers_words_are_all_translated(language):
    own = words(language)
    same = {key for key in ENGLISH if own[key] == ENGLISH[key]}
    allowed = {"version", "figure", "colon", "and_then"}
    assert same <= allowed
    assert "{number}" in own["page"]


def test_a_word_that_means_two_things_is_said_twice():
    assert words("fr")["figure"] == "Figure"
    assert translate("Figure", "fr") == "Chiffre"


def test_regions_share_the_catalogue_and_keep_their_months():
    assert translate("Water", "fr_CA") == translate("Water", "fr-CA") == "Eau"
    assert month_and_year("2027-02", "ar_JO") == "شباط 2027"
    assert month_and_year("2027-02", "ar") == "فبراير 2027"
    assert month_and_year("2027-02-05", "fr") == "5 février 2027"
    assert base("pt_BR") == "pt"


@pytest.mark.parametrize("language", ["en", "fr", "ar", "fr_CA", "ar-JO", "en_GB"])
def test_languages_with_a_catalogue_are_accepted(language):
    check_language(language)


@pytest.mark.parametrize("language", ["xx", "de", "fr_XX", "", "../fr", "french"])
def test_other_languages_are_refused_in_one_sentence(language):
    with pytest.raises(RunError, match="has no catalogue; en, ar, fr are accepted"):
        check_language(language)


def test_unreviewed_is_told_until_the_last_mark_is_gone(shelf):
    assert not catalogue("fr").reviewed
    path = shelf / "fr" / "LC_MESSAGES" / "sitefare.po"
    marked = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"^#, fuzzy", "#,", marked, flags=re.MULTILINE), encoding="utf-8")
    catalogue.cache_clear()
    assert catalogue("fr").reviewed
    assert translate("Water", "fr") == "Eau"


def test_a_language_that_others_add_is_known_at_once(shelf):
    added = shelf / "sw" / "LC_MESSAGES" / "sitefare.po"
    added.parent.mkdir(parents=True)
    added.write_text('msgid ""\nmsgstr ""\n\nmsgid "Water"\nmsgstr "Maji"\n', encoding="utf-8")
    check_language("sw")
    assert translate("Water", "sw") == "Maji"
    assert translate("Plan", "sw") == "Plan"


def test_a_broken_catalogue_is_refused_by_name(shelf):
    path = shelf / "fr" / "LC_MESSAGES" / "sitefare.po"
    path.write_text('msgid "Water"\nsaid "Eau"\n', encoding="utf-8")
    catalogue.cache_clear()
    with pytest.raises(RunError, match=r"sitefare\.po of 'fr' is no gettext catalogue"):
        translate("Water", "fr")


@pytest.mark.parametrize("language", LANGUAGES)
def test_entries_stand_in_order(language):
    # The script writes them sorted; out of order, later changes are hard to read.
    asked = [key for key, _ in entries(po(language))]
    assert asked == sorted(asked)


def test_direction_comes_from_the_locale():
    assert right_to_left("ar")
    assert right_to_left("fa_IR")
    assert not right_to_left("fr")
