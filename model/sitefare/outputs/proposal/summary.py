"""The first page: what is asked, what it gives, what it costs, what is weak, what would say no."""

import math

from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Fact,
    Facts,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.feeding import bound
from sitefare.outputs.proposal.made import linked, made_anchor
from sitefare.outputs.proposal.reporting import also
from sitefare.outputs.proposal.view import View, row_value, row_words, sentence
from sitefare.people.words import bound_words, when
from sitefare.questions.tornado import Bar, Tornado
from sitefare.questions.weakest import unsupported_share, weakest

#: How far the year's mean must lie over the worst month to be told. [1]
NOTED = 1.1

#: The indicator that the cost of a person-day is held against.
ALTERNATIVE = "alternative_cost_person_day"

#: What the weakest numbers move, in words; cost unless nobody is fed.
COST = "cost_per_person_day"
MOVED = {COST: "cost per person-day", "npv": "net present value"}


def summary(view: View) -> list[Block]:
    """Return the blocks of the first page."""
    return [
        Heading(1, "Summary", "summary"),
        Paragraph(_lead(view), "lead"),
        Paragraph(_verdict(view)),
        *_data_caution(view),
        _cards(view),
        _first_table(view),
        Heading(2, "The three weakest numbers", "weakest"),
        *_weakest(view),
        Heading(2, "What would make the answer no", "answer-no"),
        *_what_says_no(view),
    ]


def _lead(view: View) -> str:
    """Say in two sentences what the farm is and gives."""
    f, design = view.formats, view.appraisal.design
    count = view.value("people_fed")
    supplied = (
        f"**{view.people(count)} people** with {plain(view.ration)}{_counted(view)}"
        if count > 0
        else f"**nobody in every month** with {plain(view.ration)}{_counted(view)}"
    )
    return (
        f"An aquaponic farm (fish and vegetables in recirculating water) with "
        f"{f.number(design.bed_area)} m² of {_bed_words(design.bed_kind)} at {plain(view.place)} would supply "
        f"{supplied}. It costs **{view.shown('capex', f.money)}** to build, at {view.price_date} prices."
    )


def _counted(view: View) -> str:
    """Say by which months the headline counts, where the worst one holds it well below the mean."""
    found = bound(view)
    if found.basis != "worst_month" or found.mean < found.least * NOTED:
        return ""
    mean = view.people(found.mean)
    if found.least <= 0:
        return f": no {found.part} is left {when(found)}; the harvest of the mean month would do for {mean}"
    return (
        f", counted in the worst month ({found.part} {when(found)}); the harvest of the mean month "
        f"would do for {mean}"
    )


def _bed_words(kind: str) -> str:
    """Name a kind of bed in words."""
    return {
        "media": "media bed (gravel)",
        "raft": "raft bed (deep-water culture)",
        "channel": "nutrient-film channel",
    }.get(kind, kind)


def _verdict(view: View) -> str:
    """Say plainly whether it pays and how it compares with buying the same food."""
    f = view.formats
    cost, other = view.value("cost_per_person_day"), view.value(ALTERNATIVE)
    if not math.isfinite(cost):
        return (
            "No cost per person-day can be given: nobody is fed in every month of a full year. The food "
            f"of the ration bought locally costs {f.money(other)} a person-day. {_money_words(view)}"
        )
    times = cost / other if other > 0 else float("nan")
    beside = (
        f"A person-day costs **{view.shown('cost_per_person_day', f.money)}**; the same food bought "
        f"locally costs {f.money(other)}, so the farm costs {f.number(times, 2)} times as much."
        if times >= 1
        else f"A person-day costs **{view.shown('cost_per_person_day', f.money)}**, less than the "
        f"{f.money(other)} that the same food costs locally ({f.number(times, 2)} of it)."
    )
    money = _money_words(view)
    odd = view.outside("cost_per_person_day")
    spread = view.drawn.spreads.get("cost_per_person_day")
    draws = ""
    if odd and spread is not None:
        draws = f" In the draws the middle cost is **{f.money(spread.median)}**; {odd}."
    return f"{beside}{draws} {money}"


def _money_words(view: View) -> str:
    """Say whether the farm pays in money alone, and what it needs where it does not."""
    worth = f"net present value {view.shown('npv', view.formats.money)}"
    if view.pays:
        return f"In money alone it pays: {worth}."
    period = f"over {_years(view)} years"
    if view.value("subsidy_year_after_grant") <= 0:
        return (
            f"**In money alone it does not pay back its cost**: {worth} {period}, though sales cover "
            "running and replacement costs once it is built."
        )
    needs = view.shown("subsidy_year_after_grant", view.formats.money)
    return (
        f"**In money alone it does not pay**: {worth} {period}; it needs a grant and, after it, "
        f"{needs} a year."
    )


