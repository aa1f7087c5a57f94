"""Events are laid over the base: nothing at size nothing, books that close, fish that come back."""

import dataclasses

import numpy as np
import pytest

from sitefare.appraisal import appraise, sampled_values
from sitefare.assumptions.case import base_values, block_of
from sitefare.assumptions.shocks import NEUTRAL
from sitefare.errors import AssumptionError
from sitefare.money.grants import held_back
from sitefare.questions.stress import (
    KINDS,
    combinations,
    events_of,
    out_of_money,
    recovery,
    shocked,
    stress,
    stressed,
    weighted,
)

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]


def same(a, b, tolerance=1e-12):
    np.testing.assert_allclose(a, b, rtol=tolerance, atol=tolerance, equal_nan=True)


def of_size(event, size):
    return dataclasses.replace(event, size=np.full((1, 1), float(size)))


def test_every_kind_has_an_event(plan):
    assert {str(e.kind) for e in events_of(plan("port_anui")).values()} == set(KINDS)


@pytest.mark.parametrize("site", ["port_anui", "kaldre"])
def test_nothing_happens_at_size_nothing(plan, site):
    sized = plan(site, "grant_and_soft_loan")
    base = appraise(sized)
    for key, event in events_of(sized).items():
        made = stressed(sized, [of_size(event, 0.0)])
        for name, x in base.indicators.items():
            np.testing.assert_array_equal(made.indicators[name], x, err_msg=f"{key} {name}")
        np.testing.assert_array_equal(made.finances.cash_balance, base.finances.cash_balance)


def test_neutral_shocks_change_nothing(plan):
    sized = plan("norhaven", "grant_and_soft_loan")
    values = base_values(sized.case)
    months = sized.case.timeline.months
    laid = {f"shock.{k}": np.full((1, months + 1), x) for k, x in NEUTRAL.items()}
    base, made = appraise(sized), appraise(sized, {**values, **laid})
    for name, x in base.indicators.items():
        same(made.indicators[name], x)


@pytest.mark.parametrize("site", SITES)
def test_books_close_under_every_event_and_all_together(plan, site):
    sized = plan(site, "grant_and_soft_loan")
    events = events_of(sized)
    for chosen in (*([e] for e in events.values()), list(events.values())):
        balance = stressed(sized, chosen).finances.statements["balance"]
        scale = np.abs(balance["total_assets"]).max()
        gap = np.abs(balance["total_assets"] - balance["total_claims"]).max()
        assert gap < 1e-9 * scale, [str(e.title) for e in chosen]


def test_before_an_event_all_is_as_in_the_base(plan):
    sized = plan("port_anui", "grant_and_soft_loan")
    base = appraise(sized)
    for key, event in events_of(sized).items():
        if event.carried or event.kind in ("late_start", "grant_late", "devaluation"):
            continue  # those lift the year's expected loss, or move what is paid ahead
        made, first = stressed(sized, [event]), int(event.months(sized.case.timeline)[0])
        food = sized.design.species
        for x, y in (
            (made.flows.fish_live_kg, base.flows.fish_live_kg),
            (made.fed.served_kg[food], base.fed.served_kg[food]),
        ):
            np.testing.assert_array_equal(x[:, :first], y[:, :first], err_msg=key)


@pytest.mark.parametrize("site", SITES)
def test_killed_fish_come_back_in_their_turn(plan, site):
    sized = plan(site)
    event = dataclasses.replace(events_of(sized)["fish_kill"], carried="")
    base, made = appraise(sized).flows, stressed(sized, [event]).flows
    month = int(event.months(sized.case.timeline)[0]) + 1
    assert made.fish_biomass_kg[0, month] < 0.9 * base.fish_biomass_kg[0, month]
    assert made.fish_deaths_kg[0].sum() > 0
    # At most two cycles later every tank is where it would have been.
    same(made.fish_live_kg[0, month + 48 :], base.fish_live_kg[0, month + 48 :], 1e-9)
    assert made.fish_live_kg[0].sum() < base.fish_live_kg[0].sum()
    assert made.feed_kg[0].sum() < base.feed_kg[0].sum()


