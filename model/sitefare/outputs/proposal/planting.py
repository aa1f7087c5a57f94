"""Would another mix of crops feed more people, or feed each for less?"""

import math

from sitefare.outputs.document import Block, Bullets, Column, Heading, Paragraph, Table
from sitefare.outputs.drawing import lowered
from sitefare.outputs.numbers import NBSP, Formats
from sitefare.outputs.proposal.feeding import bound, nutrient_words
from sitefare.outputs.proposal.view import View, sentence
from sitefare.people.words import bound_words
from sitefare.questions.crop_mix import AIMS, CropMix, crop_mix, grown

#: Nutrients that a heap of light leaves may miss, shown beside the people it feeds.
WATCHED = ("protein", "vitamin_a", "vitamin_c", "folate", "calcium", "iron", "zinc")

#: Limits printed at most.
SHOWN = 5

#: Share of what the programme promised beyond which a difference is told. [1]
TOLD = 0.02


def planting(view: View) -> list[Block]:
    """Return the section on the crop mix: what would feed most people on the same beds."""
    mix = crop_mix(view.appraisal.plan, "most_people")
    if mix.solution.people <= 0.0:
        finding = mix_finding(mix, view.formats, view.appraisal.case.currency)
        return [
            Heading(1, "Annex: another crop mix", "crop-mix", annex=True),
            Paragraph(f"{finding} {sentence(bound_words(bound(view)))}"),
        ]
    return [
        Heading(1, "Annex: another crop mix", "crop-mix", annex=True),
        Paragraph(mix_finding(mix, view.formats, view.appraisal.case.currency)),
        shares_table(mix, view.formats),
        *_judged(mix, view.formats, view.appraisal.case.currency),
        Bullets(tuple(limit_sentences(mix, view.formats, view.appraisal.case.currency))),
        Paragraph(
            "Linear programming between farms of one crop each, on the same beds, house and fish; the mix is "
            "then rounded to whole percents and appraised whole, and that appraisal is what is printed. It "
            "serves one ration in its months: it knows nothing of taste, rotation or buyers beyond the limits "
            "given, and it is a suggestion to the grower, not the plan appraised here.",
            "small",
        ),
    ]


def mix_finding(mix: CropMix, f: Formats, currency: str) -> str:
    """Say in one sentence what the mix would do."""
    aim = AIMS[mix.aim]
    if mix.solution.people <= 0.0:
        return (
            "No mix of crops within the limits feeds anybody by the headline ration in all the months "
            "it counts."
        )
    if not mix.better:
        return f"For the {aim} no mix within the limits beats the plan's own, appraised whole."
    now, then = mix.planned, mix.found
    return (
        f"For the {aim}, the mix below feeds {f.number(then.people, 2)} people instead of "
        f"{f.number(now.people, 2)} by the headline ration, where a person-day costs "
        f"{_cost(f, then.cost, currency)} instead of {_cost(f, now.cost, currency)}."
    )


def _cost(f: Formats, x: float, currency: str) -> str:
    """Write the cost of a person-day of a mix."""
    return f"{currency}{NBSP}{f.amount(x)}" if math.isfinite(x) else "nothing, for nobody is fed,"


def shares_table(mix: CropMix, f: Formats) -> Table:
    """Return the shares of the beds, planned and found."""
    lines = tuple(
        (
            key.replace("_", " ").capitalize(),
            f.share(mix.planned.shares.get(key, 0.0)),
            f.share(mix.found.shares.get(key, 0.0)),
        )
        for key in grown(mix)
    )
    columns = (
        Column("Crop"),
        Column("Planned", "of the beds", "right"),
        Column("Found", "of the beds", "right"),
    )
    return Table(
        columns,
        lines,
        "Shares of the beds, planned and found",
        wide=True,
        anchor="mix-table",
        layout="half",
    )


def _judged(mix: CropMix, f: Formats, currency: str) -> list[Block]:
    """Set people, cost and nourishment of the two mixes side by side."""
    lines = [
        (
            "People fed, headline ration",
            f.number(mix.planned.people, 2),
            f.number(mix.found.people, 2),
        ),
        (
            f"Cost, {currency} a person-day",
            f.answer(mix.planned.cost, f.amount, "nobody is fed"),
            f.answer(mix.found.cost, f.amount, "nobody is fed"),
        ),
        (
            "Cost over the local price",
            f.number(mix.planned.over_local, 2),
            f.number(mix.found.over_local, 2),
        ),
    ]
    lines += [
        (f"{nutrient_words(n)} covered", f.share(mix.planned.cover[n]), f.share(mix.found.cover[n]))
        for n in WATCHED
    ]
    columns = (Column("What"), Column("Planned", align="right"), Column("Found", align="right"))
    note = "Covered: share of the mean daily requirement of one who is fed, mean of the year."
    return [
        Table(
            columns,
            tuple(lines),
            "What each mix gives",
            note,
            wide=True,
            anchor="mix-gives-table",
            layout="half",
        )
    ]


def limit_sentences(mix: CropMix, f: Formats, currency: str) -> list[str]:
    """Say which limits hold the answer, what easing each is worth, and what was left out."""
    if mix.solution.people <= 0.0:
        return []
    unit = "people" if mix.aim == "most_people" else f"{currency} a person-day"
    months = [x for x in mix.solution.limits if x.kind == "demand" and x.binds]
    said = []
    if months:
        named = ", ".join(
            f"{x.title} ({f.share(x.worth)})" for x in sorted(months, key=lambda x: -x.worth)
        )
        said.append(f"**What binds**, with its weight: {named}.")
    ranked = sorted(mix.worths.items(), key=lambda pair: -abs(pair[1]))[:SHOWN]
    if ranked:
        worths = "; ".join(f"{_limit(k)} {f.number(x, 2)} {unit}" for k, x in ranked)
        said.append(f"**Worth of one percent of the beds more** under each limit: {worths}.")
    promised = mix.promised
    got = mix.found.people if mix.aim == "most_people" else mix.found.cost
    if abs(got - promised) > TOLD * promised:
        said.append(
            f"The straight lines promise {f.number(promised, 3)} {unit}; appraised whole it is {f.number(got, 3)}: crops share one house, one water and whole posts."
        )
    if mix.refused:
        said.append(
            "Left out: "
            + "; ".join(f"{lowered(k.replace('_', ' '))}: {why}" for k, why in mix.refused.items())
            + "."
        )
    return said


def _limit(title: str) -> str:
    """Name a limit as printed."""
    words = title.replace("_", " ")
    return words if words == "all beds" or words.endswith("together") else f"most {words}"
