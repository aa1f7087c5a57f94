"""Which terms make an indicator, line by line, so that a reviewer can follow it?

Each explanation is a set of terms, (draws, 1) each, in the indicator's own unit, that add up to
a total: the indicator itself, or zero where the indicator is what makes them balance (a rate of
return, a payback, a peak). The words say which, and how the terms were made.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.errors import AssumptionError
from sitefare.money.discounting import capital_recovery, discount_factors, present_value
from sitefare.money.indicators import COSTS
from sitefare.money.project import total
from sitefare.money.result import Finances
from sitefare.money.views import MoneyView

#: Lines of the cash-flow statement that are available for debt service, and the service.
AVAILABLE = ("sales", "operating_costs", "tax", "working_capital", "replacements")
SERVICE = ("interest", "loan_fees", "loans_repaid")

#: Lines of the cash-flow statement that no plan without an overdraft has, and its sum.
OVERDRAWN = ("overdraft", "overdraft_interest", "net")

NET = "present value of each line, which make up net present value"

VIEWS = ("nominal", "equity", "economic")


@dataclass(frozen=True)
class Terms:
    """What makes an indicator: terms by name, their group, what they add up to, how.

    `unit` is the indicator's own where blank, else that of the terms. `path` is cumulative money
    by project year, (draws, years + 1), where time is the answer; `beside` holds shares of costs.
    """

    terms: Mapping[str, Array]
    group: Mapping[str, str]
    total: Array
    words: str
    path: Array | None = None
    beside: Mapping[str, Array] = field(default_factory=dict)
    unit: str = ""


def view_of(indicator: str) -> tuple[str, str]:
    """Split an indicator's name into what it is and the view it is of."""
    if indicator.endswith("_equity_nominal"):
        return indicator.removesuffix("_equity_nominal"), "equity_nominal"
    for name in VIEWS:
        if indicator.endswith(f"_{name}"):
            return indicator.removesuffix(f"_{name}"), name
    return indicator, "project"


def lines_of(money: Finances, name: str) -> MoneyView:
    """Return the money of a view; owners' nominal money is theirs, not deflated."""
    if name != "equity_nominal":
        return money.views[name]
    real = money.views["equity"]
    return MoneyView(
        real.lines, real.group, np.ones_like(real.deflator), real.rate, real.reinvestment
    )


def _weighted(view: MoneyView, weights: Array, *groups: str) -> dict[str, Array]:
    """Sum each line (of some groups) times weights by month. [money]"""
    return {
        name: present_value(line, weights)
        for name, line in view.lines.items()
        if not groups or view.group[name] in groups
    }


def _answer(money: Finances, name: str) -> Array:
    return money.indicators[name]


def _worth(money: Finances, name: str) -> Terms:
    what, kind = view_of(name)
    view = lines_of(money, kind)
    terms = _weighted(view, view.factors)
    if what == "npv_without_residual":
        terms = {n: x for n, x in terms.items() if view.group[n] != "residual"}
    return Terms(terms, view.group, _answer(money, name), "present value of each line")


def _rate(money: Finances, name: str) -> Terms:
    _, kind = view_of(name)
    view, rate = lines_of(money, kind), _answer(money, name)
    known = np.isfinite(rate)
    at = np.where(known, rate, view.rate)
    factors = discount_factors(at, view.deflator.shape[1]) / view.deflator
    terms = _weighted(view, factors)
    if not known[0, 0]:
        words = f"there is no single rate of return; at the discount rate, {NET}"
        return Terms(terms, view.group, total(terms.values()), words, unit="money")
    # At a rate far from zero present values are huge or tiny: shares of what comes in are not.
    gains = total(np.maximum(x, 0.0) for x in terms.values())
    shares = {name: x / gains for name, x in terms.items()}
    words = (
        "present value of each line at the rate of return, as a share of all that lines bring: "
        "at that rate they add up to nothing"
    )
    return Terms(shares, view.group, 0.0 * gains, words, unit="1")


def _modified(money: Finances, name: str) -> Terms:
    _, kind = view_of(name)
    view = lines_of(money, kind)
    flow, months = view.flow, view.deflator.shape[1]
    found = np.where(np.isfinite(_answer(money, name)), _answer(money, name), view.rate)
    paid = present_value(np.minimum(flow, 0.0), discount_factors(view.rate, months))
    again = discount_factors(view.reinvestment, months)
    grown = present_value(np.maximum(flow, 0.0), again) / again[:, -1:]
    terms = {
        "months_that_take": paid,
        "months_that_bring": grown * discount_factors(found, months)[:, -1:],
    }
    words = (
        "months that take money, at the discount rate; months that bring it, carried to the end at "
        "the reinvestment rate and back at the modified rate: they add up to nothing"
    )
    group = {"months_that_take": "operating", "months_that_bring": "income"}
    return Terms(terms, group, total(terms.values()), words, unit="money")


