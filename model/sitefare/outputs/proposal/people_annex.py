"""Annex on people: cover by group and month, people by sex and age, what a kilogram costs."""

from sitefare.outputs.document import Block, Bullets, Cell, Column, Heading, Table
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.cover import cover_through_the_year
from sitefare.outputs.proposal.kilograms import kilograms_table
from sitefare.outputs.proposal.logged import nutrients_table
from sitefare.outputs.proposal.view import View, sentence
from sitefare.people.need import basis_notes
from sitefare.people.reach import GroupReach, by_group
from sitefare.questions.reaching import Handed, in_force

#: Age bands of the population gathered for print: children, and women and men.
SEXES = {"female": "Women and girls", "male": "Men and boys", "both": "Children, sex not parted"}


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
        Heading(1, "Annex: people", "annex-people"),
        *cover,
        *reached,
        Heading(2, "What a kilogram and a nutrient cost", "annex-unit-costs"),
        kilograms_table(view),
        nutrients_table(view),
        Heading(2, "What the requirements rest on", "annex-need"),
        Bullets(tuple(sentence(note) for note in basis_notes(view.base))),
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
