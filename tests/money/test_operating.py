"""How the lines of running cost behave, and that yearly figures tie to the statements."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.capital import budget
from sitefare.money.labour import wage_bill
from sitefare.money.operating import Nature, operating
from sitefare.money.overheads import fading
from sitefare.money.prices import GROUPS, price_paths
from sitefare.timeline import Timeline


def run(values, design, flows, fed, timeline):
    paths = price_paths(values, timeline)
    return operating(
        values, design, budget(values, design), flows, fed, paths=paths, timeline=timeline
    )


def test_every_line_says_how_it_behaves(base, design, flows, fed, timeline):
    found = run(base, design, flows, fed, timeline)
    assert set(found.lines) == set(found.natures) == set(found.fixed) == set(found.taxable)
    for name, nature in found.natures.items():
        assert nature.group in GROUPS
        assert nature.behaviour in {"fixed", "variable", "step", "mixed"}
        part = found.fixed[name]
        assert np.all(part >= 0)
        assert np.all(part <= found.lines[name] * (1 + 1e-12))
    assert not any(found.taxable[n] for n in found.lines if n.startswith("wages"))


def test_half_the_harvest_leaves_the_fixed_part(base, design, flows, fed, timeline):
    def half(kg):
        return {key: 0.5 * x for key, x in kg.items()}

    fewer = replace(
        flows,
        crop_kg=half(flows.crop_kg), plants=half(flows.plants),
        fish_live_kg=0.5 * flows.fish_live_kg, feed_kg=0.5 * flows.feed_kg,
        fingerlings=0.5 * flows.fingerlings, dosing_kg=half(flows.dosing_kg),
        sludge_m3=0.5 * flows.sludge_m3, water_makeup_m3=0.5 * flows.water_makeup_m3,
        discharge_m3=0.5 * flows.discharge_m3,
    )  # fmt: skip
    served = replace(fed, served_kg=half(fed.served_kg), elsewhere_kg=half(fed.elsewhere_kg))
    full, less = (run(base, design, *given, timeline) for given in ((flows, fed), (fewer, served)))
    for name, line in full.lines.items():
        expected = line - 0.5 * (line - full.fixed[name])
        if name not in ("wages_worker", "wages_technician", "wages_manager"):
            np.testing.assert_allclose(less.lines[name], expected, err_msg=name)
        np.testing.assert_allclose(less.fixed[name], full.fixed[name], err_msg=name)


def test_power_that_follows_fish_and_plants_is_variable(base, design, flows, fed, timeline):
    split = {"pumping": 0.7 * flows.grid_kwh, "lamps": 0.3 * flows.grid_kwh}
    lit = replace(flows, electricity_kwh=split, electricity_total_kwh=flows.grid_kwh)
    found = run(base, design, lit, fed, timeline)
    np.testing.assert_allclose(found.fixed["electricity"], 0.7 * found.lines["electricity"])


def test_overtime_is_dearer_and_on_call_is_paid(base, flows, timeline):
    paths = price_paths(base, timeline)
    plain = wage_bill(base, flows, paths, timeline)
    busy = replace(flows, role_hours={**flows.role_hours, "worker": 600.0 * timeline.running})
    once, twice = (
        wage_bill({**base, "wage.overtime": value(x)}, busy, paths, timeline).lines["wages_worker"]
        for x in (1.0, 2.0)
    )
    wage = 2.5 * (1 + float(base["wage.on_cost"][0, 0])) * paths["wages"][0, 50]
    assert once[0, 50] == pytest.approx(600 * wage)
    assert twice[0, 50] - once[0, 50] == pytest.approx((600 - 3 * 173.3) * wage)
    quiet = wage_bill({**base, "wage.on_call": value(0.0)}, flows, paths, timeline)
    assert quiet.lines["wages_on_call"].sum() == 0 < plain.lines["wages_on_call"].sum()
    # Sixteen hours a day at 8 % of a technician's hour.
    share = plain.lines["wages_on_call"][0, 7:].sum() / plain.lines["wages_technician"][0, 7:].sum()
    assert share == pytest.approx(0.08 * 16 * 365 / 12 / 173.3, rel=1e-3)


def test_support_fades_to_nothing():
    clock = Timeline(2027, 1, 6, 6)
    left = fading(value(3.0), clock)[0]
    assert left[7] == 1.0
    assert left[25] == pytest.approx(0.5)
    assert np.all(left[43:] == 0)
    assert np.all(fading(value(0.0), clock) == 1.0)


def test_an_overhead_moves_by_its_own_group(base, design, flows, fed, timeline):
    dear = {**base, "drift.wages": base["drift.wages"] + 0.05}
    plain, later = (run(v, design, flows, fed, timeline) for v in (base, dear))
    for name, nature in plain.natures.items():
        moved = not np.allclose(plain.lines[name], later.lines[name], rtol=1e-12)
        used = np.any(plain.lines[name] > 0)
        assert moved == (nature.group == "wages" and used), name


YEARLY = ("operating_cost_year", "sales_year", "operating_cost_recovery")


def test_yearly_figures_leave_drift_out(base, appraised):
    drifting = {n: x + 0.03 for n, x in base.items() if n.startswith("drift.")}
    plain, later = appraised(base), appraised({**base, **drifting})
    for name in YEARLY:
        assert later.indicators[name] == pytest.approx(plain.indicators[name], rel=1e-12), name
    assert later.indicators["npv"] < plain.indicators["npv"]


def test_yearly_figures_are_the_statements_by_their_own_price_paths(drawn, appraised):
    found = appraised(drawn(16))
    earned = found.statements["income"]
    sums = {"operating": 0.0, "income": 0.0}
    for name, group in found.running.price_group.items():
        dated = earned[name] / found.running.price_paths[group]
        np.testing.assert_allclose(dated, found.at_date(name), rtol=1e-12, atol=1e-9)
        sums[found.line_group[name]] = sums[found.line_group[name]] + dated
    years = {k: x[:, 37:].reshape(16, 12, 12).sum(axis=2).mean(axis=1) for k, x in sums.items()}
    np.testing.assert_allclose(years["income"], found.indicators["sales_year"][:, 0], rtol=1e-12)
    np.testing.assert_allclose(
        -years["operating"], found.indicators["operating_cost_year"][:, 0], rtol=1e-12
    )


def test_fixed_and_variable_parts_make_the_running_cost(drawn, appraised):
    found = appraised(drawn(7))
    running = -sum(x for n, x in found.lines.items() if found.line_group[n] == "operating")
    fixed = sum(found.running.fixed_costs.values())
    variable = sum(-found.lines[n] - x for n, x in found.running.fixed_costs.items())
    np.testing.assert_allclose(fixed + variable, running, rtol=1e-12)
    assert np.all(variable > -1e-9 * np.max(running))
    assert set(found.running.behaviour) == set(found.running.fixed_costs)
    parts = found.indicators["fixed_cost_year"] + found.indicators["variable_cost_year"]
    np.testing.assert_allclose(parts, found.indicators["operating_cost_year"], rtol=1e-12)
    assert np.all(found.indicators["variable_cost_year"] > 0)


def test_a_line_of_another_part_joins(base, design, flows, fed, timeline):
    found = run(base, design, flows, fed, timeline)
    more = found.plus("storm_repairs", timeline.running * 5.0, Nature("equipment", "fixed"))
    assert set(more.lines) - set(found.lines) == {"storm_repairs"}
    assert set(more.lines) == set(more.natures) == set(more.fixed)
    assert more.fixed["storm_repairs"].sum() == 5.0 * timeline.running.sum()