def _until(years: Array, months: int) -> Array:
    """Weigh months by how far they lie before a moment, 1 to 0; a part of the month it is in."""
    end = np.where(np.isfinite(years), 12.0 * years, float(months))
    return np.clip(end - np.arange(months) + 1.0, 0.0, 1.0)


def _payback(money: Finances, name: str) -> Terms:
    what, kind = view_of(name)
    view, answer = lines_of(money, kind), _answer(money, name)
    months = view.deflator.shape[1]
    weights = view.factors if what.startswith("discounted") else 1.0 / view.deflator
    weights = np.broadcast_to(weights, view.deflator.shape)
    kept = tuple(sorted(set(view.group.values()) - {"residual"}))
    flow = view.sum_of(*kept) * weights
    terms = _weighted(view, weights * _until(answer, months), *kept)
    made = total(terms.values())
    found = np.isfinite(answer) & (answer > 0)
    words = (
        "what each line brought until the payback, resale left out: they add up to nothing"
        if found[0, 0]
        else "what each line brings over the whole appraisal, resale left out: it does not pay back"
    )
    path = np.cumsum(money.figures.timeline.by_year(flow), axis=1)
    return Terms(terms, view.group, np.where(found, 0.0, made), words, path, unit="money")


def _ratio(money: Finances, name: str) -> Terms:
    _, kind = view_of(name)
    view = lines_of(money, kind)
    worth = _weighted(view, view.factors)
    gains = {n: x for n, x in worth.items() if view.group[n] in ("income", "residual")}
    spent = {n: -x for n, x in worth.items() if n not in gains}
    costs = total(spent.values())
    safe = np.where(costs > 0, costs, np.nan)
    words = "present value of each benefit over that of all costs; beside, each cost's share"
    shares = {n: x / safe for n, x in spent.items()}
    terms = {n: x / safe for n, x in gains.items()}
    return Terms(terms, view.group, _answer(money, name), words, beside=shares)


def _owners_ratio(money: Finances, name: str) -> Terms:
    view = lines_of(money, "equity")
    by_year = money.figures.timeline.by_year
    flow = view.flow * discount_factors(view.rate, view.deflator.shape[1])
    taken = -np.sum(np.minimum(flow, 0.0), axis=1, keepdims=True)
    given = by_year(np.maximum(flow, 0.0)) / np.where(taken > 0, taken, np.nan)
    terms = {f"year_{n}": given[:, n : n + 1] for n in range(given.shape[1])}
    words = "present value of each year's months that give over that of all months that take"
    return Terms(terms, dict.fromkeys(terms, "income"), _answer(money, name), words)


def _spread(money: Finances, name: str) -> Terms:
    """Explain a cost over something: per person-day, per kilogram, per year."""
    view, seen = money.views["project"], money.figures
    costs = {n: -x for n, x in _weighted(view, view.factors, *COSTS).items()}
    if name.startswith("cost_per_person_day_net"):
        costs["sold_elsewhere"] = -present_value(seen.elsewhere, seen.factors)
    group = {**view.group, "sold_elsewhere": "income"}
    words = "present value of each cost"
    if name == "equivalent_annual_cost":
        years = np.full((1, 1), float(seen.timeline.years))
        share = capital_recovery(seen.rate, years)
        words += " times the capital recovery factor"
    elif name.startswith("cost_per_person_day"):
        ration = name.partition(".")[2] or seen.headline
        days = present_value(seen.persons[ration], seen.factors) * MEAN_MONTH
        share = 1.0 / np.where(days > 0, days, np.nan)
        words += " over present value of person-days fed"
    else:
        # One figure times every cost: its part of the joint costs over its kilograms.
        share = _answer(money, name) / total(costs.values())
        words += ", the part laid to it, over present value of kilograms"
    terms = {n: x * share for n, x in costs.items()}
    return Terms(terms, group, _answer(money, name), words)


def _built(money: Finances, name: str) -> Terms:
    view = money.views["project"]
    spent = {n: -x for n, x in _weighted(view, 1.0 / view.deflator, "capital").items()}
    whole = total(spent.values())
    terms = {n: x / whole * _answer(money, name) for n, x in spent.items()}
    words = (
        "each part of the capital budget, with its share of items not listed, of overrun and of "
        "value-added tax, in constant prices"
    )
    return Terms(terms, view.group, _answer(money, name), words)


