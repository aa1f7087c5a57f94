"""Which farms for the money, on what basis, and what was passed over? A document for an officer.

The set first, then what each limit costs, the sets that come next, what was left out and why, and
every farm that could have been chosen.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from sitefare import __version__
from sitefare.assumptions.case import Case
from sitefare.outputs import answers
from sitefare.outputs.charts_choice import choice
from sitefare.outputs.choice_parts import (
    Told,
    counted_farms,
    every_farm,
    limits_told,
    next_best,
    passed_over,
    set_table,
)
from sitefare.outputs.document import (
    Block,
    Caution,
    Document,
    Fact,
    Facts,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    plain,
)
from sitefare.outputs.held import held
from sitefare.outputs.numbers import Formats
from sitefare.outputs.results import package_versions
from sitefare.outputs.stored import written_whole
from sitefare.outputs.translation import translated
from sitefare.outputs.written import written
from sitefare.questions.candidates import BASES, Basis, Offer
from sitefare.questions.choosing import AIMS, Chosen, Portfolio
from sitefare.questions.choosing_further import along, left_out


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
        numbers = Path(folder) / "choice.json"
        with held(Path(folder)):
            files = written(self.document, folder, "choice", house_style)
            written_whole(numbers, answers.as_json(self.numbers).encode())
        return [*files, numbers]


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
    told = Told(found, offered, names, basis, draws, seed, left, turns, Formats(language, "USD"))
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


def _document(cases: Sequence[Case], told: Told) -> Document:
    """Build the document."""
    hashes = "\n".join(case.input_hash for case in cases)
    scenarios = dict.fromkeys(case.names.replace("_", " ") for case in cases)
    chosen = counted_farms(len(told.found.best.farms))
    metadata = Metadata(
        title=f"{chosen} chosen of {len(told.offered.candidates)}",
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
        set_table(told),
        Paragraph(_basis(told)),
        *_figure(told),
        *limits_told(told),
        *next_best(told),
        *passed_over(told),
        Heading(1, "Every farm that could be chosen", "offered"),
        every_farm(told),
        Caution(
            "Not investment advice. The choice says which farms to study first. It reckons every "
            "farm alone and looks at no permit, tenure or test: a site whose gate is shut must be "
            "taken out by hand. Quotes and a licensed engineer come before building.",
            "caution",
            "Before money is spent",
        ),
    ]
    return translated(Document(metadata, tuple(blocks)))


def _finding(told: Told) -> str:
    """Say what is chosen, whom it feeds and what it takes."""
    best, f, terms = told.found.best, told.f, told.found.terms
    if not best.farms:
        return "**No farm** is chosen: none feeds anybody within the limits."
    names = "; ".join(plain(told.farm(one)) for one in best.farms[:3])
    more = f" and {len(best.farms) - 3} more" if best.farms[3:] else ""
    within = f" of a budget of {f.money(terms.budget)}" if np.isfinite(terms.budget) else ""
    return (
        f"**{counted_farms(len(best.farms))}** feed {f.number(best.people)} people, counted by "
        f"{plain(told.ration)}: {names}{more}. Building takes {f.money(best.capital)}{within}; "
        f"all costs come to {f.money(best.cost)} a year."
    )


def _facts(told: Told) -> Facts:
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


def _basis(told: Told) -> str:
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


def _figure(told: Told) -> list[Block]:
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
