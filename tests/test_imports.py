"""Imports point one way, so that each part can be read, tested and used without those above it."""

import ast
import re
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import spotdwell

PACKAGE = Path(spotdwell.__file__).parent
CORE = {
    "base": set(),
    "exact": set(),
    "kernels": set(),
    "library": {"base"},
    "model": {"base"},
    "solve": {"base", "model", "kernels"},
    "measure": {"base", "model", "solve"},
    "inputs": {"base", "library", "model"},
    "output": {"base", "model", "solve", "measure"},
    "document": {"base", "output"},
    "pipeline": {"base", "model", "inputs", "solve", "measure", "output"},
    "console": {"base", "kernels", "solve", "output"},
}
"""Parts of the core, each with those that it may import from, inside functions too."""
ROOMS = {
    "calibration": {"craters"},
    "cards": set(),
    "catalogue": set(),
    "craters": set(),
    "evidence": {"scans", "spread"},
    "films": {"scans"},
    "live_page": {"cards", "maps", "pages", "reports", "sizing", "spread"},
    "maps": {"scans", "spread"},
    "pages": {"maps"},
    "regimes": {"spread"},
    "reports": {"scans", "spread"},
    "scans": set(),
    "shots": {"films", "scans", "spread"},
    "sizing": {"scans", "shots", "spread"},
    "spots": set(),
    "spread": set(),
}
"""Features, each a room above the core, with the other rooms that it uses."""
ALLOWED = CORE | {room: CORE.keys() | others for room, others in ROOMS.items()}
ONLY_HERE = {
    "h5py": "output",
    "matplotlib": "output",
    "numba": "kernels",
    "pint": "base",
    "pydantic": "inputs",
    "jinja2": "document",
}


def imports_of(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def files_of(part: str) -> list[Path]:
    folder = PACKAGE / part
    return sorted(folder.rglob("*.py")) if folder.is_dir() else [PACKAGE / f"{part}.py"]


@pytest.mark.parametrize("part", ALLOWED)
def test_part_imports_only_what_lies_below_it(part):
    files = files_of(part)
    assert files
    for path in files:
        ours = {name.split(".")[1] for name in imports_of(path) if name.startswith("spotdwell.")}
        assert ours - {part} <= ALLOWED[part], path.relative_to(PACKAGE)


@pytest.mark.parametrize(("library", "part"), ONLY_HERE.items())
def test_library_is_imported_in_one_part_of_the_core_alone(library, part):
    users = {
        path.relative_to(PACKAGE).parts[0]
        for path in PACKAGE.rglob("*.py")
        if any(name.split(".")[0] == library for name in imports_of(path))
    }
    assert users & CORE.keys() == {part}


@pytest.mark.parametrize("part", sorted(ALLOWED))
def test_only_the_terminal_writes_an_option_as_it_is_typed(part):
    """Below it settings have their names, which Python takes too; a whole command may be quoted."""
    for path in files_of(part):
        if path.name in ("options.py", "verb.py", "shown.py") or part == "shots":
            continue  # declare or quote them
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                text = node.value
                quoted = "spotdwell " in text or "dask " in text
                assert quoted or not re.search(r"(?<![\w-])--[a-z]", text), f"{path.name}: {text}"


def test_every_part_is_named_here():
    parts = {path.stem for path in PACKAGE.iterdir() if path.suffix == ".py" or path.is_dir()}
    shelves = {"materials", "scenarios"}  # beside the code once it is installed
    others = {"__init__", "__main__", "__pycache__", "cli", "entry", "py"}
    assert parts - others - shelves == ALLOWED.keys()


def test_no_imports_form_a_ring():
    """Of modules, inside functions and for types alone too."""
    modules = {
        ".".join(("spotdwell", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
            ".__init__"
        ): path
        for path in PACKAGE.rglob("*.py")
    }
    graph = {
        name: {one if one in modules else one.rpartition(".")[0] for one in imports_of(path)} & modules.keys()
        for name, path in modules.items()
        if name != "spotdwell"
    }
    TopologicalSorter({name: users - {name, "spotdwell"} for name, users in graph.items()}).prepare()


def test_a_problem_marches_without_files_or_pictures():
    code = (
        "import sys, spotdwell.solve.march\n"
        "print([m for m in ('h5py', 'matplotlib', 'pydantic', 'pint', 'typer', 'rich') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
