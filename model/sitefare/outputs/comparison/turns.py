"""What would change the order?"""

from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Heading


def turns(seen: Seen) -> list[Block]:
    return [Heading(1, "What would change the order", "turning")]


def change_words(seen: Seen) -> str:
    return ""
