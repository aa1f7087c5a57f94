"""The tiny markup of running text: `**strong**`, `[words](#anchor)`, `[](#anchor)`, `[@source]`.

`[words](./folder/file)` links to a file beside the page, where a page is written; on paper the
words stand alone. Nothing else is special, so text reads the same in a page, on paper and in a
notebook.
"""

import re
from dataclasses import dataclass
from urllib.parse import quote, unquote

from sitefare.errors import RunError


@dataclass(frozen=True)
class Span:
    """A run of text: strong or not, what it links to, the sources it cites, if any.

    `target` is an anchor of the document, `file` a file beside it, as a relative URL.
    """

    text: str
    strong: bool = False
    target: str = ""
    cites: str = ""
    file: str = ""


#: A path that a file is linked by: parts of letters, digits, quoted signs, apart by slashes.
FILE = re.compile(r"[A-Za-z0-9._~%-]+(?:/[A-Za-z0-9._~%-]+)*")

_TOKEN = re.compile(
    r"\\([\\*\[\]])|(\*\*)|\[((?:\\.|[^\]\\])*)\]\((#|\./)([^)\s]+)\)|\[@([a-z0-9_]+(?:,[a-z0-9_]+)*)\]"
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
        elif match[6]:
            runs.append(Span(match[0], strong, cites=match[6]))
        else:
            words, aim = re.sub(r"\\(.)", r"\1", match[3]), match[5]
            runs.append(
                Span(words, strong, aim)
                if match[4] == "#"
                else Span(words or aim, strong, file=beside(aim))
            )
    runs.append(Span(text[start:], strong))
    return tuple(run for run in runs if run.text or run.target)


def beside(path: str) -> str:
    """Return the URL of a file beside the page; what leads anywhere else is refused.

    Raises
    ------
    RunError
        If a part of the path is empty, leads up, or holds what a URL's path does not.
    """
    parts = [unquote(part) for part in path.split("/")]
    leaves = any(not part.strip(". ") or set("/\\") & set(part) for part in parts)
    if leaves or not FILE.fullmatch(path):
        msg = f"a link leads to '{path}': only files in the document's folder are linked to"
        raise RunError(msg)
    return f"./{path}"


def file_link(words: str, *path: str) -> str:
    """Return the markup of a link to a file beside the page, given by folders and name."""
    return f"[{plain(words)}](./{'/'.join(quote(part, safe='') for part in path)})"


def plain(text: str) -> str:
    """Escape text from outside, so that the markup shows it exactly as it is."""
    return re.sub(r"([\\*\[\]])", r"\\\1", text)
