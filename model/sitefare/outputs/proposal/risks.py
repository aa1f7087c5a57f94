"""Risks and cautions: the register with the model's numbers, and what no appraisal replaces."""

import numpy as np
import pandas as pd

from sitefare.assumptions.declaration import build, build_all
from sitefare.farm.climate import PlaceInputs
from sitefare.farm.enclosure import EnclosureInputs
from sitefare.farm.events import EventInputs, effective_losses
from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.view import View, printed_unit
from sitefare.outputs.results import unit_in
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.risk_register import MARKED, Risk, risk_register

#: Share of the capital cost below which cash lost is not told. [1]
LEAST = 0.001

#: What events hit, in words.
HITS = {"fish": "fish", "crops": "crops", "both": "fish and crops"}


def risks(view: View) -> list[Block]:
    """Return the cautions, the events that the appraisal carries, and the risk register."""
    return [
        Heading(1, "Risks and cautions", "risks"),
        Caution(
            "This appraisal is not investment advice. Get quotes, a site survey and a licensed engineer "
            "before building. Local codes and licensed practice stand above this document.",
            "caution",
            "Before money is spent",
        ),
        Bullets(_cautions(view)),
        Paragraph(
            "The base case carries the expected loss of the events in [](#events-table); the draws "
            "let each happen or not, year by year. [](#risk-table) holds all risks, with the model's "
            "own numbers where it has them."
        ),
        *_drawn(view),
        _events(view),
    ]


def register_of_risks(view: View) -> list[Block]:
    """Return the risk register, the last of the body since it asks for a page of its own."""
    return [Heading(1, "Risk register", "risk-register"), _register(view)]


def _cautions(view: View) -> tuple[str, ...]:
    """Return the cautions of the trade, with this farm's numbers."""
    f, design = view.formats, view.appraisal.design
    minutes, start, comes = (
        f.number(x, 2)
        for x in (design.life_support_minutes, design.backup_start_minutes, design.response_minutes)
    )
    return (
        (
            f"**Life support.** Without power the fish last about {minutes} minutes; the back-up starts "
            f"after {start} and a trained person is there in {comes}. At commercial density fish can die "
            "within ten minutes without air."
        ),
        (
            "**Structure and electricity.** Water and gravel are heavy, and electricity stands near water: "
            "an engineer checks every floor, and circuits have residual-current protection."
        ),
        (
            "**Species.** The fish may be restricted here: confirm the permit with the local authority "
            "before any fingerling is bought."
        ),
        (
            "**Food safety.** Produce from fish water needs a food-safety plan, hand-washing, wash water "
            "of drinking quality and monthly E. coli tests [@fao589]. Where cholera or hepatitis E is present, grow "
            "greens that are cooked."
        ),
        "**Discharge and sludge.** Both need a route and, in most places, a permit.",
        (
            "**People.** Fish need care on every day of the year: two trained people are the least, and "
            "somebody on call."
        ),
        "**Diet.** The farm supplements a diet; it does not replace a ration.",
    )


def losses(view: View) -> dict[str, float]:
    """Return by event the share of a year's output it takes at this place and house. [1]"""
    house = build(EnclosureInputs, view.base, view.appraisal.design.enclosure)
    gust = build(PlaceInputs, view.base).design_wind
    return effective_losses(view.base, gust, house.storm_share)


def _drawn(view: View) -> list[Block]:
    """Draw what events take in an average year; nothing where there is none."""
    lost = losses(view)
    frame = pd.DataFrame(
        [
            (str(event.title), float(event.chance[0, 0]), lost[key], HITS[event.hits])
            for key, event in build_all(EventInputs, view.base).items()
        ],
        columns=["event", "chance", "lost", "takes"],
    )
    if frame.empty:
        return []
    words = (
        "Chance in a year times the share of the year's output taken when the event comes. A rare "
        "event that takes much weighs little here and can still end a farm."
    )
    return [Figure(charts.events(frame, view.formats), words, anchor="events-figure")]


