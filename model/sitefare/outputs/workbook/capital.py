"""What does building cost, month by month, and what follows: renewal, write-off, what is left?

The bill's sums, then unlisted items, overrun, design, tax, contingency and land; spent along the
phases of construction at each part's price path; replacements, overhauls, residual values and
depreciation are summed from sheet Renewals.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.money.delivery import COMPONENTS
from sitefare.money.economic import LANDED
from sitefare.money.phases import phase_weights
from sitefare.outputs.workbook import allowances
from sitefare.outputs.workbook.bill import TITLES
from sitefare.outputs.workbook.farm import words
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.lives import (
    CALENDAR,
    Life,
    column,
    lasting,
    overhauls,
    priced,
    shipped,
)
from sitefare.outputs.workbook.made import Made

#: Money below which a sum of a life's cash is nothing but rounding. [money]
NOTHING = 1e-6


def budget(made: Made) -> Iterator[Item]:
    """Yield the capital budget at appraisal-date prices."""
    parts, currency = made.money.parts, made.currency
    bill = float(np.sum(parts.bill.cost))

    def one(key: str, label: str, formula: str, value: float) -> Scalar:
        return Scalar(f"capital.{key}", label, currency, formula, value, strong=key == "budget")

    yield Heading("Capital budget at appraisal-date prices")
    yield one("bill", "Bill of quantities, landed and installed", "{bill.total}", bill)
    yield one("unlisted", "Items not listed", "{capital.bill}*{in:capital.unlisted}",
              _one(parts.unlisted))  # fmt: skip
    yield one("overrun", "Overrun of the reference class",
              "({capital.bill}+{capital.unlisted})*({in:capital.overrun}-1)", _one(parts.overrun))  # fmt: skip
    yield one("budget_works", "Works", "{capital.bill}+{capital.unlisted}+{capital.overrun}",
              _one(parts.works))  # fmt: skip
    yield one("design", "Design, tender and supervision",
              "{capital.budget_works}*{in:capital.design}", _one(parts.design))  # fmt: skip
    yield one("vat", "Value-added tax not recovered",
              "({capital.budget_works}+{capital.design})*{capital.vat_lost}", _one(parts.vat))  # fmt: skip
    yield one("contingency", "Contingency, from the sampled budget", "{in:capital.contingency}",
              _one(parts.contingency))  # fmt: skip
    yield one("land_price", "Land", land(made), _one(parts.land))
    yield one("budget", "Capital budget",
              "{capital.budget_works}+{capital.design}+{capital.vat}+{capital.contingency}+{capital.land_price}",
              _one(parts.total))  # fmt: skip
    yield Scalar("capital.uplift", "What a thing costs over its line of the bill, before tax", "1",
                 "(1+{in:capital.unlisted})*{in:capital.overrun}", _one(parts.uplift), kind="path")  # fmt: skip
    yield Scalar("capital.factor", "The same with the tax lost", "1",
                 "{capital.uplift}*(1+{capital.vat_lost})", _one(parts.factor), kind="path")  # fmt: skip
    yield one("reserve", "Yearly sum that replaces and overhauls what wears out", f"SUM({column(made, 'reserve')})*{{capital.factor}}",
              _one(parts.reserve))  # fmt: skip


def upkeep(made: Made) -> Iterator[Item]:
    """Yield yearly upkeep before what is added to the bill, and its part from abroad."""
    bill = made.money.parts.bill
    place = [COMPONENTS.index(name) for name in LANDED]
    cared = float(np.sum(bill.cost[0] * bill.upkeep))
    abroad = float(np.sum(bill.parts[0, place] * bill.upkeep))
    yield Scalar("capital.upkeep_base", "Yearly upkeep of the bill", made.currency,
                 f"SUM({column(made, 'upkeep')})", cared)  # fmt: skip
    yield Scalar("capital.upkeep_landed", "of it landed from abroad", made.currency,
                 f"SUM({column(made, 'upkeep_landed')})", abroad)  # fmt: skip


def land(made: Made) -> str:
    """Return the formula of the land's price, by the tenure in force."""
    if made.values["land.tenure"] != "bought":
        return "0"
    return "{in:land.price}*{design.footprint}"


