"""How the food reaches people: distribution models side by side, who is reached and missed."""

import numpy as np
import pandas as pd

from sitefare.arrays import DAYS
from sitefare.assumptions.declaration import build
from sitefare.outputs.charts_reach import people_by_model
from sitefare.outputs.document import (
    Block,
    Caution,
    Cell,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.logged import other_results
from sitefare.outputs.proposal.view import View
from sitefare.people.need import GROUPS
from sitefare.people.rations import RationInputs
from sitefare.questions.reaching import Handed, side_by_side

#: Rest of the food below which it is not told. [1]
TOLD = 0.005


def reach(view: View) -> list[Block]:
    """Return the section on who is reached by which distribution model, and other results."""
    ways = side_by_side(view.appraisal, view.base)
    planned = next(way for way in ways if way.in_force)
    return [
        Heading(1, "How the food reaches people", "reach"),
        Paragraph(_opening(view, planned)),
        *_by_model(view, ways, planned),
        *other_results(view, planned),
        Caution(
            "Portions, days, coverage and errors of each model are plans, not measurements. Whoever "
            "hands the food over should check them with the schools, households or buyers before "
            "they are relied on; meals need a food-safety plan of their own.",
            "caution",
            "Plans, to be checked",
        ),
    ]


def _by_model(view: View, ways: tuple[Handed, ...], planned: Handed) -> list[Block]:
    """Return the models side by side, less what has no sense where nobody is reached."""
    if not any(_number(way.persons) > 0 for way in ways):
        return [
            Paragraph(
                "No model reaches anybody with both foods in every month of handing over, so no cost a "
                "person is told."
            ),
            _people_table(view, ways),
        ]
    return [
        _figure(view, ways),
        _people_table(view, ways),
        _money_table(view, ways),
        _targeting_table(view, ways),
        Paragraph(_rest(view, planned)),
    ]


def portion(view: View, way: Handed) -> str:
    """Write what one person gets on a day of handing over."""
    f, terms = view.formats, way.model.inputs
    parts = [
        f"{f.number(float(grams[0, 0]))} g of {name}"
        for name, grams in (("vegetables", terms.vegetables), ("fish", terms.fish))
        if float(grams[0, 0]) > 0
    ]
    return " and ".join(parts)


def _title(way: Handed) -> str:
    """Name a model."""
    return str(way.model.inputs.title)


def _strong(ways: tuple[Handed, ...]) -> tuple[int, ...]:
    """Return the row of the planned model."""
    return tuple(n for n, way in enumerate(ways) if way.in_force)


def _number(x: np.ndarray) -> float:
    """Return the first draw's number."""
    return float(x[0, 0])


def _opening(view: View, way: Handed) -> str:
    """Say what is planned, how people are counted, and what holidays do."""
    f, terms = view.formats, way.model.inputs
    basis = view.appraisal.fed.rations[view.appraisal.fed.headline].basis
    counted = "its worst month" if basis == "worst_month" else "its mean"
    said = (
        f"Planned: {lowered(plain(terms.title))}, {f.count(_number(terms.days))} days a year, "
        f"{portion(view, way)} a person each day (raw edible weight). That reaches "
        f"**{view.people(_number(way.persons))} people directly**, each counted once however many "
        "days there are. A full year counts by "
        f"{counted} of handing over; {_beside_fed(view, way)}"
    )
    return f"{said} {_holidays(way)}".strip()


def _beside_fed(view: View, way: Handed) -> str:
    """Say how people reached stand to people fed by the headline ration."""
    terms, ration = way.model.inputs, build(RationInputs, view.base, view.appraisal.fed.headline)
    same = ration.counted == "grams" and all(
        _number(getattr(terms, name)) == _number(getattr(ration, name) * ration.share)
        for name in ("vegetables", "fish")
    )
    if same and _number(terms.days) == DAYS.sum():
        return (
            "the portion is the headline ration on every day, so people reached are people fed, as far as "
            "the model finds them."
        )
    return "the portion or its days are not the ration's, so people reached is not people fed."


def _holidays(way: Handed) -> str:
    """Say plainly where the food of the holidays goes and how its months are counted."""
    if not way.model.closed:
        return ""
    where = {
        "households": (
            "In the holiday months the food goes home with the same people: it makes further days for "
            "them and never further people, and it counts in the rations' worst month."
        ),
        "sold": (
            "In the holiday months the food is sold elsewhere: nobody is served, so a ration counted "
            "by the worst month counts nobody, and only its yearly mean tells."
        ),
        "lost": (
            "In the holiday months the food finds nobody and is lost: a ration counted by the worst "
            "month counts nobody, and only its yearly mean tells."
        ),
    }
    days = "Between school days the cold store keeps the harvest for the next one."
    return f"{days} {where[way.model.inputs.holiday_food]}"


def _figure(view: View, ways: tuple[Handed, ...]) -> Figure:
    """Draw people reached by model."""
    frame = pd.DataFrame(
        [
            (w.model.inputs.title, _number(w.persons), _number(w.model.inputs.days), w.in_force)
            for w in ways
        ],
        columns=["model", "people", "days", "planned"],
    )
    return Figure(
        people_by_model(frame, view.formats),
        "People reached directly by each distribution model on the same harvest, and days of handing "
        "over; a smaller portion on fewer days reaches more people and feeds none of them better.",
        anchor="reach-figure",
        half=True,
    )


def _people_table(view: View, ways: tuple[Handed, ...]) -> Table:
    """Return people, days and portions by model."""
    f = view.formats
    rows: list[tuple[Cell, ...]] = [
        (
            _title(w),
            view.people(_number(w.persons)),
            view.people(_number(w.indirect)) if _number(w.indirect) > 0 else "–",
            f.count(_number(w.model.inputs.days)),
            f.number(_number(w.person_days)),
        )
        for w in ways
    ]
    columns = (
        Column("Model", weight=3),
        Column("Reached", "people", "right", weight=2),
        Column("In their homes", "people", "right", weight=2),
        Column("Days", "a year", "right", weight=1.5),
        Column("Person-days", "a year", "right", weight=2),
    )
    portions = "; ".join(f"{lowered(w.model.inputs.title)} {portion(view, w)}" for w in ways)
    note = (
        f"In bold: planned. A portion: {portions}. 'In their homes' are others of the same households, reached "
        "indirectly and counted once; where the whole household is served there are none. Person-days "
        "hold what goes home in holidays."
    )
    return Table(
        columns,
        tuple(rows),
        "People and days by model",
        plain(note),
        wide=True,
        anchor="reach-people",
        strong_rows=_strong(ways),
        layout="half",
    )


def _money_table(view: View, ways: tuple[Handed, ...]) -> Table:
    """Return cash recovered, what handing over takes, and unit costs by model."""
    f = view.formats
    rows: list[tuple[Cell, ...]] = [
        (
            _title(w),
            _number(w.cash_recovered),
            _number(w.delivery_cost),
            _number(w.per_person),
            _number(w.per_ration_day),
        )
        for w in ways
    ]
    columns = (
        Column("Model", weight=3),
        Column("Cash", "a year", "right", f.amount, weight=2),
        Column("Giving out", "a year", "right", f.amount, weight=2),
        Column("Person", "a year", "right", f.amount, weight=2),
        Column("Ration", "a day", "right", f.amount, weight=1.7),
    )
    vouchers = "".join(
        f" Vouchers are worth {f.money(_number(w.programme_pays))} a year at farm-gate prices: a "
        "transfer that the programme funds, neither cash recovered nor cost."
        for w in ways
        if _number(w.programme_pays) > 0
    )
    note = (
        "Cash: what the people served pay. Giving out: carriage, cooking, lists, stalls and the hours of those "
        "who do it, at the site's wages whoever gives them; a part of the costs beside. Person: the whole "
        "project's cost over the people reached, whose portions and days differ from "
        f"model to model. Ration: the same cost over person-days of {plain(view.ration)}, the same food by "
        "every model. Both are present values over the life, start-up in them, so they are more than a full "
        f"year's cost over its people.{vouchers}"
    )
    return Table(
        columns,
        tuple(rows),
        f"Cash recovered and cost by model, {f.currency} at {view.price_date} prices",
        plain(note),
        wide=True,
        anchor="reach-money",
        strong_rows=_strong(ways),
        layout="half",
    )


def _targeting_table(view: View, ways: tuple[Handed, ...]) -> Table:
    """Return who is meant, who is missed and who is served outside."""
    f = view.formats
    rows: list[tuple[Cell, ...]] = [
        (
            _title(w),
            view.people(_number(w.reach.target.meant)),
            f.share(_number(w.exclusion)),
            f.share(_number(w.inclusion)) if _number(w.persons) > 0 else "–",
            f.number(_number(w.performance), 2) if _number(w.persons) > 0 else "–",
        )
        for w in ways
    ]
    columns = (
        Column("Model", weight=3),
        Column("Meant", "people", "right", weight=2),
        Column("Missed", align="right", weight=2),
        Column("Not meant", align="right", weight=2),
        Column("Aim", "times random", "right", weight=2),
    )
    named = "; ".join(f"{lowered(w.model.inputs.title)} {_meant(view, w)}" for w in ways)
    note = (
        "Missed: share of the people meant who are not reached, mostly because the harvest ends "
        "(exclusion error). Not meant: share of the people reached who are not among them (inclusion "
        "error, a plan). Aim: share of those reached who are meant, over their share of the population; "
        f"1 is handing out at random. Meant are: {named}."
    )
    return Table(
        columns,
        tuple(rows),
        "Who is meant and who is missed",
        plain(note),
        wide=True,
        anchor="reach-aim",
        strong_rows=_strong(ways),
        layout="half",
    )


def group_words(group: str) -> str:
    """Name a group of requirements in the plural: 'girls of 10 to 18', 'women over 50'."""
    first, *rest = group.replace("pregnant_woman", "pregnant woman").split("_")
    many = {"child": "children", "girl": "girls", "boy": "boys", "woman": "women", "man": "men"}
    if len(rest) == 2 and all(word.isdigit() for word in rest):  # noqa: PLR2004
        return f"{many[first]} of {rest[0]} to {rest[1]}"
    words = [many.get(word, word) for word in (*first.split(), *rest)]
    return " ".join(words).replace("lactating women", "nursing mothers")


def _meant(view: View, way: Handed) -> str:
    """Say who is meant."""
    whole, share = way.model.targets == GROUPS, _number(way.model.inputs.meant_share)
    part = "all" if share >= 1 else view.formats.share(share)
    groups = ", ".join(group_words(group) for group in way.model.targets)
    return f"{part} of {'the place' if whole else groups}"


def _rest(view: View, way: Handed) -> str:
    """Say what becomes of food beyond the portions, and of a model that has reached its people."""
    f, rest = view.formats, _number(way.rest)
    said = []
    if rest > TOLD:
        said.append(
            f"{f.share(rest)} of the food handed over is more than these people's portions: one "
            "food is short in some month while the other is not, or the month gives more than the "
            "worst one. It is eaten, and counts nobody; carriage and cooking of it are paid for."
        )
    if bool(way.reach.kept_back[0, -1]):
        most = view.people(_number(way.reach.target.most))
        said.append(f"The model reaches all it can, {most} people: more food needs more people.")
    return plain(" ".join(said) or "All the food handed over makes portions.")
