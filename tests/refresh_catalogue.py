"""Bring the catalogues up to date: python tests/refresh_catalogue.py [LANGUAGE ...].

Collects the labels of every document of the small set, the words of their charts and the writers'
own words into locale/sitefare.pot, and carries them into every .po: what is new stands there
without a translation, what no document of the set asks for is marked "part" and stays, for it may
stand inside another entry or come from another site. A LANGUAGE named starts a new catalogue.
Takes about three minutes.
"""

import datetime as dt
import re
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import pandas as pd
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import project_library
from sitefare.assumptions.places import read_places
from sitefare.outputs.batch_index import FILES, PAGE, RunLine, index_document
from sitefare.outputs.catalogue import LOCALE, SPACES, pattern, templates_of
from sitefare.outputs.chart_words import axis_titles, shown_words
from sitefare.outputs.choice import make_choice
from sitefare.outputs.comparison import make_comparison
from sitefare.outputs.comparison.naming import INVENTED
from sitefare.outputs.design_document import document as design_document
from sitefare.outputs.document import Figure
from sitefare.outputs.picture import Picture
from sitefare.outputs.proposal import make_proposal
from sitefare.outputs.proposal.view import row_words
from sitefare.outputs.run_table import Run
from sitefare.outputs.screen_document import Screened, screen_document
from sitefare.outputs.translation import WRITTEN, labels
from sitefare.outputs.uncertain import _document as uncertain_document
from sitefare.outputs.words import ENGLISH
from sitefare.questions import screening
from sitefare.questions.candidates import offer
from sitefare.questions.choosing import Terms, portfolio
from sitefare.questions.figures import RATIO

SMALL_SET = (
    ("qasr_adhra", "as_planned"),
    ("port_anui", "grant_and_soft_loan"),
    ("kaldre", "solar_supply"),
    ("norhaven", "low_cost_build"),
)

#: Kinds of label that a catalogue must hold; the others it may.
ASKED = frozenset(
    {"title", "heading", "column", "unit", "card", "caution", "caption", "axis", "document"}
)

#: Tables whose first column names rows of the register, which stay as the register has them.
OF_THE_REGISTER = re.compile(r"\([a-z][a-z ,]*\)$|…|Hours per driver")

#: Longest name that is collected. [characters]
NAME = 60

TEMPLATE = LOCALE / "sitefare.pot"


def asked_of(document):
    """Yield the kind and text of every label of a document and its charts."""
    yield from labels(document)
    for block in document.blocks:
        if not isinstance(block, Figure):
            continue
        if not isinstance(block.picture, Picture):
            yield from (("chart", text) for text in WRITTEN.findall(block.picture.wide_svg))
            continue
        for spec in (block.picture.wide, block.picture.narrow):
            yield from (("axis", text) for text in axis_titles(spec))
            yield from (("chart", text) for text in shown_words(spec))


def wanted(kind, text):
    """Say whether a text has words that a catalogue could hold."""
    if kind == "name" and len(text) > NAME:
        return False
    if kind not in ASKED and (re.search(r"\d", text) or OF_THE_REGISTER.search(text)):
        return False
    return not re.fullmatch(r"[A-Z]{3}", text) and re.search(r"[^\W\d_]{2}", text) is not None


def entry_of(text, templates, currency="", known=()):
    """Return the entry that holds a text: one with placeholders that fits, else its own."""
    text = SPACES.sub(" ", text).strip()
    other = text[:1].swapcase() + text[1:]
    if text in known or other in known:
        return text if text in known else other
    for key in templates:
        if pattern(key).fullmatch(text):
            return key
    if currency:
        text = re.sub(rf"\b{currency}\b", "{currency}", text)
    return re.sub(r"\b\d{4}-\d{2}\b", "{date}", text)


def piece_of(text, kind, names):
    """Say whether a chart's text is a line of a name that was wrapped."""
    pieces = ((f"{name} ".startswith(f"{text} "), name.endswith(f" {text}")) for name in names)
    return kind == "chart" and any(map(any, pieces))


def documents():
    """Yield every document whose labels are collected, its currency, and names to leave alone."""
    places, runs = set(), []
    for site, scenario in SMALL_SET:
        made = make_proposal(site, scenario, draws=256)
        view = made.view
        places |= names_of(site, view.place)
        runs.append(run_line(site, scenario, made.results))
        rows = {row_words(row) for row in view.appraisal.case.rows.values()} | places
        yield made.document, view.formats.currency, rows
        yield uncertain_document(view), view.formats.currency, rows
        yield design_document(view.sheet, view.formats), view.formats.currency, rows
    library = project_library()
    for document in (*comparisons(), *choices(library), *screens(library), *batches(runs)):
        yield document, "USD", places


def names_of(site, place):
    """Return what a site is called in documents of many, which no language changes."""
    return {site, place, place.removesuffix(INVENTED)}


def comparisons():
    """Yield a comparison of sites and designs, and one by another figure."""
    sites = [site for site, _ in SMALL_SET]
    designs = ("", "rafts_300")
    yield make_comparison(sites, "as_planned", draws=256, designs=designs).document
    yield make_comparison(sites[:2], "as_planned", draws=0, by="people_fed").document


