"""What does building cost, month by month, and what follows: renewal, write-off, what is left?

The bill's sums, then unlisted items, overrun, design, tax, contingency and land; spent along the
phases of construction at each part's price path; replacements, overhauls, residual values and
depreciation are summed from sheet Renewals.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.assumptions.declaration import build
from sitefare.farm.events import EventInputs
from sitefare.money.capital import Budget
from sitefare.money.delivery import COMPONENTS
from sitefare.money.phases import phase_weights
from sitefare.money.repairs import storm_repairs
from sitefare.money.wind import storms
from sitefare.outputs.workbook.bill import TITLES
from sitefare.outputs.workbook.farm import words
from sitefare.outputs.workbook.frame import Given, Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.lives import CALENDAR, lasting, overhauls, priced
from sitefare.outputs.workbook.made import Made


def budget(made: Made) -> Iterator[Item]:
    """Yield the capital budget at appraisal-date prices."""
    parts, currency = made.money.parts, made.currency
    bill = float(np.sum(parts.bill.cost))

    def one(key: str, label: str, formula: str, value: float, **more: bool) -> Scalar:
        return Scalar(f"capital.{key}", label, currency, formula, value, **more)

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
              _one(parts.total), strong=True)  # fmt: skip
    yield Scalar("capital.uplift", "What a thing costs over its line of the bill, before tax", "1",
                 "(1+{in:capital.unlisted})*{in:capital.overrun}", _one(parts.uplift), kind="path")  # fmt: skip
    yield Scalar("capital.factor", "The same with the tax lost", "1",
                 "{capital.uplift}*(1+{capital.vat_lost})", _one(parts.factor), kind="path")  # fmt: skip
    yield one("reserve", "Yearly sum that replaces and overhauls what wears out", reserve(parts),
              _one(parts.reserve))  # fmt: skip


def reserve(parts: Budget) -> str:
    """Return the formula of the yearly reserve for replacement."""
    first, last = parts.bill.items[0][0], parts.bill.items[-1][0]
    return f"SUM({{item.{first}.reserve}}:{{item.{last}.reserve}})*{{capital.factor}}"


def land(made: Made) -> str:
    """Return the formula of the land's price, by the tenure in force."""
    if made.values["land.tenure"] != "bought":
        return "0"
    return "{in:land.price}*{design.footprint}"


def _one(x: np.ndarray) -> float:
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


def inside(made: Made, name: str) -> np.ndarray:
    """Return the part of construction that each month covers inside a phase, (months + 1,). [1]"""
    time = made.timeline
    months = time.construction + 1
    start, end = (_number(made, f"phase.{name}.{edge}") for edge in ("start", "end"))
    edge = time.month / months
    found = np.clip(np.minimum(edge + 1.0 / months, end) - np.maximum(edge, start), 0.0, None)
    return found * (time.month <= time.construction)


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
    """Yield land, renewals, what is left, and the write-off, nominal."""
    flows, currency, end = made.money.capital, made.currency, made.timeline.months
    keys = [key for key, _ in made.money.parts.bill.items]
    overhauled = overhauls(made)
    renewed = [f"{{renew.{key}}}" for key in lasting(made)] + [
        f"{{overhaul.{k}}}" for k in overhauled
    ]
    yield Heading("Afterwards, nominal")
    yield Line("capital.land", "Land bought", currency, "IF({month}=0,{capital.land_price},0)",
               flows.land, total=True)  # fmt: skip
    yield Line("capital.replacement", "Replacements and overhauls", currency, "+".join(renewed),
               flows.replacement, total=True, strong=True)  # fmt: skip
    at_end = f"IF({{month}}={end},1,0)"
    residual = f"SUM({{item.{keys[0]}.residual}}:{{item.{keys[-1]}.residual}})"
    yield Line("capital.residual", "Residual value of equipment", currency,
               f"{at_end}*{residual}*{{in:project.residual_share}}", flows.residual, total=True)  # fmt: skip
    yield Line("capital.land_sale", "Land sold at the end", currency,
               f"{at_end}*{{capital.land_price}}*{{price.land}}", flows.land_sale, total=True)  # fmt: skip
    first = [f"{{written_first.{key}}}" for key in keys]
    yield Line("capital.depreciation_initial", "Depreciation of what construction bought", currency,
               "+".join(first) + "+" + added_off(made), flows.depreciation_initial, total=True)  # fmt: skip
    again = [f"{{written_later.{key}}}" for key in lasting(made)]
    again += [f"{{written_overhaul.{key}}}" for key in overhauled]
    yield Line("capital.depreciation", "Depreciation", currency,
               "{capital.depreciation_initial}+" + "+".join(again), flows.depreciation, total=True,
               strong=True)  # fmt: skip
    yield Line("capital.written_off", "Book value written off when sold", currency,
               f"{at_end}*(SUM({{capital.works:}})+SUM({{capital.replacement:}})-SUM({{capital.depreciation:}}))",
               flows.written_off)  # fmt: skip
    book = np.cumsum(
        flows.works + flows.replacement - flows.depreciation - flows.written_off, axis=1
    )
    yield Line("capital.book", "Book value of works and equipment at month end", currency,
               "{capital.book<}+{capital.works}+{capital.replacement}-{capital.depreciation}-{capital.written_off}",
               book)  # fmt: skip


