"""The terms of an indicator add up to it, and name the rows behind them."""

from functools import cache

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import base_values
from sitefare.errors import AssumptionError
from sitefare.money.explain import explains, terms_of
from sitefare.outputs.explained import explained_chart, explained_frame
from sitefare.outputs.numbers import Formats
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.explaining import explain, found_terms

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]

#: Indicators of money that are no sum: the rate or time at which terms add up to zero, or the
#: month of the greatest sum.
BALANCING = ("irr", "mirr", "payback", "discounted_payback", "peak_funding_month")


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("scenario", ["as_planned", "grant_and_soft_loan"])
def test_terms_add_up(plan, site, scenario):
    money = appraise(plan(site, scenario)).finances
    explained = [name for name in money.indicators if explains(name)]
    assert {n for n in INDICATORS if n in money.indicators} <= set(explained)
    for name in explained:
        made = terms_of(money, name)
        amounts = [float(x[0, 0]) for x in made.terms.values()]
        if not amounts:
            assert np.isnan(money.indicators[name][0, 0]), name
            continue
        total = float(np.broadcast_to(made.total, (1, 1))[0, 0])
        assert sum(amounts) == pytest.approx(total, abs=1e-9 * sum(map(abs, amounts))), name
        if name == "peak_funding_month":
            assert total == pytest.approx(money.indicators["peak_funding"][0, 0], rel=1e-9)
        value = float(money.indicators[name][0, 0])
        if np.isfinite(value) and not name.startswith(BALANCING):
            assert total == pytest.approx(value, rel=1e-9, abs=1e-9), name


def test_terms_of_a_project_that_pays(plan):
    # The balancing kind: rates and paybacks that have an answer add up to nothing.
    sized = plan("port_anui")
    values = base_values(sized.case)
    dear = {n: 12.0 * x for n, x in values.items() if n.startswith("market.") and "price" in n}
    made = appraise(sized, {**values, **dear})
    assert made.indicators["npv"][0, 0] > 0
    for name in ("irr", "irr_equity", "irr_nominal", "payback_years", "payback_years_equity"):
        assert np.isfinite(made.indicators[name][0, 0]), name
        found = terms_of(made.finances, name)
        amounts = [float(x[0, 0]) for x in found.terms.values()]
        assert found.total[0, 0] == 0
        assert abs(sum(amounts)) < 1e-9 * sum(map(abs, amounts)), name
    path = terms_of(made.finances, "payback_years").path[0]
    years = made.indicators["payback_years"][0, 0]
    assert path[int(years)] < 0 <= path[int(np.ceil(years))]


@pytest.fixture(scope="module")
def explained(plan):
    return cache(lambda indicator: explain(plan("port_anui"), indicator))


@pytest.mark.parametrize(
    ("indicator", "term", "row"),
    [
        ("npv", "feed", "price.feed"),
        ("npv", "feed", "species.tilapia.feed_conversion"),
        ("npv", "wages_worker", "wage.worker"),
        ("npv", "electricity", "tariff.electricity"),
        ("npv_economic", "carbon", "economic.carbon_price"),
        ("npv_economic", "wages_worker", "economic.shadow_wage"),
        ("irr", "insurance", "operations.insurance_share"),
        ("cost_per_person_day", "packing", "price.packing"),
    ],
)
def test_rows_behind_a_term(explained, indicator, term, row):
    rows = {t.name: t.rows for t in explained(indicator).terms}
    assert row in rows[term]


def test_physical_sums_are_explained_too(plan):
    made = appraise(plan("port_anui"))
    for name in ("vegetables_marketable_kg_year", "electricity_kwh_year", "jobs_fte"):
        found = found_terms(made, name)
        assert sum(x[0, 0] for x in found.terms.values()) == pytest.approx(
            made.indicators[name][0, 0]
        )


def test_what_is_no_sum_is_refused(plan):
    made = appraise(plan("port_anui"))
    with pytest.raises(AssumptionError, match="no indicator of money; these are explained"):
        found_terms(made, "minutes_without_air")
    with pytest.raises(AssumptionError, match="'nvp' is not an indicator"):
        found_terms(made, "nvp")


@pytest.mark.parametrize("indicator", ["npv", "irr", "payback_years", "capex", "break_even_price"])
def test_every_kind_is_drawn(plan, indicator):
    made = explain(plan("port_anui"), indicator, with_rows=False)
    picture = explained_chart(made, Formats("en", "FJD"))
    assert picture.wide["description"]
    frame = explained_frame(made)
    assert frame["what"].is_unique
    assert frame["amount"].sum() == pytest.approx(
        made.total, abs=1e-9 * frame["amount"].abs().sum()
    )
