"""What would have to be true for the project to pay: how far must one thing move?

Each answer is the multiplier of one set of flows at which the project's net present value, after
tax and before funding, is zero with everything else held. 1 is the plan. Without tax the value
is linear in the multiplier and the answer exact; with tax it is found by secant steps kept
inside a bracket by bisection. For prices, yield and occupancy, more is needed the larger the
answer: +inf is never. For capital and wages it says how dear they may be; nan where even none
of them would not be cheap enough.

By-products and power sold are held where prices or harvests move. A yield moves sales at the
plan's prices: what a market pays less for more is left out, and so is the timing of the cost of
fish in the tanks.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values
from sitefare.money.breakeven_tax import Rows, picked, taxed_multiplier
from sitefare.money.capital import CapitalFlows
from sitefare.money.discounting import present_value
from sitefare.money.income import farm_gate
from sitefare.money.project import total
from sitefare.money.reach_cost import variable_lines
from sitefare.money.tax import YearlyTax
from sitefare.money.tying import Tying, tying
from sitefare.money.views import MoneyView
from sitefare.money.working_capital import WorkingCapital
from sitefare.people.result import PeopleFed

#: Lines bought on suppliers' credit that follow how much of the farm is in use.
VARIABLE = (
    "feed",
    "fingerlings",
    "planting",
    "dosing",
    "packing",
    "transport",
    "water",
    "discharge",
    "sludge",
)

#: Lines bought on suppliers' credit for the house, machines and repairs.
HOUSE_ON_CREDIT = (
    "electricity",
    "electricity_fixed",
    "generator_fuel",
    "heating_fuel",
    "upkeep",
)

#: Operating lines that follow kilograms harvested alone, and those that follow the works' cost.
WITH_HARVEST, WITH_WORKS = ("packing", "transport"), ("upkeep", "insurance", "storm_repairs")

#: Operating lines that are bought ahead.
STOCKED = ("feed", "dosing", "packing")

#: Income that follows neither food prices nor harvests; power follows use no more.
BESIDE, POWER = ("by_products", "power_sold"), ("power_sold",)


@dataclass(frozen=True)
class Part:
    """Flows that one multiplier moves, as planned: nominal cash, taxable profit, sales. [money]

    `tied` is the present value of the cash that the part's working capital takes, negative where
    it ties money up, (draws, 1) [money]. `brings` says whether the part is meant to bring money
    (more is better) or to cost it.
    """

    cash: Array
    profit: Array
    sales: Array = field(default_factory=lambda: np.zeros((1, 1)))
    brings: bool = True
    tied: Array = field(default_factory=lambda: np.zeros((1, 1)))

    def worth(self, factors: Array) -> Array:
        """Return the part's present value, (draws, 1). [money]"""
        return present_value(self.cash, factors) + self.tied


@dataclass(frozen=True)
class Plan:
    """The project whose parts are moved; `tax` is what it is taxed by year.

    `moving` is the part of operating lines (positive) that follows what is in use, of the lines
    that have one. `taxable` says on which lines value-added tax is paid and reclaimed; `timing`
    is what the law's allowances add to the booked profit.
    """

    project: MoneyView
    capital: CapitalFlows
    tied_up: WorkingCapital
    tax: YearlyTax | None
    moving: Mapping[str, Array] = field(default_factory=dict)
    taxable: Mapping[str, bool] = field(default_factory=dict)
    timing: Array = field(default_factory=lambda: np.zeros((1, 1)))


def _sum(lines: Mapping[str, Array], names: tuple[str, ...]) -> Array:
    return total(lines[name] for name in names if name in lines)


def main_food(values: Values, fed: PeopleFed) -> str:
    """Return the crop planned on the largest share of the beds, the same in every draw."""
    shares = {
        key: float(np.max(np.asarray(values[name])))
        for key in fed.served_kg
        for name in [f"plan.{key}.share"]
        if name in values
    }
    return max(shares, key=lambda key: shares[key]) if shares else next(iter(fed.served_kg))


def parts(values: Values, plan: Plan, elsewhere: Array, food: str) -> dict[str, Part]:
    """Return what each multiplier moves; `elsewhere` is sold on credit, `food` the main food."""
    view, lines = plan.project, plan.project.lines
    tied = tying(values, view.factors)
    beside = _sum(lines, BESIDE)
    sold = view.sum_of("income") - beside
    of_food, harvest = _sum(lines, (f"sales_{food}",)), _sum(lines, WITH_HARVEST)
    wages = _sum(lines, tuple(name for name in lines if name.startswith("wages_")))
    handed = variable_lines(values)
    given = _sum(lines, handed)
    taxed = harvest + _sum(lines, tuple(n for n in handed if plan.taxable.get(n)))
    late = tied.worth(received=elsewhere - beside)
    carried = tied.worth(on_credit=-harvest, stocked=-_sum(lines, ("packing",)), taxed=-taxed)
    grown = sold + harvest + given
    return {
        "price": Part(sold, sold, sold, tied=late),
        "price_main_food": Part(of_food, of_food, of_food, tied=tied.worth(received=of_food)),
        "yield": Part(grown, grown, sold, tied=late + carried),
        "occupancy": in_use(plan, tied, elsewhere),
        "capital": works(plan, tied),
        "wages": Part(wages, wages, brings=False),
    }


