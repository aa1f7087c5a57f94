"""A proposal's charts: sums are the indicators', marks tell themselves in words."""

import re
import xml.etree.ElementTree as ET

import pytest

from sitefare.outputs.document import Figure
from sitefare.outputs.drawn import svg
from sitefare.outputs.picture import NARROW, WIDE, Picture

SET = (("kaldre", "solar_supply"), ("norhaven", "low_cost_build"))

#: What every proposal of the set draws, by anchor or by the start of its caption.
EXPECTED = (
    "sources-figure", "makeup-figure", "cost-outcome", "npv-outcome", "fan-figure", "events-figure",
    "plan-view",
)  # fmt: skip


def figures(proposal):
    return {p.anchor: p.block for p in proposal.document.placed if isinstance(p.block, Figure)}


def rows_of(picture, column):
    return next(rows for rows in picture.wide["datasets"].values() if column in rows[0])


@pytest.mark.parametrize(("site", "scenario"), SET)
def test_the_set_of_charts_is_there(proposals, site, scenario):
    found = figures(proposals(site, scenario))
    assert set(EXPECTED) <= set(found)
    titles = " ".join(figure.picture.title for figure in found.values())
    for words in (
        "of electricity a year goes to", "of water a year goes to", "The ration covers",
        "would reach most people", "full production in", "Cash spent is not recovered",
    ):  # fmt: skip
        assert words in titles


@pytest.mark.parametrize(("site", "scenario"), SET)
def test_parts_of_costs_add_up_to_the_indicators(proposals, site, scenario):
    proposal = proposals(site, scenario)
    rows = rows_of(figures(proposal)["makeup-figure"].picture, "cost_per_person_day")
    for name in (
        "cost_per_person_day", "levelised_cost_vegetables_kg", "levelised_cost_fish_kg",
    ):  # fmt: skip
        assert sum(row[name] for row in rows) == pytest.approx(proposal.view.value(name), rel=1e-9)


@pytest.mark.parametrize(("site", "scenario"), SET)
def test_sources_and_uses_are_those_of_the_statements(proposals, site, scenario):
    proposal = proposals(site, scenario)
    rows = rows_of(figures(proposal)["sources-figure"].picture, "side")
    flow = proposal.view.appraisal.finances.statements["cash_flow"]
    paid = sum(float(flow[key][0].sum()) for key in ("grants", "equity", "loans_drawn"))
    sums = {s: sum(r["amount"] for r in rows if r["side"] == s) for s in ("source", "use")}
    assert sums["source"] == pytest.approx(sums["use"])
    short = sum(r["amount"] for r in rows if r["what"] == "Short of funding")
    assert sums["source"] - short == pytest.approx(paid)


@pytest.mark.parametrize(("site", "scenario"), SET)
def test_sources_of_water_and_power_give_what_uses_take(proposals, site, scenario):
    view = proposals(site, scenario).view
    flows = view.appraisal.flows
    given = sum(view.full_season(x) for x in (flows.grid_kwh, flows.pv_kwh, flows.generator_kwh))
    taken = sum(view.full_season(x) for x in flows.electricity_kwh.values())
    # What no standby carries while the grid is down is not supplied, and is no more than that time.
    down = float(view.base["supply.outage_share"][0, 0])
    assert ((taken - given) / taken).min() >= -1e-9
    assert ((taken - given) / taken).max() <= down
    come = view.full_season(flows.water_makeup_m3) + view.full_season(flows.rain_m3)
    used = sum(view.full_season(x) for k, x in flows.water_uses_m3.items() if k != "filling")
    assert come == pytest.approx(used, rel=1e-6)


@pytest.mark.parametrize(("site", "scenario"), SET)
def test_the_share_of_draws_is_the_one_told_elsewhere(proposals, site, scenario):
    proposal = proposals(site, scenario)
    rows = rows_of(figures(proposal)["npv-outcome"].picture, "share")
    below = sum(row["share"] for row in rows if row["side"] == "below zero")
    assert below == pytest.approx(proposal.view.drawn.chance("npv", 0.0))


@pytest.mark.parametrize(("site", "scenario"), SET)
def test_marks_tell_themselves_in_words(proposals, site, scenario):
    for anchor, figure in figures(proposals(site, scenario)).items():
        if not isinstance(figure.picture, Picture):
            continue
        for spec, width in ((figure.picture.wide, WIDE), (figure.picture.narrow, NARROW)):
            root = ET.fromstring(svg(spec))
            assert float(root.get("viewBox").split()[2]) == pytest.approx(width, abs=2), anchor
            told = [
                e.get("aria-label")
                for e in root.iter()
                if e.get("role") == "graphics-symbol"
                and e.get("aria-roledescription") not in ("axis", "legend")
                and e.get("aria-label")
            ]
            assert told, anchor
            for words in told:
                assert not re.search(r"\d\.\d{5}|[a-z]_[a-z]|: .*; .*: ", words), (anchor, words)
                assert "\n" not in words, (anchor, words)
