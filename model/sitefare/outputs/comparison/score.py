"""Who scores most by stated weights, and how much hangs on them?"""

import pandas as pd

from sitefare.outputs.charts_score import MOST, scores
from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.naming import listed
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table, plain
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.view import sentence
from sitefare.questions.criteria import FACTS, GIVEN, PAPERS
from sitefare.questions.weighing import Change, Scale, Threshold, Weighed


def score(seen: Seen) -> list[Block]:
    """Return weights, scores by part, and how far the first hangs on the weights."""
    heading = Heading(1, "A weighted score", "score")
    found = seen.weighed
    if isinstance(found, str):
        return [heading, Paragraph(f"There is no score: {sentence(found)}.")]
    return [
        heading,
        Paragraph(
            "Each criterion runs in a straight line from 0 at its worst to 1 at its best: those of the alternatives "
            "compared, unless its table states them; its weight is what that whole step is worth beside the others'. A score is a "
            "statement of values, not a finding: whoever decides must own the weights."
        ),
        _weights(seen, found),
        _figure(seen, found),
        _scores(seen, found),
        Paragraph(_hangs(seen, found)),
        _thresholds(seen, found),
    ]


def _weights(seen: Seen, found: Weighed) -> Table:
    """Return the criteria with their weights and ends."""
    columns = (
        Column("Criterion", weight=2.2),
        Column("Share of all weight", align="right", weight=0.9),
        Column("Scores 0 at", align="right", weight=1.3),
        Column("Scores 1 at", align="right", weight=1.3),
    )
    rows = tuple(
        (
            one.criterion.title,
            seen.share(one.share),
            end_words(seen, one, one.worst),
            end_words(seen, one, one.best),
        )
        for one in found.scales
    )
    left = "; ".join(f"{plain(one.title)}: {sentence(why)}" for one, why in found.dropped)
    by: dict[str, list[str]] = {}
    for one in found.scales:
        by.setdefault(one.criterion.source.rstrip("."), []).append(lowered(one.criterion.title))
    whose = [
        f"{plain(source)} ({plain(listed(titles, len(titles)))})" if len(by) > 1 else plain(source)
        for source, titles in by.items()
    ]
    note = f"Weights are from: {'; '.join(whose)}."
    note += f" Not counted: {left}." if left else ""
    return Table(columns, rows, "Criteria and weights", note, wide=True, anchor="weights-table")


def end_words(seen: Seen, scale: Scale, x: float) -> str:
    """Write an end of a criterion's scale with its unit."""
    name = scale.criterion.figure
    if name in (FACTS, PAPERS):
        return seen.share(x)
    return seen.formats.number(x) if name in GIVEN else Measure(name, seen.formats).text(x)


def _figure(seen: Seen, found: Weighed) -> Figure:
    """Draw the highest scores by part."""
    shown = found.scores[:MOST]
    titles = {one.criterion.key: one.criterion.title for one in found.scales}
    rows = [
        {"name": seen.name(one.line), "criterion": titles[key], "part": max(part, 0.0)}
        for one in shown
        for key, part in one.parts.items()
    ]
    more = len(found.scores) - len(shown)
    caption = "What each criterion adds to the score." + (
        f" The first {len(shown)} of {len(found.scores)} are drawn." if more else ""
    )
    return Figure(scores(pd.DataFrame(rows), seen.formats), caption, anchor="score-figure")


def _scores(seen: Seen, found: Weighed) -> Table:
    """Return scores of the alternatives shown, with what they hang on."""
    shown = {one.line.name for one in seen.shown}
    drawn = any(one.chance_first is not None for one in found.scores)
    columns = (
        Column("Alternative, with its rank", weight=3),
        Column("Score, 0 to 1", align="right", weight=0.9),
        *([Column("First in this share of draws", align="right", weight=1.1)] if drawn else []),
        Column("First by this share of all weights", align="right", weight=1.2),
    )
    rows = tuple(
        (
            seen.marked(one.line),
            seen.formats.decimal(one.score, 2),
            *([seen.share(one.chance_first)] if drawn else []),
            seen.share(one.weights_first),
        )
        for one in found.scores
        if one.line.name in shown
    )
    note = (
        "The last column tries all possible weights alike: the share that puts an alternative first. One at 0 % is first "
        "by hardly any weights, or by none."
    )
    if found.unscored:
        names = seen.listed(list(found.unscored))
        note += f" Not scored, as they feed nobody by the ration: {names}."
    return Table(columns, rows, "Scores", note, wide=True, anchor="score-table")


def _hangs(seen: Seen, found: Weighed) -> str:
    """Say in words how much the first by score hangs on the weights."""
    first = found.scores[0]
    words = (
        f"**{plain(seen.name(first.line))}** stays first by score whatever the weight of any one criterion, the "
        "others kept in proportion."
    )
    nearest = _nearest(found)
    if nearest is None:
        return words
    scale, change = nearest
    return (
        f"The first place by score hangs most on {plain(lowered(scale.criterion.title))}: it has "
        f"{seen.share(scale.share)} of all weight, and at {seen.share(change.share)}, the others kept in "
        f"proportion, {plain(seen.name(change.line))} comes first."
    )


def _nearest(found: Weighed) -> tuple[Scale, Change] | None:
    """Return the smallest change of one weight that changes the first."""
    changes = [
        (one.scale, change)
        for one in found.thresholds
        for change in (one.below, one.above)
        if change is not None
    ]
    return min(changes, key=lambda x: abs(x[1].share - x[0].share)) if changes else None


def _thresholds(seen: Seen, found: Weighed) -> Table:
    """Return the weight of each criterion at which the first changes, and who comes then."""
    columns = (
        Column("Criterion", weight=2),
        Column("Share of all weight", align="right", weight=0.9),
        Column("The first changes below", weight=2),
        Column("The first changes above", weight=2),
    )
    rows = tuple(_threshold(seen, one) for one in found.thresholds)
    return Table(
        columns, rows, "Weights at which the first by score changes", wide=True,
        anchor="thresholds-table",
    )  # fmt: skip


def _threshold(seen: Seen, one: Threshold) -> tuple[str, ...]:
    """Write how far one criterion's weight may move."""
    return (
        one.scale.criterion.title,
        seen.share(one.scale.share),
        *(_change(seen, change) for change in (one.below, one.above)),
    )


def _change(seen: Seen, change: Change | None) -> str:
    """Write a weight and who comes first beyond it."""
    if change is None:
        return "never"
    return f"{seen.share(change.share)}: {seen.mark(change.line)}. {seen.name(change.line)}"


def score_words(seen: Seen) -> str:
    """Say on the first page who scores most and whether it is the first; empty with no score."""
    found = seen.weighed
    if isinstance(found, str):
        return ""
    best = found.scores[0]
    who = plain(seen.name(best.line))
    lead = f"{who} scores most"
    if seen.first is not None and best.line.name == seen.first.line.name:
        lead = f"{who} also scores most"
    elif seen.first is not None:
        lead += f", not the first by {seen.measure.lower}"
    drawn = (
        f" and in {seen.share(best.chance_first)} of draws" if best.chance_first is not None else ""
    )
    return (
        f"{lead}: {seen.formats.decimal(best.score, 2)} of 1 by the weights stated. It is first by "
        f"{seen.share(best.weights_first)} of all possible weights{drawn} (see [](#score-table))."
    )
