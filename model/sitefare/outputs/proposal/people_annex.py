"""Annex on people: cover by group and month, people by sex and age, what a kilogram costs."""

import numpy as np

from sitefare.arrays import day_mean
from sitefare.assumptions.declaration import build
from sitefare.outputs.citations import cite
from sitefare.outputs.document import Block, Bullets, Cell, Column, Heading, Table
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.cover import cover_through_the_year
from sitefare.outputs.proposal.feeding import nutrient_words
from sitefare.outputs.proposal.kilograms import kilograms_table
from sitefare.outputs.proposal.logged import nutrients_table
from sitefare.outputs.proposal.view import View, printed_unit, sentence
from sitefare.people.energy import lifestyle
from sitefare.people.need import ActivityInputs, basis_notes, population_need
from sitefare.people.planning import planning_coverage, planning_need, planning_words
from sitefare.people.reach import GroupReach, by_group
from sitefare.people.words import UNITS
from sitefare.questions.reaching import Handed, in_force

#: Age bands of the population gathered for print: children, and women and men.
SEXES = {"female": "Women and girls", "male": "Men and boys", "both": "Children, sex not parted"}

#: Words of a sentence on requirements, and the source behind it.
RESTS_ON = {
    "FAO/WHO/UNU equations": "fao_who_unu_energy_2004",
    "are taken up": "who_fao_2004",
    "iron": "who_fao_2004",
    "The planning ration is": "sphere_2018",
    "it rises by": "wfp_unhcr_1997",
    "planning energy rises": "wfp_unhcr_1997",
}


def people_annex(view: View) -> list[Block]:
    """Return the tables on people that a reader of the sections asks for next."""
    planned = in_force(view.appraisal, view.base)
    cover: list[Block] = []
    if view.value("people_fed") > 0:
        cover = [
            Heading(2, "Cover by group and month", "annex-cover"),
            *cover_through_the_year(view),
        ]
    reached: list[Block] = []
    if float(planned.persons[0, 0]) > 0:
        reached = [
            Heading(2, "People by sex and age", "annex-groups"),
            groups_table(view, planned),
        ]
    return [
        Heading(1, "Annex: people", "annex-people", annex=True),
        *cover,
        *reached,
        Heading(2, "What a kilogram and a nutrient cost", "annex-unit-costs"),
        kilograms_table(view),
        nutrients_table(view),
        Heading(2, "What the requirements rest on", "annex-need"),
        Bullets(_requirements(view)),
        *_planned_share(view),
    ]


def _requirements(view: View) -> tuple[str, ...]:
    """Say what the requirements rest on, the planning ration beside, each with its source."""
    need, adult = population_need(view.base), build(ActivityInputs, view.base).adult
    temperature = np.asarray(view.base["climate.temperature"], dtype=np.float64)
    planned = planning_words(
        planning_need(view.base), need, temperature, lifestyle(float(adult[0, 0]))
    )
    said = (*basis_notes(view.base), *planned)
    return tuple(f"{sentence(printed_unit(note))}{cite(_sources(note))}" for note in said)


def _sources(note: str) -> list[str]:
    """Return the sources behind a sentence on requirements."""
    return [key for words, key in RESTS_ON.items() if words in note]


def _planned_share(view: View) -> list[Block]:
    """Return what share of the planning ration the people fed get; nothing where nobody is fed."""
    f, fed = view.formats, view.appraisal.fed
    if view.value("people_fed") <= 0:
        return []
    asked = planning_need(view.base)
    covered = planning_coverage(fed, population_need(view.base), asked)
    rows = tuple(
        (
            nutrient_words(n),
            f.number(float(asked[n][0, 0]), 3, UNITS[n]),
            f.share(float(day_mean(share)[0, 0])),
        )
        for n, share in covered.items()
    )
    columns = (
        Column("Nutrient", weight=1.6),
        Column("Planning ration", "a person a day", "right"),
        Column("Covered", "mean of the year", "right"),
    )
    return [
        Table(
            columns,
            rows,
            "Share of the planning ration that the headline ration covers for the people fed",
            wide=True,
            anchor="planning-table",
            layout="folded",
        )
    ]


def groups_table(view: View, way: Handed) -> Table:
    """Return people by sex and age, direct and indirect, each counted once."""
    rows: list[tuple[Cell, ...]] = []
    strong = []
    groups = by_group(view.base, way.reach, way.persons, way.indirect)
    for sex, title in SEXES.items():
        found = [g for g in groups if g.sex == sex]
        rows.extend(_group_row(view, g) for g in found)
        if found:
            strong.append(len(rows))
            rows.append(_sum_row(view, title, found))
    strong.append(len(rows))
    rows.append(_sum_row(view, "All", groups))
    columns = (
        Column("Group", weight=3),
        Column("Age", weight=2),
        Column("Live there", align="right", weight=2),
        Column("Reached", align="right", weight=2),
        Column("In homes", align="right", weight=2),
    )
    return Table(
        columns,
        tuple(rows),
        f"People by sex and age, {lowered(way.model.inputs.title)}",
        "Reached in proportion to the people of each group meant; others in the homes over everyone "
        "else. Rounded one by one. To be replaced by the lists once food is handed over.",
        anchor="reach-groups",
        strong_rows=tuple(strong),
        wide=True,
        layout="folded",
    )


def _group_row(view: View, group: GroupReach) -> tuple[Cell, ...]:
    f = view.formats
    numbers = (group.persons, group.direct, group.indirect)
    name = group.key.replace("_", " ").capitalize()
    return (name, group.age, *(f.count(float(x[0, 0])) for x in numbers))


def _sum_row(view: View, title: str, groups: list[GroupReach]) -> tuple[Cell, ...]:
    f = view.formats
    sums = (
        sum(float(getattr(g, n)[0, 0]) for g in groups) for n in ("persons", "direct", "indirect")
    )
    return (title, "", *(f.count(x) for x in sums))
