"""When does the project start, how long is it appraised, and at what rates?

Rates are real and effective a year unless a name says nominal. The appraisal date is the end
of month 0; construction fills the months after it; production starts the month after that.
"""

from collections.abc import Iterable
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity, text
from sitefare.timeline import Timeline


@inputs("economy")
class EconomyInputs:
    """The country's money: currency, exchange rate, inflation, income tax."""

    currency: Any = text(doc="ISO 4217 code of the site's currency.", fact="required")
    exchange_rate: Array = quantity(
        "1",
        low=1e-6,
        varies="choice",
        doc="Local money for one USD at the appraisal date.",
        fact="required",
    )
    inflation: Array = quantity(
        "1/year", low=-0.05, high=2, doc="General yearly price rise.", fact="required"
    )
    income_tax: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of taxable profit paid as income tax; 0 for an exempt body.",
        fact="required",
    )
    exchange_path: Any = choice(
        "inflation_difference",
        "constant_real",
        "pegged",
        "stated_table",
        doc="Exchange rate after the appraisal date.",
    )
    foreign_inflation: Array = quantity(
        "1/year", low=-0.05, high=0.5, doc="US inflation, which imports follow abroad."
    )
    real_depreciation: Array = quantity(
        "1/year",
        low=-0.2,
        high=0.3,
        doc="Fall of the currency beyond the inflation difference.",
    )


@inputs("project")
class ProjectInputs:
    """The appraisal's own choices."""

    start: Any = text(doc="Calendar month of month 0, as year-month.")
    years: Array = quantity("year", low=2, high=60, varies="choice", doc="Appraisal period.")
    construction: Array = quantity(
        "month", low=0, high=36, varies="choice", doc="Months of building after month 0."
    )
    ramp_months: Array = quantity(
        "month",
        low=0,
        high=60,
        varies="choice",
        doc="Months from the end of building until production counts as full.",
    )
    start_up_months: Array = quantity(
        "month",
        low=0,
        high=60,
        varies="choice",
        doc="Months after building whose cash deficits belong to the capital need.",
    )
    discount_rate: Array = quantity(
        "1/year", low=-0.05, high=0.5, varies="choice", doc="Real discount rate."
    )
    reinvestment_rate: Array = quantity(
        "1/year",
        low=-0.05,
        high=0.5,
        varies="choice",
        doc="Real rate at which surpluses are reinvested, for the modified rate of return.",
    )
    residual_share: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Share of the unused part of equipment's life that a sale brings at the end.",
    )


def whole(x: Array) -> int:
    """Return a choice of months or years as a whole number of one case. [same unit]"""
    return round(float(x[0, 0]))


def full_years(project: ProjectInputs, timeline: Timeline) -> slice:
    """Return the project years of full production as a slice of yearly arrays, year 0 first."""
    return timeline.full_years(whole(project.ramp_months))


def full_year_mean(project: ProjectInputs, timeline: Timeline, flow: Array) -> Array:
    """Return the mean yearly sum of a life flow over full-production years. [unit/year]"""
    years = timeline.by_year(flow)[:, full_years(project, timeline)]
    return np.asarray(years.sum(axis=1, keepdims=True) / years.shape[1])


def draws_of(*arrays: Array) -> int:
    """Return the number of draws that arrays broadcast to; one case has 1."""
    return max(len(x) for x in arrays)


def total(flows: Iterable[Array]) -> Array:
    """Sum flows of any number, none giving zero, in an array of its own. [same unit]"""
    found, own = np.zeros((1, 1)), False
    for flow in flows:
        if own and flow.shape == found.shape:
            found += flow  # no new array for each flow: a sixth of a large sum's time
        else:
            found, own = found + flow, True
    return found
