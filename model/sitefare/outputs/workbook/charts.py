"""Which pictures does the workbook draw from its own cells?

Cash before and after funding by year, what it costs, where the money comes from and goes. Titles
say what is shown, since the finding moves with the inputs.
"""

from sitefare.outputs.workbook.frame import Chart, Heading, Item, Sheet
from sitefare.outputs.workbook.made import Made


def sheet(made: Made) -> Sheet:
    """Return the sheet Charts."""
    unit = made.currency
    items: list[Item] = [
        Heading("The project before funding"),
        Chart(
            "Net cash by year, constant prices, and so far", "line",
            (("Net cash of the year", "years.real.net"), ("So far", "years.real_so_far")),
            unit, "Net project cash by year and its running sum, in constant prices.",
        ),
        Heading("Cash with the funding planned"),
        Chart(
            "Cash at year end", "column", (("Cash at year end", "years.cash.closing"),), unit,
            "Cash at the end of each project year with the funding planned.",
        ),
    ]  # fmt: skip
    return Sheet("Charts", "Charts", "Drawn from sheet Years; they follow the inputs.", items)
