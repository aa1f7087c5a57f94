"""What the diet of the people fed still lacks, and what a whole ration would cost them."""

from sitefare.arrays import day_mean
from sitefare.assumptions.declaration import build
from sitefare.outputs.citations import cite
from sitefare.outputs.document import Block, Bullets, Column, Heading, Paragraph, Table, plain
from sitefare.outputs.proposal.view import View
from sitefare.people.lack import MACRO, Lack, lack
from sitefare.people.need import DietInputs, population_need
from sitefare.people.words import UNITS, nutrient_name

#: What a full ration is held against, in words.
REQUIREMENT = {
    "planning_ration": "the planning ration of humanitarian standards",
    "population_need": "the mean need of the population given",
}


def lacking(view: View) -> list[Block]:
    """Return what must come from elsewhere for a full ration, its cost, and what is short still."""
    found = lack(view.base, view.appraisal.fed)
    fed = view.value("people_fed") > 0
    return [
        Heading(2, "What the diet still lacks", "lack"),
        Paragraph(
            f"Held against {_asked(view, found)}, {_finding(view, found) if fed else 'the farm gives nothing by the headline ration.'} "
            f"{_other_need(view, found)}The rest must come from elsewhere: oil fills fat, the staple and "
            "pulses energy and protein."
        ),
        _basket(view, found),
        *([_macro(view, found)] if fed else []),
        Bullets(tuple(_sentences(view, found))),
    ]


def _asked(view: View, found: Lack) -> str:
    """Say what a full ration is here; a planning ration's fat is a choice of the diet, not its own."""
    f, words = view.formats, REQUIREMENT[found.requirement]
    energy, protein, fat = (
        f.number(float(found.required[n][0, 0]), 3, UNITS[n]).strip() for n in MACRO
    )
    if found.requirement != "planning_ration":
        return f"{words} ({energy}, {protein} of protein, {fat} of fat a person a day)"
    share = f.share(float(build(DietInputs, view.base).fat_energy_share[0, 0]))
    source = view.behind("diet.fat_energy_share")
    return (
        f"{words}{cite(['sphere_2018'])} ({energy}, {protein} of protein a person a day) with {fat} "
        f"of fat, {share} of energy{source}"
    )


def _finding(view: View, found: Lack) -> str:
    """Say what shares of a full ration the farm gives."""
    parts = [
        f"{view.formats.share(float((day_mean(found.farm[n]) / found.required[n])[0, 0]))} of {n}"
        for n in MACRO
    ]
    return f"the farm's ration gives {', '.join(parts[:-1])} and {parts[-1]}."


def _other_need(view: View, found: Lack) -> str:
    """Say that shares of the population's own need, printed elsewhere, have another base."""
    if found.requirement != "planning_ration" or view.value("people_fed") <= 0:
        return ""
    need, f = population_need(view.base).mean, view.formats
    energy, protein = (
        f.number(float(need[n][0, 0]), 3, UNITS[n]).strip() for n in ("energy", "protein")
    )
    return (
        f"Shares of need elsewhere are of the population's own mean need, {energy} and {protein} of "
        "protein. "
    )


def _basket(view: View, found: Lack) -> Table:
    """Return staple, pulses and oil: grams, kilograms a month for all, cost."""
    f = view.formats
    rows: list[tuple[str, str, str, str]] = []
    for kind, grams in found.grams.items():
        low, high = float(grams.min()), float(grams.max())
        rows.append(
            (
                found.foods[kind].key.replace("_", " ").capitalize(),
                f.span(low, high, lambda x: f.number(x, 3)),
                _kilograms(view, found, kind),
                f.amount(found.cost[kind]),
            )
        )
    rows.append(("Together", "", "", f.amount(found.cost_beside)))
    columns = (
        Column("From elsewhere", weight=1.6),
        Column("Each", "g/day", "right"),
        Column("All fed", "kg/month", "right"),
        Column("Cost", f"{f.currency} a person-day", "right"),
    )
    note = (
        "Least to most of any calendar month; cost on the mean day, at local market prices of the "
        "appraisal date, carriage and cooking fuel left out."
    )
    return Table(
        columns,
        tuple(rows),
        "What must come from elsewhere",
        note,
        wide=True,
        anchor="lack-table",
        layout="half",
        strong_rows=(len(rows) - 1,),
    )


def _kilograms(view: View, found: Lack, kind: str) -> str:
    """Write kilograms a month for all people fed; nothing where nobody is."""
    low, high = float(found.kg[kind].min()), float(found.kg[kind].max())
    return view.formats.span(low, high, lambda x: view.formats.number(x, 3)) if high > 0 else "–"


def _macro(view: View, found: Lack) -> Table:
    """Return what the whole ration gives of every nutrient, and without the farm."""
    f = view.formats
    rows = tuple(
        (
            nutrient_name(n)[:1].upper() + nutrient_name(n)[1:],
            f.share(found.total[n]),
            f.share(found.total_alone[n]),
        )
        for n in found.total
    )
    columns = (
        Column("Nutrient", weight=1.6),
        Column("Farm and basket", align="right"),
        Column("Basket alone", align="right"),
    )
    note = (
        "Share on the year's mean: energy, protein and fat of the full ration, the rest of the "
        "population's mean need. Staple, pulse and oil as bought, not fortified."
    )
    return Table(
        columns,
        rows,
        "The completed ration",
        note,
        wide=True,
        anchor="completed-table",
        layout="half",
    )


def _sentences(view: View, found: Lack) -> list[str]:
    """Say what the whole ration costs, what it gives beyond, and what is short with it."""
    f = view.formats
    cost = view.value("cost_per_person_day")
    alone = f.money(found.cost_alone)
    said = []
    if view.value("people_fed") > 0:
        said.append(
            f"The completed ration costs **{f.money(cost + found.cost_beside)} a person-day**: the farm's "
            f"{f.money(cost)} and {f.money(found.cost_beside)} of basket. A full ration of staple, pulse "
            f"and oil without the farm costs {alone}: the farm's food takes "
            f"{f.money(found.cost_alone - found.cost_beside)} off the basket, and adds what the basket lacks."
        )
    else:
        said.append(f"A full ration of staple, pulse and oil without the farm costs {alone} a day.")
    beyond = [f"{f.share(found.total[n])} of {n}" for n in MACRO if found.total[n] > 1.005]  # noqa: PLR2004
    if beyond:
        said.append(f"More is given than is asked: {' and '.join(beyond)}.")
    if found.short:
        names = ", ".join(f"{nutrient_name(n)} ({f.share(x)})" for n, x in found.short.items())
        said.append(
            f"Even then these fall short: {plain(names)}. Fortified staple or oil, other foods or "
            "supplements must give them; salt must be iodised."
        )
    return said
