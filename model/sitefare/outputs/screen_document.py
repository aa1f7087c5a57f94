"""Which of many places first? A screen as a document: the map, the order, what was left out.

Places are judged by one scenario and on common draws. Money is shown in US dollars at the
appraisal-date rate, so that places with different currencies stand side by side.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from sitefare import __version__
from sitefare.outputs.charts_map import places_map
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Document,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.screen import compared, mapped, printed_indicator
from sitefare.outputs.translation import translated
from sitefare.questions.screening import Asked, less_is_better, parted

#: Comparisons as they are printed.
SIGNS = {"<=": "≤", ">=": "≥", "<": "<", ">": ">"}

#: Reasons that a document tells one by one; the rest are counted.
TOLD = 20


@dataclass(frozen=True)
class Screened:
    """A finished screen: all lines, those kept in order, and how they were kept and ordered.

    `failed` holds reasons by place; `first` is how many places the document shows.
    """

    lines: pd.DataFrame
    kept: pd.DataFrame
    failed: Mapping[str, str]
    asked: Asked
    by: str
    conditions: Sequence[str]
    first: int


def screen_document(made: Screened, language: str = "en") -> Document:
    """Build the document of a screen."""
    f = Formats(language, "USD")
    done = made.lines[made.lines["status"] == "done"]
    words = [word for word in (made.asked.design, made.asked.scenario) if word]
    hashes = "".join(sorted(done["input_hash"].astype(str))) if len(done) else ""
    metadata = Metadata(
        title=f"{_places(len(made.lines), f)} screened for an aquaponic farm",
        site=_places(len(made.lines), f),
        scenario=", ".join(words).replace("_", " "),
        date=max(done["appraisal_date"]) if len(done) else "1970-01",
        input_hash=hashlib.sha256(hashes.encode()).hexdigest()[:16],
        version=__version__,
        language=language,
    )
    blocks: list[Block] = [
        Heading(1, "Where to look first", "first"),
        Paragraph(_lead(made, f), "lead"),
        *_demonstration(done),
        *_map(made, f),
        *([_table(made, f)] if len(made.kept) else []),
        Heading(1, "How places were screened", "how"),
        Bullets(tuple(_how(made, done, f))),
        Heading(1, "What is not in the order", "left-out"),
        Bullets(tuple(_left_out(made, done, f))),
        Caution(
            "A screen says where to look first. A place holds the values of the site it is like "
            "wherever its line gives none: before anything is promised, fill in its own facts, "
            "test its water, and appraise it as a site. Not investment advice; quotes and a "
            "licensed engineer come before building.",
            "caution",
            "Before money is spent",
        ),
    ]
    return translated(Document(metadata, tuple(blocks)))


def _demonstration(done: pd.DataFrame) -> list[Block]:
    """Say that places rest on invented rows, if any does."""
    if not len(done) or not done["demonstration"].any():
        return []
    words = "Some rows that these places rest on are invented."
    return [Caution(words, "caution", "Demonstration data")]


def _lead(made: Screened, f: Formats) -> str:
    """Say how many places were kept and which comes first."""
    asked = f" that meet {_joined(made.conditions)}" if made.conditions else ""
    verb = "is" if len(made.kept) == 1 else "are"
    counted = f"{f.count(len(made.kept))} of {f.count(len(made.lines))} places {verb} kept{asked}."
    open_ones = made.kept[made.kept["gates_shut"] == ""]
    if not len(open_ones):
        shut = " None of them has all its gates open." if len(made.kept) else ""
        return counted + shut
    best = compared(open_ones.head(1), made.by).iloc[0]
    quantity = printed_indicator(made.by)
    if pd.isna(best["value"]):
        what = quantity.partition(" [")[0].lower()
        return f"{counted} No place has an answer for {what}, so nothing orders them."
    ends = f.span(best["low"], best["high"], f.number)
    ranged = f" ({ends} in 8 of 10 draws)" if ends else ""
    return (
        f"**{plain(str(best['place']))}** comes first. {quantity}: "
        f"{f.number(float(best['value']))}{ranged}. {counted}"
    )


def _joined(conditions: Sequence[str]) -> str:
    """Write conditions as words: an indicator's title and signs of print."""
    words = []
    for condition in conditions:
        name, sign, bound = parted(condition)
        title = printed_indicator(name).partition(" [")[0]
        words.append(plain(f"{title[0].lower()}{title[1:]} {SIGNS[sign]} {bound:,.10g}"))
    return " and ".join(words)


