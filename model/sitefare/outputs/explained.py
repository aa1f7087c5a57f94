"""How does an explanation read: as a table of terms, and as a chart?"""

import math

import pandas as pd
from rich.table import Table
from rich.text import Text

from sitefare.errors import RunError
from sitefare.outputs import charts
from sitefare.outputs.lines import term_name
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Picture
from sitefare.outputs.terminal import shown
from sitefare.questions.explaining import Explanation


def explained_frame(made: Explanation) -> pd.DataFrame:
    """Return the terms, largest first: what, group, amount in the indicator's unit, rows."""
    return pd.DataFrame(
        [(term_name(t.name), t.group, t.amount, ", ".join(t.rows)) for t in made.terms],
        columns=["what", "group", "amount", "rows"],
    )


def explained_chart(made: Explanation, formats: Formats) -> Picture:
    """Return the terms as a waterfall; where years are the answer, cumulative money by year.

    Raises
    ------
    RunError
        If there is nothing to draw.
    """
    if not made.terms:
        msg = f"{made.indicator} has no terms to draw: {made.reason or made.words}"
        raise RunError(msg)
    if made.path:
        net = [b - a for a, b in zip((0.0, *made.path), made.path, strict=False)]
        years = list(range(len(made.path)))
        frame = pd.DataFrame({"year": years, "net": net, "cumulative": made.path})
        return charts.cash(frame, formats)
    unit = "share" if made.terms_unit == "1" and made.unit != "1" else made.terms_unit
    title = made.title if made.total else f"The sum at this {made.title.lower()}"
    return charts.waterfall(explained_frame(made), formats, title, unit)


def explained_table(made: Explanation) -> Table:
    """Lay an explanation out for the terminal."""
    head = shown(made.value if math.isfinite(made.value) else None)
    said = f"{made.title}: {head} {made.unit}" + (f" ({made.reason})" if made.reason else "")
    table = Table(title=f"{said}\n{made.words}", box=None, title_justify="left", pad_edge=False)
    table.add_column("Term", min_width=12, overflow="fold")
    table.add_column("Amount", justify="right", no_wrap=True)
    table.add_column("Rows that move it most", min_width=24, overflow="fold")
    for what, _, amount, rows in explained_frame(made).itertuples(index=False):
        table.add_row(Text(what), Text(shown(amount)), Text(rows))
    if made.terms:
        table.add_row(Text("Sum"), Text(shown(made.total)), Text(""))
    for name, share in sorted(made.beside.items(), key=lambda pair: -pair[1]):
        table.add_row(Text(f"of costs: {term_name(name)}"), Text(f"{100 * share:.1f} %"), Text(""))
    return table
