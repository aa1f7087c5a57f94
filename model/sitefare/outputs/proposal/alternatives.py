"""What else would bring the same food, at what cost, and when a farm may still make sense."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build, build_all
from sitefare.money.transfer import TransferInputs
from sitefare.outputs import charts_alternatives
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
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.kilograms import kilogram_words
from sitefare.outputs.proposal.view import View, printed_unit
from sitefare.people.haulage import MonthsOpenInputs
from sitefare.people.meal import GROUPS
from sitefare.questions.crossing import FARM, LEVERS, Crossing, chance_cheaper, crossings
from sitefare.questions.routes import (
    Route,
    Served,
    garden_of,
    garden_persons,
    local_by_month,
    money_instead,
    months_named,
    route_draws,
    routes,
    served,
)
from sitefare.questions.uncertainty import Spread, spread

#: The farm's own rows: its whole cost, then the same less what is sold elsewhere.
FARM_ROWS = {FARM: "This farm", "cost_per_person_day_net": "This farm, less sales"}

#: Ways that differ in what they emit.
CARRIED = ("local", "road", "sea", "garden")

#: Swing of the local price over the year that is worth a sentence. [1]
NOTICED = 0.02

#: Months of a year. [month]
YEAR = 12


@dataclass(frozen=True)
class _Told:
    """The routes of one proposal, at base and drawn."""

    view: View
    food: Served
    base: Mapping[str, Route]
    drawn: Mapping[str, Route]

    def range_of(self, key: str) -> Spread | None:
        """Return the range of a route's cost, none without draws."""
        return spread(self.drawn[key].cost, "no answer") if key in self.drawn else None


def alternatives(view: View) -> list[Block]:
    """Return the section on other routes to the same food and other uses of the same money."""
    made = view.appraisal
    food = served(made)
    told = _Told(
        view,
        food,
        routes(food, view.base, made.indicators),
        route_draws(food, made.plan, view.drawn),
    )
    return [
        Heading(1, "What else would bring the same food", "alternatives"),
        Paragraph(
            f"Every row brings one person the same food a day: {plain(view.ration)}, in the farm's own mix. The "
            "farm's cost carries everything, from building to wages; another way's is a market price with "
            f"carriage, losses and delivery{view.behind('haulage.*', 'transfer.*')}."
        ),
        Figure(
            charts_alternatives.routes(_frame(told), view.formats, ration=view.ration),
            "Cost of a person-day by each way; lines hold 8 in 10 draws.",
        ),
        _costs(told),
        Paragraph(kilogram_words(view, told.base)),
        Heading(2, "Where costs would be equal", "crossings"),
        Bullets(tuple(_crossings(told))),
        Heading(2, "The same money, the same water", "instead"),
        Bullets((*_transfers(told), *_garden(told), _emissions(told))),
        Heading(2, "When a farm may still make sense", "still"),
        Bullets(tuple(_still(told))),
        Caution(
            "Market prices do not count what a purchase does to local prices and growers, nor what the farm "
            "teaches, employs or secures; neither is in these figures. Ask the market, a haulier and the cash "
            "working group of the place before choosing.",
            "note",
            "What these costs leave out",
        ),
    ]


def _frame(told: _Told) -> pd.DataFrame:
    """Return the chart's rows, the farm first."""
    view = told.view
    rows = []
    for name, title in FARM_ROWS.items():
        found = view.drawn.spreads.get(name)
        rows.append((title, view.value(name), *_ends(found), True))
    for key, route in told.base.items():
        rows.append((route.title, float(route.cost[0, 0]), *_ends(told.range_of(key)), False))
    return pd.DataFrame(rows, columns=["route", "value", "low", "high", "farm"])


def _ends(found: Spread | None) -> tuple[float, float]:
    """Return a range's ends, nan where there is none."""
    if found is None:
        return float("nan"), float("nan")
    low, high = (float("nan") if x is None else x for x in (found.low, found.high))
    return low, high


def _costs(told: _Told) -> Table:
    """Return each way's cost, its range and the months in which it has the food."""
    view, f = told.view, told.view.formats
    rows = []
    for name, title in FARM_ROWS.items():
        low, high = _ends(view.drawn.spreads.get(name))
        months = "/".join(str(_served_months(view, k)) for k in GROUPS)
        rows.append((title, view.shown(name, f.amount), f.span(low, high, f.amount), months))
    for key, route in told.base.items():
        low, high = _ends(told.range_of(key))
        months = "/".join(f.number(YEAR * _first(route.months[k]), 2) for k in GROUPS)
        rows.append(
            (route.title, f.amount(_first(route.cost)), f.span(low, high, f.amount), months)
        )
    return Table(
        (
            Column("Way"),
            Column("Cost", f.currency, "right"),
            Column("P10–P90", f.currency, "right"),
            Column("Months", "greens/fish", "right"),
        ),
        tuple(rows),
        f"The same food by each way, {f.currency} a person-day",
        "Months of the year in which vegetables (greens) and fish are to be had, parts of months added up. "
        "Prices are of the year's mean; in a month without a market the food cannot be bought at any price.",
        wide=True,
        anchor="alternatives-table",
        strong_rows=(0,),
    )