def _full_year(money: Finances, name: str) -> Terms:
    group, mean = money.line_group, money.figures.yearly_mean
    shown = {n: x for n, x in group.items() if x in ("operating", "income")}
    at_date = {n: mean(money.at_date(n)) for n in shown}
    cost = {n: -x for n, x in at_date.items() if group[n] == "operating"}
    sales = {n: x for n, x in at_date.items() if group[n] == "income"}
    fixed = {n: mean(x / money.running.path(n)) for n, x in money.running.fixed_costs.items()}
    made = {
        "operating_cost_year": cost,
        "fixed_cost_year": fixed,
        "variable_cost_year": {n: x - fixed.get(n, 0.0) for n, x in cost.items()},
        "sales_year": sales,
        "operating_cost_recovery": {n: x / total(cost.values()) for n, x in sales.items()},
    }[name]
    words = "mean of full-production years, at appraisal-date prices"
    return Terms(made, group, _answer(money, name), words)


def _reserve(money: Finances, name: str) -> Terms:
    wear = {i.key: i.landed_cost / i.life for i in money.capital_items if i.life > 0}
    share = _answer(money, name) / sum(wear.values())
    terms = {f"bill.{key}": share * x for key, x in wear.items()}
    words = "each item's cost over its life; overhauls, unlisted items, overrun and tax over all"
    return Terms(terms, dict.fromkeys(terms, "replacement"), _answer(money, name), words)


def _subsidy(money: Finances, name: str) -> Terms:
    seen, cash = money.figures, money.statements["cash_flow"]
    at_date = seen.at_date
    terms = {n: -seen.yearly_mean(cash[n] / money.inflation) for n in ("tax", *SERVICE)}
    terms["sales"] = -seen.yearly_mean(at_date["income"])
    terms["operating_costs"] = seen.yearly_mean(at_date["operating"] - at_date["unpaid"])
    terms["replacement_reserve"] = seen.reserve
    answer = _answer(money, name)
    terms["surplus"] = np.where(answer > 0, 0.0, -total(terms.values()))
    words = "cash asked of a full-production year less sales; a surplus counts as no subsidy"
    return Terms(terms, dict.fromkeys(terms, "operating") | {"sales": "income"}, answer, words)


def _owners_cash(money: Finances) -> dict[str, Array]:
    """Return the lines of net cash with no overdraft. [money]"""
    flow = money.statements["cash_flow"]
    lines = {n: x for n, x in flow.items() if n not in OVERDRAWN}
    # Without an overdraft there is no tax relief on its interest.
    lines["tax"] = money.asked.cash - total(x for n, x in lines.items() if n != "tax")
    return lines


def _deepest(money: Finances, name: str) -> Terms:
    cash = dict(money.lines) | {"given_in_kind": money.given_in_kind}
    group = {**money.line_group, "given_in_kind": "operating"}
    floor = np.zeros((1, 1))
    if name == "grant_needed":
        cash, floor = _owners_cash(money), money.asked.floor
        group = dict.fromkeys(cash, "funding")
    balance = np.cumsum(total(cash.values()), axis=1) - floor
    worst = np.argmin(balance, axis=1)[:, None]
    before = (np.arange(balance.shape[1]) <= worst).astype(np.float64)
    terms = {n: -present_value(x, before) for n, x in cash.items()}
    if np.any(floor > 0):
        kept = np.broadcast_to(floor, balance.shape)
        terms["least_cash_kept"] = np.take_along_axis(kept, worst, axis=1)
    terms["surplus"] = np.maximum(-total(terms.values()), 0.0)
    words = "what each line had taken, in nominal money, when cash was lowest"
    if name == "peak_funding_month":
        return Terms(terms, group, total(terms.values()), f"{words}: the month told", unit="money")
    return Terms(terms, group, _answer(money, name), words)


def _owners_grant(money: Finances, name: str) -> Terms:
    asked = money.asked
    factors = discount_factors(asked.equity_return, money.inflation.shape[1]) / money.inflation
    lines = {n: x for n, x in _owners_cash(money).items() if n != "equity"}
    terms = {n: -present_value(x, factors) for n, x in lines.items()}
    terms["surplus"] = np.maximum(-total(terms.values()), 0.0)
    words = "present value, at the return that owners ask, of what each line takes from them"
    return Terms(terms, dict.fromkeys(terms, "funding"), _answer(money, name), words)


