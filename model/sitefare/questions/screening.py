"""Which of many places are worth a closer look?

Every place is appraised whole, as a site of its own, and becomes one line: each indicator with
its ends, cost over the local price of the same food, gates that are shut. Places share their
draws, so that shared uncertainty cancels between them; a place's own rows share theirs too.
"""

import operator
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.assumptions.draws import check_draws
from sitefare.assumptions.files import nearest
from sitefare.assumptions.library import Library
from sitefare.assumptions.places import Place, place_case
from sitefare.errors import RunError, SitefareError
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.figures import RATIO, ratio_of
from sitefare.questions.gates import gates
from sitefare.questions.uncertainty import Uncertainty, spread, uncertainty
from sitefare.sizing import plan_for

#: Comparisons that a filter may make.
OPERATORS: Mapping[str, Callable[[Any, float], Any]] = {
    "<=": operator.le,
    ">=": operator.ge,
    "<": operator.lt,
    ">": operator.gt,
}


@dataclass(frozen=True)
class Asked:
    """What all places of a screen are appraised by."""

    scenario: str
    settings: tuple[str, ...]
    draws: int
    seed: int
    keys: tuple[str, ...]
    design: str = ""


def asked_of(
    library: Library,
    places: Sequence[Place],
    scenario: str,
    settings: Sequence[str],
    draws: int,
    seed: int,
    design: str = "",
) -> Asked:
    """Put together what places are appraised by; `keys` of draws are those of all of them.

    A row of a site that a place is like has a key that ends in '@', which stands for the place's
    name. A row that one place alone gives is not among them.

    Raises
    ------
    AssumptionError
        If the scenario, a setting or a site that a place is like is refused.
    """
    check_draws(draws, seed)
    keys: set[str] = set()
    for like in {place.like for place in places}:
        case = make_case(library, like, scenario, settings, design)
        keys |= {case.key(name).removesuffix(like) for name in case.uncertain}
    return Asked(scenario, tuple(settings), draws, seed, tuple(sorted(keys)), design)


def screened(library: Library, place: Place, asked: Asked) -> dict[str, Any]:
    """Appraise one place; return its line. A refusal is told in the line.

    Returns
    -------
    dict
        Plain values by column; None where there is no answer.
    """
    line: dict[str, Any] = {"place": place.key, "like": place.like, "longitude": place.longitude}
    try:
        case = place_case(library, place, asked.scenario, asked.settings, asked.design)
        line |= {
            "latitude": float(case.rows["place.latitude"].base),
            "values_given": len(place.given),
            "currency": case.currency,
            "exchange_rate": case.exchange_rate,
            "input_hash": case.input_hash,
            "appraisal_date": case.timeline.label(0),
            "demonstration": case.demonstration,
        }
        plan = plan_for(case)
        # A row that this place alone gives is drawn by its name: it must not move the others'.
        keys = [key + place.key if key.endswith("@") else key for key in asked.keys]
        drawn = uncertainty(plan, asked.draws, asked.seed, keys)
    except SitefareError as error:
        return {**line, "status": "failed", "reason": str(error)}
    base = appraise(plan)
    shut = [gate.title for gate in gates(case, base) if gate.state == "shut"]
    made = base.indicators
    line |= {
        "bed_area": plan.design.bed_area,
        "gates_shut": "; ".join(shut),
        "ration": base.fed.rations[base.fed.headline].title,
    }
    names = [name for name in INDICATORS if name in made]
    for name, found in [*((n, made[n]) for n in names), (RATIO, ratio_of(made))]:
        line |= _entry(name, float(found[0, 0]), drawn)
    return {**line, "status": "done", "reason": ""}


def _entry(name: str, base: float, drawn: Uncertainty) -> dict[str, float | None]:
    """Return one indicator with its ends; None where there is no finite answer."""
    found = drawn.spreads.get(name)
    if name == RATIO and drawn.count:
        found = spread(ratio_of(drawn.draws), "nobody is fed")
    return {
        name: base if np.isfinite(base) else None,
        f"{name}_low": found.low if found else None,
        f"{name}_high": found.high if found else None,
    }


