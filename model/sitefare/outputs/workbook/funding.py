"""Sheet Funding: what is to be funded, which source pays it, and the account lenders ask for."""

from collections.abc import Iterator, Mapping

import numpy as np

from sitefare.assumptions.declaration import build
from sitefare.money.funding import FundingItem, Uses, paid_by, sources
from sitefare.money.grants import GrantTerms, milestones
from sitefare.money.project import whole
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.loans import debt_items, loan_items
from sitefare.outputs.workbook.made import Made

#: Rows whose number of months decides which cells a formula reads: formulas follow them in part.
LOCKED = ("project.construction", "project.start_up_months", "funding_plan.start_up")


def needs_of(made: Made) -> Uses:
    """Return what is to be funded, as the model reckons it."""
    books = made.books
    need, capital = books.funding.need, books.capital
    works = np.minimum(capital.works + capital.land, need)
    return Uses(works, need - works, books.funding.planned, start_up(made))


def start_up(made: Made) -> int:
    """Return the months of operation whose deficits belong to the need."""
    planned = float(made.values["funding_plan.start_up"][0, 0])  # type: ignore[index]
    return max(whole(made.project.start_up_months), round(planned))


def need_items(made: Made, uses: Uses) -> list[Item]:
    """Return the capital need by month, and the part of it that was planned."""
    money, currency = made.money, made.currency
    running = money.income.total - money.operating.total + money.operating.given
    running = running + money.tied_up.cash - money.capital.replacement
    early = "{month}<={in:project.construction}+{funding.start_up}"
    return [
        Heading("What is to be funded", "Works and land, and the deficits of the first months."),
        Scalar(
            "funding.start_up", "Months of operation that funders carry", "month",
            "MAX(ROUND({in:project.start_up_months},0),ROUND({in:funding_plan.start_up},0))",
            float(uses.start_up), kind="count",
            note="until start-up is over and the first fish are sold",
        ),
        Line(
            "funding.running", "Cash from running the farm, before funding and tax", currency,
            "{income.total}-{running.total}+{running.given}+{tied.cash}-{capital.replacement}",
            running, total=True,
        ),
        Line(
            "funding.building", "Works and land", currency, "{capital.works}+{capital.land}",
            money.capital.works + money.capital.land, total=True,
        ),
        Line(
            "funding.need", "Capital need", currency,
            f"MAX({{funding.building}}-IF({early},{{funding.running}},0),0)", uses.all,
            total=True, strong=True,
            note="what comes in while building pays for works before funders do",
        ),
        Scalar(
            "funding.planned", "Capital need as planned", currency,
            "IF({in:funding_plan.need}>0,{in:funding_plan.need},SUM({funding.need:}))",
            float(uses.planned[0, 0]),
            note="fixed when the plan is made; what costs more is an overrun",
        ),
        Line(
            "funding.works", "Part of the need that pays for works and land", currency,
            "MIN({funding.building},{funding.need})", uses.capital, total=True,
        ),
        Line(
            "funding.need_so_far", "Capital need so far", currency,
            "{funding.need_so_far<}+{funding.need}", np.cumsum(uses.all, axis=1),
        ),
        Line(
            "funding.within", "Part of the need within the plan", currency,
            "MIN(MAX({funding.planned}-{funding.need_so_far<},0),{funding.need})",
            uses.within, total=True,
        ),
    ]  # fmt: skip


def owed_items(made: Made, key: str, item: FundingItem, uses: Uses) -> Iterator[Item]:
    """Yield what a source owes on each month's need: its share, its part of overruns, its cap."""
    name, currency = f"funding.{key}", made.currency
    asked = item.share * uses.within + item.overrun * (uses.all - uses.within)
    yield Line(
        f"{name}.asked", "Share of the plan and part of the overrun", currency,
        f"{{in:{name}.share}}*{{funding.within}}+{{in:{name}.overrun}}"
        "*({funding.need}-{funding.within})", asked, total=True,
    )  # fmt: skip
    yield Line(
        f"{name}.asked_so_far", "The same so far", currency,
        f"{{{name}.asked_so_far<}}+{{{name}.asked}}", np.cumsum(asked, axis=1),
    )  # fmt: skip
    most = f"{{in:{name}.ceiling}}*{{in:{name}.share}}*{{funding.planned}}"
    yield Line(
        f"{name}.owed", "What the source owes, to its ceiling", currency,
        f"IF({{in:{name}.ceiling}}>0,MAX(0,MIN({{{name}.asked}},{most}-{{{name}.asked_so_far<}})),"
        f"{{{name}.asked}})", paid_by(item, uses), total=True,
    )  # fmt: skip


