"""What stands in the document of a choice beneath its first lines, each part from the same facts?

The farms of the set, what each limit costs, the sets that come next, what was passed over, every
farm that could be chosen.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.outputs.document import Block, Bullets, Cell, Column, Heading, Paragraph, Table, plain
from sitefare.outputs.numbers import Formats
from sitefare.questions.candidates import Basis, Offer
from sitefare.questions.choosing import EASED, Candidate, Chosen, Portfolio, Price
from sitefare.questions.choosing_further import LeftOut, Turn


@dataclass(frozen=True)
class Told:
    """What the document is told from."""

    found: Portfolio
    offered: Offer
    names: Mapping[str, str]
    basis: Basis
    draws: int
    seed: int
    left: tuple[LeftOut, ...]
    turns: tuple[Turn, ...]
    f: Formats

    @property
    def people_sought(self) -> bool:
        """Whether most people are sought, else least cost."""
        return self.found.terms.aim == "most_people"

    @property
    def ration(self) -> str:
        """By which ration people are counted."""
        return self.offered.candidates[0].ration

    def farm(self, one: Candidate) -> str:
        """Name a farm by place, variant and size."""
        area = self.f.number(one.bed_area, 4, "m²")
        return f"{self.names[one.site]}, {one.scenario.replace('_', ' ')}, {area}"


def counted_farms(number: int) -> str:
    """Write a count of farms."""
    return f"{number} farm" if number == 1 else f"{number} farms"


def _money_columns(f: Formats) -> tuple[Column, ...]:
    """Return the columns of people and money."""
    return (
        Column("People fed", align="right", formatter=f.number, weight=0.8),
        Column("Capital", "USD", "right", f.amount, weight=1.0),
        Column("Cost a year", "USD", "right", f.amount, weight=1.0),
    )


def _figures(one: Candidate | Chosen) -> tuple[Cell, ...]:
    """Return people and money of a farm or a set."""
    return one.people, one.capital, one.cost


def set_table(told: Told) -> Table:
    """Return the farms of the set with their sums."""
    best = told.found.best
    regions = any(one.region for one in best.farms)
    rows = [
        (told.farm(one), *([one.region or None] if regions else []), *_figures(one))
        for one in best.farms
    ]
    rows.append(("All", *([None] if regions else []), *_figures(best)))
    columns = (
        Column("Farm", weight=3.0),
        *([Column("Region", weight=1.0)] if regions else []),
        *_money_columns(told.f),
    )
    note = f"People are counted by {plain(told.ration)}."
    return Table(
        columns, tuple(rows), "The farms of the set", note, anchor="set-table",
        strong_rows=(len(best.farms),),
    )  # fmt: skip


def limits_told(told: Told) -> list[Block]:
    """Say in words what each limit costs."""
    if not told.found.prices:
        return []
    items = tuple(_limit(price, told) for price in told.found.prices)
    return [
        Heading(1, "What each limit costs", "limits"),
        Paragraph(
            f"Each limit alone is made {told.f.share(EASED)} easier and the choice made again; "
            "then the nearest bound is sought at which the set gets better."
        ),
        Bullets(items),
    ]


def _limit(price: Price, told: Told) -> str:
    """Say what one limit costs."""
    f, people = told.f, price.title.startswith("People")

    def counted(x: float) -> str:
        if people:
            return f"{f.number(x)} people"
        return counted_farms(round(x)) if price.title.startswith("Farms") else f.money(x)

    asked = (
        f"at least {counted(price.bound)}, and the set feeds {counted(price.used)}"
        if people
        else f"at most {counted(price.bound)}, of which the set uses {counted(price.used)}"
    )
    gain = "nothing"
    if price.gain and told.people_sought:
        gain = f"{f.number(price.gain)} more people" if price.gain >= 1 else "less than a person"
    elif price.gain:
        gain = f"{f.money(price.gain)} saved a year"
    turn = (
        "no other bound betters the set"
        if price.turns is None
        else f"the set gets better from {counted(_safe(price.turns, down=people))}"
    )
    eased = f"{f.share(EASED)} {'fewer' if people else 'more'} brings {gain}"
    return f"**{plain(price.title)}**: {asked}; {eased}; {turn}."


def _safe(bound: float, *, down: bool) -> float:
    """Round a bound to three figures to the side on which it still holds. [same unit]"""
    if not bound:
        return bound
    step = 10.0 ** (np.floor(np.log10(abs(bound))) - 2)
    way = np.floor if down else np.ceil
    return float(way(bound / step) * step)


def next_best(told: Told) -> list[Block]:
    """Say which sets come next, and what each has in place of what."""
    best = set(told.found.best.farms)
    rows = tuple(
        (
            _listed([one for one in other.farms if one not in best], told),
            _listed([one for one in told.found.best.farms if one not in other.farms], told),
            *_figures(other),
        )
        for other in told.found.others
    )
    if not rows:
        return []
    columns = (
        Column("Takes in", weight=2.4),
        Column("Leaves out", weight=2.4),
        *_money_columns(told.f),
    )
    return [
        Heading(1, "Sets that come next", "next"),
        Table(columns, rows, "The next-best sets, beside the set chosen", anchor="next-table"),
    ]


def _listed(farms: Sequence[Candidate], told: Told) -> str:
    """List farms in a cell."""
    return "; ".join(told.farm(one) for one in farms) or "none"


def passed_over(told: Told) -> list[Block]:
    """Say of each site without a farm why: refused, or what it would cost to give it one."""
    f = told.f
    rows: list[tuple[Cell, ...]] = []
    for one in told.left:
        if one.instead is None:
            why = "no set with a farm here satisfies the limits"
        elif not one.loss:
            why = "a set with a farm here is as good"
        elif told.people_sought:
            why = f"with a farm here the set feeds {f.number(one.loss, 2)} fewer people"
        else:
            why = f"with a farm here the set costs {f.money(one.loss)} a year more"
        rows.append((told.names[one.site], why))
    refused: dict[str, list[str]] = {}
    for title, why in told.offered.refused:
        refused.setdefault(why, []).append(title.replace("_", " "))
    rows += [("; ".join(titles), f"left out: {why}") for why, titles in refused.items()]
    if not rows:
        return []
    columns = (Column("Site or farm", weight=1.6), Column("Why it is left out", weight=3.4))
    return [
        Heading(1, "What was left out, and why", "left-out"),
        Table(columns, tuple(rows), "Sites without a farm, and farms refused", anchor="left-table"),
    ]


def every_farm(told: Told) -> Table:
    """List every farm that could be chosen."""
    best = set(told.found.best.farms)
    rows = tuple(
        (told.farm(one), *_figures(one), one.capital / one.people if one.people else None,
         "chosen" if one in best else None)
        for one in told.offered.candidates
    )  # fmt: skip
    columns = (
        Column("Farm", weight=3.0),
        *_money_columns(told.f),
        Column("Capital a person", "USD", "right", told.f.amount, weight=1.0),
        Column("In the set", weight=0.8),
    )
    return Table(
        columns, rows, "Farms that could be chosen", f"People are counted by {plain(told.ration)}.",
        wide=True, sortable=True, anchor="offered-table",
    )  # fmt: skip
