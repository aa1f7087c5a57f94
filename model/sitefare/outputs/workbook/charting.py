"""How is a chart of the workbook drawn? From the cells themselves, so that it follows them."""

from typing import Any

from sitefare.outputs.theme import FAMILY, INK, LINE, MUTED, PALETTE
from sitefare.outputs.workbook.frame import Chart
from sitefare.outputs.workbook.looks import Book
from sitefare.outputs.workbook.resolve import FIRST, HEAD_LABEL, column_name

#: Size on the sheet. [px]
SIZE = {"width": 860, "height": 400}


def draw(book: Book, item: Chart) -> Any:  # noqa: ANN401
    """Return a chart of lines along the years.

    Raises
    ------
    KeyError
        If a key stands nowhere.
    """
    kind = "line" if item.kind == "line" else "column"
    subtype = {"subtype": "stacked"} if item.kind == "stacked" else {}
    chart = book.file.add_chart({"type": kind, **subtype})
    colours = list(PALETTE.values())
    for n, (label, key) in enumerate(item.series):
        place = book.places.found[key]
        last = FIRST + book.places.length(place.axis) - 1
        colour = colours[n % len(colours)]
        row, heads = place.row + 1, HEAD_LABEL
        ends = (column_name(FIRST), column_name(last))
        line = {"color": colour, "width": 2.25}
        chart.add_series({
            "name": label,
            "categories": f"={place.sheet}!${ends[0]}${heads}:${ends[1]}${heads}",
            "values": f"={place.sheet}!${ends[0]}${row}:${ends[1]}${row}",
            **({"line": line, "smooth": False} if kind == "line" else {"fill": {"color": colour}, "gap": 60}),
        })  # fmt: skip
    font = {"name": FAMILY, "size": 9, "color": INK}
    title = {"name": FAMILY, "size": 12, "color": INK, "bold": True}
    chart.set_title({"name": item.title, "name_font": title, "overlay": False})
    chart.set_x_axis({"num_font": font, "label_position": "low", "line": {"color": MUTED},
                      "name": "Project year", "name_font": {**font, "bold": False}})  # fmt: skip
    chart.set_y_axis({
        "num_font": font, "num_format": "#,##0", "name": item.unit, "line": {"none": True},
        "name_font": {**font, "bold": False}, "major_gridlines": {"visible": True, "line": {"color": LINE}},
    })  # fmt: skip
    chart.set_legend({"position": "bottom", "font": font})
    chart.set_size(SIZE)
    chart.set_chartarea({"border": {"none": True}})
    return chart
