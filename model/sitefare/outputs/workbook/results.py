"""Sheet Results: every indicator, each a named cell `out_…`, and what it is made of.

What a formula makes follows every input that may be changed; what only the model can say stands
as a value and says so.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.money.discounting import present_value
from sitefare.money.flows import GROUPS
from sitefare.money.indicators import project_costs
from sitefare.money.project import full_years
from sitefare.outputs.workbook.answers import NO_RATE, SEVERAL, answers, costs_formula, worth
from sitefare.outputs.workbook.frame import GivenScalar, Heading, Item, Kind, Number, Scalar, Sheet
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.rates import RATES, Search, flows_of
from sitefare.outputs.workbook.resolve import KEY
from sitefare.questions.dictionary import INDICATORS

#: What a value that only the model can say is marked with.
FROM_MODEL = "From the model: stays as it was when the workbook was written."

#: Indicators by question: a title, and what their names start with; the rest comes last.
SECTIONS = (
    ("Whom it feeds, at what cost", ("people_fed", "cost_per_person", "alternative_cost")),
    ("Is it worth it", ("npv", "irr", "mirr", "payback", "discounted_payback", "benefit_cost",
                        "equivalent_annual", "levelised")),
    ("What it costs and brings", ("capex", "operating_cost", "fixed_cost", "variable_cost",
                                  "sales_year", "replacement_reserve")),
    ("What funders ask", ("peak_funding", "min_dscr", "loan_life", "grant_needed", "subsidy")),
    ("How far it may move", ("break_even",)),
    ("What goes in and out of the farm", ("",)),
)  # fmt: skip

KINDS: dict[str, Kind] = {
    "money": "money", "money/year": "money", "money/person/day": "number", "money/kg": "number",
    "1/year": "rate", "person": "number", "year": "number", "money/person": "money",
    "month": "count",
}  # fmt: skip


def sections_of(names: list[str]) -> dict[str, list[str]]:
    """Sort indicators under the titles of `SECTIONS`, those of single rations last."""
    found: dict[str, list[str]] = {title: [] for title, _ in SECTIONS}
    for name in sorted(names, key=lambda name: "." in name):
        title = next(t for t, starts in SECTIONS if name.startswith(starts))
        found[title].append(name)
    return found


def described(made: Made, name: str) -> tuple[str, str, str, Kind]:
    """Return an indicator's title, unit, meaning and how it is printed."""
    base, _, ration = name.partition(".")
    entry = INDICATORS.get(name) or INDICATORS.get(base)
    if entry is None:
        mass = "joint costs by mass" if "by_mass" in name else "nothing sold at the end"
        base = "levelised_cost_vegetables_kg" if "by_mass" in name else "npv"
        entry = INDICATORS[base]
        return (
            f"{entry.title}, {mass}", entry.unit.replace("money", made.currency), "",
            KINDS.get(entry.unit, "number"),
        )  # fmt: skip
    title = entry.title
    if ration:
        title += f": {made.fed.rations[ration].title}"
    kind = KINDS.get(entry.unit, "number")
    meaning = (
        entry.meaning.replace("the headline ration", "this ration") if ration else entry.meaning
    )
    return title, entry.unit.replace("money", made.currency), meaning, kind


def found_value(made: Made, name: str, empty: str) -> Number:
    """Return an indicator as a cell shows it: a number, or words for no answer."""
    x = float(made.appraisal.indicators[name][0, 0])
    if np.isfinite(x):
        return x
    if name in {rate for rate, _, _ in RATES}:
        return SEVERAL if Search(flows_of(made)[name]).count() else NO_RATE
    return empty or made.appraisal.reasons.get(name, "no answer")


def indicator_items(made: Made) -> Iterator[Item]:
    """Yield every indicator by question."""
    formulas = answers(made)
    for title, names in sections_of(list(made.appraisal.indicators)).items():
        yield Heading(title)
        for name in names:
            label, unit, meaning, kind = described(made, name)
            answer = formulas.get(name)
            value = found_value(made, name, answer.empty if answer else "")
            strong = name in ("people_fed", "cost_per_person_day", "npv", "payback_years", "capex")
            if answer is None:
                note = f"{FROM_MODEL} {meaning}".strip()
                yield GivenScalar(f"out.{name}", label, unit, value, note, kind, made.ends(name))
            else:
                yield Scalar(
                    f"out.{name}",
                    label,
                    unit,
                    answer.formula,
                    value,
                    meaning,
                    kind,
                    strong,
                    made.ends(name),
                )


def worth_items(made: Made) -> Iterator[Item]:
    """Yield the present values that indicators are made of."""
    view, money = made.appraisal.finances.figures, made.currency
    factors = view.factors

    def of(flow: Array) -> float:
        return float(present_value(flow, factors)[0, 0])

    yield Heading("What they are made of", "Present values at the real discount rate.")
    for name in GROUPS:
        label = name.replace("_", " ").capitalize()
        yield Scalar(f"worth.{name}", label, money, worth(f"real.{name}"), of(view.group[name]))
    yield Scalar(
        "worth.costs", "All project costs, positive", money, costs_formula(),
        of(project_costs(view)), strong=True,
    )  # fmt: skip
    for key, label, flow in (
        ("elsewhere", "Sales outside the people served", view.elsewhere),
        ("vegetable_value", "Vegetables at farm-gate prices", view.vegetable_value),
        ("fish_value", "Fish at farm-gate prices", view.fish_value),
    ):
        line = worth(f"income.{key}", "factor.of_nominal")
        yield Scalar(f"worth.{key}", label, money, line, of(flow))
    for key, label, line, flow in (
        ("vegetables_kg", "Vegetables", "farm.vegetables", view.vegetable_kg),
        ("fish_kg", "Live fish", "farm.fish", view.fish_kg),
    ):
        yield Scalar(f"worth.{key}", label, "kg", worth(line), of(flow), kind="number")
    for name, persons in view.persons.items():
        yield Scalar(
            f"worth.persons.{name}", f"Person-months: {made.fed.rations[name].title}", "month",
            worth(f"people.{name}.persons"), of(persons), kind="number",
        )  # fmt: skip


def full_items(made: Made) -> Iterator[Item]:
    """Yield the years of full production."""
    years = made.timeline.years
    full = full_years(made.project, made.timeline)
    yield Heading("Full production", "Yearly figures are means over these project years.")
    yield Scalar(
        "full.first", "First year of full production", "year",
        "MIN(ROUNDUP(({in:project.construction}+ROUND({in:project.ramp_months},0))/12,0)+1,"
        f"{years})", float(full.start), kind="count",
    )  # fmt: skip
    yield Scalar(
        "full.years", "Years of full production", "year", f"{years}-{{full.first}}+1",
        float(years - full.start + 1), kind="count",
    )  # fmt: skip


def ranges(made: Made) -> str:
    """Say what low and high are, or that there are none."""
    if not made.spans:
        return "No draws were asked for, so there are no ranges."
    return f"Low and high are the 1-in-10 ends of {made.draws} draws, values from the model."


def sheet(made: Made) -> Sheet:
    """Return the sheet Results."""
    items: list[Item] = [*indicator_items(made), *worth_items(made), *full_items(made)]
    return Sheet(
        "Results",
        "Results",
        "Unmarked indicators are the project's: after tax, before funding, in constant prices. "
        + ranges(made),
        items,
        widths={KEY: 32.0},
        part="answers",
    )
