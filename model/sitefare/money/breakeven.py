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
from sitefare.assumptions.declaration import Values, build
from sitefare.money.breakeven_tax import Rows, picked, taxed_multiplier
from sitefare.money.capital import CapitalFlows
from sitefare.money.discounting import present_value
from sitefare.money.income import farm_gate
from sitefare.money.project import total
from sitefare.money.reach_cost import variable_lines
from sitefare.money.tax import YearlyTax
from sitefare.money.vat import VatInputs, awaiting, reclaimed
from sitefare.money.views import MoneyView
from sitefare.money.working_capital import (
    WorkingCapital,
    WorkingCapitalInputs,
    ahead,
    trailing,
)
from sitefare.people.result import PeopleFed

#: Operating lines that follow how much of the farm is in use, where no split is given.
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

#: Lines bought on suppliers' credit that do not follow use: house, machines, repairs.
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

    `brings` says whether it is meant to bring money (more is better) or to cost it.
    """

    cash: Array
    profit: Array
    sales: Array = field(default_factory=lambda: np.zeros((1, 1)))
    brings: bool = True


@dataclass(frozen=True)
class Plan:
    """The project whose parts are moved; `tax` is what it is taxed by year.

    `fixed` is the part of operating lines (positive) that is paid whatever is in use; empty where
    no split is known, and `VARIABLE` then names the lines that follow use. `taxable` says on
    which lines value-added tax is paid and reclaimed; `timing` is what the law's allowances add
    to the booked profit.
    """

    project: MoneyView
    capital: CapitalFlows
    tied_up: WorkingCapital
    tax: YearlyTax | None
    fixed: Mapping[str, Array] = field(default_factory=dict)
    taxable: Mapping[str, bool] = field(default_factory=dict)
    timing: Array = field(default_factory=lambda: np.zeros((1, 1)))

    def variable(self, name: str) -> Array:
        """Return the part of an operating line (negative) that follows use. [money]"""
        line = self.project.lines[name]
        if self.fixed:
            return line + self.fixed.get(name, np.zeros((1, 1)))
        return line if name in VARIABLE else 0.0 * line


def _sum(lines: Mapping[str, Array], names: tuple[str, ...]) -> Array:
    return total(lines[name] for name in names if name in lines)


def _tied(
    values: Values,
    received: Array,
    on_credit: Array,
    stocked: Array,
    taxed: Array,
) -> Array:
    """Return cash that working capital takes from a part's sales and costs (costs positive).

    `taxed` is what value-added tax is reclaimed on.
    """
    days, tax = build(WorkingCapitalInputs, values), build(VatInputs, values)
    net = trailing(on_credit, days.payable_days) - trailing(received, days.receivable_days)
    net = net - ahead(stocked, days.stock_days) - awaiting(reclaimed(tax, taxed), tax.wait)
    return np.diff(net, axis=1, prepend=0.0)


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
    view, lines, none = plan.project, plan.project.lines, np.zeros((1, plan.tied_up.cash.shape[1]))
    beside = _sum(lines, BESIDE) + none
    sold = view.sum_of("income") - beside
    of_food = _sum(lines, (f"sales_{food}",)) + none
    harvest, packing = _sum(lines, WITH_HARVEST) + none, _sum(lines, ("packing",)) + none
    wages = total(x for name, x in lines.items() if name.startswith("wages_"))
    outside = elsewhere - beside
    price = sold + _tied(values, outside, none, none, none)
    main = of_food + _tied(values, of_food, none, none, none)
    handed = variable_lines(values)
    given = _sum(lines, handed) + none
    taxed = harvest + _sum(lines, tuple(n for n in handed if plan.taxable.get(n)))
    grown = sold + harvest + given + _tied(values, outside, -harvest, -packing, -taxed)
    return {
        "price": Part(price, sold, sold),
        "price_main_food": Part(main, of_food, of_food),
        "yield": Part(grown, sold + harvest + given, sold),
        "occupancy": in_use(values, plan, elsewhere),
        "capital": works(values, plan),
        "wages": Part(wages, wages, brings=False),
    }


def in_use(values: Values, plan: Plan, elsewhere: Array) -> Part:
    """Return what follows the share of the farm in use: sales and the costs that vary. [money]"""
    view, lines = plan.project, plan.project.lines
    none = np.zeros((1, plan.tied_up.cash.shape[1]))
    power = _sum(lines, POWER) + none
    sales = view.sum_of("income") - power
    cost = {name: -plan.variable(name) for name, part in view.group.items() if part == "operating"}
    tied = _tied(
        values,
        elsewhere - power,
        _sum(cost, (*VARIABLE, *HOUSE_ON_CREDIT)) + none,
        _sum(cost, STOCKED) + none,
        total(x for name, x in cost.items() if plan.taxable.get(name)) + none,
    )
    used = sales - total(cost.values())
    return Part(used + tied, used + plan.tied_up.fish_profit, sales)


def works(values: Values, plan: Plan) -> Part:
    """Return what follows the cost of works and equipment, through the life. [money]"""
    view, lines = plan.project, plan.project.lines
    none = np.zeros((1, plan.tied_up.cash.shape[1]))
    kept = _sum(lines, WITH_WORKS) + none
    built = view.sum_of("capital", "replacement") - _sum(lines, ("capital_land",))
    taxed = _sum(lines, tuple(name for name in WITH_WORKS if plan.taxable.get(name)))
    tied = _tied(values, none, -_sum(lines, ("upkeep",)) + none, none, -(built + taxed))
    tied = tied - np.diff(plan.tied_up.spares, axis=1, prepend=0.0)
    cash = built + _sum(lines, ("residual_equipment",)) + kept + tied
    written = plan.capital.residual - plan.capital.written_off - plan.capital.depreciation
    return Part(cash, written + kept + plan.timing, brings=False)


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
    worth = present_value(part.cash, factors)
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
    worth = {name: present_value(part.cash, plan.project.factors) for name, part in found.items()}
    return BreakEvens(answers, worth, food, price)
