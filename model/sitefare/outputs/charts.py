"""Every chart of a proposal: plain tables in, a `Picture` out.

Each takes a small pandas frame and the document's `Formats`, and returns the finding (its
title, from the data unless given), the alt text and the two drawings. Every mark that stands for
data tells itself in a sentence, its aria-label.
"""

from sitefare.outputs.charts_cash import cash
from sitefare.outputs.charts_diet import diet, people_by_month
from sitefare.outputs.charts_farm import harvest, temperatures
from sitefare.outputs.charts_funding import sources_and_uses
from sitefare.outputs.charts_makeup import cost_makeup, cost_table
from sitefare.outputs.charts_money import waterfall
from sitefare.outputs.charts_months import energy, water
from sitefare.outputs.charts_outcome import outcome
from sitefare.outputs.charts_plan import plan
from sitefare.outputs.charts_risks import events
from sitefare.outputs.charts_sites import sites
from sitefare.outputs.charts_tornado import tornado
from sitefare.outputs.picture import ROWS, Picture

__all__ = [
    "ROWS",
    "Picture",
    "cash",
    "cost_makeup",
    "cost_table",
    "diet",
    "energy",
    "events",
    "harvest",
    "outcome",
    "people_by_month",
    "plan",
    "sites",
    "sources_and_uses",
    "temperatures",
    "tornado",
    "water",
    "waterfall",
]
