"""Which first, how surely, what is not ranked and why, and what would change it?"""

import math
from collections.abc import Mapping

from sitefare.outputs.comparison import gates
from sitefare.outputs.comparison.measure import people
from sitefare.outputs.comparison.naming import listed
from sitefare.outputs.comparison.score import score_words
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.comparison.turns import change_words
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Fact,
    Facts,
    Heading,
    Paragraph,
    plain,
)
from sitefare.questions.figures import RATIO
from sitefare.questions.ranking import unanswered

#: Chance of being best from which a first place is told as likely. [1]
EVEN = 0.5

#: Share of draws without any answer that is told. [1]
LEAST = 0.005

#: Chance of being best from which another alternative is named beside the first. [1]
NAMED = 0.05


#: What no rank says.
ADVICE = Caution(
    "Not investment advice. A rank says which alternative to study first, not what to build; "
    "quotes and a licensed engineer come before building.",
    "caution",
    "Before money is spent",
)


def answer(seen: Seen) -> list[Block]:
    """Return the first page: the answer, its cards, and what it hangs on."""
    blocks: list[Block] = [Heading(1, "The answer", "answer"), *_cautions(seen)]
    blocks.append(Paragraph(lead(seen), "lead"))
    if seen.first is not None:
        blocks.append(Facts(_cards(seen)))
    items = [
        *sure(seen),
        *local(seen),
        *_both(seen),
        *_score(seen),
        *_change(seen),
        *unranked(seen),
    ]
    items.append(_facts(seen))
    return [*blocks, Bullets(tuple(items)), ADVICE]


def _cautions(seen: Seen) -> list[Block]:
    """Say that data are invented, and what cannot be built."""
    found: list[Block] = []
    invented = [line.demonstration for line in seen.compared.lines]
    if any(invented):
        which = "These places" if all(invented) else "Some places"
        words = f"{which}, their people and their prices are invented."
        found.append(Caution(words, "caution", "Demonstration data"))
    lost = set(seen.compared.failed)
    for failed, title in (
        (False, "Cannot be built or run safely as asked"),
        (True, "Not appraised: the work came to no end"),
    ):
        refused = {x: why for x, why in seen.compared.refused.items() if (x in lost) == failed}
        if refused:
            found.append(Caution(_refusals(refused), "stop", title))
    return found


def _refusals(refused: Mapping[str, str]) -> str:
    """Tell the first reasons, and how many more there are."""
    shown = list(refused.items())[:REFUSED]
    words = "; ".join(f"{plain(name)}: {plain(why)}" for name, why in shown)
    if len(refused) > len(shown):
        words += f"; and {len(refused) - len(shown)} more, in comparison.json"
    return words


#: Refused alternatives that the first page tells the reason of.
REFUSED = 6


def lead(seen: Seen) -> str:
    """Say which alternative comes first, by what, and by which ration."""
    ranked = seen.ranked
    if not ranked:
        return f"No alternative is ranked: a gate is shut at each of the {len(seen.all)}."
    if seen.first is None:
        return (
            f"None of the {len(ranked)} ranked has an answer by {seen.measure.lower}, so none comes first"
            f"{_why_none(seen)}."
        )
    by, line = seen.compared.by, seen.first.line
    span = seen.measure.span(*line.usd_ends(by))
    told = f" ({span} in 8 of 10 draws)" if span else ""
    own = "." in by  # the figure names a ration of its own
    counted = (
        f"{'All else counts people' if own else 'People are counted'} by one ration everywhere"
    )
    return (
        f"**{plain(seen.name(line))}** comes first of {len(ranked)} ranked by {seen.measure.lower}: "
        f"{plain(seen.measure.text(line.usd(by)))}{told}. {counted}: {plain(seen.ration)}."
    )


def _why_none(seen: Seen) -> str:
    """Say why no alternative ranked has an answer, where it is that none feeds anybody."""
    fed = any(one.line.values["people_fed"] > 0 for one in seen.ranked)
    return "" if fed else ": nobody is fed in every month of a full year"


def _cards(seen: Seen) -> tuple[Fact, ...]:
    """Return the cards of the first alternative."""
    assert seen.first is not None  # noqa: S101 the caller has asked
    line, f = seen.first.line, seen.formats
    low, high = line.usd_ends("people_fed")
    cost = line.usd_ends("cost_per_person_day")
    chance = seen.first.chance_best
    return (
        Fact(
            "Chance of being best",
            seen.share(chance) if seen.compared.draws else "no draws",
            note=f"on {f.count(seen.compared.draws)} common draws" if seen.compared.draws else "",
        ),
        Fact(
            "People it would feed",
            people(line.values["people_fed"], f),
            range=f.span(low, high, lambda x: people(x, f)),
        ),
        Fact(
            "Cost of a person-day",
            f.money(line.usd("cost_per_person_day")),
            range=f.span(*cost, f.money),
        ),
    )


