"""A break-even put back into the rows makes the project worth nothing."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.assumptions.declaration import build
from sitefare.money.breakeven import Part, Plan, main_food, multiplier
from sitefare.money.discounting import present_value
from sitefare.money.finances import finances
from sitefare.money.tax import TaxRules, yearly_tax
from sitefare.money.tying import tying
from sitefare.money.vat import VatInputs, awaiting, reclaimed
from sitefare.money.views import MoneyView
from sitefare.money.working_capital import WorkingCapitalInputs, ahead, trailing
from sitefare.timeline import Timeline

NAMES = ("price", "price_main_food", "yield", "occupancy", "capital", "wages")


def one(found, name):
    return float(found.indicators[name][0, 0])


def scaled(values, factor, *starts):
    picked = {n: x * factor for n, x in values.items() if n.startswith(starts) and "price" in n}
    return {**values, **picked}


def paying(values):
    return {**scaled(values, 10.0, "market."), "wage.worker": value(0.8)}


@pytest.fixture(scope="module", params=[0.0, 0.3], ids=["untaxed", "taxed"])
def plan(request, base):
    return {**base, "economy.income_tax": value(request.param)}


def near_nothing(found):
    turnover = sum(np.sum(np.abs(x)) for x in found.lines.values())
    return abs(one(found, "npv")) < 1e-9 * turnover


def test_break_even_price_makes_the_project_worth_nothing(plan, appraised):
    m = one(appraised(plan), "break_even_price")
    assert m > 1
    assert near_nothing(appraised(scaled(plan, m, "market.")))


def test_break_even_price_of_the_main_food(plan, appraised):
    found = appraised(plan)
    key = f"market.{found.break_evens.main_food}.price"
    m = one(found, "break_even_price_main_food") / float(plan[key][0, 0])
    # People served pay by the same price; the break-even holds what they pay.
    held = {"sales.served_price_share": plan["sales.served_price_share"] * 0.0}
    alone = appraised({**plan, **held})
    m = one(alone, "break_even_price_main_food") / float(plan[key][0, 0])
    assert near_nothing(appraised({**plan, **held, key: plan[key] * m}))
    assert m > 1


def test_break_even_wages(plan, appraised):
    values = paying(plan)
    found = appraised(values)
    m = one(found, "break_even_wages")
    assert m > 1
    # Installers' hours are capital: their wage is held by a bill without hours.
    bare = {n: x * 0.0 for n, x in values.items() if n.endswith(".install")}
    m = one(appraised({**values, **bare}), "break_even_wages")
    dear = {**values, **bare, "wage.worker": values["wage.worker"] * m}
    assert near_nothing(appraised(dear))


def test_break_even_capital(plan, appraised):
    values = paying(plan)
    m = one(appraised(values), "break_even_capital")
    assert m > 1
    assert near_nothing(appraised({**values, "capital.overrun": values["capital.overrun"] * m}))


def moved(flows, fed, m, names):
    """Flows and food with some physical flows times m."""

    def times(x):
        return {k: m * v for k, v in x.items()} if isinstance(x, dict) else m * x

    more = replace(flows, **{name: times(getattr(flows, name)) for name in names})
    food = replace(
        fed, **{n: times(getattr(fed, n)) for n in ("served_kg", "elsewhere_kg", "edible_g")}
    )
    return more, food


#: Fish in the tanks weigh what is harvested of them: their cost leaves in the same months.
FISH = ("fish_live_kg", "fish_biomass_kg", "fish_deaths_kg")
VARIABLE_FLOWS = (
    "crop_kg", *FISH, "feed_kg", "fingerlings", "plants", "dosing_kg",
    "water_makeup_m3", "discharge_m3", "sludge_m3",
)  # fmt: skip


@pytest.mark.parametrize(
    ("name", "moving"),
    [("yield", ("crop_kg", *FISH)), ("occupancy", VARIABLE_FLOWS)],
)
def test_break_even_yield_and_occupancy(name, moving, plan, flows, fed, design, timeline):
    # A market that never notices: break-evens hold prices.
    values = {**scaled(plan, 4.0, "market."), "sales.market_size": value(1e6)}
    m = one(finances(values, design, flows, fed, timeline), f"break_even_{name}")
    assert 0.3 < m < 30
    more, food = moved(flows, fed, m, moving)
    assert near_nothing(finances(values, design, more, food, timeline))


def test_a_project_that_pays_breaks_even_below_the_plan(plan, appraised):
    found = appraised(paying(plan))
    assert one(found, "npv") > 0
    for name in ("price", "yield", "occupancy"):
        assert 0 < one(found, f"break_even_{name}") < 1
    for name in ("capital", "wages"):
        assert one(found, f"break_even_{name}") > 1


def test_never_and_not_even_free_of_charge(base, appraised):
    found = appraised(base)
    assert "free of charge" in found.reasons["break_even_wages"]
    assert np.isnan(one(found, "break_even_wages"))
    dear = appraised({**base, "price.packing": value(99.0)})
    assert one(dear, "break_even_yield") == np.inf
    assert dear.reasons["break_even_yield"].startswith("never")


def made_plan(cash, rest, tax_rate, years=3):
    """A yearly plan whose tax is a share of every profit of the part."""
    flow = np.zeros((cash.shape[0], 12 * years + 1))
    part, other = flow.copy(), flow.copy()
    part[:, 12::12], other[:, :1] = cash, rest
    one_view = MoneyView(
        {"part": part, "rest": other, "tax": -tax_rate * np.maximum(part, 0.0)},
        {"part": "income", "rest": "capital", "tax": "tax"},
        np.ones((1, flow.shape[1])), value(0.0), value(0.0),
    )  # fmt: skip

    rules = TaxRules(value(tax_rate), loss_share=value(0.0))
    tax = yearly_tax(part, rules, Timeline(2027, 1, years, 0))
    return Plan(one_view, None, None, tax), Part(part, part)


def test_closed_form_and_taxed_answer():
    cash, rest = np.array([[10.0], [20.0], [-1.0]]), np.array([[-60.0], [-60.0], [-60.0]])
    free, taxed = (multiplier(*made_plan(cash, rest, tax))[:, 0] for tax in (0.0, 0.5))
    assert free.tolist() == [2.0, 1.0, np.inf]
    assert taxed == pytest.approx([4.0, 2.0, np.inf], rel=1e-12)


def test_no_multiplier_is_enough_where_tax_takes_all_that_more_brings():
    # 4 of 10 go to costs that tax does not allow; a tax of 60 % takes the other 6.
    plan, part = made_plan(np.array([[10.0]]), np.array([[-60.0]]), 0.6)
    spent = replace(part, cash=0.6 * part.cash)
    assert multiplier(plan, spent)[0, 0] == np.inf


def test_weights_say_what_waiting_takes(base):
    rng = np.random.default_rng(3)
    sold, bought, stocked, taxed = rng.uniform(0.5, 2.0, (4, 3, 181))
    factors = 1.02 ** -np.arange(181.0)[None, :]
    days, tax = build(WorkingCapitalInputs, base), build(VatInputs, base)
    net = trailing(bought, days.payable_days) - trailing(sold, days.receivable_days)
    net = net - ahead(stocked, days.stock_days) - awaiting(reclaimed(tax, taxed), tax.wait)
    taken = present_value(np.diff(net, axis=1, prepend=0.0), factors)
    held = tying(base, factors)
    found = held.worth(received=sold, on_credit=bought, stocked=stocked, taxed=taxed)
    np.testing.assert_allclose(found, taken, rtol=1e-12)


def test_a_row_does_not_depend_on_its_neighbours(drawn, appraised):
    values = {**drawn(24), "economy.income_tax": value(0.3)}
    many = appraised(values)
    first = appraised({k: v if isinstance(v, str) else v[:1] for k, v in values.items()})
    for name in NAMES:
        np.testing.assert_allclose(
            many.indicators[f"break_even_{name}"][0],
            first.indicators[f"break_even_{name}"][0],
            rtol=1e-12,
        )


def test_main_food_is_the_crop_with_most_ground(base, fed):
    shares = {"plan.lettuce.share": value(0.2), "plan.tomato.share": value(0.5)}
    assert main_food({**base, **shares}, fed) == "tomato"
    assert main_food(base, fed) == "lettuce"
