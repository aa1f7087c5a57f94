"""Lines of a comparison made of invented numbers, without any appraisal."""

from pathlib import Path

import numpy as np

from sitefare.questions.alternatives import Alternative
from sitefare.questions.comparing import Compared, ordered
from sitefare.questions.criteria import criteria_of
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.figures import RATIO, SUBSIDY
from sitefare.questions.gates import Gate
from sitefare.questions.lines import KEPT, Asked, Line, RationLine, Swung
from sitefare.questions.tornado import Bar
from sitefare.questions.turning import Turn
from sitefare.questions.uncertainty import spread

DESIGNS, SCENARIOS = ("", "rafts_300"), ("as_planned", "low_cost_build")

#: Rows whose ends move every invented line.
MOVED = ("price.feed", "price.electricity", "price.unskilled_hour")


def alternatives_of(count):
    """Sites × two designs × two scenarios, cut to a count."""
    made = [
        Alternative(f"site_{n:03d}", scenario, (), design)
        for n in range(count)
        for design in DESIGNS
        for scenario in SCENARIOS
    ]
    return made[:count] if count > 2 else [made[0], made[4]]


def drawn_figures(number, draws, shared):
    """Invented draws of figures: what is shared, and what is a line's own."""
    own = np.random.default_rng(number + 1)
    people = np.exp(np.log(40.0 + 17.0 * (number % 23)) + 0.1 * own.standard_normal(draws))
    cost = (
        2.0
        * (2.0 + 0.13 * (number * 7 % 31))
        * np.exp(0.2 * shared + 0.1 * own.standard_normal(draws))
    )
    capex = 1e5 * (1.0 + number % 5) * np.exp(0.1 * own.standard_normal(draws))
    subsidy = 1e3 * (1.0 + number % 7) * np.exp(0.1 * shared)
    return {
        "people_fed": people,
        "cost_per_person_day": cost,
        RATIO: cost / 8.0,
        "npv": -capex * np.exp(0.1 * shared),
        "capex": capex,
        "capex_per_person": capex / people,
        "subsidy_year_after_grant": subsidy,
        SUBSIDY: subsidy / people,
    }


def line_of(library, number, alternative, draws):
    """One invented line; every fifth has a gate shut, every third rests on defaults."""
    shared = np.random.default_rng(0).standard_normal(max(draws, 1))
    found = drawn_figures(number, max(draws, 1), shared)
    values = dict.fromkeys(INDICATORS, 1.0 + number)
    values |= {name: float(np.median(x)) for name, x in found.items()}
    values["alternative_cost_person_day"] = 8.0
    rows = [library.common.rows[name] for name in MOVED if name in library.common.rows]
    base = values[RATIO]
    bars = tuple(Bar(row, base * 0.9, base * 1.2) for row in rows)
    state = "shut" if number % 5 == 4 else "open"
    return Line(
        alternative=alternative,
        place=f"Place {alternative.site[5:]}",
        currency="GEL",
        exchange_rate=2.0,
        date="2027-01",
        input_hash=f"{number:064x}",
        demonstration=True,
        values=values,
        draws=found if draws else {},
        spreads={n: spread(x[:, None], "nobody is fed") for n, x in found.items()} if draws else {},
        gates=(Gate("Land tenure or lease", state, "lease" if state == "open" else "missing"),),
        ration="200 g of vegetables and 30 g of fish fillet a person a day",
        rations={
            "mean": RationLine("a mean day", "year_mean", values["people_fed"] * 1.2, 5.0),
            "full": RationLine("the whole energy", "year_mean", 0.0, np.inf),
        },
        facts=(20 if number % 3 == 2 else 25, 25),
        papers=(3, 12),
        need=None,
        results={"case": {"site": alternative.site}},
        sensitive_to=bars,
        swung=Swung(
            RATIO,
            tuple(row.name for row in rows),
            np.array([b.low_result for b in bars]),
            np.array([b.high_result for b in bars]),
        ),
    )


def compared_of(library, count, draws=64, by=RATIO):
    """A comparison of invented lines, in order as a real one is."""
    named = alternatives_of(count)
    lines = [line_of(library, n, one, draws) for n, one in enumerate(named)]
    asked = Asked(Path("assumptions"), "", draws, 1, by, KEPT)
    criteria = criteria_of(library)
    return Compared(tuple(ordered(by, lines)), {}, by, draws, 1, criteria, asked)


def turn(row, value, moves="both"):
    """One row that turns the order at a value."""
    both = (row, value) if moves == "both" else (None, None)
    return Turn(row, value, moves, *both, 0.25, jump=False)