def _events(view: View) -> Table:
    """Return the events that the base case carries."""
    f, lost = view.formats, losses(view)
    lines = tuple(
        (
            str(event.title),
            f.share(float(event.chance[0, 0])),
            HITS[event.hits],
            f.share(lost[key]),
        )
        for key, event in build_all(EventInputs, view.base).items()
    )
    columns = (
        Column("Event", weight=3),
        Column("Chance a year", align="right", weight=1),
        Column("Takes", weight=1),
        Column("Lost", "of a year's output", "right", weight=1.2),
    )
    caption = "Events that the appraisal carries"
    return Table(columns, lines, caption, wide=True, anchor="events-table")


def _register(view: View) -> Table:
    """Return the risk register."""
    found = risk_register(view.base, losses(view), view.stresses, view.drawn)
    lines = tuple(
        (
            f"**{plain(one.inputs.title)}.** {plain(one.inputs.cause)}.",
            likelihood_words(view, one),
            _effect(view, one),
            one.inputs.response,
            one.inputs.owner,
            one.inputs.residual,
            one.inputs.early_sign,
        )
        for one in found
    )
    columns = (
        Column("Risk and cause", weight=2.3),
        Column("Likelihood", weight=1.2),
        Column("Effect", weight=2.5),
        Column("Response", weight=2.7),
        Column("Owner", weight=0.9),
        Column("Left", weight=0.7),
        Column("Early sign", weight=1.8),
    )
    note = (
        "A year: the table of events or of stress tests. Of draws: share in which the figure is worse "
        f"than the base by {view.formats.share(MARKED)} or more. Low, medium, high, the responses, owners and "
        "signs are judgement. Left: the risk that stays after the response. Cash and people lost are of "
        "the stress tests, [](#stress-table)."
    )
    return Table(
        columns,
        lines,
        "Risk register",
        note,
        wide=True,
        anchor="risk-table",
        layout="landscape",
        rich=(0,),
    )


def likelihood_words(view: View, one: Risk) -> str:
    """Write a risk's likelihood: the model's number, else the word given."""
    if not np.isfinite(one.chance):
        return one.inputs.likelihood
    share = view.formats.share(one.chance)
    return f"{share} of draws" if one.of_draws else f"{share} a year"


def _effect(view: View, one: Risk) -> str:
    """Write what a risk does: in words, then what the model says it takes."""
    f, said = view.formats, []
    least = LEAST * view.value("capex")
    if one.stressed is not None and one.stressed.most_lost > least:
        said.append(f"cash lost up to {f.money(one.stressed.most_lost)}")
    if one.stressed is not None and one.stressed.people_lost > 0.0:
        said.append(f"{f.number(one.stressed.people_lost / 12.0, 2)} person-years unfed")
    if one.stressed is None and np.isfinite(one.loss):
        said.append(f"{f.share(one.loss)} of a year's output")
    if np.isfinite(one.worse_end):
        end = "P90" if one.inputs.worse == "above" else "P10"
        name = INDICATORS[one.inputs.figure]
        said.append(
            f"{end} of {name.title.lower()}: {figure_words(view, one.inputs.figure, one.worse_end)}"
        )
    if not said:
        said.append(one.inputs.impact)
    return f"{one.inputs.effect}: {'; '.join(said)}"


#: The indicator whose persons are posts.
POSTS = "jobs_fte"


def figure_words(view: View, name: str, x: float) -> str:
    """Write an indicator's figure with its unit."""
    unit = unit_in(INDICATORS[name].unit, view.appraisal.case.currency)
    if unit.startswith(view.formats.currency):
        each = unit.removeprefix(view.formats.currency).replace("/", " a ")
        return view.formats.money(x) + each
    words = printed_unit(unit).replace("/", " a ")
    if words == "person":
        return view.formats.number(x, 2, "full-time posts" if name == POSTS else "people")
    return view.formats.number(x, 3, words)