def _emissions(told: _Told) -> str:
    """Say what each way emits for a person-day, to the gate of field or pond and in carriage."""
    f = told.view.formats
    said = "; ".join(
        f"{lowered(plain(told.base[k].title))} {f.number(_first(told.base[k].emissions), 2)} kg"
        for k in CARRIED
        if k in told.base
    )
    cited, fed = told.view.behind("replaced.*"), told.view.value("people_fed")
    if fed > 0.0:
        own = told.view.value("emissions_tco2e_year") * 1000.0 / (fed * 365.0)
        said += (
            f"; this farm {f.number(own, 2)} kg, all that running it emits laid on those it feeds"
        )
    return f"Carbon dioxide equivalent of a person-day, grown and carried{cited}: {said}."


def _first(x: Array) -> float:
    """Return the first draw's figure."""
    return float(x[0, 0])


def _served_months(view: View, name: str) -> int:
    """Count the months in which the farm's food of a group reaches people, in its worst full year."""
    fed = view.appraisal.fed
    years = fed.edible_g[name][0, 1:].reshape(-1, YEAR)
    return int(np.sum(years[fed.full[0] > 0.0] > 0.0, axis=1).min())


def _crossings(told: _Told) -> list[str]:
    """Say at which price, distance or cost each way and the farm cost the same."""
    if not np.isfinite(told.view.value(FARM)):
        return [
            "The farm feeds nobody by the headline ration, so no price, distance or cost makes it equal."
        ]
    found = crossings(told.food, told.view.base, told.view.appraisal.indicators)
    by_route: dict[str, list[Crossing]] = {}
    for each in found:
        by_route.setdefault(each.route, []).append(each)
    words = [
        f"**{plain(told.base[key].title)}:** "
        f"{'; '.join([*(_crossing(told.view, x) for x in each), *_chance(told, key)])}."
        for key, each in by_route.items()
    ]
    return [*words, *_net(told)]


def _chance(told: _Told, key: str) -> list[str]:
    """Say in what share of common draws the farm is cheaper than a route, where it is known."""
    if key not in told.drawn:
        return []
    chance = chance_cheaper(told.view.drawn.draws[FARM], told.drawn[key])
    if not np.isfinite(chance):
        return []
    if chance == 0.0:
        return ["the farm is cheaper in none of the draws"]
    return [f"the farm is cheaper in {told.view.formats.share(chance)} of the draws"]


def _crossing(view: View, x: Crossing) -> str:
    """Say one crossing."""
    f = view.formats
    if x.lever == "farm_cost":
        if not np.isfinite(x.at):
            return plain(x.reason)
        return f"the farm would have to cost {f.share(x.at)} less"
    lever = LEVERS[x.lever]
    if lever.times and np.isfinite(x.at):
        return f"equal where local prices are {f.number(x.at, 2)} times those assumed"
    if not np.isfinite(x.at):
        return f"{plain(_printed(view, x.reason))}, against {_amount(view, x.base, x.unit)} assumed"
    at, base = (_amount(view, y, x.unit) for y in (x.at, x.base))
    return f"equal at {lever.title} of {at}, against {base} assumed"


def _amount(view: View, x: float, unit: str) -> str:
    """Write a lever's value with its unit in words."""
    if unit.startswith("money"):
        each = {"money/t/km": "a tonne-kilometre", "money/kg": "a kilogram"}[unit]
        return f"{view.formats.money(x)} {each}"
    return f"{view.formats.number(x)} {_printed(view, unit)}"


def _printed(view: View, words: str) -> str:
    """Write the units of a reason for print."""
    words = words.replace("money/t/km", f"{view.formats.currency} a tonne-kilometre")
    words = words.replace("money/kg", f"{view.formats.currency} a kilogram")
    return printed_unit(words.replace("/m2/year", "/m2 a year"))


def _net(told: _Told) -> list[str]:
    """Say what is left of the gap once sales elsewhere are taken off."""
    view, f = told.view, told.view.formats
    net, whole = view.value("cost_per_person_day_net"), view.value(FARM)
    if not (np.isfinite(net) and np.isfinite(whole)) or abs(net - whole) < 0.005 * whole:
        return []
    local = _first(told.base["local"].cost)
    said = (
        f"Less what it sells elsewhere the farm costs {f.money(net)} a person-day, "
        f"{f.number(net / local, 2)} times the local market's {f.money(local)}."
    )
    return [said]


