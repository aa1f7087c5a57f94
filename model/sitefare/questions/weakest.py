"""Which three numbers is the answer weakest on?

A number is weak when it moves the answer and nobody has measured, quoted or published it:
bars of the tornado whose basis is judgement, practice or invented, widest first. Rows redrawn
each year are left out: their bar holds one year's end for the whole life.
"""

from sitefare.questions.tornado import Bar, Tornado

#: Bases that no document stands behind.
UNSUPPORTED = ("judgement", "invented", "practice")


def weakest(tornado: Tornado, count: int = 3) -> list[Bar]:
    """Return the widest bars that rest on judgement, practice or invention."""
    found = [b for b in tornado.bars if b.row.basis in UNSUPPORTED and b.row.varies != "year"]
    return [bar for bar in found if bar.width > 0][:count]


def unsupported_share(tornado: Tornado) -> float:
    """Return the share of the summed squared bar widths on unsupported rows. [1]"""
    finite = [bar for bar in tornado.bars if bar.width < float("inf")]
    total = sum(bar.width**2 for bar in finite)
    soft = sum(bar.width**2 for bar in finite if bar.row.basis in UNSUPPORTED)
    return soft / total if total else 0.0
