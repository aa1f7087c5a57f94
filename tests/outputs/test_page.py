"""The page reads back whole: one file, no network, every part named, nothing unescaped."""

import re
import subprocess
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from sitefare.outputs.page import page

VOID = {"meta", "br", "wbr", "img", "link", "hr", "input"}


class Reader(HTMLParser):
    """Collect elements with attributes, text by element, and check that tags close."""

    def __init__(self, html):
        super().__init__()
        self.elements, self.open, self.text, self.badly_closed = [], [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs), tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs), tuple(self.open)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.badly_closed.append(tag)

    def handle_data(self, data):
        if not {"style", "script"} & set(self.open):
            self.text.append(data)

    def all(self, tag):
        return [(attrs, inside) for name, attrs, inside in self.elements if name == tag]

    @property
    def words(self):
        return re.sub(r"\s+", " ", "".join(self.text))


@pytest.fixture(scope="module")
def html(document):
    return page(document)


@pytest.fixture(scope="module")
def read(html):
    return Reader(html)


def test_tags_close(read):
    assert read.badly_closed == []
    assert read.open == []


def test_nothing_is_loaded(html, read):
    assert "http" not in html.replace("http-equiv", "")
    loads = [
        attrs[name]
        for _, attrs, _ in read.elements
        for name in ("src", "href", "xlink:href")
        if name in attrs
    ]
    assert all(target.startswith("#") for target in loads)
    assert "default-src 'none'" in html
    assert "@import" not in html


def test_headings_run_in_order_and_links_arrive(read):
    levels = [int(tag[1]) for tag, _, _ in read.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    ids = [attrs["id"] for _, attrs, _ in read.elements if "id" in attrs]
    assert len(ids) == len(set(ids))
    for attrs, _ in read.all("a"):
        assert attrs["href"][1:] in ids
    for _, attrs, _ in read.elements:
        for name in attrs.get("aria-labelledby", "").split():
            assert name in ids


def test_landmarks_and_language(read):
    for tag in ("header", "nav", "main", "footer"):
        assert len(read.all(tag)) == 1
    assert read.all("html")[0][0] == {"lang": "en", "dir": "ltr"}
    assert read.elements[[e[0] for e in read.elements].index("body") + 1][1]["class"] == "skip"


def test_every_drawing_names_itself(read):
    drawings = [attrs for attrs, inside in read.all("svg")]
    assert len(drawings) == 4  # two figures, a wide and a narrow drawing each
    assert all(drawing["role"] == "img" for drawing in drawings)
    assert len([1 for _, inside in read.all("title") if inside[-1] == "svg"]) == 4
    assert len([1 for _, inside in read.all("desc") if inside[-1] == "svg"]) == 4


def test_tables_have_captions_and_scopes(read):
    assert len(read.all("caption")) == len(read.all("table")) == 3  # two of them under charts
    assert {attrs["scope"] for attrs, _ in read.all("th")} == {"col", "row"}
    assert "Table 1. All rows of Demo site" in read.words
    assert "Figure 1 and Table 1" in read.words


def test_draft_is_marked_and_missing_listed(read, final_document):
    assert "Draft" in read.words
    assert "water test" in read.words
    assert "print-draft" in {attrs.get("class") for attrs, _ in read.all("div")}
    final = Reader(page(final_document))
    assert "Draft" not in final.words
    assert "print-draft" not in {attrs.get("class") for attrs, _ in final.all("div")}


def test_awkward_text_comes_out_as_text(awkward_document, awkward):
    made = Reader(page(awkward_document))
    assert made.badly_closed == []
    assert made.words.count(awkward) >= 10
    assert made.all("b") == []
    assert len(made.all("script")) == 1


def test_the_same_document_gives_the_same_bytes(document, html):
    assert page(document) == html


def test_size(html):
    assert len(html.encode()) < 4_000_000


MEASURE = """<script>addEventListener('load', function () {
  document.title = 'measured ' + document.documentElement.scrollWidth + ' ' + innerWidth + ' '
    + [...document.querySelectorAll('.for-narrow')].filter(e => e.offsetWidth > 0).length;
});</script></body>"""


@pytest.mark.parametrize("document_name", ["document", "awkward_document"])
def test_nothing_overflows_a_telephone(request, tmp_path, browser, document_name):
    html = page(request.getfixturevalue(document_name))
    framed = tmp_path / "frame.html"
    (tmp_path / "page.html").write_text(html.replace("</body>", MEASURE), encoding="utf-8")
    # Headless windows have a least width above a telephone's, so the page stands in a frame.
    framed.write_text(
        "<iframe id=f src=page.html width=390 height=800 style='border:0'></iframe><script>"
        "addEventListener('load',()=>setTimeout(()=>{document.title="
        "document.getElementById('f').contentDocument.title},300))</script>",
        encoding="utf-8",
    )
    command = [
        browser, "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files",
        f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=4000", "--dump-dom",
        framed.as_uri(),
    ]  # fmt: skip
    dumped = subprocess.run(command, capture_output=True, text=True, timeout=90, check=True).stdout
    found = re.search(r"measured (\d+) (\d+) (\d+)", dumped)
    assert found, dumped[:500]
    scroll, inner, narrow = (int(x) for x in found.groups())
    assert inner == 390
    assert scroll <= inner
    assert narrow == 2
