"""A document read back from its page by a browser: headings, figures, every cell of every table."""

from sitefare.outputs.data_tables import data_table
from sitefare.outputs.document import Figure, Heading, Table, spans
from sitefare.outputs.fragments import label

TABLES = """selector => [...document.querySelectorAll(selector)].map(table =>
    [...table.tBodies[0].rows].map(row => [...row.cells].map(cell => cell.textContent)))"""
TEXTS = "selector => [...document.querySelectorAll(selector)].map(one => one.textContent)"


def one_line(text):
    return " ".join(text.split())


def read_as(text, document):
    """Text with the tiny markup as it reads."""
    shown = (s.text or label(s.target, document.labels, "en") for s in spans(text))
    return one_line("".join(shown))


def assert_reads_back(document, reader):
    """Compare what a browser shows with what the document holds."""
    headings = [b for b in document.blocks if isinstance(b, Heading)]
    shown = reader.evaluate(TEXTS, "main h2, main h3, main h4")
    assert [one_line(t) for t in shown] == [one_line(b.text) for b in headings]
    levels = reader.evaluate(
        "[...document.querySelectorAll('main h2, main h3, main h4')].map(h => Number(h.tagName[1]))"
    )
    assert levels == [b.level + 1 for b in headings]

    figures = [b for b in document.blocks if isinstance(b, Figure)]
    captions = reader.evaluate(TEXTS, "figcaption")
    assert len(captions) == len(figures)
    for number, (caption, block) in enumerate(zip(captions, figures, strict=True), 1):
        assert one_line(caption) == one_line(f"Figure {number}. {read_as(block.caption, document)}")
    assert reader.evaluate(TEXTS, "figure .finding") == [b.picture.title for b in figures]

    tables = [b for b in document.blocks if isinstance(b, Table)]
    cells = reader.evaluate(TABLES, ".table-block table")
    assert len(cells) == len(tables)
    for block, rows in zip(tables, cells, strict=True):
        expected = [
            [
                read_as(block.cell(r, c), document)
                if c in block.rich
                else one_line(block.cell(r, c))
                for c in range(len(block.columns))
            ]
            for r in range(len(block.rows))
        ]
        assert [[one_line(x) for x in row] for row in rows] == expected, block.caption

    drawn = [found for b in figures if (found := data_table(b.picture))]
    data = reader.evaluate(TABLES, "details.data table")
    assert [[[one_line(x) for x in r] for r in t] for t in data] == [
        [[one_line(x) for x in line] for line in found.lines] for found in drawn
    ]
