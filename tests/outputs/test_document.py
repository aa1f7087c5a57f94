"""Blocks are numbered, linked and refused as promised."""

import pytest

from sitefare.errors import RunError
from sitefare.outputs.document import (
    Column,
    Document,
    Heading,
    Metadata,
    Paragraph,
    Span,
    Table,
    plain,
    spans,
)

METADATA = Metadata("t", "s", "c", "2027-02", "h", "v")


def test_markup_splits_into_runs():
    assert spans("a **b** [c](#d) [](#e)") == (
        Span("a "),
        Span("b", strong=True),
        Span(" "),
        Span("c", target="d"),
        Span(" "),
        Span("", target="e"),
    )


@pytest.mark.parametrize("text", ["**", "a ** b", "[x](y)", "[x] (#y)", "5 * 3 * 2", "\\", "a\\b"])
def test_what_is_not_markup_stays_as_written(text):
    assert "".join(span.text for span in spans(text)) == text


@pytest.mark.parametrize("text", ["**a**", "[x](#y)", "\\*", "a\\", "[[]]", "\\\\[b](#c)", "***"])
def test_plain_text_is_shown_exactly(text):
    shown = spans(plain(text))
    assert "".join(span.text for span in shown) == text
    assert not any(span.strong or span.target for span in shown)


def test_figures_and_tables_are_numbered(document):
    assert document.labels["cash"] == ("figure", 1)
    assert document.labels["figure-2"] == ("figure", 2)
    assert document.labels["list"] == ("table", 1)
    assert document.labels["row-3"] == ("row", 0)


def test_repeated_headings_get_their_own_anchors():
    made = Document(METADATA, (Heading(1, "Costs"), Heading(2, "Costs")))
    assert [anchor for _, _, anchor in made.contents] == ["costs", "costs-2"]


TABLE = Table((Column("a"), Column("b")), (("x", 1.0),), "rows")


@pytest.mark.parametrize(
    ("build", "message"),
    [
        (
            lambda: Document(METADATA, (Paragraph("[x](#no)"),)),
            "links to #no, which no block carries",
        ),
        (
            lambda: Document(METADATA, (Heading(1, "a", "x"), Heading(1, "b", "x"))),
            "two blocks carry the anchor 'x'",
        ),
        (
            lambda: Document(METADATA, (Heading(1, "a", "x"), row_anchored("x"))),
            "two blocks carry the anchor 'x'",
        ),
        (lambda: Table((Column("a"),), (("x", "y"),), "rows"), "row 0 has 2 cells for 1 columns"),
        (lambda: Heading(4, "deep"), "heading 'deep' has level 4"),
        (lambda: Metadata("t", "s", "c", "today", "h", "v"), "date 'today' is not YYYY-MM"),
        (
            lambda: Metadata("t", "s", "c", "2027-02-30", "h", "v"),
            "date '2027-02-30' is not YYYY-MM",
        ),
    ],
    ids=["link", "anchor", "row anchor", "cells", "level", "date", "no such day"],
)
def test_bad_blocks_are_refused(build, message):
    with pytest.raises(RunError, match=message):
        build()


def row_anchored(anchor):
    return Table((Column("a"),), (("x",),), "rows", row_anchors=(anchor,))


def test_cells_become_text():
    made = Table(
        (Column("a"), Column("b", formatter=lambda x: f"{x:.1f}")), (("x", 2), ("y", None)), "t"
    )
    assert [made.cell(0, 1), made.cell(1, 1), made.cell(0, 0)] == ["2.0", "–", "x"]
    assert TABLE.cell(0, 1) == "1"
