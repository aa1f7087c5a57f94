"""Charts of what a cost is made of: one total, or one set of costs over several products."""

import math

import altair as alt
import pandas as pd

from sitefare.outputs import theme
from sitefare.outputs.drawing import (
    ROW_NARROW,
    ROW_WIDE,
    each,
    haloed,
    lowered,
    name_axis,
    names_above,
    records,
    require,
    row_step,
    wrapped,
)
from sitefare.outputs.labels import TOLD
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Chart, Picture

#: Parts drawn alone; the smallest others become one bar. [1]
TOP = 9

#: Share of all costs that the parts named in a title make at least. [1]
MOST = 0.5

#: Parts named in a title at most.
NAMED = 3


def cost_makeup(
    frame: pd.DataFrame, formats: Formats, per: str = "year", title: str = "", top: int = TOP
) -> Picture:
    """Return what one total is made of, largest part first, each labelled with its share.

    Parameters
    ----------
    frame : DataFrame with columns what, amount
        Parts of one total; a negative part is taken off. [money per `per`]
    formats : Formats
        The document's formatters.
    per : str
        What the total is counted by, such as 'person-day' or 'kg of vegetables'.
    title : str
        The finding; made from the data when empty.
    top : int
        Parts drawn alone. [1]
    """
    require(frame, "what amount", once="what")
    data = gathered_parts(frame, ["amount"], top)
    total, costs = float(data["amount"].sum()), float(data["amount"].clip(lower=0.0).sum())
    data["words"] = [_amount(x, costs, formats) for x in data["amount"]]
    data["told"] = [
        f"{row.what}: {formats.money(row.amount)} per {per}"
        + (f", {formats.share(row.amount / costs)} of costs" if costs and row.amount > 0 else "")
        for row in each(data)
    ]
    order = list(data["name"])
    largest = float(data["amount"].abs().max()) or 1.0
    least = min(float(data["amount"].min()), 0.0)

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        rows = alt.Chart(data).encode(y=name_axis(order, narrow=narrow))
        room = 1.5 if narrow else 1.3
        scale = alt.Scale(domain=[least, largest * room], nice=False)
        axis = alt.Axis(tickCount=4 if narrow else 6, format=",~r", grid=True)
        bars = rows.mark_bar(color=theme.PALETTE["deep"]).encode(
            x=alt.X("amount:Q", title=f"{formats.currency} per {per}", scale=scale, axis=axis),
            description=TOLD,
        )
        ends = alt.X("label_at:Q")
        words = rows.mark_text(align="left", dx=6, aria=False).encode(x=ends, text="words:N")
        layers = [bars, *haloed(words), *(names_above(data, order) if narrow else [])]
        return alt.layer(*layers).properties(height=row_step(len(data), narrow=narrow))

    data["label_at"] = data["amount"].clip(lower=0.0)
    finding = title or makeup_finding(data, formats, per)
    parts = "; ".join(
        f"{row['what']} {formats.money(row['amount'])}"
        + (f" ({formats.share(row['amount'] / costs)})" if costs and row["amount"] > 0 else "")
        for row in records(data)
    )
    alt_text = f"Bars of cost per {per}, {formats.money(total)} in all: {parts}."
    return Picture(finding, alt_text, draw, formats.language)


def _amount(x: float, costs: float, formats: Formats) -> str:
    """Write an amount with its share of the costs, none for what is taken off."""
    share = f" ({formats.share(x / costs)})" if costs and x > 0 else ""
    return f"{formats.amount(x)}{share}"


def gathered_parts(frame: pd.DataFrame, columns: list[str], top: int) -> pd.DataFrame:
    """Return parts by the first column's size, the smallest summed into one that stands last."""
    ranked = frame.iloc[frame[columns[0]].abs().argsort(kind="stable")[::-1]]
    kept, rest = ranked.iloc[:top], ranked.iloc[top:]
    kept = kept.sort_values(columns[0], ascending=False, kind="stable")
    if len(rest) == 1:
        kept = pd.concat([kept, rest])
    elif len(rest):
        other = {"what": f"{len(rest)} smaller parts"} | {
            name: float(rest[name].sum()) for name in columns
        }
        kept = pd.concat([kept, pd.DataFrame([other])])
    data = kept[["what", *columns]].reset_index(drop=True)
    data["name"] = [wrapped(str(what), 30) for what in data["what"]]
    return data