def _data_caution(view: View) -> list[Block]:
    """Warn of invented rows and of figures outside published bands, in one box."""
    words = []
    if view.appraisal.case.demonstration:
        words.append(
            "**Demonstration data.** The place, its people and its prices are invented; no decision may rest on this document."
        )
    outside = [band for band in view.bands if band.outside]
    if outside:
        found = "; ".join(
            f"{band.title.lower()} {view.band_figure(band)} (band: {band.band})" for band in outside
        )
        words.append(f"**Outside the usual bands:** {plain(found)}. See [](#bands-table).")
    return [Caution(" ".join(words), "caution", "Read first")] if words else []


def _cards(view: View) -> Facts:
    """Return the headline cards."""
    f = view.formats
    return Facts(
        (
            Fact(
                "People fed",
                view.shown("people_fed", view.people),
                view.span("people_fed", view.people),
                view.ration,
                made_anchor("people_fed"),
            ),
            Fact(
                "Cost per person-day",
                view.shown("cost_per_person_day", f.money),
                view.span("cost_per_person_day", f.money),
                also(view, "cost_per_person_day")
                + f"same food locally {f.money(view.value('alternative_cost_person_day'))}",
                made_anchor("cost_per_person_day"),
            ),
            Fact(
                "Capital cost",
                view.shown("capex", f.money),
                view.span("capex", f.money),
                f"{also(view, 'capex')}prices of {view.price_date}, contingency included",
                made_anchor("capex"),
            ),
        )
    )


def _first_table(view: View) -> Table:
    """Return the table of what a programme officer looks for first."""
    f, proposer = view.formats, view.proposer
    status = proposer.status.replace("_", "-")
    answers = [
        ("Asked of funders", asked(view), ""),
        ("Who asks; who will own it", f"{proposer.applicant}; {proposer.owner}", ""),
        ("Who pays after the grant", proposer.payer_after, ""),
        (
            "Status and estimate class",
            f"{status}; class {proposer.estimate_class} (AACE 18R-97)",
            "",
        ),
        *_diet_rows(view),
        *_use_rows(view),
        (linked("Net present value", "npv"), view.shown("npv", f.money), view.span("npv", f.money)),
        (
            linked("Payback", "payback_years"),
            view.shown("payback_years", f.years),
            view.span("payback_years", f.years),
        ),
        (linked("Rate of return, real, after tax", "irr"), view.rate("irr"), ""),
        (
            linked("Needed a year after the grant", "subsidy_year_after_grant"),
            view.shown("subsidy_year_after_grant", f.money),
            view.span("subsidy_year_after_grant", f.money),
        ),
        ("Site facts supplied", _facts_words(view), ""),
        ("Three weakest numbers", _weakest_words(view), ""),
        ("Would make the answer no", _no_words(view), ""),
    ]
    columns = (
        Column("Question", weight=1.5),
        Column("Answer", weight=3.4),
        Column("P10–P90; median", weight=2.1),
    )
    return Table(
        columns,
        tuple(answers),
        "What a reviewer asks first",
        wide=True,
        anchor="first-table",
        rich=(0,),
    )


def _diet_rows(view: View) -> list[tuple[str, str, str]]:
    """Return what the ration means for the people supplied."""
    f, fed = view.formats, view.appraisal.fed
    held = ("What holds the number down", sentence(bound_words(bound(view))), "")
    if view.value("people_fed") <= 0:
        return [held]
    energy, protein = (f.share(float(fed.coverage[n].mean())) for n in ("energy", "protein"))
    full = view.people(view.full_mean(fed.full_ration_equivalents) / 12)
    return [
        held,
        (
            "Share of their need",
            f"energy {energy}, protein {protein} of the population's mean need, from the ration alone",
            "",
        ),
        (
            "Full-ration equivalents",
            f"{full} people: it supplements a diet, it replaces no ration",
            "",
        ),
    ]


def _use_rows(view: View) -> list[tuple[str, str, str]]:
    """Return water and electricity a person and day."""
    f, people = view.formats, view.value("people_fed")
    if people <= 0:
        return [("Water and electricity a person", "nobody is fed", "")]
    water = f.number(view.value("water_makeup_m3_year") * 1000 / 365 / people, 2, "L/day")
    power = f.number(view.value("electricity_kwh_year") / 365 / people, 2, "kWh/day")
    asked = f"{linked('Water', 'water_makeup_m3_year')} and {linked('electricity', 'electricity_kwh_year')} a person"
    return [(asked, f"{water}; {power}", "")]


def asked(view: View) -> str:
    """Say what funders are asked for."""
    flow = view.appraisal.finances.statements["cash_flow"]
    grants, loans = (float(flow[name][0].sum()) for name in ("grants", "loans_drawn"))
    parts = [
        f"{words} of {view.formats.money(amount)}"
        for words, amount in (("grant", grants), ("loan", loans))
        if amount > 0
    ]
    equity = view.formats.money(float(flow["equity"][0].sum()))
    asked = " and ".join(parts) if parts else f"nothing yet: the owner is assumed to pay {equity}"
    gap = view.value("grant_needed")
    more = (
        f"; to last {_years(view)} years it would need {view.formats.money(gap)} more"
        if gap > 0
        else ""
    )
    return f"{asked}{more} (money of the day)"


def _years(view: View) -> int:
    """Return the appraisal period. [year]"""
    return view.appraisal.case.timeline.years


