"""Who scores most by stated weights?"""

from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Heading


def score(seen: Seen) -> list[Block]:
    return [Heading(1, "A weighted score", "score")]


def score_words(seen: Seen) -> str:
    return ""
