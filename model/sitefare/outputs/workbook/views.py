"""Sheet Views: the flows that indicators judge, by month: project, owners, country.

The project is before funding; owners see what is left after debt, grants and the tax of the
statements; the country revalues the project's lines. Real money is nominal money over inflation.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build
from sitefare.money.discounting import discount_factors
from sitefare.money.economic import (
    ENERGY,
    IMPORTED,
    REPLACED,
    EconomicInputs,
    economic_budget,
    following,
    foreign,
)
from sitefare.money.flows import GROUPS
from sitefare.money.views import MoneyView, OwnersInputs
from sitefare.outputs.workbook.cover import cover_items
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.made import Made

#: The project's groups: label, nominal formula, money in positive.
PROJECT = {
    "capital": ("Works and land", "-({capital.works}+{capital.land})"),
    "replacement": ("Replacements", "-{capital.replacement}"),
    "operating": ("Operating costs, every hour at a wage", "-{running.total}"),
    "income": ("Income", "{income.total}"),
    "working_capital": ("Working capital", "{tied.cash}"),
    "tax": ("Tax, as if unfunded", "-{tax_project.paid}"),
    "residual": ("Equipment and land sold", "{capital.residual}+{capital.land_sale}"),
}

#: Rates that discount: key, label, the formula of the yearly rate.
FACTORS = (
    ("factor.real", "Factor at the real discount rate", "{in:project.discount_rate}"),
    ("factor.again", "Factor at the real reinvestment rate", "{in:project.reinvestment_rate}"),
    ("factor.nominal", "Factor at the nominal discount rate", "{rate.nominal}"),
    ("factor.nominal_again", "Factor at the nominal reinvestment rate", "{rate.nominal_again}"),
    ("factor.owners", "Factor at the owners' real rate", "{in:owners.discount_rate}"),
    ("factor.economic", "Factor at the social discount rate", "{in:economic.discount_rate}"),
)


def factor_items(made: Made) -> Iterator[Item]:
    """Yield discount factors by month, the first undiscounted."""
    views = made.appraisal.finances.views
    nominal, project, months = views["nominal"], made.project, made.timeline.months + 1
    own, economic = build(OwnersInputs, made.values), build(EconomicInputs, made.values)
    rates = (
        project.discount_rate, project.reinvestment_rate, nominal.rate, nominal.reinvestment,
        own.discount_rate, economic.discount_rate,
    )  # fmt: skip
    yield Heading("Discounting", "By month from the end of month 0; rates are effective a year.")
    for key, label, row, rate in (
        ("rate.nominal", "Nominal discount rate", "project.discount_rate", nominal.rate),
        ("rate.nominal_again", "Nominal reinvestment rate", "project.reinvestment_rate",
         nominal.reinvestment),
    ):  # fmt: skip
        yield Scalar(
            key, label, "1/year", f"(1+{{in:{row}}})*(1+{{in:economy.inflation}})-1",
            float(rate[0, 0]), kind="rate",
        )  # fmt: skip
    for (key, label, formula), rate in zip(FACTORS, rates, strict=True):
        yield Line(
            key, label, "1", f"(1+{formula})^(-{{month}}/12)", discount_factors(rate, months),
            kind="path",
        )  # fmt: skip


def nominal_factor(made: Made) -> Line:
    """Return the factor that brings nominal money to the appraisal date in constant prices."""
    view = made.appraisal.finances.views["project"]
    return Line(
        "factor.of_nominal", "Factor of nominal money, inflation taken out", "1",
        "{factor.real}/{price.inflation}", view.factors, kind="path",
    )  # fmt: skip


def project_items(made: Made) -> Iterator[Item]:
    """Yield the project before funding: nominal, then in constant prices."""
    finances, money = made.appraisal.finances, made.currency
    view, figures = finances.views["project"], finances.figures
    yield Heading("The project before funding, nominal", "Money in is positive.")
    for name in GROUPS:
        label, formula = PROJECT[name]
        yield Line(f"project.{name}", label, money, formula, view.sum_of(name), total=True)
    yield _net("project", "Net cash of the project", money, view.net)
    yield Heading("The project before funding, constant prices of the appraisal date")
    for name in GROUPS:
        yield Line(
            f"real.{name}", PROJECT[name][0], money, f"{{project.{name}}}/{{price.inflation}}",
            figures.group[name], total=True,
        )  # fmt: skip
    yield _net("real", "Net real flow of the project", money, figures.net)
    before = figures.net - figures.group["residual"]
    yield Line(
        "real.before_sale", "Net real flow, nothing sold at the end", money,
        "{real.net}-{real.residual}", before,
    )  # fmt: skip
    yield from _so_far(
        "real", "Real flow so far, nothing sold", money, "{real.before_sale}", before
    )
    yield Line(
        "real.discounted", "The same, discounted", money, "{real.before_sale}*{factor.real}",
        before * figures.factors,
    )  # fmt: skip
    yield from _so_far(
        "real_discounted", "Discounted flow so far", money, "{real.discounted}",
        before * figures.factors,
    )  # fmt: skip
    sold = view.net - view.sum_of("residual")
    yield Line(
        "project.before_sale", "Net nominal cash, nothing sold at the end", money,
        "{project.net}-{project.residual}", sold,
    )  # fmt: skip
    yield from _so_far("project", "Nominal cash so far, nothing sold", money,
                       "{project.before_sale}", sold)  # fmt: skip
    cash = view.net + made.money.operating.given
    yield Line(
        "project.cash", "Cash of the project, what is given in kind left out", money,
        "{project.net}+{running.given}", cash, total=True,
    )  # fmt: skip
    yield Line(
        "project.cash_so_far", "The same so far", money, "{project.cash_so_far<}+{project.cash}",
        np.cumsum(cash, axis=1),
    )  # fmt: skip


def _net(key: str, label: str, unit: str, values: Array) -> Line:
    formula = "+".join(f"{{{key}.{name}}}" for name in GROUPS)
    return Line(f"{key}.net", label, unit, formula, values, total=True, strong=True)


def _so_far(key: str, label: str, unit: str, flow: str, values: Array) -> Iterator[Item]:
    """Yield a cumulative row, and the month after each in which it is below zero."""
    sums = np.cumsum(values, axis=1)
    yield Line(f"{key}.so_far", label, unit, f"{{{key}.so_far<}}+{flow}", sums)
    below = sums < -1e-9 * np.max(np.abs(sums))
    month = np.arange(1, sums.shape[1] + 1)[None, :]
    yield Line(
        f"{key}.below", "Month after, while it is below zero", "month",
        f"IF({{{key}.so_far}}<-1E-9*MAX(MAX({{{key}.so_far:}}),-MIN({{{key}.so_far:}})),"
        "{month}+1,0)", below * month.astype(np.float64), kind="count",
    )  # fmt: skip


def owner_items(made: Made) -> Iterator[Item]:
    """Yield what owners put in and take out."""
    view, money = made.appraisal.finances.views["equity"], made.currency
    flow, nominal = view.flow, view.flow * view.deflator
    yield Heading("The owners", "Net cash of the statements less what owners paid in.")
    yield Line(
        "owners.nominal", "Owners' cash, nominal", money, "{cash.net}-{cash.equity}", nominal,
        total=True,
    )  # fmt: skip
    yield Line(
        "owners.real", "Owners' cash, constant prices", money,
        "{owners.nominal}/{price.inflation}", flow, total=True,
    )  # fmt: skip
    before = flow - view.sum_of("residual") / view.deflator
    yield Line(
        "owners.before_sale", "The same, no equipment sold at the end", money,
        "{owners.real}-{cash.equipment_sold}/{price.inflation}", before,
    )  # fmt: skip
    yield from _so_far("owners", "Owners' cash so far", money, "{owners.before_sale}", before)
    factors = discount_factors(view.rate, flow.shape[1])
    yield Line(
        "owners.discounted", "Discounted", money, "{owners.before_sale}*{factor.owners}",
        before * factors,
    )  # fmt: skip
    yield from _so_far(
        "owners_discounted", "Discounted so far", money, "{owners.discounted}", before * factors
    )


def economic_scalars(made: Made) -> Iterator[Item]:
    """Yield what economic over market prices are."""
    terms, parts = build(EconomicInputs, made.values), made.money.parts
    after, scale = economic_budget(made.values, parts, terms)
    works = following(parts.bill, after.bill, scale)
    yield Heading("The country", "Economic over market prices.")
    duty = "{in:freight.duty}" if made.values["tax.duty_exempt"] != "yes" else "0"
    abroad = float(np.ravel(foreign(1.0, terms))[0])
    paid = f"(1+{duty}+{{in:freight.clearing}})"
    rows = [
        ("economic.landed", "of what is landed for the works",
         f"(1/{{in:economic.conversion_factor}}+{{in:freight.clearing}})/{paid}",
         _landed(made, abroad)),
        ("economic.works", "of the works in all",
         "1+({economic.landed}-1)*({bill.imported}+{bill.imported_freight})/{bill.total}",
         float(scale[0, 0])),
        ("economic.upkeep", "of upkeep",
         ("IF({capital.upkeep_base}>0,1+({economic.landed}-1)*{capital.upkeep_landed}"
          "/{capital.upkeep_base},0)"), float(works["upkeep"][0, 0])),
    ]  # fmt: skip
    for key, label, formula, value in rows:
        yield Scalar(key, label, "1", formula, value, kind="path")


def _landed(made: Made, abroad: float) -> float:
    """Return economic over market price of what is landed. [1]"""
    values = made.values
    clearing = float(np.ravel(values["freight.clearing"])[0])
    duty = float(np.ravel(values["freight.duty"])[0])
    duty *= values["tax.duty_exempt"] != "yes"
    return (abroad + clearing) / (1.0 + duty + clearing)


def line_factor(name: str, *, taxable: bool) -> str:
    """Return the template of a running line's economic over market price, blank for 1."""
    factors = []
    if name in ENERGY:
        factors.append("(1-{in:economic.energy_tax})")
    if name in IMPORTED:
        share = f"{{in:economic.{IMPORTED[name]}}}"
        factors.append(f"(1-{share}+{share}/{{in:economic.conversion_factor}})")
    if name == "wages_worker":
        factors = ["{in:economic.shadow_wage}"]
    if name in ("upkeep", "insurance"):
        factors = ["{economic.upkeep}" if name == "upkeep" else "{economic.works}"]
    return "".join(f"*{x}" for x in factors) + ("/(1+{vat.lost})" if taxable else "")