def sure(seen: Seen) -> list[str]:
    """Say how often the first is the best, who else is, and what is regretted."""
    if seen.first is None or not seen.compared.draws:
        return []
    chance = seen.first.chance_best or 0.0
    others = sorted(
        (one for one in seen.ranked if one is not seen.first and (one.chance_best or 0.0) >= NAMED),
        key=lambda one: -(one.chance_best or 0.0),
    )
    words = f"**How surely.** It is the best in {seen.share(chance)} of the draws"
    named = [f"{plain(seen.name(one.line))} in {seen.share(one.chance_best)}" for one in others]
    none = unanswered(seen.compared, seen.compared.by) or 0.0
    if none >= LEAST:
        named.append(f"in {seen.share(none)} none has an answer")
    words += f"; {listed(named, 3)}." if named else "."
    if others and (others[0].chance_best or 0.0) > chance:
        words += f" {plain(seen.name(others[0].line))} is the best in more draws than the first, which leads as planned."
    if chance < EVEN and others:
        words += " That is less than an even chance: read these as a short list, not as a winner."
    elif others:
        words += " Ranks below it are less sure than the first."
    if seen.is_outside(seen.first.line):
        words += f" Its base is kinder than most draws: {seen.as_good(seen.first.line)} do as well."
    regret = seen.regret_words
    return [words, f"**Regret.** {regret}"] if regret else [words]


def local(seen: Seen) -> list[str]:
    """Hold the first against the local price of the same food."""
    if seen.first is None:
        return []
    line, f = seen.first.line, seen.formats
    ratio = line.usd(RATIO)
    if not math.isfinite(ratio):
        return []
    cost, price = (
        f.money(line.usd(x)) for x in ("cost_per_person_day", "alternative_cost_person_day")
    )
    words = (
        f"**Beside the local price.** A person-day costs {plain(cost)} at the first; the same food bought locally costs "
        f"{plain(price)}."
    )
    cheaper = [x for x in seen.compared.ranked if x.usd(RATIO) < 1]
    if not cheaper:
        return [f"{words} No alternative ranked brings the food for less than its local price."]
    return [
        f"{words} {len(cheaper)} of {len(seen.compared.ranked)} ranked bring the food for less than its local price."
    ]


def _both(seen: Seen) -> list[str]:
    """Say which stand on the efficient edge."""
    words = seen.edge_words
    return [f"**On two criteria.** {plain(words)} (see [](#edge-figure))."] if words else []


def _score(seen: Seen) -> list[str]:
    """Say who scores most, and whether the order agrees."""
    words = score_words(seen)
    return [f"**By a weighted score.** {words}"] if words else []


def _change(seen: Seen) -> list[str]:
    """Say what would change the first place."""
    words = change_words(seen)
    return [f"**What would change it.** {words}"] if words else []


def unranked(seen: Seen) -> list[str]:
    """Say what is not ranked and why, and who feeds nobody."""
    found = []
    why = gates.reasons(seen)
    if why:
        found.append(f"**Not ranked while a gate is shut.** {why}.{_were_it_open(seen)}")
    if seen.first is not None:
        none = [
            plain(seen.name(one.line))
            for one in seen.ranked
            if seen.finite(one.line.usd(seen.compared.by)) is None
        ]
        if none:
            found.append(f"**Last, with no answer by {seen.measure.lower}.** {listed(none)}.")
    return found


def _were_it_open(seen: Seen) -> str:
    """Name those that would come before the first if their gates were open; empty with none."""
    before = seen.would_be_first
    if not before:
        return ""
    were = "its gate" if len(before) == 1 else "their gates"
    return f" With {were} open {seen.listed(list(before))} would come before the first."


def _facts(seen: Seen) -> str:
    """Say what rests on defaults, and whether need is scored."""
    places = {line.place: line for line in seen.compared.lines}
    counts = sorted({line.facts for line in places.values()})
    (least, _), (most, asked) = counts[0], counts[-1]
    many = str(least) if least == most else f"{least} to {most}"
    words = f"{many} of {asked} site facts are supplied; the rest are wide defaults."
    if seen.weak:
        at = "every place" if len(seen.weak) == len(places) else plain(listed(seen.weak))
        words += (
            f" Fewer than half are at {at}: what rests on defaults is known less well than its range "
            "shows."
        )
    scored = {line.place: line for line in seen.compared.ranked} or places
    lacking = [plain(name) for name, line in scored.items() if line.need is None]
    if len(lacking) == len(scored):
        words += " No need score is given, so need plays no part."
    elif lacking:
        words += f" No need score is given for {listed(lacking)}, so need plays no part."
    else:
        words += " Need scores are the user's own, with their sources under the table."
    return f"**What it rests on.** {words}"