def in_use(plan: Plan, tied: Tying, elsewhere: Array) -> Part:
    """Return what follows the share of the farm in use: sales and the costs that vary. [money]"""
    power = _sum(plan.project.lines, POWER)
    sales, cost = plan.project.sum_of("income") - power, plan.moving
    held = tied.worth(
        received=elsewhere - power,
        on_credit=_sum(cost, (*VARIABLE, *HOUSE_ON_CREDIT)),
        stocked=_sum(cost, STOCKED),
        taxed=total(x for name, x in cost.items() if plan.taxable.get(name)),
    )
    used = sales - total(cost.values())
    return Part(used, used + plan.tied_up.fish_profit, sales, tied=held)


def works(plan: Plan, tied: Tying) -> Part:
    """Return what follows the cost of works and equipment, through the life. [money]"""
    view, lines = plan.project, plan.project.lines
    kept = _sum(lines, WITH_WORKS)
    built = view.sum_of("capital", "replacement") - _sum(lines, ("capital_land",))
    taxed = _sum(lines, tuple(name for name in WITH_WORKS if plan.taxable.get(name)))
    held = tied.worth(on_credit=-_sum(lines, ("upkeep",)), taxed=-(built + taxed))
    spares = np.diff(plan.tied_up.spares, axis=1, prepend=0.0)
    cash = built + _sum(lines, ("residual_equipment",)) + kept - spares
    written = plan.capital.residual - plan.capital.written_off - plan.capital.depreciation
    return Part(cash, written + kept + plan.timing, brings=False, tied=held)


def multiplier(plan: Plan, part: Part) -> Array:
    """Return the multiplier of a part at which the project is worth nothing, (draws, 1). [1]

    Of what brings money: +inf if it brings too little at any size, 0 if the project pays without
    it. Of what costs money: nan if the project does not pay even without it.
    """
    return multipliers(plan, {"": part})[""]


def multipliers(plan: Plan, moved: Mapping[str, Part]) -> dict[str, Array]:
    """Return the multiplier of every part by name, (draws, 1) each; see `multiplier`. [1]"""
    factors = plan.project.factors
    whole = present_value(plan.project.net - plan.project.sum_of("tax"), factors)
    found = {name: _untaxed(part, factors, whole) for name, part in moved.items()}
    if plan.tax is not None and plan.tax.rules.taxes:
        found = _all_taxed(plan, plan.tax, moved, found)
    return {name: one.answer for name, one in found.items()}


@dataclass(frozen=True)
class _Answer:
    """A part's multiplier [1], its present value and that of the rest before tax [money].

    `asked` says in which draws tax can change the answer, which is then `plain`, the one without.
    """

    plain: Array
    worth: Array
    rest: Array
    brings: bool

    @property
    def asked(self) -> npt.NDArray[np.bool_]:
        """Where tax can ask for more."""
        if self.brings:
            return np.asarray((self.rest < 0) & (self.worth > 0))
        return np.asarray((self.worth < 0) & (self.plain >= 0))

    @property
    def answer(self) -> Array:
        """The multiplier: +inf is never, nan not even without it. (draws, 1). [1]"""
        if self.brings:
            needed = np.where(self.worth > 0, self.plain, np.inf)
            return np.where(self.rest >= 0, 0.0, needed)
        return np.where((self.worth < 0) & (self.plain >= 0), self.plain, np.nan)


def _untaxed(part: Part, factors: Array, whole: Array) -> _Answer:
    """Return the answer without tax, `whole` being all flows' present value. [money]"""
    worth = part.worth(factors)
    rest = whole - worth
    return _Answer(-rest / np.where(worth == 0, 1.0, worth), worth, rest, part.brings)


def _all_taxed(
    plan: Plan, tax: YearlyTax, moved: Mapping[str, Part], plain: Mapping[str, _Answer]
) -> dict[str, _Answer]:
    """Return the answers with tax: every part and draw that asks for one is a row of one search."""
    asked = [np.flatnonzero(one.asked) for one in plain.values()]
    draws = np.concatenate(asked)
    if not draws.size:
        return dict(plain)

    def joined(each: Iterable[Array]) -> Array:
        return np.concatenate([picked(x, n) for x, n in zip(each, asked, strict=True)], axis=-1)

    rows = Rows(
        tax.of_draws(draws),
        joined(tax.profit_of(part.profit) for part in moved.values()),
        joined(tax.by_year(part.sales) for part in moved.values()),
        picked(plan.project.factors[:, tax.months].T, draws),
        joined(one.plain[:, 0] for one in plain.values()),
        joined(one.worth[:, 0] for one in plain.values()),
    )
    found = taxed_multiplier(rows)
    answers, first = {}, 0
    for (name, one), at in zip(plain.items(), asked, strict=True):
        with_tax = one.plain.copy()
        with_tax[at, 0] = found[first : first + at.size]
        answers[name], first = replace(one, plain=with_tax), first + at.size
    return answers


@dataclass(frozen=True)
class BreakEvens:
    """Break-evens by indicator name, what each part is worth as planned, the main food.

    Multipliers are of the plan [1]; the main food's answer is a mean farm-gate price at the
    appraisal date, its price as planned being `price`. [money/kg]
    """

    answers: Mapping[str, Array]
    worth: Mapping[str, Array]
    main_food: str
    price: Array


def break_even(values: Values, plan: Plan, fed: PeopleFed, elsewhere: Array) -> BreakEvens:
    """Return every break-even; `elsewhere` is what is sold on credit. [money]"""
    food = main_food(values, fed)
    found = {f"break_even_{n}": x for n, x in parts(values, plan, elsewhere, food).items()}
    answers = multipliers(plan, found)
    price = np.mean(farm_gate(values, food), axis=1, keepdims=True)
    answers["break_even_price_main_food"] = answers["break_even_price_main_food"] * price
    worth = {name: part.worth(plan.project.factors) for name, part in found.items()}
    return BreakEvens(answers, worth, food, price)
