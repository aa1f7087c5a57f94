"""The project's own rules: lint, types, import order, sums, no trace of a machine."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

TOOLS = {
    "lint": ["-m", "ruff", "check", "--no-cache", "."],
    "format": ["-m", "ruff", "format", "--check", "--no-cache", "model", "tests"],
    "types": ["-m", "mypy"],
}


def run(root, *words):
    return subprocess.run(
        [sys.executable, *words], cwd=root, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize("tool", TOOLS)
def test_tools_find_nothing(root, tool):
    done = run(root, *TOOLS[tool])
    assert done.returncode == 0, done.stdout + done.stderr


def test_imports_go_one_way(root):
    command = "from importlinter.cli import lint_imports_command as c; c(standalone_mode=True)"
    done = run(root, "-c", command)
    assert done.returncode == 0, done.stdout + done.stderr


PIPELINE = ["farm", "people", "money", "arrays.py", "timeline.py", "appraisal.py"]


def modules(root, names=PIPELINE):
    for name in names:
        place = root / "model" / "sitefare" / name
        yield from place.glob("*.py") if place.is_dir() else [place]


def test_no_linear_algebra_library_in_the_pipeline(root):
    # Its sums differ with threads and processor; results must not (DECISIONS 10).
    # An einsum with `optimize` may call it; without, it is a plain loop.
    banned = {"dot", "matmul", "vdot", "vecdot", "tensordot", "inner", "linalg", "optimize"}
    for path in modules(root):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            where = f"{path.name}:{getattr(node, 'lineno', 0)}"
            assert not isinstance(getattr(node, "op", None), ast.MatMult), where
            assert getattr(node, "attr", getattr(node, "arg", None)) not in banned, where


def tracked(root):
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=root, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout, so its files cannot be listed")
    return [root / name for name in listed.stdout.split("\0") if name]


def test_no_file_names_a_registry_or_a_machine(root):
    hosts = "|".join(["py" + "pi.org", "python" + "hosted", "registry.np" + "m", "deb." + "debian"])
    places = "|".join(["/wor" + "k/", "/hom" + "e/", "/roo" + "t/"])
    for path in tracked(root):
        if path.suffix in {".ttf", ".woff2", ".pdf", ".png", ".docx"} or not path.is_file():
            continue
        text = path.read_text(encoding="utf-8")
        assert not re.search(f"{hosts}|{places}", text), path.name


def test_constraints_are_names_and_versions(root):
    lines = (root / "constraints.txt").read_text(encoding="utf-8").splitlines()
    for line in lines:
        assert re.fullmatch(r"#.*|[A-Za-z0-9_.-]+==[A-Za-z0-9_.!+-]+( ?;.*)?", line), line


def test_modules_and_functions_stay_readable(root):
    package = root / "model" / "sitefare"
    for path in package.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= 400, path.name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                body = (node.end_lineno or 0) - node.body[0].lineno + 1
                assert body <= 60, f"{path.name}:{node.name} has {body} lines"


@pytest.mark.parametrize(
    "name", ["proposal.ipynb", "comparison.ipynb", "explore.ipynb", "uncertainty.ipynb"]
)
def test_notebooks_are_choices_calls_and_prose(root, name):
    import nbformat  # noqa: PLC0415

    notebook = nbformat.read(Path(root) / "notebooks" / name, as_version=4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert "parameters" in code[0].metadata.tags
    for node in ast.parse(code[0].source).body:
        assert isinstance(node, ast.AnnAssign)
    for line in code[0].source.splitlines():
        assert "  # " in line, line
    for cell in code:
        assert len(cell.source.splitlines()) <= 15
        kinds = (ast.FunctionDef, ast.ClassDef, ast.For, ast.While)
        assert not any(isinstance(node, kinds) for node in ast.walk(ast.parse(cell.source)))
        if "nbval-check-output" not in cell.metadata.get("tags", []):
            assert not cell.outputs