def grant_items(made: Made, key: str, item: FundingItem, uses: Uses) -> Iterator[Item]:
    """Yield when a grant arrives: at milestones, the rest as money is spent."""
    name, terms, currency = f"funding.{key}", f"grant.{item.terms}", made.currency
    rules = build(GrantTerms, made.values, str(item.terms))
    owed, planned = paid_by(item, uses), item.share * uses.planned
    parts = (f"{{in:{terms}.on_start}}", f"{{in:{terms}.on_completion}}",
             f"{{in:{terms}.on_operation}}")  # fmt: skip
    fixed = float(rules.on_start[0, 0] + rules.on_completion[0, 0] + rules.on_operation[0, 0])
    whole_sum = fixed * float(owed.sum())
    paid = _paid_at_milestones(made, str(item.terms), rules, whole_sum, float(planned[0, 0]))
    yield Scalar(
        f"{name}.at_milestones", "Paid at milestones, in all", currency,
        f"({'+'.join(parts)})*SUM({{{name}.owed:}})", whole_sum,
    )  # fmt: skip
    plan = f"{{in:{name}.share}}*{{funding.planned}}"
    before = f"{{{name}.at_milestones}}"
    names = (("start", "At the start"), ("completion", "When building ends"),
             ("operation", "After months of operation"))  # fmt: skip
    for n, (which, label) in enumerate(names):
        later = "+".join(parts[n + 1 :]) or "0"
        yield Scalar(
            f"{name}.on_{which}", label, currency,
            f"IF({parts[n]}>0,IF({later}=0,{before},MIN({parts[n]}*{plan},{before})),0)",
            paid[n], note="the last milestone settles what is owed on what was really spent",
        )  # fmt: skip
        before = f"{before}-{{{name}.on_{which}}}"
    month = (
        f"MIN({{in:project.construction}}+ROUND({{in:{terms}.operation_months}},0),"
        f"{made.timeline.months})"
    )
    yield Line(
        f"{name}.received", "Received", currency,
        f"(1-({'+'.join(parts)}))*{{{name}.owed}}"
        f"+IF({{month}}=0,{{{name}.on_start}},0)"
        f"+IF({{month}}={{in:project.construction}},{{{name}.on_completion}},0)"
        f"+IF({{month}}={month},{{{name}.on_operation}},0)",
        made.books.funding.flows[f"{key}.received"], total=True, strong=True,
    )  # fmt: skip


def _paid_at_milestones(
    made: Made, key: str, rules: GrantTerms, whole_sum: float, planned: float
) -> tuple[float, float, float]:
    """Return what is paid at each of the three milestones. [money]"""
    listed = milestones(key, rules, made.timeline)
    parts = [float(x[0, 0]) for x in (rules.on_start, rules.on_completion, rules.on_operation)]
    asked, left, count = [], whole_sum, len(listed)
    for part in parts:
        count -= part > 0
        paid = 0.0 if part <= 0 else left if count == 0 else min(part * planned, left)
        asked.append(paid)
        left -= paid
    return asked[0], asked[1], asked[2]


def reserve_items(made: Made) -> Iterator[Item]:
    """Yield the account of debt service held for lenders."""
    paid, currency = made.books.funding, made.currency
    last = made.timeline.months
    service = np.cumsum(paid.debt.service, axis=1)
    yield Heading(
        "Debt-service reserve account", "Payments of the next months, held apart from free cash."
    )
    yield Line(
        "reserve.service_so_far", "Debt service so far", currency,
        "{reserve.service_so_far<}+{debt.service}", service,
    )  # fmt: skip
    ahead = f"MIN(ROUND({{in:debt_reserve.months}},0),{last})"
    later = f"INDEX({{reserve.service_so_far:}},MIN({{month}}+{ahead},{last})+1)"
    age = "({month}-{in:project.construction})"
    filled = (
        f"IF(ROUND({{in:debt_reserve.filling}},0)=0,IF({age}>=0,1,0),"
        f"MAX(0,MIN(1,{age}/MAX(ROUND({{in:debt_reserve.filling}},0),1))))"
    )
    yield Line(
        "reserve.balance", "Balance of the account", currency,
        f"IF({{month}}={last},0,MAX({later}-{{reserve.service_so_far}},0)*{filled})",
        paid.reserve,
    )  # fmt: skip
    early = "{month}<={in:project.construction}+{funding.start_up}"
    yield Line(
        "funding.extra", "Interest, fees and reserve paid until start-up is over", currency,
        f"IF({early},{{debt.interest_paid}}+{{debt.fees_paid}}"
        "+MAX({reserve.balance}-{reserve.balance<},0),0)", paid.extra, total=True,
        note="paid by the owners",
    )  # fmt: skip