def _map(made: Screened, f: Formats) -> list[Block]:
    """Draw the places kept that have a longitude and an answer."""
    frame = mapped(made.kept, made.by)
    if frame is None:
        return []
    quantity = printed_indicator(made.by)
    picture = places_map(frame, quantity, f, less_is_better=less_is_better(made.by))
    words = (
        "Places kept, in degrees of longitude and latitude; dark is better. No outlines are drawn."
    )
    return [Figure(picture, words, anchor="places-map")]


def _table(made: Screened, f: Formats) -> Table:
    """Return the first places in order."""
    shown = compared(made.kept.head(made.first), made.by)
    rows = tuple(
        (
            str(number) if not line["gates_shut"] else "not ranked",
            str(line["place"]),
            str(line["like"]),
            _known(line["value"]),
            f.span(line["low"], line["high"], f.number),
            _known(line["people_fed"]),
            _known(line["cost_per_person_day"]),
            _known(line["capex"]),
            str(line["gates_shut"]) or "none",
            _known(line["values_given"]),
        )
        for number, (_, line) in enumerate(shown.iterrows(), 1)
    )
    title, _, unit = printed_indicator(made.by).partition(" [")
    columns = (
        Column("Rank", weight=0.8),
        Column("Place", weight=1.6),
        Column("Like", weight=1.3),
        Column(title, unit.rstrip("]"), "right", f.number, weight=1.4),
        Column("P10–P90", align="right", weight=1.2),
        Column("People fed", align="right", formatter=f.number, weight=0.9),
        Column("Person-day", "USD", "right", f.amount, weight=1),
        Column("Capital", "USD", "right", f.amount, weight=1),
        Column("Gates shut", weight=1.4),
        Column("Values of its own", align="right", formatter=f.count, weight=1),
    )
    rations = "; ".join(plain(x) for x in sorted(set(made.kept["ration"])))
    note = f"People are counted by {rations}. All places stand in places.parquet."
    caption = f"The first {len(rows)} of {_places(len(made.kept), f)} kept"
    return Table(columns, rows, caption, note, wide=True, sortable=True, anchor="places-table")


def _places(number: int, f: Formats) -> str:
    """Write a count of places."""
    return f"{f.count(number)} {'place' if number == 1 else 'places'}"


def _known(x: float) -> float | None:
    return None if pd.isna(x) else float(x)


def _how(made: Screened, done: pd.DataFrame, f: Formats) -> list[str]:
    """Say what places were judged by."""
    design = f", design {plain(made.asked.design.replace('_', ' '))}" if made.asked.design else ""
    scenario = plain(made.asked.scenario.replace("_", " "))
    way = "least" if less_is_better(made.by) else "most"
    quantity = printed_indicator(made.by).partition(" [")[0].lower()
    words = [
        (
            f"Scenario {scenario}{design}; {f.count(made.asked.draws)} draws common to all "
            f"places, seed {made.asked.seed}."
        ),
        (
            f"Order: {quantity}, {way} first; a place with a gate shut comes after all others "
            "and is not ranked."
        ),
    ]
    if made.conditions:
        words.append(f"Kept: places with {_joined(made.conditions)}, money in US dollars.")
    if made.asked.settings:
        words.append(f"Set for all: {'; '.join(plain(x) for x in made.asked.settings)}.")
    if len(done):
        rates = done[done["currency"] != "USD"].groupby("currency")["exchange_rate"]
        told = [
            f"{currency} {f.span(low, high, f.number) if low < high else f.number(low)}"
            for currency, low, high in zip(rates.min().index, rates.min(), rates.max(), strict=True)
        ]
        if told:
            words.append(f"One US dollar is {', '.join(told)} at the appraisal date.")
    return words


def _left_out(made: Screened, done: pd.DataFrame, f: Formats) -> list[str]:
    """Say which places are not ranked and why; many of them are counted."""
    words = [f"**{plain(place)}**: {plain(why)}" for place, why in list(made.failed.items())[:TOLD]]
    if len(made.failed) > TOLD:
        more = _places(len(made.failed) - TOLD, f)
        words.append(f"Besides these, {more} could not be appraised.")
    unmet = len(done) - len(made.kept)
    if unmet:
        verb = "does" if unmet == 1 else "do"
        words.append(f"{_places(unmet, f)} {verb} not meet the conditions.")
    shut = made.kept[made.kept["gates_shut"] != ""]
    if len(shut):
        titles = sorted({title for cell in shut["gates_shut"] for title in cell.split("; ")})
        gates = "; ".join(plain(title) for title in titles)
        verb = "has" if len(shut) == 1 else "have"
        words.append(f"{_places(len(shut), f)} {verb} a gate shut: {gates}.")
    return words or ["Nothing: every place of the table is in the order."]