def _replaced_debt(money: Finances, name: str) -> Terms:
    drawn = {n: np.sum(x.drawn, axis=1, keepdims=True) for n, x in money.loans.items()}
    drawn = drawn or {"loans": np.zeros((1, 1))}
    lent = total(drawn.values())
    share = _answer(money, name) / np.where(lent > 0, lent, 1.0)
    words = "part of each loan that a grant must take the place of, all loans alike"
    terms = {n: x * share for n, x in drawn.items()}
    return Terms(terms, dict.fromkeys(terms, "funding"), _answer(money, name), words)


def _cover(money: Finances, name: str) -> Terms:
    if np.isnan(_answer(money, name)[0, 0]):
        return Terms({}, {}, _answer(money, name), money.reasons.get(name, "no loan is repaid"))
    cash, by_year = money.statements["cash_flow"], money.figures.timeline.by_year
    cover = np.where(np.isnan(money.debt_cover), np.inf, money.debt_cover)
    year = np.argmin(cover, axis=1)[:, None]
    due = -total(by_year(cash[n]) for n in SERVICE)
    service = np.take_along_axis(due, year, axis=1)
    safe = np.where(service > 0, service, np.nan)
    terms = {n: np.take_along_axis(by_year(cash[n]), year, axis=1) / safe for n in AVAILABLE}
    answer = _answer(money, name)
    words = f"cash of the weakest year that repays (year {int(year[0, 0])}) over its debt service"
    if name == "loan_life_cover":
        flat = {n: present_value(cash[n], np.ones((1, 1))) for n in AVAILABLE}
        terms = {n: x / total(flat.values()) * answer for n, x in flat.items()}
        words = "cash available over the debt, laid to lines by their sums over the appraisal"
    group = dict.fromkeys(terms, "operating") | {"sales": "income"}
    return Terms(terms, group, answer, words)


def _break_even(money: Finances, name: str) -> Terms:
    even, answer = money.break_evens, _answer(money, name)
    if not np.isfinite(answer[0, 0]):
        words = f"no answer ({money.reasons[name]}): {NET}"
        return replace(_worth(money, "npv"), words=words, unit="money")
    unit = even.price if name.endswith("main_food") else np.ones((1, 1))
    worth = even.worth[name]
    lacking = -_answer(money, "npv") / np.where(worth == 0, np.nan, worth) * unit
    terms = {"as_planned": unit, "present_value_to_make_up": lacking}
    terms["tax_on_the_difference"] = answer - total(terms.values())
    words = (
        "the plan, what must be added to make up for net present value "
        f"(of {float(worth[0, 0]):,.0f} that it is worth as planned), and the tax on that"
    )
    return Terms(terms, dict.fromkeys(terms, "income"), answer, words)


Handler = Callable[[Finances, str], Terms]

#: How each indicator is explained, by how its name starts; the first that fits is used.
HANDLERS: dict[str, Handler] = {
    "npv": _worth,
    "irr": _rate,
    "mirr": _modified,
    "payback_years": _payback,
    "discounted_payback_years": _payback,
    "benefit_cost_ratio_equity": _owners_ratio,
    "benefit_cost_ratio": _ratio,
    "cost_per_person_day": _spread,
    "levelised_cost": _spread,
    "equivalent_annual_cost": _spread,
    "capex": _built,
    "operating_cost": _full_year,
    "fixed_cost_year": _full_year,
    "variable_cost_year": _full_year,
    "sales_year": _full_year,
    "replacement_reserve_year": _reserve,
    "subsidy_year_after_grant": _subsidy,
    "peak_funding": _deepest,
    "grant_needed_equity_return": _owners_grant,
    "grant_needed_debt_cover": _replaced_debt,
    "grant_needed": _deepest,
    "min_dscr": _cover,
    "loan_life_cover": _cover,
    "break_even": _break_even,
}


def explains(indicator: str) -> bool:
    """Say whether money explains an indicator."""
    return any(indicator.startswith(start) for start in HANDLERS)


def terms_of(money: Finances, indicator: str) -> Terms:
    """Return the terms of one indicator of money.

    Raises
    ------
    AssumptionError
        If it is no indicator of money.
    """
    if indicator not in money.indicators or not explains(indicator):
        known = ", ".join(sorted(n for n in money.indicators if explains(n) and "." not in n))
        msg = f"'{indicator}' is no indicator of money; these are explained: {known}"
        raise AssumptionError(msg)
    handler = next(made for start, made in HANDLERS.items() if indicator.startswith(start))
    return handler(money, indicator)