def _facts_words(view: View) -> str:
    """Say how many site facts were supplied."""
    facts = view.appraisal.case.facts
    given = sum(supplied for _, supplied in facts)
    return f"{given} of {len(facts)}; the rest take wide defaults"


def _weakest_words(view: View) -> str:
    """Name the three weakest numbers in a line."""
    parts, found = [], _judged_by(view)
    for bar in weakest(found):
        low, high = sorted((bar.low_result, bar.high_result))
        parts.append(f"{row_words(bar.row)} ({view.formats.span(low, high, view.formats.money)})")
    each = " a person-day" if found.indicator == COST else " of net present value"
    return "; ".join(parts) + each if parts else "all published, measured or quoted"


def _judged_by(view: View) -> Tornado:
    """Return the bars of cost per person-day; of net present value where nobody is fed at base."""
    cost = view.cost_tornado
    return cost if math.isfinite(cost.base) else view.npv_tornado


def _no_words(view: View) -> str:
    """Name what would turn the answer in a line."""
    what = "cost" if math.isfinite(view.value("cost_per_person_day")) else "the count"
    already = f"{what} and net present value already do; " if _already_no(view) else ""
    return f"{already}a refused permit, no lawful hold on the land, water too salty or too scarce"


def _weakest(view: View) -> list[Block]:
    """Name the three weakest numbers."""
    found = _judged_by(view)
    bars, what = weakest(found), MOVED[found.indicator]
    if not bars:
        return [Paragraph(f"Every number that moves {what} is published, measured or quoted.")]
    share = view.formats.share(unsupported_share(found))
    return [
        Bullets(tuple(_bar_words(view, bar, found) for bar in bars), ordered=True),
        Paragraph(
            f"{share} of the one-at-a-time spread of {what} rests on numbers that are "
            "judgement, practice or invented.",
            "small",
        ),
    ]


def _bar_words(view: View, bar: Bar, found: Tornado) -> str:
    """Say what a bar's ends do to the cost per person-day, or to what stands in for it."""
    f, row, currency = view.formats, bar.row, view.appraisal.case.currency
    low, high = (row_value(row, x, currency, f) for x in (row.low, row.high))
    does = "a person-day costs" if found.indicator == COST else "net present value is"
    return (
        f"**{plain(row_words(row))}** ({row.basis}), {low} to {high}: {does} "
        f"{_end(view, bar.low_result)} to {_end(view, bar.high_result)}."
    )


def _end(view: View, x: float) -> str:
    """Write one end of a bar."""
    return view.formats.money(x) if math.isfinite(x) else "nothing, for nobody is fed,"


def _already_no(view: View) -> bool:
    """Say whether both cost and net present value speak against the farm at base."""
    return not view.pays and view.value("cost_per_person_day") > view.value(ALTERNATIVE)


def _turned(view: View) -> list[Bar]:
    """Return the bars with an end that turns the answer, cost per person-day's first."""
    other, cost = view.value(ALTERNATIVE), view.value("cost_per_person_day")
    costs, worths = view.cost_tornado.bars, view.npv_tornado.bars
    if _already_no(view):
        turned = [b for b in costs if min(b.low_result, b.high_result) <= other]
        more = [b for b in worths if max(b.low_result, b.high_result) >= 0]
    else:
        turned = [b for b in costs if max(b.low_result, b.high_result) > other >= cost]
        more = [b for b in worths if min(b.low_result, b.high_result) < 0 <= view.npv_tornado.base]
    told = [bar.row for bar in turned]
    return turned + [bar for bar in more if bar.row not in told]


def _what_says_no(view: View) -> list[Block]:
    """List the single swings that turn the answer."""
    cost, other = (view.formats.money(view.value(n)) for n in ("cost_per_person_day", ALTERNATIVE))
    no = (
        f"By cost alone the answer is already no: {cost} a person-day against {other} locally, "
        "and a net present value below zero."
        if math.isfinite(view.value("cost_per_person_day"))
        else "By the count alone the answer is already no: nobody is fed in every month of a full "
        "year, and the net present value is below zero."
    )
    single = "Any one of these, at its 1-in-10 end with all else at base, turns the answer:"
    always = "A refused species or discharge permit, no lawful hold on the land, or water too salty or too scarce."
    besides = f"Besides: {always[0].lower()}{always[1:]}"
    turned = _turned(view)
    if turned:
        within = "What would turn one of them, alone and within its 1-in-10 range:"
        names = [f"{plain(row_words(bar.row))}." for bar in turned[:5]]
        lead = f"{no} {within}" if _already_no(view) else single
        return [Paragraph(lead), Bullets((*names, always))]
    if _already_no(view):
        never = "No single assumption, moved across its 1-in-10 range, turns either."
        if not math.isfinite(view.value("cost_per_person_day")):
            never = (
                "No single assumption, moved across its 1-in-10 range, makes the farm pay, or its "
                "food as cheap as the same food locally."
            )
        return [Paragraph(f"{no} {never} {besides}")]
    return [Paragraph(f"{single} none. {besides}")]