def economic_formulas(made: Made) -> dict[str, str]:
    """Return the formula of each group of the economic view, money in positive."""
    taxable = made.money.operating.taxable
    running = "".join(
        f"-{{running.{name}}}{line_factor(name, taxable=taxable[name])}"
        for name in made.money.operating.lines
        if name not in REPLACED
    )
    sales = "+".join(f"{{income.{n}}}" for n in made.money.income.lines if n not in REPLACED)

    def revalued(key: str) -> str:
        landed = f"{{{key}_landed}}"
        return f"({{{key}}}-{landed}+{landed}*{{economic.landed}})/(1+{{vat.lost}})"

    return {
        "capital": f"-({revalued('capital.works')}+{{capital.land}})",
        "replacement": f"-{revalued('capital.replacement')}",
        "operating": f"-{{economic.carbon}}-{revalued('running.storm_repairs')}{running}",
        "income": f"{sales}+{{income.food_reaching}}",
        "working_capital": "{economic.stock<}-{economic.stock}",
        "residual": f"{revalued('capital.residual')}+{{capital.land_sale}}",
    }


def economic_items(made: Made) -> Iterator[Item]:
    """Yield the project revalued for the country, nominal, and its net real flow."""
    view: MoneyView = made.appraisal.finances.views["economic"]
    money = made.currency
    lines = view.lines
    yield Line(
        "economic.carbon", "Cost of the emissions of energy", money,
        "{farm.emissions}/1000*{in:economic.carbon_price}*{price.inflation}"
        "*(1+{in:economic.carbon_growth})^({month}/12)", -lines["carbon"], total=True,
    )  # fmt: skip
    yield Line(
        "economic.stock", "Stock held, fish left out", money,
        "({tied.supplies}-{tied.spares})/(1+{vat.lost})+{tied.spares}*{economic.works}",
        -np.cumsum(lines["stock_held"], axis=1),
    )  # fmt: skip
    labels = {name: label for name, (label, _) in PROJECT.items()}
    labels["income"] = "Sales outside, and food that reaches people at the local price"
    formulas = economic_formulas(made)
    for name, formula in formulas.items():
        yield Line(f"economic.{name}", labels[name], money, formula, view.sum_of(name), total=True)
    yield Line(
        "economic.nominal", "Net for the country, nominal", money,
        "+".join(f"{{economic.{name}}}" for name in formulas), view.net, total=True,
    )  # fmt: skip
    gains = view.sum_of("income", "residual") / view.deflator
    yield Line(
        "economic.gains", "Benefits and resale, constant prices", money,
        "({economic.income}+{economic.residual})/{price.inflation}", gains, total=True,
    )  # fmt: skip
    yield Line(
        "economic.net", "Net for the country, constant prices", money,
        "{economic.nominal}/{price.inflation}", view.flow, total=True, strong=True,
    )  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Views."""
    items: list[Item] = [
        *factor_items(made), nominal_factor(made), *project_items(made), *owner_items(made),
        *cover_items(made), *economic_scalars(made), *economic_items(made),
    ]  # fmt: skip
    return Sheet(
        "Views",
        "Flows by view",
        "What the indicators judge: the project before funding, its owners, the country.",
        items,
        axis="months",
    )
