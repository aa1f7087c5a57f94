"""What is each alternative most sensitive to?"""

from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Bullets, Heading, Paragraph, plain
from sitefare.outputs.proposal.view import row_words
from sitefare.questions.lines import Line


def sensitive(seen: Seen) -> list[Block]:
    """Return the widest bars of each alternative's tornado, as a list."""
    items = tuple(_item(seen, one.line) for one in seen.shown if one.line.sensitive_to)
    words = (
        f"The assumptions that move {seen.measure.lower} most, one at a time, with the figure at each end of "
        "their range, all else as planned."
    )
    left = len(seen.shown) - len(items)
    if left:
        words += f" The first {len(items)} alternatives are taken apart so."
    heading = Heading(1, "What each is sensitive to", "sensitive")
    return [heading, Paragraph(words), *([Bullets(items)] if items else [])]


def _item(seen: Seen, line: Line) -> str:
    """Name what moves one alternative most."""
    measure = seen.measure
    rate = line.rate(measure.name)
    parts = [
        f"{plain(row_words(bar.row))} ({measure.number(bar.low_result / rate)} to "
        f"{measure.number(bar.high_result / rate)})"
        for bar in line.sensitive_to
    ]
    unit = f" ({measure.unit} at low and high)" if measure.unit else ""
    return f"**{plain(seen.name(line))}**{unit}: {'; '.join(parts)}."
