"""What does a kilogram in the kitchen cost by each way, and what is lost before and in it?"""

from collections.abc import Mapping

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build
from sitefare.outputs.document import Column, Table
from sitefare.outputs.proposal.feeding import bound
from sitefare.outputs.proposal.view import View
from sitefare.people.distribution import DistributionInputs
from sitefare.people.handover import model_in_force
from sitefare.people.meal import GROUPS
from sitefare.questions.crossing import FARM
from sitefare.questions.routes import Route, routes, served


def kilograms_table(view: View) -> Table:
    """Return the cost of a kilogram in the kitchen, and what is lost before it."""
    f, gate = view.formats, farm_kilogram(view)
    rows = [
        (
            "This farm",
            *(f.amount(gate[k][0]) for k in GROUPS),
            "/".join(f.share(gate[k][1]) for k in GROUPS),
        )
    ]
    rows += [
        (
            route.title,
            *(f.amount(_first(route.per_kg[k])) for k in GROUPS),
            "/".join(f.share(_first(route.lost[k])) for k in GROUPS),
        )
        for route in routes(served(view.appraisal), view.base, view.appraisal.indicators).values()
    ]
    return Table(
        (
            Column("Way"),
            Column("Greens", f"{f.currency}/kg", "right"),
            Column("Fish", f"{f.currency}/kg", "right"),
            Column("Lost", "greens/fish", "right"),
        ),
        tuple(rows),
        "A kilogram that reaches the kitchen, vegetables (greens) untrimmed and fish whole",
        "Lost is the share of what is harvested or paid for: on the farm by hand-over, and diverted or "
        "left uneaten after it; for food bought or brought, on the way and between purchase and pot.",
        wide=True,
        anchor="kilograms-table",
        strong_rows=(0,),
    )


def kilogram_words(view: View, base: Mapping[str, Route]) -> str:
    """Say what a kilogram costs beside the local market, and whether losses are set alike."""
    f, gate, local = view.formats, farm_kilogram(view), base["local"]
    times = {k: f.number(gate[k][0] / _first(local.per_kg[k]), 2) for k in GROUPS}
    spoilt = {k: f.share(_first(local.lost[k])) for k in GROUPS}
    return (
        f"By the kilogram the farm costs {times['vegetables']} times the local market for vegetables and "
        f"{times['fish']} times for fish; by the person-day more, where it grows food beyond the ration, which "
        f"counts for nobody. Bought food is charged {spoilt['vegetables']} of vegetables and {spoilt['fish']} of "
        f"fish spoilt between purchase and pot; the farm's is charged what is lost by hand-over, diverted or left "
        f"uneaten, and nothing spoilt in kitchens.{_alike(view, local)}"
    )


def _alike(view: View, local: Route) -> str:
    """Say what a person-day would cost if the farm's food spoilt in kitchens as bought food does."""
    cost, part = view.value(FARM), bound(view).part
    if not 0.0 < cost < float("inf"):
        return ""
    losses = {k: _first(local.lost[k]) for k in GROUPS}
    most = losses[part] if part in losses else max(losses.values())
    f = view.formats
    return (
        f" If as much of it spoilt there, a person-day would cost about {f.money(cost / (1.0 - most))} instead of "
        f"{f.money(cost)}, and people fed would fall by {f.share(most)}."
    )


def farm_kilogram(view: View) -> dict[str, tuple[float, float]]:
    """Return the farm's cost of a kilogram in the kitchen, and the share lost by then, by group."""
    lost = build(DistributionInputs, view.base)
    strays = _first(model_in_force(view.base).inputs.leakage)
    shares = {"vegetables": lost.vegetables_loss, "fish": lost.fish_loss}
    found = {}
    for name, x in shares.items():
        kept = (1.0 - _first(x)) * (1.0 - strays)
        found[name] = (view.value(f"levelised_cost_{name}_kg") / kept, 1.0 - kept)
    return found


def _first(x: Array) -> float:
    """Return the first draw's figure."""
    return float(x[0, 0])