def makeup_finding(data: pd.DataFrame, formats: Formats, per: str, column: str = "amount") -> str:
    """Name the fewest largest parts that make half of the costs or more, at most three."""
    costs = data[column].clip(lower=0.0)
    total, whole = float(data[column].sum()), float(costs.sum())
    if whole <= 0.0:
        return f"Nothing is spent per {per}"
    alone = data[~data["what"].astype(str).str.endswith(" smaller parts") & (costs > 0.0)]
    ranked = alone.sort_values(column, ascending=False, kind="stable")
    named, summed = [], 0.0
    for row in records(ranked)[:NAMED]:
        named.append(str(row["what"]))
        summed += float(row[column])
        if summed >= MOST * whole:
            break
    if not named:
        return f"{formats.money(total)} per {per}"
    words = [named[0], *(lowered(name) for name in named[1:])]
    said = words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
    of = "the costs of " if total < whole * (1.0 - 1e-9) else ""
    return f"{said}: {formats.share(summed / whole)} of {of}{formats.money(total)} per {per}"


def cost_table(
    frame: pd.DataFrame, formats: Formats, products: dict[str, str], title: str = ""
) -> Picture:
    """Return one set of costs as bars by the first product, with its figures for every product.

    Parameters
    ----------
    frame : DataFrame with the column what and one column a product
        Parts of the cost of one unit of each product. [money per unit]
    formats : Formats
        The document's formatters.
    products : dict of str
        Column and what a unit of the product is called, such as 'kg of fish'; bars are drawn
        for the first.
    title : str
        The finding; made from the data when empty.
    """
    columns = list(products)
    require(frame, f"what {' '.join(columns)}", once="what")
    data = gathered_parts(frame, columns, TOP)
    sums = {name: float(data[name].sum()) for name in columns}
    data["told"] = [
        f"{row['what']}: "
        + ", ".join(f"{formats.money(row[n])} per {unit}" for n, unit in products.items())
        for row in records(data)
    ]
    finding = title or makeup_finding(data, formats, products[columns[0]], columns[0])
    totals = ", ".join(f"{formats.money(sums[n])} per {unit}" for n, unit in products.items())
    parts = "; ".join(str(told) for told in data["told"])
    alt_text = f"Bars of cost per {products[columns[0]]}, with figures: {totals} in all. {parts}."

    def draw(narrow: bool) -> Chart:  # noqa: FBT001
        return _table(data, sums, products, formats, narrow=narrow)

    return Picture(finding, alt_text, draw, formats.language)


def _table(
    data: pd.DataFrame,
    sums: dict[str, float],
    products: dict[str, str],
    formats: Formats,
    *,
    narrow: bool,
) -> Chart:
    """Draw bars with columns of figures at their right, heads above and sums below."""
    first, head, foot = next(iter(products)), " ", "All costs"
    order = [head, *data["name"], foot]
    ends = [0.0, *data[first]]
    scale = alt.Scale(domain=[min(ends), max(ends) or 1.0], nice=False)
    pitch = 70.0 if narrow else 88.0
    room = pitch * len(products) + 6.0
    scale.range = [0, alt.ExprRef(f"width - {room:g}")]
    y = name_axis(order, narrow=narrow)
    axis = alt.Axis(tickCount=2 if narrow else 4, format=",~r", titleAnchor="start")
    x = alt.X(f"{first}:Q", title=f"{formats.currency} per {products[first]}", scale=scale)
    x["axis"] = axis
    bars = alt.Chart(data).mark_bar(color=theme.PALETTE["deep"]).encode(y=y, x=x, description=TOLD)
    layers: list[alt.Chart] = [bars]
    for number, (name, unit) in enumerate(products.items()):
        place = alt.value(alt.ExprRef(f"width - {pitch * (len(products) - 1 - number):g}"))
        cells = pd.DataFrame(
            {
                "name": order,
                "words": [
                    wrapped(f"per {unit}", 10 if narrow else 13),
                    *(formats.amount(x) for x in data[name]),
                    formats.amount(sums[name]) if math.isfinite(sums[name]) else "–",
                ],
                "strong": [n in (head, foot) for n in order],
            }
        )
        for strong in (True, False):
            text = alt.Chart(cells[cells["strong"] == strong]).mark_text(
                align="right",
                aria=False,
                lineBreak="\n",
                fontWeight="bold" if strong else "normal",
                fontSize=11 if narrow else theme.TEXT,
                lineHeight=14,
            )
            layers.append(text.encode(y=y, x=place, text="words:N"))
    layers += names_above(data.assign(name=data["name"]), order) if narrow else []
    if narrow:
        layers += names_above(pd.DataFrame({"name": [foot]}), order)
    step = ROW_NARROW if narrow else ROW_WIDE
    return alt.layer(*layers).properties(height=step * len(order) + 8)
