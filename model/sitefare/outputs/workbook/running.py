"""What does running the farm cost, month by month, line by line? Sheet Running.

Costs are positive and nominal, as `money/operating` gives them, value-added tax that is lost in
them. Every hour is costed at a wage, also those given unpaid. The sums at the end are what
statements, working capital and yearly figures read.
"""

from collections.abc import Iterable, Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.money.operating import VARIABLE_POWER, Operating
from sitefare.money.project import total
from sitefare.outputs.lines import printed_line
from sitefare.outputs.workbook import costs, standing, storms
from sitefare.outputs.workbook.frame import Heading, Item, Line, Sheet
from sitefare.outputs.workbook.kilograms import added
from sitefare.outputs.workbook.made import Made

#: Rows that these formulas read and that the length of the sheet or the farm rests on.
LOCKED = frozenset({"project.construction"})

#: Lines that are held in stock.
STOCKED = ("feed", "dosing", "packing")


def sheet(made: Made) -> Sheet:
    """Return the sheet Running: workings, every operating line, sums."""
    lines = cost_lines(made)
    items: list[Item] = [
        *costs.vat_items(made),
        *standing.rate_items(made),
        *costs.demand_items(made),
        *standing.handing_items(made),
        *storms.broken(made),
        Heading(
            "Costs by the month", "Positive and nominal; value-added tax that is lost is in them."
        ),
        *lines.values(),
        total_line(made, list(lines)),
        *unpaid_items(made),
        *behaviour_items(made),
        *base_items(made),
        *date_items(made),
    ]
    return Sheet(
        "Running",
        "What running the farm costs",
        "A flow of sheet Farm times a price of sheet Inputs times the path of its price group.",
        items,
        axis="months",
        locked=LOCKED,
    )


def cost_lines(made: Made) -> dict[str, Line]:
    """Return every operating line by name, in the order of the model."""
    lines = [
        *costs.supply_lines(made),
        *costs.utility_lines(made),
        *standing.wage_lines(made),
        *standing.standing_lines(made),
        *standing.handing_lines(made),
        storms.storm_line(made),
    ]
    return {line.key.removeprefix("running."): line for line in lines}


def whole(made: Made, x: Array) -> Array:
    """Lay a sum that may be a single nothing along the months. [same unit]"""
    return np.broadcast_to(x, (1, made.timeline.months + 1))


def named(names: Iterable[str], start: str = "running") -> str:
    """Return the sum of lines as a formula."""
    return added([f"{{{start}.{name}}}" for name in names])


def sum_line(made: Made, key: str, label: str, formula: str, values: Array) -> Line:
    """Return a row that is a sum of others. [money]"""
    return Line(f"running.{key}", label, made.currency, formula, whole(made, values), total=True)


def total_line(made: Made, names: list[str]) -> Line:
    """Return the sum of every line: they stand one beneath the other."""
    first, last = names[0], names[-1]
    return Line(
        "running.total", "All running costs", made.currency,
        f"SUM({{running.{first}}}:{{running.{last}}})", made.money.operating.total, total=True,
        strong=True,
    )  # fmt: skip


def unpaid_items(made: Made) -> list[Item]:
    """Return what is costed and given in kind, and what is paid in cash."""
    costs_, nothing = made.money.operating, np.zeros((1, 1))
    formulas = {"wages_worker": "{running.wages_worker}*{in:operations.unpaid_share}"}
    if "rent" in costs_.unpaid:
        formulas["rent"] = "{running.rent}"
    words = {"wages_worker": "Workers' hours given unpaid", "rent": "Land given, at its rent"}
    items: list[Item] = [Heading("Given in kind, no cash")]
    items += [
        sum_line(made, f"unpaid.{name}", words[name], formula, costs_.unpaid.get(name, nothing))
        for name, formula in formulas.items()
    ]
    given = named(formulas, "running.unpaid")
    return [
        *items,
        sum_line(made, "given", "All that is given in kind", given, costs_.given),
        sum_line(made, "cash_total", "Running costs paid in cash",
                 "{running.total}-{running.given}", costs_.total - costs_.given),
    ]  # fmt: skip


def split(costs_: Operating) -> tuple[list[str], dict[str, Array]]:
    """Return the lines that vary wholly, and the fixed part of those that vary in part."""
    variable = [name for name, nature in costs_.natures.items() if nature.behaviour == "variable"]
    partly = {
        name: costs_.fixed[name]
        for name, line in costs_.lines.items()
        if name not in variable and costs_.fixed[name] is not line
    }
    return variable, partly


