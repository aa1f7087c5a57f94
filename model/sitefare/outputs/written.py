"""Where does a document become files? Here alone: page, PDF and Word file for every kind."""

from pathlib import Path

from sitefare.outputs.document import Document
from sitefare.outputs.page import page
from sitefare.outputs.pdf import pdf
from sitefare.outputs.stored import written_whole


def written(
    document: Document, folder: str | Path, stem: str, house_style: str | Path = ""
) -> list[Path]:
    """Write a document as stem.html, stem.pdf and stem.docx into a folder, made if need be.

    Each appears whole under its name, or not at all.

    `house_style` is a .docx whose styles the Word file wears; ours where it is empty.

    Returns
    -------
    list of Path
        The files written.
    """
    # The libraries behind a Word file are slow to import, and most commands write none.
    from sitefare.outputs.docx_document import word  # noqa: PLC0415

    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    html, portable, editable = (target / f"{stem}.{kind}" for kind in ("html", "pdf", "docx"))
    written_whole(html, page(document).encode())
    written_whole(portable, pdf(document))
    written_whole(editable, word(document, Path(house_style) if str(house_style) else None))
    return [html, portable, editable]
