"""Where does a document become files? Here alone: the same page and PDF for every kind."""

from pathlib import Path

from sitefare.outputs.document import Document
from sitefare.outputs.page import page
from sitefare.outputs.pdf import pdf


def written(document: Document, folder: str | Path, stem: str) -> list[Path]:
    """Write a document as stem.html and stem.pdf into a folder, made if need be.

    Returns
    -------
    list of Path
        The files written.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    html, portable = (target / f"{stem}.{kind}" for kind in ("html", "pdf"))
    html.write_text(page(document), encoding="utf-8", newline="\n")
    portable.write_bytes(pdf(document))
    return [html, portable]