def _transfers(told: _Told) -> list[str]:
    """Say what the farm's whole cost would buy as cash and as vouchers."""
    view, f = told.view, told.view.formats
    cost = view.value(FARM)
    if not np.isfinite(cost):
        return ["The farm feeds nobody, so its cost a person-day cannot be set against a transfer."]
    said = []
    for key, kind in build_all(TransferInputs, view.base).items():
        bought = money_instead(kind, told.base["local"], view.appraisal.indicators)
        said.append(
            f"{plain(told.base[key].title)}: of {f.money(cost)} a person-day {f.money(_first(bought.worth))} would "
            f"reach each person, {f.number(_first(bought.rations), 2)} times the price of the ration; the same "
            f"money would feed {view.people(_first(bought.persons))} people by the same ration, where the farm "
            f"feeds {view.people(view.value('people_fed'))}."
        )
    return said


def _garden(told: _Told) -> list[str]:
    """Say what a soil garden would grow on the farm's own water."""
    view, f = told.view, told.view.formats
    if "garden" not in told.base:
        return [
            "No soil garden is set beside it: nothing of the mix has a season out of doors here."
        ]
    grown = garden_of(told.food, view.base, view.appraisal.indicators)
    if not np.isfinite(_first(grown.harvest)):
        return ["Rain alone would water a soil garden here, so the farm's water does not bound it."]
    fed = _first(garden_persons(grown, view.base, told.food))
    months = YEAR * _first(told.food.planting)
    said = (
        f"Soil garden: the {f.number(view.value('water_makeup_m3_year'))} m³ that the farm takes from its "
        f"source in a year would irrigate {f.number(_first(grown.ground))} m² of garden and grow "
        f"{f.number(_first(grown.harvest))} kg of vegetables, those of the ration for {view.people(fed)} people, at "
        f"{f.money(_first(grown.cost_kg))} a kilogram. It can be planted in {f.number(months, 2)} months of the "
        "year and gives no fish: those are bought."
    )
    return [said]


def _still(told: _Told) -> list[str]:
    """Say, from the case's own data, what another way cannot do here."""
    view, f = told.view, told.view.formats
    opened = build(MonthsOpenInputs, view.base)
    said = []
    for name in GROUPS:
        season = getattr(opened, name)
        part = YEAR * float(np.mean(season[0]))
        if part >= YEAR:
            said.append(f"Local markets have {name} all year: the farm fills no gap.")
            continue
        none = ", ".join(f.month_in_sentence(m) for m in months_named(season))
        gap = f", none in {none}" if none else ""
        months = _served_months(view, name)
        said.append(
            f"Local markets have {name} for {f.number(part, 2)} months of the year{gap}; the farm serves "
            f"{name} in {'at least ' if months < YEAR else ''}{months} months of a full year."
        )
    said += _season(told)
    if "road" in told.base:
        passes = YEAR * float(np.mean(opened.road[0]))
        said.append(
            "Trucks pass all year."
            if passes >= YEAR
            else f"Trucks pass for {f.number(passes, 2)} months of the year."
        )
    jobs = f.number(view.value("jobs_fte"), 2)
    said.append(
        f"The farm gives {jobs} full-time jobs and food of the day of harvest under its own control; how much "
        f"that is worth is for the people concerned to say. {_weigh(told)}"
    )
    return said


def _season(told: _Told) -> list[str]:
    """Say how the local price of the ration runs over the months with a market."""
    f, months = told.view.formats, local_by_month(told.food, told.view.base)[0]
    known = [m for m in range(YEAR) if np.isfinite(months[m])]
    if not known or np.ptp(months[known]) < NOTICED * np.mean(months[known]):
        return []
    low, high = (pick(known, key=lambda m: months[m]) for pick in (min, max))
    said = (
        f"Where markets are open, the ration costs {f.money(months[low])} in {f.month_in_sentence(low + 1)} and "
        f"{f.money(months[high])} in {f.month_in_sentence(high + 1)}."
    )
    return [said]


def _weigh(told: _Told) -> str:
    """Say what the farm asks beyond the cheapest other way."""
    view = told.view
    best = min(told.base.values(), key=lambda route: _first(route.cost))
    extra = view.value(FARM) - _first(best.cost)
    if not np.isfinite(extra):
        return ""
    if extra <= 0.0:
        return "It also costs less than every other way set beside it."
    words = view.formats.money(extra)
    return f"It asks {words} a person-day more than the cheapest other way ({lowered(plain(best.title))})."
