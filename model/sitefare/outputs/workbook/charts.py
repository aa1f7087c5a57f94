"""Which pictures does the workbook draw from its own cells?

Cash before and after funding by year, what running costs are made of, harvest and people fed.
Titles say what is shown, since the finding moves with the inputs.
"""

from sitefare.outputs.workbook.frame import Chart, Item, Sheet
from sitefare.outputs.workbook.kinds import KINDS
from sitefare.outputs.workbook.made import Made


def sheet(made: Made) -> Sheet:
    """Return the sheet Charts."""
    unit, ration = made.currency, made.fed.rations[made.fed.headline].title
    items: list[Item] = [
        Chart(
            "The project before funding: net cash by year and its running sum, constant prices", "line",
            (("Net cash of the year", "years.real.net"), ("Running sum", "years.real_so_far")),
            unit, "Net project cash by year and its running sum, in constant prices.",
        ),
        Chart(
            "Cash at year end with the funding planned, nominal", "column",
            (("Cash at year end", "years.cash.closing"),), unit,
            "Cash at the end of each project year with the funding planned.",
        ),
        Chart(
            "What running the farm costs by year, nominal", "stacked",
            tuple((title, f"years.kind.{key}") for key, title, _ in KINDS), unit,
            "Running costs of each project year by kind, stacked.",
        ),
        Chart(
            "Harvest by year", "column",
            (("Vegetables", "years.kg.vegetables"), ("Live fish", "years.kg.fish")), "kg",
            "Kilograms of vegetables and of live fish in each project year.",
        ),
        Chart(
            "People fed, mean of each year", "column", ((ration, "years.people"),), "persons",
            f"People fed by the ration of {ration}, mean of each project year.",
        ),
    ]  # fmt: skip
    return Sheet("Charts", "Charts", "Drawn from sheet Years; they follow the inputs.", items,
                 widths={0: 72.0}, part="answers")  # fmt: skip
