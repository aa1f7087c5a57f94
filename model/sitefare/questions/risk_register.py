"""What could go wrong, how likely is it, what would it take, who answers for it and how?

The rows stand in risk.csv. Where a risk names an event of the table of events, a stress test, or
a figure of the draws, its likelihood and effect are the model's; else they are the words given.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.assumptions.declaration import Values, build_all, choice, inputs, text
from sitefare.assumptions.files import nearest
from sitefare.errors import AssumptionError
from sitefare.farm.events import EventInputs
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.stress import Effect, Stresses, StressEvent
from sitefare.questions.uncertainty import Uncertainty

RATINGS = ("low", "medium", "high")

#: Share beyond the base from which a figure of a draw counts as worse. [1]
MARKED = 0.1


@inputs("risk", keyed=True, table=True)
class RiskInputs:
    """One risk of the register."""

    title: str = text(doc="The risk in words")
    cause: str = text(doc="What brings it about")
    effect: str = text(doc="What it does")
    event: str = text(
        doc="Key of the table of events whose chance it has; blank for none", optional=True
    )
    stress: str = text(doc="Key of the stress test that shows it; blank for none", optional=True)
    figure: str = text(doc="Indicator of the draws that shows it; blank for none", optional=True)
    worse: str = choice("above", "below", doc="On which side of the base that figure is worse")
    likelihood: str = choice(*RATINGS, doc="Likelihood where the model has no number")
    impact: str = choice(*RATINGS, doc="Effect where the model has no number")
    response: str = text(doc="What prevents it or lessens it")
    owner: str = text(doc="Who answers for it")
    residual: str = choice(*RATINGS, doc="What is left of it after the response")
    early_sign: str = text(doc="What shows it coming")


@dataclass(frozen=True)
class Risk:
    """One risk with the model's numbers.

    `chance` is of a year, or with `of_draws` the share of draws in which the figure is worse than
    the base by a tenth or more; nan where there is none. [1] `loss` is the share of a year's
    output that the event takes, nan for none [1]; `stressed` the stress test's effect; `worse_end`
    the figure's P90 or P10, nan for none [its unit].
    """

    key: str
    inputs: RiskInputs
    chance: float
    of_draws: bool
    loss: float
    stressed: Effect | None
    worse_end: float


def check_risks(values: Values) -> dict[str, RiskInputs]:
    """Return the risks of a case.

    Raises
    ------
    AssumptionError
        If one names an event, a stress test or an indicator that there is none of.
    """
    known: dict[str, Collection[str]] = {
        "event": build_all(EventInputs, values),
        "stress": build_all(StressEvent, values),
        "figure": INDICATORS,
    }
    found = build_all(RiskInputs, values)
    for key, risk in found.items():
        for field, names in known.items():
            named = getattr(risk, field)
            if named and named not in names:
                msg = f"risk.{key}.{field}: '{named}' is not known{nearest(named, names)}"
                raise AssumptionError(msg)
    return found


def risk_register(
    values: Values, losses: Mapping[str, float], stresses: Stresses, drawn: Uncertainty
) -> tuple[Risk, ...]:
    """Return the risks with their numbers, in the order of the table.

    Parameters
    ----------
    values : mapping
        The case's values at base.
    losses : mapping of float
        Share of a year's output that each event of the table of events takes here. [1]
    stresses : Stresses
        The stress tests of the case.
    drawn : Uncertainty
        The draws; none are needed.
    """
    events, tests = build_all(EventInputs, values), build_all(StressEvent, values)
    effects = {effect.name: effect for effect in stresses.effects}
    base = stresses.base.indicators
    found = []
    for key, risk in check_risks(values).items():
        chance, of_draws = float("nan"), False
        if risk.event:
            chance = float(events[risk.event].chance[0, 0])
        elif risk.stress:
            chance = float(tests[risk.stress].chance[0, 0])
        elif risk.figure and drawn.count:
            chance, of_draws = _beyond(risk, float(base[risk.figure][0, 0]), drawn), True
        found.append(
            Risk(
                key,
                risk,
                chance,
                of_draws,
                losses.get(risk.event, float("nan")),
                effects.get(risk.stress),
                _worse_end(risk, drawn),
            )
        )
    return tuple(found)


def _beyond(risk: RiskInputs, base: float, drawn: Uncertainty) -> float:
    """Return the share of draws in which a figure is worse than the base by a tenth or more. [1]"""
    figures = drawn.draws[risk.figure]
    if risk.worse == "above":
        return float(np.mean(~(figures < base + MARKED * abs(base))))
    return float(np.mean(~(figures > base - MARKED * abs(base))))


def _worse_end(risk: RiskInputs, drawn: Uncertainty) -> float:
    """Return the end of a figure's range that is worse, nan where there is none."""
    spread = drawn.spreads.get(risk.figure) if risk.figure else None
    if spread is None:
        return float("nan")
    end = spread.high if risk.worse == "above" else spread.low
    return float("nan") if end is None else float(end)
