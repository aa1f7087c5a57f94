"""Which fonts does a page need? Latin always; another script's only where its characters stand.

The page names one family everywhere. Each script's face goes under that name with its own
`unicode-range`, so text and charts need not know which face holds a character. Charts and PDF take
the same characters from NotoSans-Regular.ttf and NotoSans-Bold.ttf, which hold every script here.
"""

import base64
import re
from dataclasses import dataclass
from functools import cache

from sitefare.outputs import theme


@dataclass(frozen=True)
class Script:
    """A script, its characters as CSS writes ranges, and the font they were taken from."""

    name: str
    ranges: str
    source: str

    def face(self, weight: str) -> str:
        """Return the file that the page embeds."""
        return f"NotoSans-{weight}-{self.name}.woff2"

    def stands_in(self, text: str) -> bool:
        """Say whether a character of this script stands in a text."""
        return re.search(f"[{_pattern(self.ranges)}]", text) is not None


#: Scripts beyond Latin. Greek and Cyrillic stand in Noto Sans itself.
SCRIPTS = (
    Script("greek-cyrillic", "U+0370-052F", ""),
    Script("arabic", "U+0600-06FF", "NotoSansArabic"),
    Script("hebrew", "U+0590-05FF", "NotoSansHebrew"),
    Script("georgian", "U+10A0-10FF,U+1C90-1CBF,U+2D00-2D2F", "NotoSansGeorgian"),
    Script("armenian", "U+0530-058F", "NotoSansArmenian"),
    Script("devanagari", "U+0900-097F", "NotoSansDevanagari"),
    Script("bengali", "U+0980-09FF", "NotoSansBengali"),
    Script("thai", "U+0E00-0E7F", "NotoSansThai"),
    Script("ethiopic", "U+1200-139F", "NotoSansEthiopic"),
)

LATIN = (("Regular", 400, "normal"), ("Bold", 700, "normal"), ("Italic", 400, "italic"))
OTHER = (("Regular", 400), ("Bold", 700))

#: Signs that Greek letters share with formulas; they ask for no Greek text.
SIGNS = str.maketrans("", "", "µμΔδΣσΩωπ")


def faces(text: str) -> str:
    """Return the `@font-face` rules that a page with this text needs, fonts embedded."""
    rules = [_rule(f"NotoSans-{name}-latin.woff2", w, style) for name, w, style in LATIN]
    for script in SCRIPTS:
        if script.stands_in(text.translate(SIGNS)):
            rules += [_rule(script.face(name), w, "normal", script.ranges) for name, w in OTHER]
    return "".join(rules)


@cache
def _rule(name: str, weight: int, style: str, ranges: str = "") -> str:
    data = base64.b64encode((theme.FONTS / name).read_bytes()).decode()
    only = f"unicode-range:{ranges};" if ranges else ""
    return (
        f'@font-face{{font-family:"{theme.FAMILY}";font-weight:{weight};font-style:{style};{only}'
        f"src:url(data:font/woff2;base64,{data}) format('woff2')}}\n"
    )


def _pattern(ranges: str) -> str:
    """Return CSS ranges as those of a regular expression, in its own spelling."""
    pairs = (part.removeprefix("U+").split("-") for part in ranges.split(","))
    return "".join("-".join(f"\\u{int(end, 16):04x}" for end in pair) for pair in pairs)
