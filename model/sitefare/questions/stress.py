"""What if one bad thing happens, in a month, for so long?

Each event of the table is laid over the base case in its month, with its size and length; the
farm stays as it is built, and what follows is the model's own answer: killed fish are stocked
and grow again, unsold food is lost, debt falls due. Where the base already carries an event's
expected loss (the table of events, `carried`), that loss is taken out of the year in which the
event is made to happen, so that nothing counts twice; for all others the expected loss, chance a
year × what the event takes, stands beside and is in no other figure.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.appraisal import Appraisal, Plan, appraise
from sitefare.arrays import Array
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import (
    Values,
    build,
    build_all,
    choice,
    inputs,
    quantity,
    text,
)
from sitefare.assumptions.files import nearest
from sitefare.assumptions.shocks import NEUTRAL
from sitefare.errors import AssumptionError
from sitefare.farm import outages
from sitefare.farm.electricity import VITAL
from sitefare.farm.parts import parts_of
from sitefare.money.economic import EconomicInputs
from sitefare.money.project import total
from sitefare.timeline import Timeline

#: People are back when a year's food from then on is within this share of the base. [1]
BACK = 0.05

#: Hours of a mean month, and most that one outage may be long by its declaration. [h]
MONTH_HOURS, LONGEST_OUTAGE = 730.0, 720.0

#: Prices that a jump of fuel prices moves.
FUELS = (
    "price.generator_fuel",
    *(f"heating_fuel_price.{f}" for f in ("gas", "lpg", "oil", "wood")),
)

#: Uses of electricity that crops depend on and back-up carries only by its critical share.
FOR_CROPS = ("air_heating", "cooling", "fans", "lamps")

KINDS = (
    "fuel_price", "outage", "fish_kill", "crops", "late_start", "devaluation", "buyer_lost",
    "grant_late", "feed_cut",
)  # fmt: skip


@inputs("stress", keyed=True, measure="chance")
class StressEvent:
    """One bad thing: what it is, when, how large, how long."""

    title: Any = text(doc="The event in print.")
    kind: Any = choice(*KINDS, doc="What it acts on.")
    carried: Any = text(
        doc="Key of the event whose expected loss the base carries for it; blank for none.",
        optional=True,
    )
    together: Any = text(
        doc="Name of a combination in which it happens with others.", optional=True
    )
    start: Array = quantity(
        "month", low=-36, high=240, varies="choice", doc="Months from the end of building."
    )
    size: Array = quantity("1", low=0, high=10, varies="choice", doc="How large, by its kind.")
    length: Array = quantity("month", low=0, high=480, varies="choice", doc="How long it lasts.")
    chance: Array = quantity("1/year", low=0, high=1, varies="choice", doc="Chance in any year.")

    def months(self, timeline: Timeline) -> tuple[float, float]:
        """Return when it begins and ends, in months from month 0. [month]"""
        begins = max(timeline.construction + float(self.start[0, 0]), 0.0)
        return begins, begins + float(self.length[0, 0])

    def share(self, timeline: Timeline) -> Array:
        """Return the part of each month in which it lasts, (1, months + 1). [1]

        Month m runs from m − 1 to m; the month that holds the appraisal date is the first.
        """
        begins, ends = self.months(timeline)
        month = timeline.month.astype(np.float64)[None, :]
        part = np.minimum(ends, month) - np.maximum(begins, month - 1.0)
        return np.asarray(np.clip(part, 0.0, 1.0))


@dataclass(frozen=True)
class Effect:
    """What an event, or a combination of events, does to the base case.

    Cash is the farm's cash at month ends with the funding planned [money]; `lowest_cash` is its
    least, `most_lost` the greatest shortfall against the base at any time, `out_of_money` the
    first month in which none is left, None where that never comes, `extra_funding` what must
    come on top so that cash falls no lower than in the base or below nothing. `people_lost` are
    person-months by the headline ration; `recovery` counts months from the start until a year's
    food from then on is within 5 % of the base, None where that is not reached. `expected_loss`
    is a year's chance × net present value lost, 0 where the base carries it [money/year].
    """

    name: str
    title: str
    events: tuple[str, ...]
    begins: int
    ends: int
    lowest_cash: float
    lowest_month: int
    out_of_money: int | None
    most_lost: float
    extra_funding: float
    people_lost: float
    recovery: int | None
    npv_change: float
    cost_per_person_day: float
    expected_loss: float
    cash: Array


@dataclass(frozen=True)
class Stresses:
    """The base and the effect of every event and combination; `cash` is the base's. [money]"""

    base: Appraisal
    effects: tuple[Effect, ...]
    combined: tuple[Effect, ...]

    @property
    def cash(self) -> Array:
        """Cash at month ends of the base, (months + 1,). [money]"""
        return np.asarray(self.base.finances.cash_balance[0])

    @property
    def worst(self) -> list[Effect]:
        """Every effect, that with the most cash lost first."""
        return sorted((*self.effects, *self.combined), key=lambda e: (-e.most_lost, e.name))


