"""Lines of a comparison made up of plain numbers, with no farm behind them."""

from pathlib import Path

import numpy as np

from sitefare.questions.alternatives import Alternative
from sitefare.questions.comparing import Compared, ordered
from sitefare.questions.criteria import Criterion
from sitefare.questions.figures import RATIO
from sitefare.questions.gates import Gate
from sitefare.questions.lines import Asked, Line
from sitefare.questions.need_score import Need


def line(name, values=None, draws=None, *, shut=False, need=None, rate=1.0, facts=(1, 1)):
    """Make a line; a figure drawn and not valued at base has the middle draw there."""
    draws = {key: np.asarray(x, dtype=float) for key, x in (draws or {}).items()}
    middle = {key: float(np.sort(x)[len(x) // 2]) for key, x in draws.items()}
    return Line(
        alternative=Alternative(name, "as_planned"),
        place=name.title(),
        currency="USD" if rate == 1.0 else "GEL",
        exchange_rate=rate,
        date="2026-12",
        input_hash="0" * 16,
        demonstration=True,
        values={**middle, **(values or {})},
        draws=draws,
        spreads={},
        gates=(Gate("Tenure", "shut" if shut else "open", "made up"),),
        ration="Vegetables and fish",
        rations={},
        facts=facts,
        papers=(0, 1),
        need=None if need is None else Need(need, "0 to 10", "made up"),
        results={},
    )


def criterion(figure, weight, better="more", worst=None, best=None, key=""):
    """Make a criterion."""
    return Criterion(key or figure, figure, figure, weight, better, worst, best, "made up")


def compared(lines, by=RATIO, criteria=()):
    """Put lines in order of a figure."""
    draws = max((len(x) for one in lines for x in one.draws.values()), default=0)
    asked = Asked(Path(), "", draws, 1, by, (by,))
    return Compared(tuple(ordered(by, lines)), {}, by, draws, 1, tuple(criteria), asked)
