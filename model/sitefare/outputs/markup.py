"""The tiny markup of running text: `**strong**`, `[words](#anchor)`, `[](#anchor)`, `[@source]`.

Nothing else is special, so text reads the same in a page, on paper and in a notebook.
"""

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Span:
    """A run of text: strong or not, the anchor it links to, the sources it cites, if any."""

    text: str
    strong: bool = False
    target: str = ""
    cites: str = ""


_TOKEN = re.compile(
    r"\\([\\*\[\]])|(\*\*)|\[((?:\\.|[^\]\\])*)\]\(#([^)\s]+)\)|\[@([a-z0-9_]+(?:,[a-z0-9_]+)*)\]"
)


def spans(text: str) -> tuple[Span, ...]:
    """Split text with the tiny markup into runs; a lone `**` stays as written."""
    runs: list[Span] = []
    strong = False
    paired = len([m for m in _TOKEN.finditer(text) if m[2]]) // 2 * 2
    start = seen = 0
    for match in _TOKEN.finditer(text):
        runs.append(Span(text[start : match.start()], strong))
        start = match.end()
        if match[1]:
            runs.append(Span(match[1], strong))
        elif match[2]:
            seen += 1
            if seen > paired:
                runs.append(Span("**", strong))
            else:
                strong = not strong
        elif match[5]:
            runs.append(Span(match[0], strong, cites=match[5]))
        else:
            runs.append(Span(re.sub(r"\\(.)", r"\1", match[3]), strong, match[4]))
    runs.append(Span(text[start:], strong))
    return tuple(run for run in runs if run.text or run.target)


def plain(text: str) -> str:
    """Escape text from outside, so that the markup shows it exactly as it is."""
    return re.sub(r"([\\*\[\]])", r"\\\1", text)