def added_off(made: Made) -> str:
    """Return the formula of the write-off of design and contingency, in equal months."""
    built, end = made.timeline.construction, made.timeline.months
    spent = "SUM({capital.spend.design:})+SUM({capital.spend.contingency:})"
    return f"IF({{month}}>{built},({spent})/{end - built},0)"


def tax_timing(made: Made) -> Iterator[Item]:
    """Yield how tax allowances differ from book depreciation: values where a class differs."""
    timing = made.money.timing
    note = "0 while every tax class follows the books; a class of its own is reckoned in the model."
    yield Given("capital.timing_profit", "Tax allowances less book depreciation, in profit",
                made.currency, timing.profit, note, "money")  # fmt: skip
    yield Given("capital.timing_initial", "The same of what construction bought", made.currency,
                timing.initial, note, "money")  # fmt: skip


def storm_lines(made: Made) -> Iterator[Item]:
    """Yield what storms break at appraisal-date prices, and repairs by month."""
    bill, values, parts = made.money.parts.bill, made.values, made.money.parts
    repairs = storm_repairs(values, parts, made.money.paths, made.timeline)
    hit = np.flatnonzero(bill.storm)
    events = storm_events(made)
    yield Heading("Storm repairs", "Expected, less what insurance pays.")
    terms = []
    for key, (_, share) in zip(events, storms(values, bill.storm[hit]), strict=True):
        strength = f"MIN(MAX(({{in:place.design_wind}}/35)^{{in:event.{key}.wind}},0.25),4)"
        power = float(np.clip((_number(made, "place.design_wind") / 35.0)
                              ** _number(made, f"event.{key}.wind"), 0.25, 4.0))  # fmt: skip
        yield Scalar(f"storm.{key}.strength", f"{words(key)}: strength here", "1", strength, power,
                     kind="path")  # fmt: skip
        for c, name in enumerate(COMPONENTS):
            broken = float(np.sum(bill.parts[0, c, hit] * share[0]))
            formula = "+".join(
                f"{{bill.{bill.items[n][0]}.{name}}}"
                f"*MIN({{in:bill.{bill.items[n][0]}.storm}}*{{storm.{key}.strength}},1)"
                for n in hit
            )
            yield Scalar(f"storm.{key}.{name}", f"{words(key)} breaks: {TITLES[name]}",
                         made.currency, formula or "0", broken)  # fmt: skip
        terms.append(f"{{in:event.{key}.chance}}*({priced(f'storm.{key}')})")
    formula = f"({'+'.join(terms) or '0'})*{{capital.uplift}}*{{in:wind.uninsured}}*{{running}}/12"
    yield Line("capital.storm_repairs", "Storm repairs, before tax", made.currency, formula,
               repairs, total=True)  # fmt: skip


def storm_events(made: Made) -> list[str]:
    """Name the events that grow with wind, in the order of the table."""
    names = [n for n in made.values if n.startswith("event.") and n.endswith(".wind")]
    found = []
    for name in names:
        key = name.split(".")[1]
        if float(build(EventInputs, made.values, key).wind[0, 0]) > 0.0:
            found.append(key)
    return found


def sheet(made: Made) -> Sheet:
    """Return the sheet Capital."""
    lead = (
        f"Nominal {made.currency}, spending positive. The budget stands first, at appraisal-date "
        "prices; contingency is a value from the sampled budget."
    )
    items = (*budget(made), *phases(made), *sums_by_phase(made), *spending(made), *later(made),
             *tax_timing(made), *storm_lines(made))  # fmt: skip
    return Sheet(
        "Capital", "Capital", lead, items, axis="months", locked=CALENDAR | {"capital.contingency"}
    )
