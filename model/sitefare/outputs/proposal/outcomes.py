"""How do the draws of the two headline answers lie, and how many fall on each side of yes and no?"""

import numpy as np

from sitefare.outputs import charts
from sitefare.outputs.charts_outcome import FEWEST
from sitefare.outputs.document import Block, Figure
from sitefare.outputs.proposal.view import View

COST, LOCAL = "cost_per_person_day", "alternative_cost_person_day"


def outcomes(view: View) -> list[Block]:
    """Return the charts of the draws of cost per person-day and of net present value."""
    return [*_cost(view), *_worth(view)]


def _cost(view: View) -> list[Block]:
    """Draw cost per person-day against the same food bought locally in the same draw."""
    if not view.drawn.count:
        return []
    draws, local = view.drawn.draws[COST][:, 0], view.drawn.draws[LOCAL][:, 0]
    if int(np.isfinite(draws).sum()) < FEWEST:
        return []
    picture = charts.outcome(
        draws,
        draws < local,
        view.formats,
        quantity="Cost per person-day",
        unit=f"{view.formats.currency}/person-day",
        sides=("below the local price of the same food", "at or above the local price"),
        base=view.value(COST),
        turn=view.value(LOCAL),
        turn_words="local price",
        never="nobody is fed, so no cost",
    )
    return [
        Figure(
            picture,
            "Each draw's cost is held against the local price of the same draw; the dashed line is that "
            "price in the base case. The bar below holds 8 in 10 draws, its dot the middle one. The "
            "outermost bars gather what lies beyond.",
            anchor="cost-outcome",
            half=True,
        )
    ]


def _worth(view: View) -> list[Block]:
    """Draw net present value on both sides of zero."""
    if not view.drawn.count:
        return []
    draws = view.drawn.draws["npv"][:, 0]
    if int(np.isfinite(draws).sum()) < FEWEST:
        return []
    picture = charts.outcome(
        draws,
        draws >= 0.0,
        view.formats,
        quantity="Net present value",
        sides=("zero or more", "below zero"),
        base=view.value("npv"),
        turn=0.0,
        turn_words="pays its cost",
        never="no answer",
    )
    return [
        Figure(
            picture,
            "Project view, before funding, constant prices. The bar below holds 8 in 10 draws, its dot "
            "the middle one; the outermost bars gather what lies beyond.",
            anchor="npv-outcome",
            half=True,
        )
    ]
