"""Run the notebooks and keep the outputs that nbval compares: python tests/refresh_notebooks.py."""

from pathlib import Path

import nbformat
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"


def refresh(path):
    """Run one notebook; keep the outputs of cells tagged nbval-check-output and nothing else."""
    notebook = nbformat.read(path, as_version=4)
    ran = nbformat.from_dict(notebook)
    NotebookClient(
        ran, kernel_name="python3", resources={"metadata": {"path": path.parent}}
    ).execute()
    for cell, done in zip(notebook.cells, ran.cells, strict=True):
        if cell.cell_type == "code":
            kept = "nbval-check-output" in cell.metadata.get("tags", [])
            cell.outputs = done.outputs if kept else []
            cell.execution_count = done.execution_count if kept else None
        cell.metadata.pop("execution", None)
    nbformat.write(notebook, path)


if __name__ == "__main__":
    for notebook in sorted(NOTEBOOKS.glob("*.ipynb")):
        refresh(notebook)
