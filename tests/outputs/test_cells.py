"""Blocks display in a notebook without scripts, and charts without Altair's renderers."""

import base64
import dataclasses
import json
import subprocess
import sys

import nbformat
import pytest
import vl_convert
from nbclient import NotebookClient

from sitefare.errors import RunError
from sitefare.outputs.cells import VEGALITE, cell, cells, show
from sitefare.outputs.document import Figure, Paragraph, Table
from sitefare.outputs.drawn import svg


def bundle(one):
    shown = one._repr_mimebundle_()
    return shown if isinstance(shown, tuple) else (shown, {})


def test_every_block_has_words_and_no_script(document):
    for one in cells(document):
        data, _ = bundle(one)
        assert data["text/plain"].strip()
        assert "<script" not in data.get("text/html", "")
        assert "http" not in data.get("text/html", "")


def test_charts_are_a_specification_a_picture_and_words(document):
    figure = next(block for block in document.blocks if isinstance(block, Figure))
    data, metadata = bundle(cell(figure, document))
    assert set(data) == {VEGALITE, "image/png", "text/plain"}
    assert data["text/plain"] == figure.alt_text == metadata["image/png"]["alt"]
    assert data[VEGALITE]["title"]["text"]


def test_charts_draw_with_the_version_that_jupyterlab_has(pictures):
    for name, picture in pictures.items():
        drawn = vl_convert.vegalite_to_svg(picture.wide, vl_version="5.20", allowed_base_urls=[])
        # The same marks come out as with the version that made the specification.
        assert drawn.count("<path") == svg(picture.wide).count("<path"), name


def test_a_kernel_displays_them(tmp_path):
    code = (
        "import sitefare.outputs.charts as charts, pandas as pd\n"
        "from sitefare.outputs.numbers import Formats\n"
        "from sitefare.outputs.document import Document, Metadata, Figure, Heading\n"
        "from sitefare.outputs.cells import show\n"
        "frame = pd.DataFrame({'what': ['Power', 'Feed'], 'amount': [2.0, 1.0]})\n"
        "picture = charts.cost_makeup(frame, Formats())\n"
        "meta = Metadata('t', 's', 'c', '2027-02', 'h', 'v')\n"
        "show(Document(meta, (Heading(1, 'A'), Figure(picture, 'c'))))"
    )
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code)])
    NotebookClient(book, timeout=60, resources={"metadata": {"path": str(tmp_path)}}).execute()
    shown = [output for output in book.cells[0].outputs if output.output_type == "display_data"]
    assert [sorted(output.data) for output in shown] == [
        ["text/html", "text/plain"],
        [VEGALITE, "image/png", "text/plain"],
    ]
    assert shown[1].metadata["image/png"]["alt"] == shown[1].data["text/plain"]
    assert base64.b64decode(shown[1].data["image/png"]).startswith(b"\x89PNG")


def test_a_notebook_takes_them(document):
    outputs = []
    for one in cells(document):
        data, metadata = bundle(one)
        data = {k: v.hex() if isinstance(v, bytes) else v for k, v in data.items()}
        outputs.append(nbformat.v4.new_output("display_data", data, metadata=metadata))
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(outputs=outputs)])
    nbformat.validate(json.loads(nbformat.writes(book)))


def test_a_table_reads_as_lines(document):
    table = next(block for block in document.blocks if isinstance(block, Table))
    data, _ = bundle(cell(table, document))
    assert "row.number_1 10.5 Demo site note of some length 1" in data["text/plain"]


def test_a_section_ends_at_the_next_of_its_level(document):
    summary = cells(document, "summary")
    assert [type(one.placed.block).__name__ for one in summary] == [
        "Heading", "Paragraph", "Facts", "Caution", "Bullets",
    ]  # fmt: skip
    with pytest.raises(
        RunError, match="no heading has the anchor 'costs'; the document has summary"
    ):
        cells(document, "costs")


def test_a_block_of_another_document_is_refused(document):
    with pytest.raises(RunError, match="does not hold this Paragraph"):
        cell(Paragraph("x"), document)


def test_awkward_text_comes_out_as_text(awkward_document):
    for one in cells(awkward_document):
        html = bundle(one)[0].get("text/html", "")
        assert "<b>" not in html
        assert "</script>" not in html


def test_importing_converts_nothing():
    code = (
        "import sys, sitefare.outputs.page, sitefare.outputs.pdf, sitefare.outputs.cells\n"
        "assert 'vl_convert' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_a_section_is_headed_once(document, monkeypatch):
    shown = []
    monkeypatch.setattr("IPython.display.display", shown.append)
    cells_of = cells(document, "summary")
    show(document, "summary")
    assert shown == list(cells_of[1:])
    shown.clear()
    show(
        dataclasses.replace(
            document, metadata=dataclasses.replace(document.metadata, language="fr")
        ),
        "summary",
    )
    assert len(shown) == len(cells_of)
    shown.clear()
    show(document)
    assert len(shown) == len(cells(document))


def test_what_a_notebook_imports_compiles_no_grammar(root):
    code = (
        "import sys; from sitefare.outputs.cells import show; import jsonschema;"
        "print('lark' in sys.modules, 'uri' in jsonschema.FormatChecker.checkers)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "True"]
