"""What must a person ask at a new site, and where does each answer go?

A new site's folder holds one-page field form FORM.md and the tables it fills; blank cells are
refused by `check` until they are filled.
"""

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path

from sitefare.assumptions.declaration import DECLARED, Declared, Spec
from sitefare.assumptions.library import Library
from sitefare.assumptions.rows import MONTHLY_COLUMNS, ROW_COLUMNS, item_columns
from sitefare.errors import AssumptionError
from sitefare.people.need import GROUPS

#: Item tables that a site fills, with what each asks for.
SITE_TABLES = {
    "population": "people by group, sex and age",
    "local_price": "price of the same foods bought locally",
    "evidence": "documents held, requested or missing",
}


def asked_facts() -> dict[str, Spec]:
    """Return the facts required of a site by name, item tables not among them."""
    return {
        f"{declared.prefix}.{field}": spec
        for declared in DECLARED.values()
        if not declared.keyed
        for field, spec in declared.specs.items()
        if spec.fact == "required"
    }


def new_site(library: Library, name: str) -> list[Path]:
    """Make a site's folder with its form and tables.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    AssumptionError
        If the name is no plain name or the site exists.
    """
    if not re.fullmatch(r"[a-z][a-z0-9_]*", name):
        msg = f"site name '{name}': small letters, digits and underscores are accepted"
        raise AssumptionError(msg)
    folder = library.folder / "sites" / name
    if folder.exists():
        msg = f"site '{name}' exists already"
        raise AssumptionError(msg)
    facts = asked_facts()
    texts = {
        "site.csv": _blank({n: s for n, s in facts.items() if s.kind != "monthly"}, ROW_COLUMNS),
        "climate.csv": _blank(
            {n: s for n, s in facts.items() if s.kind == "monthly"}, MONTHLY_COLUMNS
        ),
        **{
            f"{table}.csv": _items(DECLARED[table], lines(library))
            for table, lines in TABLES.items()
        },
        "FORM.md": field_form(name, facts),
    }
    folder.mkdir(parents=True)
    for file, text in texts.items():
        encoding = "utf-8" if file.endswith(".md") else "utf-8-sig"
        (folder / file).write_text(text, encoding=encoding, newline="\n")
    return [folder / file for file in texts]


def _csv(lines: list[list[str]]) -> str:
    """Write lines as CSV text."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(lines)
    return out.getvalue()


def _blank(facts: dict[str, Spec], columns: tuple[str, ...]) -> str:
    """Write a table with one line a fact and a blank where its answer goes."""
    empty = dict.fromkeys(columns, "")
    filled = [
        {**empty, "name": name, "unit": spec.unit, "note": spec.doc} for name, spec in facts.items()
    ]
    return _csv([list(columns), *([line[c] for c in columns] for line in filled)])


def _items(declared: Declared, items: list[dict[str, str]]) -> str:
    """Write an item table with the items given, and a blank where each answer goes."""
    columns = item_columns(declared)
    empty = dict.fromkeys(columns, "")
    lines = [{**empty, **item} for item in items]
    return _csv([columns, *([line[c] for c in columns] for line in lines)])


def _groups(_: Library) -> list[dict[str, str]]:
    """Return one line for each group of the population."""
    names = {"girl": "female", "woman": "female", "boy": "male", "man": "male"}
    return [
        {
            "key": group,
            "group": group,
            "sex": next((sex for word, sex in names.items() if word in group.split("_")), "both"),
            "age": group.replace("_", " "),
            "unit": "person",
        }
        for group in GROUPS
    ]


def _prices(library: Library) -> list[dict[str, str]]:
    """Return one line for each food that the common plan grows."""
    rows = library.common.rows
    crops = [
        name.split(".")[1]
        for name, row in rows.items()
        if name.startswith("plan.") and name.endswith(".share") and row.base > 0
    ]
    foods = [*crops, rows["farm_design.species"].text]
    return [{"key": food, "unit": "USD/kg"} for food in foods]


def _documents(library: Library) -> list[dict[str, str]]:
    """Return the documents asked of every site, none of them held."""
    rows = library.common.rows
    keys = [n.split(".")[1] for n in rows if n.startswith("evidence.") and n.endswith(".title")]
    fields = ("title", "supports", "status", "gate")
    return [
        {
            "key": key,
            **{field: rows[f"evidence.{key}.{field}"].text for field in fields},
            "source": "judgement",
            "basis": "judgement",
        }
        for key in keys
    ]


#: How each item table of a new site is filled beforehand.
TABLES: dict[str, Callable[[Library], list[dict[str, str]]]] = {
    "population": _groups,
    "local_price": _prices,
    "evidence": _documents,
}


def field_form(name: str, facts: dict[str, Spec]) -> str:
    """Return the one-page field form: each fact, its unit, a blank to fill."""
    asked = len(facts) + len(SITE_TABLES) - 1
    lines = [
        f"# Field form: {name}",
        "",
        f"{asked} facts. Put the answers into the tables beside this form, each with its source,",
        "the date it held, and a basis: measured, quote, published, practice or judgement.",
        "",
        "| Fact | Unit | Answer | Where it goes |",
        "|---|---|---|---|",
    ]
    for fact, spec in facts.items():
        file = "climate.csv" if spec.kind == "monthly" else "site.csv"
        unit = "12 × " + spec.unit if spec.kind == "monthly" else spec.unit
        lines.append(f"| {spec.doc.rstrip('.')} | {unit} | | {file}: {fact} |")
    filled = {t: words for t, words in SITE_TABLES.items() if t != "evidence"}
    lines += [f"| {words.capitalize()} | table | | {t}.csv |" for t, words in filled.items()]
    lines += [
        "",
        "An hourly weather file (EPW or TMY3) in this folder answers climate.csv but for rain, and",
        "both design temperatures: delete those lines and add to site.csv the line",
        "`climate.weather_file,text,,FILE NAME,,,weather_file,,YEAR,published,`.",
        "",
        "Documents held, requested and missing stand in evidence.csv; they are no facts but gates.",
        "Ready sources: site_visit (the note says who asked or measured), judgement; add a line to",
        "common/sources.csv for a source of your own. Then run `sitefare check`. Other gaps take",
        "wide defaults, marked 'not supplied'.",
        "",
    ]
    return "\n".join(lines)
