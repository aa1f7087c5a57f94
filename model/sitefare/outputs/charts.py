"""Every chart of a proposal: plain tables in, a `Picture` out.

Each takes a small pandas frame and the document's `Formats`, and returns the finding (its
title, from the data unless given), the alt text and the two drawings.
"""

from sitefare.outputs.charts_diet import diet, people_by_month
from sitefare.outputs.charts_farm import energy, harvest, temperatures, water
from sitefare.outputs.charts_money import cash, cost_makeup, waterfall
from sitefare.outputs.charts_project import plan, sites
from sitefare.outputs.charts_tornado import tornado
from sitefare.outputs.picture import ROWS, Picture

__all__ = [
    "ROWS",
    "Picture",
    "cash",
    "cost_makeup",
    "diet",
    "energy",
    "harvest",
    "people_by_month",
    "plan",
    "sites",
    "temperatures",
    "tornado",
    "water",
    "waterfall",
]
