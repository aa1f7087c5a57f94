"""What is reported of an appraisal: every indicator with unit and range, and how it came about?

Plain values, as results.json holds them. The same inputs give the same ones: ten significant
digits, no dates, no timings.
"""

from collections.abc import Sequence
from importlib.metadata import version
from typing import Any

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.people.holding import holding
from sitefare.people.words import MONTH_NAMES
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.uncertainty import Uncertainty

SCHEMA = "1"

#: The currency that funders report in.
REPORTING = "USD"

PACKAGES = ("sitefare", "numpy", "scipy", "pint", "pvlib")
NO_DRAWS = "no draws were asked for"


def package_versions(names: Sequence[str] = PACKAGES) -> dict[str, str]:
    """Return the versions of this project and of libraries that figures rest on."""
    return {name: version(name) for name in names}


def rounded(x: float) -> float:
    """Return a number with ten significant digits. [same unit]"""
    return float(f"{x:.10g}")


def unit_in(unit: str, currency: str) -> str:
    """Write a unit with the currency code in place of money."""
    return unit.replace("money", currency)


def _indicator(name: str, appraisal: Appraisal, drawn: Uncertainty) -> dict[str, Any]:
    """Return one indicator's entry."""
    value = float(appraisal.indicators[name][0, 0])
    entry: dict[str, Any] = {
        "value": rounded(value) if np.isfinite(value) else None,
        "unit": unit_in(INDICATORS[name].unit, appraisal.case.currency),
    }
    reason = "" if np.isfinite(value) else appraisal.reasons.get(name, "no answer at base")
    spread = drawn.spreads.get(name)
    if spread is None:
        entry |= {"low": None, "high": None}
        reason = reason or NO_DRAWS
    else:
        ends = {"low": spread.low, "median": spread.median, "high": spread.high}
        entry |= {key: None if x is None else rounded(x) for key, x in ends.items()}
        entry["answered"] = rounded(spread.answered)
        reason = "; ".join(words for words in (reason, spread.reason) if words)
    if name.startswith(("people_fed", "cost_per_person", "capex_per_person")):
        entry["ration"] = appraisal.fed.headline
    if reason:
        entry["reason"] = reason
    return entry


def _rations(appraisal: Appraisal, drawn: Uncertainty) -> dict[str, Any]:
    """Return people fed and cost per person-day by every ration, what binds it, and why not."""
    return {name: _ration(name, appraisal, drawn) for name in appraisal.fed.rations}


def _ration(name: str, appraisal: Appraisal, drawn: Uncertainty) -> dict[str, Any]:
    """Return one ration's entry; `…_low` and `…_high` only where draws were asked for."""
    fed = appraisal.fed
    ration = fed.rations[name]
    bound = holding(ration, fed.full, appraisal.case.timeline)
    entry: dict[str, Any] = {
        "title": ration.title,
        "months_counted": ration.basis,
        "binding_part": bound.part,
        "binding_months": [MONTH_NAMES[m] for m in bound.months],
        "people_fed_year_mean": rounded(bound.mean),
    }
    why = []
    for key in ("people_fed", "cost_per_person_day"):
        x = float(appraisal.indicators[f"{key}.{name}"][0, 0])
        entry[key] = rounded(x) if np.isfinite(x) else None
        why += [] if np.isfinite(x) else [appraisal.reasons.get(f"{key}.{name}", "no answer")]
        spread = drawn.spreads.get(f"{key}.{name}")
        if spread is not None:
            ends = {"low": spread.low, "high": spread.high}
            entry |= {f"{key}_{e}": None if y is None else rounded(y) for e, y in ends.items()}
            why += [spread.reason] if spread.reason else []
    if why:
        entry["reason"] = "; ".join(dict.fromkeys(why))
    return entry


def results(appraisal: Appraisal, drawn: Uncertainty) -> dict[str, Any]:
    """Return what results.json holds, as plain Python values."""
    case = appraisal.case
    return {
        "schema_version": SCHEMA,
        "case": {
            "site": case.site,
            "design": case.design,
            "scenario": case.scenario,
            "settings": list(case.settings),
            "currency": case.currency,
            "reporting_currency": REPORTING,
            "exchange_rate": rounded(case.exchange_rate),
            "appraisal_date": case.timeline.label(0),
            "demonstration_data": case.demonstration,
            "bed_area_m2": rounded(appraisal.design.bed_area),
        },
        "indicators": {name: _indicator(name, appraisal, drawn) for name in INDICATORS},
        "rations": _rations(appraisal, drawn),
        "provenance": {
            "versions": package_versions(),
            "assumptions_version": case.library.version,
            "input_hash": case.input_hash,
            "seed": drawn.seed,
            "draws": drawn.count,
        },
    }