def behaviour_items(made: Made) -> list[Item]:
    """Return the part of costs that stays whatever the harvest, with the people employed."""
    costs_ = made.money.operating
    variable, partly = split(costs_)
    items: list[Item] = [
        Heading("What stays and what follows the harvest", "With the people employed."),
        staying_line(made),
    ]
    for name, values in partly.items():
        role = name.removeprefix("wages_")
        if name.startswith("wages_"):
            paid = standing.paid_formula(made, role, overtime=False)
            formula = f"{paid}*{{price.wages}}"
        else:
            formula = f"{{running.{name}}}*{{running.power_staying}}"
        label = f"Fixed part: {printed_line(name)}"
        items.append(sum_line(made, f"fixed.{name}", label, formula, values))
    moving = named(variable) + "".join(
        f"+({{running.{name}}}-{{running.fixed.{name}}})" for name in partly
    )
    fixed = total(costs_.fixed.values())
    return [
        *items,
        sum_line(made, "variable_total", "Costs that follow the harvest", moving,
                 costs_.total - fixed),
        sum_line(made, "fixed_total", "Costs that stay", "{running.total}-{running.variable_total}",
                 fixed),
    ]  # fmt: skip


def staying_line(made: Made) -> Line:
    """Return the share of electricity that pumps, fans, heat, cold and controls take. [1]"""
    flows = made.flows
    uses = [name for name in flows.electricity_kwh if name in VARIABLE_POWER]
    every = flows.electricity_total_kwh
    moving = total(flows.electricity_kwh[name] for name in uses)
    values = whole(made, 1.0 - moving / np.where(every > 0, every, 1.0))
    used = added([f"{{farm.power.{name}}}" for name in uses])
    formula = f"IF({{farm.electricity}}>0,1-({used})/{{farm.electricity}},1)"
    label = "Share of electricity that does not follow fish, plants and harvest"
    return Line("running.power_staying", label, "1", formula, values, kind="share")


def base_items(made: Made) -> list[Item]:
    """Return the sums that working capital and value-added tax rest on, and tax lost."""
    costs_ = made.money.operating
    names = list(costs_.lines)
    first, last = (f"{{running.{name}}}" for name in (costs.FIRST_BOUGHT, costs.LAST_BOUGHT))
    untaxed = [name for name in names if not costs_.taxable[name]]
    taxed = total(costs_.lines[name] for name in names if costs_.taxable[name])
    lost = float(made.money.parts.vat_rate[0, 0])
    return [
        Heading("What is bought on credit, stocked, taxed"),
        sum_line(made, "on_credit", "Bought on suppliers' credit",
                 f"SUM({first}:{last})+{{running.upkeep}}", costs_.on_credit),
        sum_line(made, "stocked", "Of what is held in stock", named(STOCKED), costs_.stocked),
        sum_line(made, "taxable", "Costs on which value-added tax may fall",
                 f"{{running.total}}-({named(untaxed)})", taxed),
        sum_line(made, "vat_lost", "Value-added tax lost in running costs",
                 "{running.taxable}*{vat.lost}/{vat.factor}", taxed * lost / (1.0 + lost)),
        storms.landed_line(made),
    ]  # fmt: skip


def by_group(terms: Mapping[str, str]) -> str:
    """Return the sum of terms of lines, each group over its own price path, as a formula."""
    groups: dict[str, list[str]] = {}
    for term, group in terms.items():
        groups.setdefault(group, []).append(term)
    return added([f"({added(found)})/{{price.{group}}}" for group, found in groups.items()])


def date_items(made: Made) -> list[Item]:
    """Return costs at appraisal-date prices: neither inflation nor real drift is in them."""
    costs_, paths = made.money.operating, made.money.paths
    groups = {name: nature.group for name, nature in costs_.natures.items()}
    variable, partly = split(costs_)
    every = by_group({f"{{running.{name}}}": groups[name] for name in costs_.lines})
    moving = {f"{{running.{name}}}": groups[name] for name in variable}
    moving |= {f"({{running.{n}}}-{{running.fixed.{n}}})": groups[n] for n in partly}
    unpaid = {"{running.unpaid.wages_worker}": "wages"}
    if "rent" in costs_.unpaid:
        unpaid["{running.unpaid.rent}"] = "land"
    of = {
        name: whole(made, paths.at_date(lines, groups))
        for name, lines in (
            ("all", costs_.lines), ("fixed", costs_.fixed), ("unpaid", costs_.unpaid)
        )
    }  # fmt: skip
    return [
        Heading("At appraisal-date prices", "Neither inflation nor real drift is in them."),
        sum_line(made, "at_date", "All running costs", every, of["all"]),
        sum_line(made, "variable_at_date", "Costs that follow the harvest", by_group(moving),
                 of["all"] - of["fixed"]),
        sum_line(made, "fixed_at_date", "Costs that stay",
                 "{running.at_date}-{running.variable_at_date}", of["fixed"]),
        sum_line(made, "unpaid_at_date", "Given in kind", by_group(unpaid), of["unpaid"]),
    ]  # fmt: skip
