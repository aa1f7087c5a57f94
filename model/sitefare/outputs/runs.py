"""How does a notebook become documents in a folder, each whole or not at all?

The runner checks parameters against those the notebook declares, runs it through papermill in
a temporary folder beside the target, strips timings, and renames the folder's files into place.
"""

import ast
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nbformat

from sitefare.assumptions.files import nearest
from sitefare.errors import RunError
from sitefare.outputs.held import held
from sitefare.stages import Stage, untold

#: Prefix of the folder that a run works in, before the number of its process.
MAKING = ".making-"

#: Parameters whose values are paths of the machine; the notebook that is kept has none.
OURS = ("output_folder", "house_style", "assumptions", "appraised")

#: Our engine's name among papermill's.
ENGINE = "sitefare"

#: Seconds that one cell, and the kernel's start, may take. [s]
CELL_LIMIT = 600
START_LIMIT = 120


def declared_parameters(notebook: Path) -> dict[str, Any]:
    """Read the parameters of a notebook and their defaults from its `parameters` cell.

    Raises
    ------
    RunError
        If the notebook has no such cell.
    """
    cells = nbformat.read(notebook, as_version=4).cells
    for cell in cells:
        if "parameters" in cell.metadata.get("tags", []):
            body = ast.parse(cell.source).body
            return {
                node.target.id: ast.literal_eval(node.value)
                for node in body
                if isinstance(node, ast.AnnAssign)
                and isinstance(node.target, ast.Name)
                and node.value is not None
            }
    msg = f"{notebook.name}: no cell is tagged 'parameters'"
    raise RunError(msg)


def checked_parameters(notebook: Path, parameters: Mapping[str, Any]) -> dict[str, Any]:
    """Refuse a parameter the notebook does not declare, or one of another type.

    Raises
    ------
    RunError
        Naming the parameter, what was given and what is accepted.
    """
    declared = declared_parameters(notebook)
    for name, given in parameters.items():
        if name not in declared:
            known = ", ".join(declared)
            msg = (
                f"{notebook.name}: parameter '{name}' is not known{nearest(name, declared)}; "
                f"it takes {known}"
            )
            raise RunError(msg)
        want = type(declared[name])
        if type(given) is not want:
            msg = (
                f"{notebook.name}: parameter {name} takes a value of type {want.__name__}; "
                f"found {given!r} ({type(given).__name__})"
            )
            raise RunError(msg)
        if isinstance(given, list) and not all(isinstance(item, str) for item in given):
            msg = f"{notebook.name}: parameter {name} takes a list of text; found {given!r}"
            raise RunError(msg)
    return dict(parameters)


def run_notebook(
    notebook: Path, parameters: Mapping[str, Any], folder: Path, stage: Stage = untold
) -> list[Path]:
    """Run a notebook so that all its files appear in a folder, or none does.

    The notebook's `output_folder` parameter is where its last cell writes; the executed
    notebook is put beside what it wrote. `stage` begins a stage that is told of cells done.

    Raises
    ------
    RunError
        If a parameter is refused, another command writes into the folder, or a cell fails; the
        message holds the cell's own sentence.
    """
    given = checked_parameters(notebook, parameters)
    ours = not folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    remove_abandoned(folder)
    try:
        prefix = f"{MAKING}{os.getpid()}-"
        with held(folder), tempfile.TemporaryDirectory(dir=folder, prefix=prefix) as name:
            making = Path(name)
            inside = {**given, "output_folder": str(making)}
            _execute(notebook, making / notebook.name, inside, stage)
            tidy_notebook(making / notebook.name)
            made = sorted(making.iterdir())
            for path in made:
                os.replace(path, folder / path.name)  # noqa: PTH105
        return [folder / path.name for path in made]
    finally:
        if ours and not any(folder.iterdir()):
            folder.rmdir()


def remove_abandoned(folder: Path) -> None:
    """Remove what a killed run left behind: folders whose process is no more."""
    for path in folder.glob(f"{MAKING}*"):
        owner = path.name.removeprefix(MAKING).split("-")[0]
        if owner.isdigit() and not _alive(int(owner)):
            shutil.rmtree(path, ignore_errors=True)


def _alive(process: int) -> bool:
    """Say whether a process is running; where that cannot be asked safely, it is."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _execute(source: Path, target: Path, parameters: dict[str, Any], stage: Stage) -> None:
    """Run one notebook through papermill, cell by cell."""
    import papermill  # noqa: PLC0415
    from papermill.exceptions import PapermillExecutionError  # noqa: PLC0415
    from traitlets.config import Config  # noqa: PLC0415

    config = Config()
    # Sockets of the kernel stand in a short folder of this run's own, never in the user's.
    sockets = tempfile.mkdtemp(prefix="sf")
    if os.name == "posix":
        config.KernelManager.transport = "ipc"
        config.KernelManager.ip = str(Path(sockets) / "k")
    try:
        papermill.execute_notebook(
            str(source),
            str(target),
            parameters=parameters,
            cwd=str(source.parent),
            engine_name=_counting(stage),
            progress_bar=False,
            kernel_name="python3",
            start_timeout=START_LIMIT,
            execution_timeout=CELL_LIMIT,
            config=config,
        )
    except PapermillExecutionError as error:
        msg = f"{source.name}: {error.evalue or error.ename}"
        raise RunError(msg) from error
    except Exception as error:
        msg = f"{source.name}: the notebook could not be run ({type(error).__name__}: {error})"
        raise RunError(msg) from error
    finally:
        shutil.rmtree(sockets, ignore_errors=True)


def _counting(stage: Stage) -> str:
    """Name an engine that runs a notebook as papermill's own does, and tells of cells done."""
    from papermill.engines import NBClientEngine, papermill_engines  # noqa: PLC0415

    class Counting(NBClientEngine):  # type: ignore[misc]
        """Papermill's own engine; its manager says when a cell has ended."""

        @classmethod
        def execute_managed_notebook(cls, nb_man: Any, kernel_name: str, **options: Any) -> Any:  # noqa: ANN401
            """Run the notebook."""
            ended, complete = (
                stage("cells of the notebook", len(nb_man.nb.cells)),
                nb_man.cell_complete,
            )

            def counted(*given: Any, **named: Any) -> None:  # noqa: ANN401
                complete(*given, **named)
                ended()

            nb_man.cell_complete = counted
            return super().execute_managed_notebook(nb_man, kernel_name, **options)

    papermill_engines.register(ENGINE, Counting)
    return ENGINE


def tidy_notebook(path: Path) -> None:
    """Strip what changes from run to run: timings, execution stamps, the machine's paths."""
    notebook = nbformat.read(path, as_version=4)
    notebook.metadata.pop("papermill", None)
    for cell in notebook.cells:
        cell.metadata.pop("papermill", None)
        cell.metadata.pop("execution", None)
        if "injected-parameters" in cell.metadata.get("tags", []):
            lines = [x for x in cell.source.splitlines() if not x.startswith(OURS)]
            cell.source = "\n".join([*lines, 'output_folder = ""'])
            cell["id"] = "cell-given"
    nbformat.write(notebook, path)