def _one(x: Array) -> float:
    return float(x[0, 0])


def phases(made: Made) -> Iterator[Item]:
    """Yield the share of each phase's cost that is paid in each month."""
    yield Heading(
        "When it is paid", "Share of a phase's cost paid in each month, retention held back."
    )
    time = made.timeline
    months = time.construction + 1
    window = f"IF({{month}}<={time.construction},1,0)"
    start_up = round(float(made.project.start_up_months[0, 0]))
    kept = round(_number(made, "retention.months"))
    late = min(time.construction + min(kept, start_up), time.months)
    for name, weights in phase_weights(made.values, time).items():
        start, end = f"{{in:phase.{name}.start}}", f"{{in:phase.{name}.end}}"
        yield Line(
            f"phase.inside.{name}", f"Part of the month inside the phase: {name}", "1",
            f"{window}*MAX(MIN(({{month}}+1)/{months},{end})-MAX({{month}}/{months},{start}),0)",
            inside(made, name), kind="path",
        )  # fmt: skip
        deposit, held = f"{{in:phase.{name}.deposit}}", "{in:retention.share}"
        point = f"IF({{month}}=MIN(INT({start}*{months}),{time.construction}),1,0)"
        share = (
            f"IF(SUM({{phase.inside.{name}:}})>0,"
            f"{{phase.inside.{name}}}/MAX(SUM({{phase.inside.{name}:}}),0.000000000001),{point})"
        )
        yield Line(
            f"phase.{name}", f"Share paid: {name}", "1",
            f"((1-{deposit})*{share}+IF({{month}}=0,{deposit},0))*(1-{held})"
            f"+IF({{month}}={late},{held},0)",
            weights, kind="path", total=True,
        )  # fmt: skip


def _number(made: Made, row: str) -> float:
    x = made.values[row]
    assert not isinstance(x, str)  # noqa: S101
    return float(x[0, 0])


def inside(made: Made, name: str) -> Array:
    """Return the part of construction that each month covers inside a phase, (months + 1,). [1]"""
    time = made.timeline
    months = time.construction + 1
    start, end = (_number(made, f"phase.{name}.{edge}") for edge in ("start", "end"))
    edge = time.month / months
    found = np.clip(np.minimum(edge + 1.0 / months, end) - np.maximum(edge, start), 0.0, None)
    return np.asarray(found * (time.month <= time.construction), dtype=np.float64)


def groups(made: Made) -> dict[tuple[str, str], list[str]]:
    """Return the items of the bill by category and phase, in order of appearance."""
    found: dict[tuple[str, str], list[str]] = {}
    for key, item in made.money.parts.bill.items:
        found.setdefault((str(item.category), str(item.phase)), []).append(key)
    return found


def sums_by_phase(made: Made) -> Iterator[Item]:
    """Yield what each category costs by phase and price path, at appraisal-date prices."""
    bill = made.money.parts.bill
    place = {key: n for n, (key, _) in enumerate(bill.items)}
    yield Heading("Bill by category, phase and price path, at appraisal-date prices")
    for (category, phase), keys in groups(made).items():
        at = [place[key] for key in keys]
        for c, name in enumerate(COMPONENTS):
            yield Scalar(
                f"group.{category}.{phase}.{name}",
                f"{words(category)}, {phase}: {TITLES[name]}", made.currency,
                "+".join(f"{{bill.{key}.{name}}}" for key in keys),
                float(np.sum(bill.parts[0, c, at])),
            )  # fmt: skip


