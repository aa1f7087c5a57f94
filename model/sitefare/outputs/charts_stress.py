"""What a bad event does to cash: the base and the worst events month by month."""

import altair as alt
import pandas as pd

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.labels import TOLD
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import ROWS, Chart, Picture

#: Lines at most.
MOST = 3


def stressed_cash(
    lines: dict[str, list[float]], formats: Formats, *, base: str = "Base"
) -> Picture:
    """Return cash at month ends, with the funding planned, in the base and under events.

    Parameters
    ----------
    lines : dict of list, each months + 1 long
        Cash by month for the base, first, and for each event by its title. [money]
    """
    if base not in lines or not 1 < len(lines) <= MOST:
        msg = f"a chart of stressed cash needs '{base}' and one or two events"
        raise RunError(msg)
    months = len(lines[base]) - 1
    step = _months_between(months, len(lines))
    divisor, word = scale_of([x for line in lines.values() for x in line])
    data = pd.DataFrame(
        [
            {
                "what": name,
                "year": month / 12.0,
                "cash": line[month] / divisor,
                "told": f"{name}, end of year {month // 12}: {formats.money(line[month])}",
            }
            for name, line in lines.items()
            for month in range(0, months + 1, step)
        ]
    )
    names = list(lines)
    title = f"Cash [{f'{word} ' if word else ''}{formats.currency}]"

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _lines(data, names, title, narrow=narrow)

    worst = max((n for n in names if n != base), key=lambda n: _lost(lines[base], lines[n]))
    lost = formats.money(_lost(lines[base], lines[worst]))
    finding = f"{worst}: up to {lost} less cash than in the base"
    told = "; ".join(f"{n}: lowest {formats.money(min(line))}" for n, line in lines.items())
    words = f"Cash at month ends with the funding planned. {finding}. {told}."
    return Picture(finding, words, draw, formats.language)


def _lines(data: pd.DataFrame, names: list[str], title: str, *, narrow: bool) -> Chart:
    """Draw the lines with a point at each year's end."""
    colours = [theme.INK, theme.PALETTE["brick"], theme.PALETTE["ochre"]][: len(names)]
    x = alt.X(
        "year:Q",
        title="Project year",
        axis=alt.Axis(tickMinStep=1, tickCount=6 if narrow else 15),
        scale=alt.Scale(nice=False),
    )
    y = alt.Y("cash:Q", title=title, axis=alt.Axis(grid=True, tickCount=6, format=",~r"))
    key = alt.Legend(columns=1, symbolType="stroke", symbolStrokeWidth=3, symbolSize=300)
    scale = alt.Scale(domain=names, range=colours)
    dashes = alt.Scale(domain=names, range=[[1, 0], [6, 3], [2, 2]][: len(names)])
    line = alt.Chart(data).mark_line(strokeWidth=2.2, aria=False)
    points = alt.Chart(data[data["year"] % 1.0 == 0.0]).mark_point(size=26, filled=True, opacity=1)
    zero = alt.Chart(pd.DataFrame({"cash": [0.0]})).mark_rule(color=theme.MUTED, aria=False)
    both = alt.layer(
        zero.encode(y=y),
        line.encode(
            x=x,
            y=y,
            color=alt.Color("what:N", scale=scale, legend=key),
            strokeDash=alt.StrokeDash("what:N", scale=dashes, legend=None),
        ),
        points.encode(
            x=x, y=y, color=alt.Color("what:N", scale=scale, legend=None), description=TOLD
        ),
    )
    return both.properties(height=240 if narrow else 280)


def _months_between(months: int, lines: int) -> int:
    """Return the months between two points, so that lines and years' ends fit their rows."""
    for step in (1, 2, 3, 4, 6, 12):
        if lines * (months // step + 1 + months // 12 + 1) < ROWS:
            return step
    return 24


def _lost(base: list[float], line: list[float]) -> float:
    """Return the greatest shortfall of a line against the base. [money]"""
    return max(b - x for b, x in zip(base, line, strict=True))