def choices(library):
    """Yield a choice for most people and one for least cost, of two sizes a site."""
    cases = [(make_case(library, site, "as_planned"), "coast") for site, _ in SMALL_SET[:3]]
    offered = offer(cases, (100.0, 300.0), "base", 0, 1)
    capital = sorted(farm.capital for farm in offered.candidates)
    people = sum(farm.people for farm in offered.candidates)
    for terms in (Terms(budget=sum(capital[:3])), Terms("least_cost", least_people=people / 3)):
        found = portfolio(offered.candidates, terms)
        own = [case for case, _ in cases]
        yield make_choice(own, offered, found, "base", 0, 1).document


def screens(library):
    """Yield a screen of places, each like a site, ordered by one figure and by another."""
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / "places.csv"
        spots = [f"{site},{site},{20 * n}" for n, (site, _) in enumerate(SMALL_SET[:3])]
        table.write_text("\n".join(("place,like,longitude", *spots)), encoding="utf-8")
        spots = read_places(table, library)
    asked = screening.asked_of(library, spots, "as_planned", (), 16, 1)
    lines = pd.DataFrame([screening.screened(library, spot, asked) for spot in spots])
    for by in (RATIO, "people_fed"):
        kept = screening.ranked(lines, by)
        yield screen_document(Screened(lines, kept, {}, asked, by, (), len(spots)))


def run_line(site, scenario, found):
    """Return a run of a batch as it would stand on disk."""
    run = Run(site, site, scenario, (), 256, 1, documents=True)
    return RunLine(run, site, found, dict.fromkeys((PAGE, *FILES), 1))


def batches(runs):
    """Yield the page of a batch: of one run, of rations and a failure, and of many runs."""
    first, second, *rest = runs
    lost = RunLine(replace(first.run, name="lost", design="rafts_300"), "", {}, {}, "a reason")
    entries = second.found["indicators"]
    other = next(x for x in second.found["rations"] if x != entries["people_fed"]["ration"])
    counted = entries | {"people_fed": entries["people_fed"] | {"ration": other}}
    mixed = replace(second, found=second.found | {"indicators": counted})
    many = [replace(first, run=replace(first.run, name=f"run_{n}")) for n in range(30)]
    for lines in ([first], [first, mixed, *rest, lost], runs, many):
        yield index_document(lines, {})


def collected(known):
    """Return the entries asked for, with the kinds of label each stands for."""
    found = {}
    templates = templates_of(known)
    for document, currency, left_alone in documents():
        for kind, text in asked_of(document):
            if text and wanted(kind, text):
                key = entry_of(text, templates, currency, known)
                if key in known or not (key in left_alone or piece_of(key, kind, left_alone)):
                    found.setdefault(key, set()).add(kind)
    # what stands inside another entry, or what no demo site shows, stays
    for key in known:
        found.setdefault(key, {"part"})
    for text in ENGLISH.values():
        found.setdefault(text, set()).add("writer")
    return found


def header(catalog):
    """Put the same head on every catalogue, without the time of writing."""
    catalog.project, catalog.version = "Sitefare", "1"
    catalog.creation_date = catalog.revision_date = dt.datetime(2026, 11, 30, tzinfo=dt.UTC)
    catalog.last_translator, catalog.language_team = "nobody yet", ""
    catalog.msgid_bugs_address, catalog.fuzzy = "", False
    return catalog


def read(path, language=None):
    with path.open("rb") as file:
        return read_po(file, locale=language)


def write(catalog, path):
    """Write a catalogue, sorted, so that a change shows as its own lines."""
    path.parent.mkdir(parents=True, exist_ok=True)
    for message in catalog:
        message.flags.discard("python-format")  # a sign of per cent is no placeholder
    with path.open("wb") as file:
        write_po(file, header(catalog), width=100, sort_output=True)


def refresh(new=()):
    """Collect, write the template, carry it into every catalogue."""
    before = read(TEMPLATE) if TEMPLATE.exists() else Catalog()
    template = Catalog(header_comment="# Labels of Sitefare's documents.")
    for key, kinds in collected({m.id: None for m in before if m.id}).items():
        template.add(key, auto_comments=[", ".join(sorted(kinds))])
    for message in before:
        if message.context:
            template.add(message.id, context=message.context)
    write(template, TEMPLATE)
    for language in new:
        path = LOCALE / language / "LC_MESSAGES" / "sitefare.po"
        if not path.exists():
            write(Catalog(locale=language), path)
    for path in sorted(LOCALE.glob("*/LC_MESSAGES/sitefare.po")):
        catalog = read(path, path.parts[-3])
        catalog.update(template, no_fuzzy_matching=True)
        write(catalog, path)
        empty = [message.id for message in catalog if message.id and not message.string]
        print(f"{path.parts[-3]}: {len(catalog)} entries, {len(empty)} without a translation")  # noqa: T201


if __name__ == "__main__":
    refresh(sys.argv[1:])
