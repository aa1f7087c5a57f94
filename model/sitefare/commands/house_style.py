"""The command that hands out the house style of Word files, to be changed in Word."""

from pathlib import Path
from typing import Annotated

import typer

from sitefare.commands.options import err, out
from sitefare.errors import SitefareError


def add(app: typer.Typer) -> None:
    """Put the command on the app."""
    app.command("house-style")(house_style)


def house_style(
    target: Annotated[Path, typer.Argument(help="The .docx file to write.")],
) -> None:
    """Write the house style of Word files: change its styles in Word, then use --house-style."""
    from sitefare.outputs.docx_reference import reference  # noqa: PLC0415

    if target.suffix.lower() != ".docx":
        msg = f"{target}: a house style is written as a .docx file"
        raise SitefareError(msg)
    if target.exists():
        msg = f"{target} is there already; give another name"
        raise SitefareError(msg)
    if not target.parent.is_dir():
        msg = f"{target}: the folder {target.parent} is not there"
        raise SitefareError(msg)
    with err.status("Writing the house style"):
        target.write_bytes(reference())
    out.print(str(target), highlight=False)
