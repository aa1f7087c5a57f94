"""Rebuild the fonts of other scripts: python tests/subset_fonts.py FOLDER.

FOLDER holds the Noto fonts as Debian's package fonts-noto-core installs them. Needs fontTools and
brotli. The scripts are merged into our own NotoSans-Regular.ttf and NotoSans-Bold.ttf, which serve
charts and PDF: a drawing that mixes scripts in one line then needs no second font, which the
renderers of charts look for in ways that fail. The page embeds one .woff2 a script.
"""

import sys
import tempfile
from pathlib import Path

from fontTools import subset
from fontTools.merge import Merger, Options
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

from sitefare.outputs.theme import FONTS, MEASURED
from sitefare.outputs.typefaces import SCRIPTS

#: Marks that steer direction and joining; a font without a glyph for them fails in drawings.
MARKS = (*range(0x200B, 0x2010), *range(0x2066, 0x206A))

#: Characters of our own fonts: Latin, Greek, Cyrillic, signs; no other script.
OWN = "U+0000-052F,U+1E00-2BFF,U+FB00-FB06"

#: Records of a font's name that say its family.
FAMILY_NAMES = (1, 16)

#: Measures of a line that stay those of Noto Sans.
LINE = {"hhea": ("ascent", "descent", "lineGap")} | {
    "OS/2": ("sTypoAscender", "sTypoDescender", "sTypoLineGap", "usWinAscent", "usWinDescent")
}


def cut(source, target, ranges, *more):
    """Write a subset of a font with every layout rule its characters ask for."""
    options = ("--layout-features=*", "--no-hinting", "--name-IDs=0,1,2,3,4,5,6,13,14")
    unicodes = f"--unicodes={ranges}"
    subset.main([str(source), unicodes, f"--output-file={target}", *options, *more])
    return target


def measuring(weight):
    """Cut our font of one weight to what widths of charts' texts rest on, under its own name."""
    target = FONTS / f"Measured-{weight}.ttf"
    cut(FONTS / f"NotoSans-{weight}.ttf", target, OWN, "--layout-features=kern")
    font = TTFont(target, recalcTimestamp=False)
    for record in font["name"].names:
        if record.nameID in FAMILY_NAMES:
            record.string = MEASURED
    font.save(target)


def mark(font):
    """Give a font an empty glyph for each mark that it lacks."""
    lacking = [code for code in MARKS if code not in font.getBestCmap()]
    if not lacking:
        return
    font.setGlyphOrder([*font.getGlyphOrder(), "nomark"])
    font["glyf"]["nomark"] = TTGlyphPen(None).glyph()
    font["hmtx"]["nomark"] = (0, 0)
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap.update(dict.fromkeys(lacking, "nomark"))


def rebuild(weight, folder, scratch):
    """Merge every script into our font of one weight; cut the page's faces."""
    target = FONTS / f"NotoSans-{weight}.ttf"
    own = cut(target, scratch / f"own-{weight}.ttf", OWN)
    parts = [own]
    for script in SCRIPTS:
        source = own
        if script.source:
            named = f"{script.source}-{weight}.ttf"
            source = cut(folder / named, scratch / named, script.ranges)
            parts.append(source)
        cut(source, FONTS / script.face(weight), script.ranges, "--flavor=woff2")
    merged = Merger(Options(drop_tables=["gasp", "meta", "STAT"])).merge([str(p) for p in parts])
    first = TTFont(own)
    merged["name"] = first["name"]
    for table, fields in LINE.items():
        for field in fields:
            setattr(merged[table], field, getattr(first[table], field))
    mark(merged)
    merged["head"].modified = merged["head"].created = first["head"].created
    merged.recalcTimestamp = False
    merged.save(target)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        for weight in ("Regular", "Bold"):
            rebuild(weight, Path(sys.argv[1]), Path(scratch))
            measuring(weight)