def owner_items(made: Made, found: Mapping[str, FundingItem], uses: Uses) -> Iterator[Item]:
    """Yield what each owner pays: the share of the need, and a part of what borrowing costs."""
    keys = [key for key, item in found.items() if item.kind == "equity"]
    shares = "+".join(f"{{in:funding.{key}.share}}" for key in keys)
    for key in keys:
        name = f"funding.{key}"
        yield Heading(f"{found[key].title}")
        yield from owed_items(made, key, found[key], uses)
        part = f"IF({shares}>0,{{in:{name}.share}}/({shares}),1/{len(keys)})"
        yield Line(
            f"{name}.received", "Received", made.currency,
            f"{{{name}.owed}}+{{funding.extra}}*{part}",
            made.books.funding.flows[f"{key}.received"], total=True, strong=True,
        )  # fmt: skip


def _sum_of(keys: list[str], part: str) -> str:
    return "+".join(f"{{funding.{key}.{part}}}" for key in keys) or "0"


def together_items(made: Made, found: Mapping[str, FundingItem]) -> Iterator[Item]:
    """Yield all sources together, and sources beside uses."""
    paid, currency = made.books.funding, made.currency
    grants = [key for key, item in found.items() if item.kind == "grant"]
    owners = [key for key, item in found.items() if item.kind == "equity"]
    granted = paid.capital_grants + paid.running_grants
    yield Heading("All sources together")
    rows = (
        ("funding.granted", "Grants earned as money is spent", _sum_of(grants, "owed"), granted),
        ("funding.capital_grants", "of them for works and land",
         "{funding.granted}*{funding.works}/IF({funding.need}>0,{funding.need},1)",
         paid.capital_grants),
        ("funding.running_grants", "of them for deficits of the first months",
         "{funding.granted}-{funding.capital_grants}", paid.running_grants),
        ("funding.grants", "Grants received", _sum_of(grants, "received"), paid.grants_received),
        ("funding.equity", "Equity received", _sum_of(owners, "received"), paid.equity),
        ("funding.net", "Funders' cash, less what goes back to lenders and into the reserve",
         ("{funding.grants}+{funding.equity}+{debt.drawn}-{debt.service}"
          "-({reserve.balance}-{reserve.balance<})"), paid.net),
    )  # fmt: skip
    for key, label, formula, values in rows:
        yield Line(key, label, currency, formula, values, total=True)


def flat_balloons(made: Made, found: Mapping[str, FundingItem]) -> set[str]:
    """Return the balloon rows of loans of flat interest, which the model refuses to have one."""
    lent = [str(item.terms) for item in found.values() if item.kind == "loan"]
    return {
        f"loan.{terms}.balloon"
        for terms in lent
        if made.values[f"loan.{terms}.quoted"] in ("add_on", "discount")
    }


def sheet(made: Made) -> Sheet:
    """Return the sheet Funding."""
    found, uses = sources(made.values), needs_of(made)
    items: list[Item] = need_items(made, uses)
    for key, item in found.items():
        if item.kind == "grant":
            items.append(Heading(str(item.title)))
            items += [*owed_items(made, key, item, uses), *grant_items(made, key, item, uses)]
    for key, item in found.items():
        if item.kind == "loan":
            items.append(Heading(str(item.title)))
            items += [*owed_items(made, key, item, uses), *loan_items(made, key, item, uses)]
    items += [*debt_items(made, list(made.books.funding.loans)), *reserve_items(made)]
    items += [*owner_items(made, found, uses), *together_items(made, found)]
    return Sheet(
        "Funding",
        "Funding",
        "Every source pays its share of the need as planned, in the month money is spent.",
        items,
        axis="months",
        locked=frozenset(LOCKED).union(flat_balloons(made, found)),
    )
