"""How much money is tied up between paying and being paid? Sheet Working.

Rows follow `money/working_capital` and `money/vat`. A balance is so many months of a flow, the
last of them in part: a cell each says which share of a month's flow still stands. All is settled
in the last month. Fish in the tanks stand at cost, which moves profit and never cash.
"""

import numpy as np

from sitefare.arrays import MEAN_MONTH, Array
from sitefare.assumptions.declaration import build
from sitefare.money.flows import refunds
from sitefare.money.vat import VatInputs, reclaimed
from sitefare.money.working_capital import LONGEST, WorkingCapitalInputs
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.kilograms import added
from sitefare.outputs.workbook.made import Made

#: Months that the longest credit reaches.
REACH = LONGEST * 12 // 365 + 1

#: Rows that these formulas read and that the farm, or the length of the sheet, rests on.
LOCKED = frozenset({"project.construction"})

#: In the last month all balances are settled.
SETTLED = "{month}={month@end}"


def sheet(made: Made) -> Sheet:
    """Return the sheet Working: credit, stock, refunds, fish at cost, cash tied up."""
    items: list[Item] = [
        *credit_items(made),
        *stock_items(made),
        *refund_items(made),
        *fish_items(made),
        *result_items(made),
    ]
    return Sheet(
        "Working",
        "Working capital: money tied up between paying and being paid",
        "Balances at month ends; all are settled in the last month.",
        items,
        axis="months",
        locked=LOCKED,
    )


def share_items(made: Made, row: str, words: str) -> list[Item]:
    """Return the share of a month's flow that still stands, by months from it."""
    days = float(getattr(build(WorkingCapitalInputs, made.values), f"{row}_days")[0, 0])
    months = f"{{in:working_capital.{row}_days}}/(365/12)"
    return [
        Scalar(
            f"tied.{row}_{n}", f"{words}, {month_words(row, n)}", "1",
            f"MAX(0,MIN(1,{months}-{n}))", min(max(days / MEAN_MONTH - n, 0.0), 1.0), kind="share",
        )
        for n in range(REACH)
    ]  # fmt: skip


def month_words(row: str, n: int) -> str:
    """Say which month's flow a share is of."""
    if row == "stock":
        return "of the next month" if n == 0 else f"of {n + 1} months ahead"
    return "of this month" if n == 0 else f"of {n} month{'s' * (n > 1)} before"


def standing(line: str, row: str, way: str, first: int) -> str:
    """Return the balance of a flow: shares of its months, nothing in the last month."""
    terms = [
        f"{{{line}{f'{way}{n + first}' if n + first else ''}}}*{{tied.{row}_{n}}}"
        for n in range(REACH)
    ]
    return f"IF({SETTLED},0,{added(terms)})"


def balance(made: Made, key: str, label: str, formula: str, values: Array) -> Line:
    """Return a balance at month ends. [money]"""
    life = np.broadcast_to(values, (1, made.timeline.months + 1))
    return Line(f"tied.{key}", label, made.currency, formula, life)


def credit_items(made: Made) -> list[Item]:
    """Return what buyers owe and what suppliers are owed."""
    tied = made.money.tied_up
    awaited = refunds(made.values, made.money.capital, made.money.operating)
    return [
        Heading("Credit", "Shares of a month's flow that still stand after some months."),
        *share_items(made, "receivable", "Sales not yet paid"),
        *share_items(made, "payable", "Purchases not yet paid"),
        balance(made, "sales", "Buyers outside the people served owe",
                standing("income.elsewhere", "receivable", "<", 0), tied.receivables - awaited),
        balance(made, "payables", "Suppliers are owed",
                standing("running.on_credit", "payable", "<", 0), tied.payables),
    ]  # fmt: skip