def events_of(plan: Plan) -> dict[str, StressEvent]:
    """Return the events of the table by key."""
    return build_all(StressEvent, base_values(plan.case))


def stressed(plan: Plan, events: Iterable[StressEvent], values: Values | None = None) -> Appraisal:
    """Appraise a plan with events laid over it, at base or at any values.

    Raises
    ------
    AssumptionError
        If an event names another that the table of events does not hold.
    """
    given = base_values(plan.case) if values is None else values
    laid, delay = shocked(plan, list(events), given)
    return appraise(plan, laid, delay)


def shocked(
    plan: Plan, events: Sequence[StressEvent], values: Values
) -> tuple[dict[str, Array | str], int]:
    """Return values with events laid over them, and the months by which the farm starts late."""
    laid, delay, line = dict(values), 0, plan.case.timeline
    for event in events:
        if float(event.size[0, 0]) == 0.0 or float(event.length[0, 0]) == 0.0:
            continue
        share = event.share(line)
        if event.kind == "late_start":
            delay += round(float((event.length * event.size)[0, 0]))
        else:
            _LAID[str(event.kind)](plan, laid, event, share)
        _uncarried(laid, event, line)
    return laid, delay


def _uncarried(laid: dict[str, Array | str], event: StressEvent, timeline: Timeline) -> None:
    """Take the expected loss that the base carries for an event out of the year it happens in."""
    if not event.carried:
        return
    name = f"occurrence.{event.carried}"
    occurs = laid.get(name)
    if occurs is None or isinstance(occurs, str):
        known = [n.partition(".")[2] for n in laid if n.startswith("occurrence.")]
        hint = nearest(str(event.carried), known)
        msg = f"stress.….carried: '{event.carried}' is not in the table of events{hint}"
        raise AssumptionError(msg)
    year = timeline.year[min(int(event.months(timeline)[0]) + 1, timeline.months)]
    laid[name] = np.where(timeline.year == year, 0.0, occurs)


def _times(laid: dict[str, Array | str], names: Iterable[str], factor: Array) -> None:
    """Multiply values by a path."""
    for name in names:
        x = laid.get(name)
        if x is not None and not isinstance(x, str):
            laid[name] = x * factor


def _shock(laid: dict[str, Array | str], name: str, path: Array, *, most: bool) -> None:
    """Lay a shock beside another of its name: the greater of both, or both one after the other."""
    before = laid.get(f"shock.{name}", np.full((1, 1), NEUTRAL[name]))
    assert not isinstance(before, str)  # noqa: S101
    laid[f"shock.{name}"] = np.maximum(before, path) if most else before * path