def test_fish_weigh_what_went_in_less_what_went_out(plan):
    # Stocked + gain − harvest − deaths = change of what stands; gain is feed over conversion, so
    # the balance is taken with fish that die against fish that do not: no fish appear from nothing.
    sized = plan("port_anui")
    event = dataclasses.replace(events_of(sized)["fish_kill"], carried="", size=np.ones((1, 1)))
    made = stressed(sized, [event]).flows
    month = int(event.months(sized.case.timeline)[0]) + 1
    assert made.fish_biomass_kg[0, month] == pytest.approx(0.0, abs=1e-9)
    assert made.fish_deaths_kg[0, month] == pytest.approx(made.fish_biomass_kg[0, month - 1])
    assert made.fish_live_kg[0, month] == 0.0
    assert np.all(made.fish_biomass_kg >= -1e-9)


def test_a_larger_event_takes_more(plan):
    sized = plan("port_anui")
    events = events_of(sized)
    base = appraise(sized)
    for key in ("fuel_price", "devaluation", "buyer_lost"):
        small, large = (
            stressed(sized, [of_size(events[key], s)]).indicators["npv"][0, 0] for s in (0.2, 0.4)
        )
        assert large < small < base.indicators["npv"][0, 0], key
    for key in ("crop_failure", "fish_kill"):
        event = dataclasses.replace(events[key], carried="")
        small, large = (
            stressed(sized, [of_size(event, s)]).indicators["people_fed"][0, 0] for s in (0.2, 0.9)
        )
        assert large < small, key


def test_the_loss_that_the_base_carries_is_taken_out_of_that_year_alone(plan):
    sized = plan("port_anui")
    event = events_of(sized)["fish_kill"]
    line, values = sized.case.timeline, base_values(sized.case)
    laid, _ = shocked(sized, [event], values)
    year = line.year[int(event.months(line)[0]) + 1]
    occurs = np.asarray(laid["occurrence.fish_kill"])
    assert np.all(occurs[:, line.year == year] == 0.0)
    was = np.broadcast_to(values["occurrence.fish_kill"], occurs.shape)
    np.testing.assert_array_equal(occurs[:, line.year != year], was[:, line.year != year])
    wrong = dataclasses.replace(event, carried="fish_kil")
    with pytest.raises(AssumptionError, match="nearest known name is 'fish_kill'"):
        shocked(sized, [wrong], values)


def test_an_outage_kills_fish_only_where_nothing_carries_their_air(plan):
    with_generator = plan("port_anui")
    alone = plan(
        "port_anui", "as_planned", "supply.standby=none", "supply.battery_hours=24",
        "supply.solar_share=0.3",
    )  # fmt: skip
    event = events_of(with_generator)["outage"]
    assert with_generator.case.rows["supply.standby"].text == "generator"
    kept, killed = (
        stressed(sized, [event]).flows.fish_deaths_kg.sum() for sized in (with_generator, alone)
    )
    assert kept == pytest.approx(appraise(with_generator).flows.fish_deaths_kg.sum())
    assert killed > kept
    short = dataclasses.replace(event, length=np.full((1, 1), 0.005))
    assert stressed(alone, [short]).flows.fish_deaths_kg.sum() == pytest.approx(
        appraise(alone).flows.fish_deaths_kg.sum()
    )


def test_an_outage_burns_fuel_in_place_of_grid_power(plan):
    sized = plan("port_anui")
    event = dataclasses.replace(events_of(sized)["outage"], length=np.ones((1, 1)), carried="")
    base, made = appraise(sized).flows, stressed(sized, [event]).flows
    month = int(event.months(sized.case.timeline)[0]) + 1
    assert made.grid_kwh[0, month] == pytest.approx(0.0, abs=1e-9)
    assert made.generator_fuel_l[0, month] > 10.0 * base.generator_fuel_l[0, month]
    np.testing.assert_allclose(made.grid_kwh[0, month + 2], base.grid_kwh[0, month + 2])


def test_a_late_start_moves_the_farm_and_not_the_building(plan):
    sized = plan("port_anui")
    event = events_of(sized)["late_permit"]
    base, made = appraise(sized), stressed(sized, [event])
    first, late = (int(np.argmax(x.flows.fish_live_kg[0] > 0)) for x in (base, made))
    assert late >= first + 5
    built = made.finances.lines["capital_land"], base.finances.lines["capital_land"]
    np.testing.assert_array_equal(*built)
    same(made.indicators["capex"], base.indicators["capex"])
    rent = made.finances.lines["rent"][0]
    same(rent, base.finances.lines["rent"][0])