def stock_items(made: Made) -> list[Item]:
    """Return supplies bought ahead of use, and spare parts."""
    tied = made.money.tied_up
    held = "AND({month}>={in:project.construction},{month}<{month@end})"
    price = "INDEX({price.equipment:},1,{in:project.construction}+1)"
    spares = f"IF({held},{{in:working_capital.spares_share}}*{{capital.budget_works}}*{price},0)"
    return [
        Heading("Stock", "Feed, dosing and packing are bought ahead; spare parts after building."),
        *share_items(made, "stock", "Use already in stock"),
        balance(made, "spares", "Spare parts", spares, tied.spares),
        balance(made, "supplies", "Feed, dosing, packing and spare parts",
                f"{standing('running.stocked', 'stock', '>', 1)}+{{tied.spares}}", tied.supplies),
    ]  # fmt: skip


def refund_items(made: Made) -> list[Item]:
    """Return value-added tax that is still to be refunded."""
    terms, capital, costs = build(VatInputs, made.values), made.money.capital, made.money.operating
    wait = float(terms.wait[0, 0])
    whole = max(float(np.ceil(wait)) - 1.0, 0.0)
    taxed = sum((costs.lines[n] for n, due in costs.taxable.items() if due), np.zeros((1, 1)))
    paid = capital.works + capital.replacement + taxed
    waiting = (
        'SUMIFS({tied.reclaimed:},{month:},">"&({month}-{tied.wait_whole}),'
        '{month:},"<="&{month})'
        "+{tied.wait_part}*SUMIF({month:},{month}-{tied.wait_whole},{tied.reclaimed:})"
    )
    return [
        Heading("Value-added tax to be refunded"),
        Scalar("tied.wait_whole", "Whole months of waiting", "month",
               "MAX(ROUNDUP({in:vat.wait},0)-1,0)", whole, kind="count"),
        Scalar("tied.wait_part", "Share of one month more", "1",
               "{in:vat.wait}-{tied.wait_whole}", wait - whole, kind="share"),
        Line(
            "tied.reclaimed", "Tax paid in the month that comes back", made.currency,
            "({capital.works}+{capital.replacement}+{running.taxable})*{vat.reclaimed}",
            reclaimed(terms, paid), total=True,
        ),
        balance(made, "refunds", "Tax to be refunded", f"IF({SETTLED},0,{waiting})",
                refunds(made.values, capital, costs)),
    ]  # fmt: skip


def fish_items(made: Made) -> list[Item]:
    """Return what the fish in the tanks cost."""
    tied, flows = made.money.tied_up, made.flows
    stood = flows.fish_live_kg + flows.fish_deaths_kg + flows.fish_biomass_kg
    stays = np.where(stood > 0, flows.fish_biomass_kg / np.where(stood > 0, stood, 1.0), 0.0)
    every = "({farm.fish}+{farm.fish_deaths}+{farm.fish_biomass})"
    bought = "{running.feed}+{running.fingerlings}"
    return [
        Heading("Fish in the tanks, at cost", "Feed and young fish put in, less what left."),
        Line("tied.fish_stays", "Share of the month's live weight that stays", "1",
             f"IF({every}>0,{{farm.fish_biomass}}/{every},0)", stays, kind="share"),
        balance(
            made, "fish_at_cost", "Fish in the tanks",
            f"IF(OR({{month}}=0,{SETTLED}),0,({{tied.fish_at_cost<}}+{bought})*{{tied.fish_stays}})",
            tied.fish_at_cost,
        ),
    ]  # fmt: skip


def result_items(made: Made) -> list[Item]:
    """Return balances as the statements read them, cash tied up, and profit that is no cash."""
    tied = made.money.tied_up
    change = "-".join(f"({{tied.{x}}}-{{tied.{x}<}})" for x in ("receivables", "supplies"))
    return [
        Heading("For the statements"),
        balance(made, "receivables", "Owed to the farm", "{tied.sales}+{tied.refunds}",
                tied.receivables),
        balance(made, "stock", "Stock: supplies, spare parts, fish",
                "{tied.supplies}+{tied.fish_at_cost}", tied.stock),
        Line("tied.cash", "Cash freed (negative: tied up) in the month", made.currency,
             f"({{tied.payables}}-{{tied.payables<}})-{change}", tied.cash, strong=True),
        Line("tied.fish_profit", "Cost put on fish less cost that left: profit, no cash",
             made.currency, "{tied.fish_at_cost}-{tied.fish_at_cost<}", tied.fish_profit),
    ]  # fmt: skip
