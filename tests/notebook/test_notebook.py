"""The notebook runs from the first cell to the last and shows what it promises."""

import asyncio
import sys
from pathlib import Path

import pytest

nbformat = pytest.importorskip("nbformat")
nbclient = pytest.importorskip("nbclient")

NOTEBOOK = Path(__file__).parent / "first_shots.ipynb"


@pytest.mark.compiled
@pytest.mark.filterwarnings("ignore")  # of the notebook's own libraries
def test_the_notebook_runs_and_shows_a_section_a_table_and_arrays(tmp_path, monkeypatch):
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path))
    monkeypatch.setenv("JUPYTER_PATH", str(Path(sys.prefix) / "share" / "jupyter"))
    if sys.platform == "win32":
        asyncio.set_event_loop_policy(asyncio.WindowsSelectorEventLoopPolicy())
    notebook = nbformat.read(NOTEBOOK, as_version=4)
    nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3").execute(cwd=str(tmp_path))
    shown = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    html = next(one.data["text/html"] for one in shown if "text/html" in one.get("data", {}))
    assert html.startswith("<svg") and "depth of the crater" in html
    printed = "".join(one.text for one in shown if one.output_type == "stream" and one.name == "stdout")
    assert printed.count(" mm: ") == 5 and "clean" in printed
    assert any("image/png" in one.get("data", {}) for one in shown)