def _fuel(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Raise the prices of fuel."""
    _times(laid, FUELS, 1.0 + event.size * share)


def _feed(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Cut the feed."""
    left = 1.0 - np.minimum(event.size, 1.0) * share
    _shock(laid, "feed_there", left, most=False)


def _crops(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Take a share of the crops."""
    left = 1.0 - np.minimum(event.size, 1.0) * share
    _shock(laid, "crops_kept", left, most=False)


def _fish(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Kill the fish of a share of the tanks, which stand empty while it lasts."""
    _shock(laid, "fish_killed", np.minimum(event.size, 1.0) * (share > 0.0), most=True)


def _buyer(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Leave a share of what is brought to market without a buyer."""
    _times(laid, ("sales.sold_share",), 1.0 - np.minimum(event.size, 1.0) * share)


def _grants(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Hold grants back."""
    _shock(laid, "grants_held", np.minimum(event.size, 1.0) * (share > 0.0), most=True)


def _devaluation(_: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Raise the rate of exchange and the imported part of prices.

    Debt in foreign money, spare parts and replacements follow the rate; feed, fuel and supplies
    by their imported shares.
    """
    rise = event.size * share
    _shock(laid, "exchange", 1.0 + rise, most=False)
    imported = build(EconomicInputs, laid)
    _times(laid, ("price.feed",), 1.0 + rise * imported.feed_imported)
    _times(laid, FUELS, 1.0 + rise * imported.fuel_imported)
    names = ["price.fingerling", "price.planting", "price.packing"]
    names += [n for n in laid if n.startswith("dosing.") and n.endswith(".price")]
    _times(laid, names, 1.0 + rise * imported.supplies_imported)


def _outage(plan: Plan, laid: dict[str, Array | str], event: StressEvent, share: Array) -> None:
    """Take the grid away; kill the fish where nothing carries their air so long."""
    down = np.minimum(event.size, 1.0) * share
    parts, design = parts_of(laid), plan.design
    flows = appraise(plan).flows
    vital = total(flows.electricity_kwh[name] for name in VITAL)
    strongest = float(np.max(vital[0])) / MONTH_HOURS
    battery = design.drivers["battery_energy"]
    lasts = outages.lasting(parts, design.life_support_minutes, battery, strongest)
    if float((event.length * event.size)[0, 0]) * MONTH_HOURS > lasts:
        _shock(laid, "fish_killed", np.where(down > 0.0, 1.0, 0.0), most=True)
    laid["supply.outage_share"] = np.maximum(parts.supply.outage_share, down)
    hours = np.minimum(down * MONTH_HOURS, LONGEST_OUTAGE)
    laid["supply.outage_hours"] = np.maximum(parts.supply.outage_hours, hours)
    fuel = parts.energy.heat_source == "fuel"
    needed = [n for n in FOR_CROPS if not (fuel and n == "air_heating")]
    depends = total(flows.electricity_kwh[name] for name in needed) > 0.0
    lost = down * (1.0 - parts.supply.critical_share) * depends
    _shock(laid, "crops_kept", 1.0 - lost, most=False)


_LAID = {
    "fuel_price": _fuel, "outage": _outage, "fish_kill": _fish, "crops": _crops,
    "devaluation": _devaluation, "buyer_lost": _buyer, "grant_late": _grants, "feed_cut": _feed,
}  # fmt: skip


def combinations(events: Mapping[str, StressEvent]) -> dict[str, list[str]]:
    """Return the keys of the events that happen together, by the combination's name."""
    found: dict[str, list[str]] = {}
    for key, event in events.items():
        if event.together:
            found.setdefault(str(event.together), []).append(key)
    return {name: keys for name, keys in found.items() if len(keys) > 1}


def stress(plan: Plan, keys: Sequence[str] | None = None) -> Stresses:
    """Return what every event of the table does alone, and every combination together.

    Parameters
    ----------
    keys : sequence of str, optional
        Only these events, and together as one combination where there are several.

    Raises
    ------
    AssumptionError
        If an event is not in the table.
    """
    events, base = events_of(plan), appraise(plan)
    for key in keys or ():
        if key not in events:
            msg = f"'{key}' is not an event of the stress table{nearest(key, events)}"
            raise AssumptionError(msg + f"; it holds {', '.join(events)}")
    chosen = {key: events[key] for key in (keys or events)}
    asked = {"together": list(chosen)} if keys and len(chosen) > 1 else {}
    groups = asked if keys else combinations(chosen)
    alone = [_effect(plan, base, key, {key: event}) for key, event in chosen.items()]
    combined = [_effect(plan, base, n, {k: chosen[k] for k in g}) for n, g in groups.items()]
    return Stresses(base, tuple(alone), tuple(combined))


def _effect(plan: Plan, base: Appraisal, name: str, events: Mapping[str, StressEvent]) -> Effect:
    """Return what events do together."""
    made, line = stressed(plan, events.values()), plan.case.timeline
    spans = [event.months(line) for event in events.values()]
    begins = min(int(first) + 1 for first, _ in spans)
    ends = max(int(np.ceil(last)) for _, last in spans)
    cash, was = made.finances.cash_balance[0], base.finances.cash_balance[0]
    fed, before = (a.fed.rations[a.fed.headline].persons[0] for a in (made, base))
    npv = float((made.indicators["npv"] - base.indicators["npv"])[0, 0])
    alone = next(iter(events.values())) if len(events) == 1 else None
    uncounted = alone is not None and not alone.carried
    chance = float(alone.chance[0, 0]) if alone is not None and uncounted else 0.0
    return Effect(
        name=name,
        title=str(alone.title) if alone else name.replace("_", " ").capitalize(),
        events=tuple(events),
        begins=begins,
        ends=min(ends, line.months),
        lowest_cash=float(np.min(cash)),
        lowest_month=int(np.argmin(cash)),
        out_of_money=out_of_money(cash),
        most_lost=max(float(np.max(was - cash)), 0.0),
        extra_funding=max(min(float(np.min(was)), 0.0) - float(np.min(cash)), 0.0),
        people_lost=float(np.sum(before - fed)),
        recovery=recovery(fed, before, begins),
        npv_change=npv,
        cost_per_person_day=float(made.indicators["cost_per_person_day"][0, 0]),
        expected_loss=weighted((chance,), (-npv,)),
        cash=np.asarray(cash),
    )


def out_of_money(cash: Array) -> int | None:
    """Return the first month that ends with less than no cash, None where none does."""
    empty = np.flatnonzero(cash < -1e-6 * np.max(np.abs(cash)))
    return int(empty[0]) if empty.size else None


def recovery(fed: Array, before: Array, begins: int) -> int | None:
    """Return months from the start until people fed are back for good, None where they are not.

    They are back in the first month from which on every twelve months' food reaches 95 % of the
    base's; the last months of the life count as the last full twelve.

    Parameters
    ----------
    fed, before : Array, shape (months + 1,)
        People fed by month, stressed and in the base. [person]
    begins : int
        Month in which the event begins.
    """
    window = np.ones(12)
    now, was = (np.convolve(x, window, mode="valid") for x in (fed, before))
    short = np.flatnonzero(now < (1.0 - BACK) * was - 1e-9)
    short = short[short >= begins]
    if not short.size:
        return 0
    first = int(short[-1]) + 1
    return None if first >= now.size else first - begins


def weighted(chances: Sequence[float], losses: Sequence[float]) -> float:
    """Return the expected loss: chances × losses, summed. [unit of the losses]"""
    return float(sum(c * x for c, x in zip(chances, losses, strict=True)))
