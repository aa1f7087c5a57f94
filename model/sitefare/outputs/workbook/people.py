"""Where does the food go and whom does it feed? Sheet People."""

from sitefare.outputs.workbook import kilograms, rations
from sitefare.outputs.workbook.frame import Sheet
from sitefare.outputs.workbook.kilograms import Table, kilogram_items
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.rations import Fed, ration_items


def sheet(made: Made) -> Sheet:
    """Return the sheet People: kilograms by where they end, people by ration."""
    table = Table(made)
    return Sheet(
        "People",
        "People: where the food goes and whom it feeds",
        "A change of a harvest multiplier, of a share or of what a ration asks moves the people.",
        [*kilogram_items(table), *ration_items(Fed(table))],
        axis="months",
        locked=kilograms.LOCKED | rations.LOCKED,
    )
