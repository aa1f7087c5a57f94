"""The set chosen is the best of all sets, its limits are priced by what easing them brings."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.errors import DesignError, RunError
from sitefare.questions.choosing import Candidate, Chosen, RegionLimit, Terms, portfolio


def farm(site, people, capital, cost=0.0, area=500.0, region=""):
    return Candidate(site, "as_planned", area, people, capital, cost, region)


def sets(candidates):
    """Every set of at most one farm a site."""
    by_site = {}
    for one in candidates:
        by_site.setdefault(one.site, [None]).append(one)
    for picked in product(*by_site.values()):
        yield Chosen(tuple(one for one in picked if one is not None))


def best_people(candidates, terms):
    def fits(chosen):
        return chosen.capital <= terms.budget + 1e-6 and all(
            sum(f.people for f in chosen.farms if f.region == r) >= limit.least_people - 1e-9
            and sum(f.region == r for f in chosen.farms) <= limit.most_farms
            for r, limit in terms.regions.items()
        )

    return max((c.people for c in sets(candidates) if fits(c)), default=None)


# Martello and Toth, Knapsack Problems (1990), chapter 2: profits, weights and capacity 102 of an
# example whose optimum is 280, with items 1, 2, 3, 4 and 6. From memory.
PROFITS = (15, 100, 90, 60, 40, 15, 10, 1)
WEIGHTS = (2, 20, 20, 30, 40, 30, 60, 10)


def test_one_farm_a_site_is_a_knapsack_of_the_books():
    candidates = [
        farm(f"s{i}", p, w) for i, (p, w) in enumerate(zip(PROFITS, WEIGHTS, strict=True))
    ]
    found = portfolio(candidates, Terms(budget=102.0))
    assert found.best.people == pytest.approx(280)
    assert [f.site for f in found.best.farms] == ["s0", "s1", "s2", "s3", "s5"]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.integers(0, 200), st.integers(1, 900), st.integers(0, 1)),
        min_size=1,
        max_size=8,
    ),
    st.integers(0, 2500),
    st.integers(0, 150),
)
def test_no_other_set_feeds_more(given_farms, budget, asked):
    candidates = [
        farm(f"s{site}", float(people), float(capital), area=float(i), region=f"r{region}")
        for i, (site, people, capital, region) in enumerate(given_farms)
    ]
    region = candidates[0].region
    terms = Terms(
        budget=float(budget), regions={region: RegionLimit(least_people=float(asked), most_farms=2)}
    )
    could = best_people(candidates, terms)
    if could is None:
        with pytest.raises(DesignError, match="no set of farms"):
            portfolio(candidates, terms)
        return
    assert portfolio(candidates, terms).best.people == pytest.approx(could)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 3), st.integers(1, 200), st.integers(1, 900)),
        min_size=1,
        max_size=7,
    ),
    st.integers(1, 300),
)
def test_no_other_set_feeds_the_people_for_less(given_farms, asked):
    candidates = [
        farm(f"s{site}", float(people), 1.0, float(cost), area=float(i))
        for i, (site, people, cost) in enumerate(given_farms)
    ]
    could = min((c.cost for c in sets(candidates) if c.people >= asked), default=None)
    terms = Terms(aim="least_cost", least_people=float(asked))
    if could is None:
        with pytest.raises(DesignError, match="asks"):
            portfolio(candidates, terms)
        return
    assert portfolio(candidates, terms).best.cost == pytest.approx(could)


THREE = [
    farm("a", 40, 100, 90, region="hills"),
    farm("b", 70, 200, 150, region="coast"),
    farm("b", 90, 320, 260, area=800, region="coast"),
    farm("c", 30, 90, 70, region="coast"),
]


def test_next_best_sets_come_in_order_and_differ():
    found = portfolio(THREE, Terms(budget=320.0), others=4)
    people = [found.best.people, *(one.people for one in found.others)]
    assert people == sorted(people, reverse=True)
    assert len({one.farms for one in (found.best, *found.others)}) == 5
    every = sorted((c.people for c in sets(THREE) if c.capital <= 320), reverse=True)
    assert people == every[:5]


def test_a_limit_is_priced_by_what_easing_it_brings():
    found = portfolio(THREE, Terms(budget=320.0))
    assert found.best.people == 110
    budget = found.prices[0]
    assert (budget.title, budget.used) == ("Budget", 300)
    # A tenth more, 352, brings nothing; at 390 site c can be built too.
    assert budget.gain == 0.0
    assert budget.turns == pytest.approx(390)
    eased = portfolio(THREE, Terms(budget=390.0))
    assert eased.best.people == 140
    assert portfolio(THREE, Terms(budget=389.9)).best.people == 110
    assert portfolio(THREE, Terms(budget=1000.0)).prices[0].turns is None


def test_regions_hold_and_are_priced():
    terms = Terms(budget=320.0, regions={"hills": RegionLimit(least_people=40)})
    found = portfolio(THREE, terms)
    assert any(f.region == "hills" for f in found.best.farms)
    few = portfolio(THREE, Terms(regions={"coast": RegionLimit(most_farms=1)}))
    assert sum(f.region == "coast" for f in few.best.farms) == 1
    price = few.prices[0]
    assert (price.title, price.turns) == ("Farms in coast", 2)


def test_least_cost_prices_the_people_asked():
    found = portfolio(THREE, Terms(aim="least_cost", least_people=100.0))
    assert found.best.cost == 220
    price = found.prices[0]
    assert price.bound == 100
    # With 10 fewer people the larger farm at b alone would still cost 260; b and c cost 220.
    assert price.gain == 0.0
    assert price.turns == pytest.approx(70)


def test_what_cannot_be_is_refused_in_a_sentence():
    with pytest.raises(DesignError, match=r"people in all asks 900, and all sites together"):
        portfolio(THREE, Terms(least_people=900.0))
    with pytest.raises(DesignError, match=r"satisfies all limits together"):
        portfolio(THREE, Terms(budget=120.0, least_people=100.0))
    with pytest.raises(RunError, match="region 'north' has no site; regions of the sites: coast"):
        portfolio(THREE, Terms(regions={"north": RegionLimit()}))
    with pytest.raises(RunError, match="nothing to choose from"):
        portfolio([], Terms())
    other = replace(THREE[0], ration="energy")
    with pytest.raises(RunError, match="people of different rations do not add up"):
        portfolio([other, *THREE[1:]], Terms())
    with pytest.raises(RunError, match="least cost needs people"):
        portfolio(THREE, Terms(aim="least_cost"))


def test_no_budget_builds_nothing():
    found = portfolio(THREE, Terms(budget=50.0))
    assert found.best.farms == ()
    assert found.best.people == 0.0
    assert found.prices[0].turns == pytest.approx(90)
    assert np.isfinite(found.best.cost)