def test_grants_held_back_are_paid_later_and_none_is_lost():
    paid = np.array([[5.0, 1.0, 2.0, 0.0, 3.0]])
    share = np.array([[1.0, 0.5, 0.0, 0.0, 1.0]])
    late = held_back(paid, share)
    assert late.tolist() == [[0.0, 3.0, 5.0, 0.0, 3.0]]
    assert late.sum() == paid.sum()
    np.testing.assert_array_equal(held_back(paid, np.zeros((1, 1))), paid)


def test_a_late_grant_moves_cash_and_no_worth(plan):
    sized = plan("port_anui", "grant_and_soft_loan")
    found = stress(sized, ["grant_late"]).effects[0]
    assert found.most_lost > 0
    assert found.npv_change == 0.0
    assert found.out_of_money < out_of_money(appraise(sized).finances.cash_balance[0])


def test_a_devaluation_raises_foreign_debt_and_imported_prices(plan):
    sized = plan("port_anui", "grant_and_soft_loan", "loan.soft.currency=USD")
    event = events_of(sized)["devaluation"]
    base, made = appraise(sized).finances, stressed(sized, [event]).finances
    month = int(event.months(sized.case.timeline)[0]) + 2
    debt = (
        made.statements["balance"]["loans"][0, month]
        / base.statements["balance"]["loans"][0, month]
    )
    assert debt == pytest.approx(1.43, rel=1e-9)
    feed = made.lines["feed"][0, month] / base.lines["feed"][0, month]
    share = sized.case.rows["economic.feed_imported"].base
    assert feed == pytest.approx(1.0 + 0.43 * share, rel=1e-9)


def test_scalar_equals_vector_under_stress(plan):
    sized = plan("port_anui", "grant_and_soft_loan")
    events = list(events_of(sized).values())
    values = sampled_values(sized, 8, 3)
    whole = stressed(sized, events, values).indicators
    for i in (0, 5):
        alone = stressed(sized, events, block_of(values, slice(i, i + 1))).indicators
        for name, x in alone.items():
            same(np.broadcast_to(whole[name], (8, 1))[i], x[0])


def test_combinations_and_chosen_events(plan):
    sized = plan("norhaven")
    events = events_of(sized)
    assert set(combinations(events)["bad_year"]) == {"fuel_price", "devaluation", "buyer_lost"}
    found = stress(sized, ["fish_kill", "feed_cut"])
    assert [e.name for e in found.effects] == ["fish_kill", "feed_cut"]
    assert found.combined[0].events == ("fish_kill", "feed_cut")
    assert found.combined[0].people_lost >= max(e.people_lost for e in found.effects) - 1e-9
    with pytest.raises(AssumptionError, match="'fish_kil' is not an event"):
        stress(sized, ["fish_kil"])


def test_recovery_counts_from_the_start():
    before = np.full(60, 10.0)
    fed = before.copy()
    assert recovery(fed, before, 20) == 0
    fed[20:26] = 0.0
    # Twelve months from month 26 on are whole; from 25 on one of them is empty.
    assert recovery(fed, before, 20) == 6
    fed[20:] = 0.0
    assert recovery(fed, before, 20) is None


@pytest.mark.identity
def test_expected_loss_is_chance_times_loss(plan):
    found = stress(plan("port_anui"), ["buyer_lost", "fish_kill"])
    buyer, fish = found.effects
    assert buyer.expected_loss == pytest.approx(weighted((0.12,), (-buyer.npv_change,)))
    assert fish.expected_loss == 0.0


@pytest.mark.parametrize("site", ["kaldre", "port_anui"])
def test_events_that_the_base_carries_agree_with_the_table_of_events(plan, site):
    sized = plan(site)
    values = base_values(sized.case)
    for key, event in events_of(sized).items():
        if not event.carried:
            continue
        chance, loss = (values[f"event.{event.carried}.{x}"] for x in ("chance", "loss"))
        assert float(event.chance[0, 0]) == float(chance[0, 0]), key
        if event.kind == "crops":
            taken = float((event.size * event.length)[0, 0]) / 12
            assert taken == pytest.approx(float(loss[0, 0]))
