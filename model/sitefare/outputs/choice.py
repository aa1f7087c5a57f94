"""Which farms for the money, on what basis, and what was passed over? A document for an officer.

The set first, then what each limit costs, the sets that come next, what was left out and why, and
every farm that could have been chosen.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from sitefare import __version__
from sitefare.assumptions.case import Case
from sitefare.outputs import answers
from sitefare.outputs.charts_choice import choice
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Cell,
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.results import package_versions
from sitefare.outputs.translation import translated
from sitefare.outputs.written import written
from sitefare.questions.candidates import BASES, Basis, Offer
from sitefare.questions.choosing import AIMS, EASED, Candidate, Chosen, Portfolio, Price
from sitefare.questions.choosing_further import LeftOut, Turn, along, left_out


@dataclass(frozen=True)
class Choice:
    """A finished choice: its document and its numbers."""

    document: Document
    numbers: dict[str, Any]

    def write(self, folder: str | Path, house_style: str | Path = "") -> list[Path]:
        """Write choice.html, choice.pdf, choice.docx and choice.json into a folder.

        Returns
        -------
        list of Path
            The files written.
        """
        files = written(self.document, folder, "choice", house_style)
        numbers = Path(folder) / "choice.json"
        numbers.write_text(answers.as_json(self.numbers), encoding="utf-8", newline="\n")
        return [*files, numbers]


@dataclass(frozen=True)
class _Told:
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


def numbers_of(found: Portfolio, offered: Offer, basis: str) -> dict[str, Any]:
    """Return a portfolio as plain values."""
    return {
        "terms": asdict(found.terms),
        "best": _set_numbers(found.best),
        "limits": [asdict(price) for price in found.prices],
        "next_best": [_set_numbers(one) for one in found.others],
        "basis": basis,
        "refused": dict(offered.refused),
    }


def _set_numbers(chosen: Chosen) -> dict[str, Any]:
    """Return a set as plain values."""
    return {
        "farms": [asdict(farm) for farm in chosen.farms],
        "people_fed": chosen.people,
        "capital": chosen.capital,
        "cost_year": chosen.cost,
    }


def make_choice(
    cases: Sequence[Case],
    offered: Offer,
    found: Portfolio,
    basis: Basis,
    draws: int,
    seed: int,
    language: str = "en",
) -> Choice:
    """Tell a choice as a document, with what it passed over.

    Parameters
    ----------
    cases : sequence of Case
        The cases that farms were offered of.
    offered, found : Offer, Portfolio
        Farms that could be built, and what was chosen.
    basis : str
        What was counted: base, mean or careful. [choice]
    draws, seed : int
        Draws and their seed. [1]
    language : str
        Of labels, numbers and dates.
    """
    names = {case.site: case.rows["place.name"].text for case in cases}
    left, turns = left_out(offered.candidates, found), along(offered.candidates, found)
    told = _Told(found, offered, names, basis, draws, seed, left, turns, Formats(language, "USD"))
    counted = {"draws": 0 if basis == "base" else draws, "seed": seed}
    numbers = numbers_of(found, offered, basis) | {
        "left_out": [
            {"site": x.site, "loss": x.loss, "instead": x.instead and _set_numbers(x.instead)}
            for x in left
        ],
        "along": [{"bound": turn.bound, **_set_numbers(turn.best)} for turn in turns],
        "provenance": {
            "versions": package_versions(),
            "assumptions_version": cases[0].library.version,
            "input_hashes": {f"{c.site}, {c.names}": c.input_hash for c in cases},
            **counted,
        },
    }
    return Choice(_document(cases, told), numbers)


def _document(cases: Sequence[Case], told: _Told) -> Document:
    """Build the document."""
    hashes = "\n".join(case.input_hash for case in cases)
    scenarios = dict.fromkeys(case.names.replace("_", " ") for case in cases)
    metadata = Metadata(
        title=f"{_farms(len(told.found.best.farms))} chosen of {len(told.offered.candidates)}",
        site=f"{len(told.names)} sites" if len(told.names) > 1 else next(iter(told.names.values())),
        scenario=next(iter(scenarios)) if len(scenarios) == 1 else f"{len(scenarios)} variants",
        date=max(case.timeline.label(0) for case in cases),
        input_hash=hashlib.sha256(hashes.encode()).hexdigest()[:12],
        version=__version__,
        subtitle=AIMS[told.found.terms.aim].capitalize(),
        language=told.f.language,
    )
    blocks: list[Block] = [
        Heading(1, "The set", "set"),
        Paragraph(_finding(told), "lead"),
        _facts(told),
        *_demonstration(cases),
        _set_table(told),
        Paragraph(_basis(told)),
        *_figure(told),
        *_limits(told),
        *_next(told),
        *_left(told),
        Heading(1, "Every farm that could be chosen", "offered"),
        _offered(told),
        Caution(
            "Not investment advice. The choice says which farms to study first. It reckons every "
            "farm alone and looks at no permit, tenure or test: a site whose gate is shut must be "
            "taken out by hand. Quotes and a licensed engineer come before building.",
            "caution",
            "Before money is spent",
        ),
    ]
    return translated(Document(metadata, tuple(blocks)))


def _farms(number: int) -> str:
    """Write a count of farms."""
    return f"{number} farm" if number == 1 else f"{number} farms"


def _finding(told: _Told) -> str:
    """Say what is chosen, whom it feeds and what it takes."""
    best, f, terms = told.found.best, told.f, told.found.terms
    if not best.farms:
        return "**No farm** is chosen: none feeds anybody within the limits."
    names = "; ".join(plain(told.farm(one)) for one in best.farms[:3])
    more = f" and {len(best.farms) - 3} more" if best.farms[3:] else ""
    within = f" of a budget of {f.money(terms.budget)}" if np.isfinite(terms.budget) else ""
    return (
        f"**{_farms(len(best.farms))}** feed {f.number(best.people)} people, counted by "
        f"{plain(told.ration)}: {names}{more}. Building takes {f.money(best.capital)}{within}; "
        f"all costs come to {f.money(best.cost)} a year."
    )


def _facts(told: _Told) -> Facts:
    """Return the first figures as cards."""
    best, f, terms = told.found.best, told.f, told.found.terms
    left = terms.budget - best.capital
    spare = f"{f.money(left)} of the budget is left" if np.isfinite(left) else ""
    return Facts(
        (
            Fact("People fed", f.number(best.people), note=told.ration),
            Fact("Capital", f.money(best.capital), note=spare),
            Fact("Cost a year", f.money(best.cost), note="level sum worth as much as all costs"),
        ),
        lead=3,
    )


def _demonstration(cases: Sequence[Case]) -> list[Block]:
    """Say where data are invented."""
    if not any(case.demonstration for case in cases):
        return []
    words = "These places, their people and their prices are invented."
    return [Caution(words, "caution", "Demonstration data")]


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


def _set_table(told: _Told) -> Table:
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


def _basis(told: _Told) -> str:
    """Say what was counted, and what that means of a sum of farms."""
    words = f"Each farm is counted by {BASES[told.basis]}"
    if told.basis != "base":
        words += f" ({told.draws:,}, seed {told.seed})"
    words += (
        ". Whole farms are chosen, at most one a site, and the solution is the best of all sets "
        "within the limits."
    )
    if told.basis == "careful":
        words += (
            " A careful count of each farm is more careful still of their sum: farms do not all "
            "turn out badly together."
        )
    return words


def _figure(told: _Told) -> list[Block]:
    """Draw the best set along the budget, or along the people to be fed."""
    if len(told.turns) < 2:  # noqa: PLR2004
        return []
    people = told.people_sought
    best = told.found.best
    asked = told.found.terms.budget if people else told.found.terms.least_people
    here = asked if 0.0 < asked < np.inf else (best.capital if people else best.people)
    frame = pd.DataFrame(
        [
            {
                "people": turn.best.people if people else turn.bound,
                "money": turn.bound if people else turn.best.cost,
                "chosen": turn.bound == here,
            }
            for turn in told.turns
        ]
    )
    along_what = "budget" if people else "number of people to be fed"
    caption = (
        f"The best set at each {along_what} that was tried, all other limits as asked; between "
        f"two of them it may be better. People by {plain(told.ration)}."
    )
    return [Figure(choice(frame, told.f, people_sought=people), caption, anchor="choice-figure")]


def _limits(told: _Told) -> list[Block]:
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


def _limit(price: Price, told: _Told) -> str:
    """Say what one limit costs."""
    f, people = told.f, price.title.startswith("People")

    def counted(x: float) -> str:
        if people:
            return f"{f.number(x)} people"
        return _farms(round(x)) if price.title.startswith("Farms") else f.money(x)

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


def _next(told: _Told) -> list[Block]:
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


def _listed(farms: Sequence[Candidate], told: _Told) -> str:
    """List farms in a cell."""
    return "; ".join(told.farm(one) for one in farms) or "none"


def _left(told: _Told) -> list[Block]:
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
    rows += [
        (title.replace("_", " "), f"cannot be built as asked: {why}")
        for title, why in told.offered.refused
    ]
    if not rows:
        return []
    columns = (Column("Site or farm", weight=1.6), Column("Why it is left out", weight=3.4))
    return [
        Heading(1, "What was left out, and why", "left-out"),
        Table(columns, tuple(rows), "Sites without a farm, and farms refused", anchor="left-table"),
    ]


def _offered(told: _Told) -> Table:
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