def spending(made: Made) -> Iterator[Item]:
    """Yield what construction spends by category, nominal."""
    flows = made.money.capital
    yield Heading("Spent on building, nominal")
    by_category: dict[str, list[str]] = {}
    for category, phase in groups(made):
        by_category.setdefault(category, []).append(phase)
    spent = "+".join
    for category, in_phases in by_category.items():
        terms = spent(f"({priced(f'group.{category}.{p}')})*{{phase.{p}}}" for p in in_phases)
        yield Line(f"capital.spend.{category}", words(category).capitalize(), made.currency,
                   f"{{capital.factor}}*({terms})", flows.initial[category], total=True)  # fmt: skip
    works = priced("bill")
    for name, amount, phase in (
        ("design", "{capital.design}*(1+{capital.vat_lost})", "early"),
        ("contingency", "{capital.contingency}", "even"),
    ):
        yield Line(
            f"capital.spend.{name}", name.capitalize(), made.currency,
            f"{amount}*({works})/{{bill.total}}*{{phase.{phase}}}", flows.initial[name], total=True,
            note="Its parts follow the prices that the works follow.",
        )  # fmt: skip
    names = [*by_category, "design", "contingency"]
    yield Line("capital.works", "Building, land left out", made.currency,
               "+".join(f"{{capital.spend.{name}}}" for name in names), flows.works, total=True,
               strong=True)  # fmt: skip


def later(made: Made) -> Iterator[Item]:
    """Yield land, renewals and what is left at the end, nominal."""
    flows, currency, end = made.money.capital, made.currency, made.timeline.months
    renewed = [f"{{renew.{key}}}" for key in lasting(made)]
    renewed += [f"{{overhaul.{key}}}" for key in overhauls(made)]
    yield Heading("Afterwards, nominal")
    yield Line("capital.land", "Land bought", currency, "IF({month}=0,{capital.land_price},0)",
               flows.land, total=True)  # fmt: skip
    yield Line("capital.replacement", "Replacements and overhauls", currency, "+".join(renewed),
               flows.replacement, total=True, strong=True)  # fmt: skip
    yield Line(
        "capital.residual", "Residual value of equipment", currency,
        f"IF({{month}}={end},SUM({column(made, 'residual')})*{{in:project.residual_share}},0)",
        flows.residual, total=True,
    )  # fmt: skip
    yield Line("capital.land_sale", "Land sold at the end", currency,
               f"IF({{month}}={end},{{capital.land_price}}*{{price.land}},0)", flows.land_sale,
               total=True)  # fmt: skip


def write_off(made: Made) -> Iterator[Item]:
    """Yield depreciation in equal months, and the book value it leaves."""
    flows, currency, time = made.money.capital, made.currency, made.timeline
    built, end = time.construction, time.months
    months, spent = column(made, "months"), column(made, "spent")
    first = f"SUMPRODUCT(({built}+{months}>={{month}})*({spent})/({months}))"
    added = f"(SUM({{capital.spend.design:}})+SUM({{capital.spend.contingency:}}))/{end - built}"
    again = [f"{{written_later.{key}}}" for key in lasting(made)]
    again += [f"{{written_overhaul.{key}}}" for key in overhauls(made)]
    yield Heading("Written off in the books, nominal")
    yield Line("capital.depreciation_initial", "Depreciation of what construction bought", currency,
               f"IF({{month}}>{built},{first}+{added},0)", flows.depreciation_initial, total=True)  # fmt: skip
    yield Line("capital.depreciation", "Depreciation", currency,
               "{capital.depreciation_initial}+" + "+".join(again), flows.depreciation, total=True,
               strong=True)  # fmt: skip
    yield Line(
        "capital.written_off", "Book value written off when sold", currency,
        f"IF({{month}}={end},SUM({{capital.works:}})+SUM({{capital.replacement:}})"
        "-SUM({capital.depreciation:}),0)",
        flows.written_off,
    )  # fmt: skip
    bought = flows.works + flows.replacement
    book = np.cumsum(bought - flows.depreciation - flows.written_off, axis=1)
    yield Line(
        "capital.book", "Book value of works and equipment at month end", currency,
        "{capital.book<}+{capital.works}+{capital.replacement}-{capital.depreciation}"
        "-{capital.written_off}",
        settled(book),
    )  # fmt: skip


