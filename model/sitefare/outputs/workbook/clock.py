"""Which month is which: calendar, days, project year, and whether the farm runs."""

import numpy as np

from sitefare.arrays import DAYS
from sitefare.outputs.workbook.frame import Given, Line, Sheet
from sitefare.outputs.workbook.made import Made


def sheet(made: Made) -> Sheet:
    """Return the sheet Clock, whose lines every monthly sheet reads."""
    time = made.timeline
    days = ",".join(f"{day:.0f}" for day in DAYS)
    items = (
        Given("month", "Month of the project", "month", time.month.astype(np.float64), kind="count"),
        Line(
            "calendar", "Calendar month, 1 for January", "month",
            f"{{month}}+{time.start_month - 1}-12*INT(({{month}}+{time.start_month - 1})/12)+1",
            time.calendar + 1.0, kind="count",
            note="Month 0 is the calendar month in which the appraisal date falls.",
        ),
        Line(
            "days", "Days in the month, a year of 365 days", "day", f"CHOOSE({{calendar}},{days})",
            np.asarray(DAYS[time.calendar], dtype=np.float64), kind="count",
        ),
        Line(
            "year", "Project year: 0 for month 0, 1 for months 1 to 12", "year",
            "ROUNDUP({month}/12,0)", time.year.astype(np.float64), kind="count",
        ),
        Line(
            "running", "1 while the farm runs", "1", "IF({month}>{in:project.construction},1,0)",
            time.running, kind="count",
        ),
    )  # fmt: skip
    return Sheet(
        "Clock",
        "Clock",
        "The appraisal date is the end of month 0. All monthly sheets share these columns.",
        items,
        axis="months",
        locked=frozenset({"project.construction"}),
    )
