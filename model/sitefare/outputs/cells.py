"""Blocks as a notebook shows them, without scripts and without Altair's own renderers.

A block displays as HTML with plain text beside it; a figure as its Vega-Lite specification, a
PNG and its alt text, so that it reads offline, in JupyterLab and in any export.
"""

import re
from dataclasses import dataclass
from html import unescape
from typing import Any

from sitefare.errors import RunError
from sitefare.outputs.document import Block, Document, Figure, Heading, PageBreak, Placed
from sitefare.outputs.drawn import png
from sitefare.outputs.fragments import TEMPLATES, fragment
from sitefare.outputs.picture import Drawing

#: What JupyterLab draws. Our charts use only what this version knows; the tests draw them with it.
VEGALITE = "application/vnd.vegalite.v5+json"
SCHEMA = "https://vega.github.io/schema/vega-lite/v5.20.1.json"

#: A chart without the menu that JupyterLab would put beside it.
NO_MENU = {"embedOptions": {"actions": False}}


@dataclass(frozen=True)
class Cell:
    """One block, ready for a notebook to display."""

    placed: Placed
    document: Document

    def _repr_mimebundle_(
        self,
        include: object = None,  # noqa: ARG002
        exclude: object = None,  # noqa: ARG002
    ) -> dict[str, Any] | tuple[dict[str, Any], dict[str, Any]]:
        """Return the representations a notebook may choose from."""
        block = self.placed.block
        if isinstance(block, Figure):
            alt = block.alt_text
            return _chart(block, self.placed.number), {"image/png": {"alt": alt}}
        shown = fragment(self.placed, self.document, drawings=False)
        html = f'<div class="sitefare">{_style()}{_without_targets(str(shown))}</div>'
        return {"text/html": html, "text/plain": words_of(str(shown))}


def cells(document: Document, section: str = "") -> tuple[Cell, ...]:
    """Return the blocks of a document for display, all or those under one heading.

    Parameters
    ----------
    document : Document
        The document that the writers also take.
    section : str
        A heading's anchor; its blocks run to the next heading of its level or above.

    Raises
    ------
    RunError
        If no heading carries that anchor.
    """
    chosen = list(document.placed)
    if section:
        chosen = _under(document, section)
    return tuple(Cell(p, document) for p in chosen if not isinstance(p.block, PageBreak))


def cell(block: Block, document: Document) -> Cell:
    """Return one block of a document for display.

    Raises
    ------
    RunError
        If the document does not hold that block.
    """
    for placed in document.placed:
        if placed.block is block:
            return Cell(placed, document)
    msg = f"the document '{document.metadata.title}' does not hold this {type(block).__name__}"
    raise RunError(msg)


def show(document: Document, section: str = "") -> None:
    """Display the blocks of one section, one after another, in the running notebook.

    The notebook's own text heads an English section; in another language its heading is shown.
    """
    from IPython.display import display  # noqa: PLC0415

    headed = bool(section) and document.metadata.language.startswith("en")
    for one in cells(document, section)[int(headed) :]:
        display(one)  # type: ignore[no-untyped-call]


def words_of(html: str) -> str:
    """Return the words of a fragment, one line a block or table row."""
    rows = re.sub(r"</(p|li|tr|h\d|dd|dt|caption|div)>", "\n", html)
    apart = re.sub(r"</t[hd]>\s*", "  ", rows)
    text = unescape(re.sub(r"<[^>]*>", "", apart))
    lines = (" ".join(line.split()) for line in text.splitlines())
    return "\n".join(line for line in lines if line)


def _under(document: Document, section: str) -> list[Placed]:
    found: list[Placed] = []
    level = 0
    for placed in document.placed:
        heading = placed.block if isinstance(placed.block, Heading) else None
        if heading and level and heading.level <= level:
            break
        if heading and placed.anchor == section:
            level = heading.level
        if level:
            found.append(placed)
    if not found:
        anchors = ", ".join(anchor for _, _, anchor in document.contents)
        msg = f"no heading has the anchor '{section}'; the document has {anchors}"
        raise RunError(msg)
    return found


def _chart(figure: Figure, number: int) -> dict[str, Any]:
    """Return a figure's representations; the notebook has no finding above it, so it is drawn."""
    if isinstance(figure.picture, Drawing):
        return {"image/png": png(figure.picture.wide), "text/plain": figure.alt_text}
    title = f"{number}. {figure.picture.title}"
    spec = {
        **figure.picture.wide,
        "$schema": SCHEMA,
        "title": {"text": _lines(title), "fontSize": 15},
        "usermeta": NO_MENU,
    }
    return {VEGALITE: spec, "image/png": png(spec), "text/plain": figure.alt_text}


def _lines(title: str, width: int = 76) -> list[str]:
    """Break a title where a chart of full width ends. [characters]"""
    found = re.findall(rf".{{1,{width}}}(?:\s|$)", title)
    return [line.strip() for line in found] or [title]


def _style() -> str:
    return f"<style>{(TEMPLATES / 'cells.css').read_text(encoding='utf-8')}</style>"


def _without_targets(html: str) -> str:
    """Drop ids, and roles that they name, so that a section shown twice never repeats one."""
    return re.sub(r' (id|aria-labelledby|role)="[^"]*"', "", html)