def settled(book: Array) -> Array:
    """Return a book value whose end, all written off, is 0 and not a sum's last digits. [money]"""
    return np.asarray(np.where(np.abs(book) < NOTHING, 0.0, book), dtype=np.float64)


def landed(made: Made) -> Iterator[Item]:
    """Yield the part of building and renewal that follows prices abroad, for the economic view."""
    parts, time, currency = made.money.parts, made.timeline, made.currency
    bill, factor = parts.bill, float(parts.factor[0, 0])
    place = [COMPONENTS.index(name) for name in LANDED]
    path = np.stack([made.money.paths[name][0] for name in LANDED])
    weights = {name: w[0] for name, w in phase_weights(made.values, time).items()}
    yield Heading("Landed from abroad: goods and their freight, for the economic view")
    terms, by_month = [], np.zeros(time.months + 1)
    for phase, paid in weights.items():
        keys = [n for n, (_, item) in enumerate(bill.items) if item.phase == phase]
        for c, name in zip(place, LANDED, strict=True):
            held = float(np.sum(bill.parts[0, c, keys]))
            formula = "+".join(f"{{bill.{bill.items[n][0]}.{name}}}" for n in keys) or "0"
            yield Scalar(f"built.{phase}.{name}", f"Bill paid {phase}: {TITLES[name]}", currency,
                         formula, held)  # fmt: skip
            terms.append(f"{{built.{phase}.{name}}}*{{price.{name}}}*{{phase.{phase}}}")
            by_month += factor * held * path[LANDED.index(name)] * paid
    own = "+".join(f"{{bill.{name}}}*{{price.{name}}}" for name in LANDED)
    added = (
        "({capital.design}*(1+{capital.vat_lost})*{phase.early}+{capital.contingency}*{phase.even})"
    )
    share = np.sum(bill.parts[0, place], axis=1) / np.sum(bill.cost)
    sums = (float((parts.design * (1.0 + parts.vat_rate))[0, 0]) * weights["early"]
            + float(parts.contingency[0, 0]) * weights["even"])  # fmt: skip
    by_month += np.sum(share[:, None] * path, axis=0) * sums
    yield Line("capital.works_landed", "Building: landed from abroad", currency,
               f"{{capital.factor}}*({'+'.join(terms)})+{added}*({own})/{{bill.total}}", by_month,
               total=True)  # fmt: skip
    lives = [Life(made, n) for n in range(len(bill.items))]
    renewed = sum((x.renewed(x.landed) + x.overhauled(x.landed) for x in lives), 0.0 * by_month)
    yield Line("capital.replacement_landed", "Replacements: landed from abroad", currency,
               "+".join(f"{{landed.{key}}}" for key in shipped(made)) or "0", renewed,
               total=True)  # fmt: skip
    left = sum(float(x.landed[-1]) * x.unused for x in lives)
    left *= float(made.project.residual_share[0, 0])
    yield Line(
        "capital.residual_landed", "Residual value: landed from abroad", currency,
        f"IF({{month}}={time.months},SUM({column(made, 'residual_landed')})"
        "*{in:project.residual_share},0)",
        left * (time.month == time.months), total=True,
    )  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Capital."""
    lead = (
        f"Nominal {made.currency}, spending positive. The budget stands first, at appraisal-date "
        "prices; contingency is a value from the sampled budget."
    )
    items = (*budget(made), *upkeep(made), *phases(made), *sums_by_phase(made), *spending(made), *later(made), *write_off(made), *landed(made),
             *allowances.items(made))  # fmt: skip
    return Sheet(
        "Capital",
        "Capital",
        lead,
        items,
        axis="months",
        locked=CALENDAR | {"capital.contingency"} | allowances.locked(made),
    )