def filtered(lines: pd.DataFrame, conditions: Sequence[str]) -> pd.DataFrame:
    """Keep the places that meet every condition, such as `people_fed>=50`; done ones alone.

    Money is compared in US dollars, since places may differ in theirs.

    Raises
    ------
    RunError
        If a condition cannot be read or names no column of numbers.
    """
    kept = lines[lines["status"] == "done"]
    for condition in conditions:
        name, sign, bound = parted(condition)
        column = side_by_side(kept, name, "--where")
        kept = kept[OPERATORS[sign](column, bound)]
    return kept


#: Columns of numbers beside those of indicators.
PLAIN = ("longitude", "latitude", "values_given", "exchange_rate", "bed_area")

#: Every column of numbers that a screen may have.
NUMBERS = (
    *(f"{name}{end}" for name in (RATIO, *INDICATORS) for end in ("", "_low", "_high")),
    *PLAIN,
)


def check_asked(conditions: Sequence[str], by: str) -> None:
    """Refuse a condition or an order that no screen could answer, before any work starts.

    Raises
    ------
    RunError
        Naming it, and the nearest name that is known.
    """
    asked = [(parted(condition)[0], "--where") for condition in conditions]
    for name, option in [*asked, (by, "--rank")]:
        if name not in NUMBERS:
            hint = nearest(name, NUMBERS) or "; an indicator's name is accepted"
            msg = f"{option} {name}: no column of numbers has that name{hint}"
            raise RunError(msg)


def parted(condition: str) -> tuple[str, str, float]:
    """Split a condition into a column's name, a comparison and a bound.

    Raises
    ------
    RunError
        If it cannot be read.
    """
    match = re.fullmatch(r"\s*(\w[\w.]*)\s*(<=|>=|<|>)\s*([-+\d.eE]+)\s*", condition)
    if match is None:
        msg = f"--where {condition}: write NAME, one of {' '.join(OPERATORS)}, and a number"
        raise RunError(msg)
    try:
        return match[1], match[2], float(match[3])
    except ValueError:
        msg = f"--where {condition}: '{match[3]}' is no number"
        raise RunError(msg) from None


def numbers_in(lines: pd.DataFrame, name: str, option: str) -> "pd.Series[float]":
    """Return a column of numbers: all nan where no place has an answer.

    Raises
    ------
    RunError
        If there is none of the name.
    """
    if name in NUMBERS and (name not in lines or lines[name].isna().all()):
        return pd.Series(np.nan, index=lines.index, dtype="float64")
    if name not in lines or not pd.api.types.is_numeric_dtype(lines[name]):
        msg = (
            f"{option} {name}: no column of numbers has that name; an indicator's name is accepted"
        )
        raise RunError(msg)
    column: pd.Series[float] = lines[name].astype("float64")
    return column


def side_by_side(lines: pd.DataFrame, name: str, option: str) -> "pd.Series[float]":
    """Return a column of numbers that may be compared between places: money in US dollars.

    Raises
    ------
    RunError
        If there is none of the name.
    """
    column = numbers_in(lines, name, option)
    known = INDICATORS.get(stem_of(name))
    if known is None or "money" not in known.unit:
        return column
    return column / lines["exchange_rate"]


def ranked(lines: pd.DataFrame, by: str) -> pd.DataFrame:
    """Order places by a column: best first, no answer last, gates that are shut after all others.

    Money is compared in US dollars.

    Raises
    ------
    RunError
        If no column of numbers has the name.
    """
    worth = side_by_side(lines, by, "--rank")
    key = worth if less_is_better(by) else -worth
    order = pd.DataFrame({"shut": lines["gates_shut"] != "", "key": key, "place": lines["place"]})
    return lines.loc[order.sort_values(["shut", "key", "place"], na_position="last").index]


def less_is_better(name: str) -> bool:
    """Say whether less of an indicator, or of one of its ends, is better."""
    stem = stem_of(name)
    return stem == RATIO or (stem in INDICATORS and INDICATORS[stem].better == "less")


def stem_of(name: str) -> str:
    """Name the indicator that a column of it or of one of its ends is of."""
    return name.removesuffix("_low").removesuffix("_high")
