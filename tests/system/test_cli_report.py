"""`report` on the command line: files, default names, errors and exit codes."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest


@pytest.fixture
def kept(call, slab, tmp_path):
    call("run", slab, "--quiet", "--out", tmp_path / "shot.h5")
    return tmp_path / "shot.h5"


def test_a_kept_result_is_reported_beside_it(call, kept, tmp_path):
    answer = call("report", kept)
    html, pdf = tmp_path / "shot.html", tmp_path / "shot.pdf"
    assert (answer.code, answer.out) == (0, f"Saved {html}\nSaved {pdf}\n"), answer.err
    assert "A tiny slab" in html.read_text(encoding="utf-8")
    data = pdf.read_bytes()
    # The run on one page, and the sources of its material values on two.
    assert data.startswith(b"%PDF") and len(re.findall(rb"/Type /Page\b", data)) == 3


def test_one_named_file_is_all_that_is_written(call, kept, tmp_path):
    assert call("report", kept, "--html", tmp_path / "a.html", "--quiet").out == ""
    assert {path.name for path in tmp_path.iterdir()} == {"slab.toml", "shot.h5", "a.html"}


def test_a_scenario_is_solved_first_with_intervals_if_asked(call, slab, tmp_path):
    answer = call("report", slab, "--html", tmp_path / "a.html", "--uncertainty", "8", "--workers", "1")
    assert answer.code == 0, answer.err
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert "Intervals from 8 runs. The 90 % interval holds" in text and "5 % to 95 %" in text


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (("{kept}", "--uncertainty", "8"), 2, "a scenario, which can be run again"),
        (("{kept}", "--html", "a.txt"), 2, "a file name that ends in .html"),
        (("{kept}", "--pdf", "a.html"), 2, "a file name that ends in .pdf"),
        (("{kept}", "--html", "absent/a.html"), 1, "there is no folder"),
        (("{kept}", "--seed", "3"), 2, "--uncertainty beside it"),
        (("nothing.h5",), 2, "a result file"),
        (("nothing_like_it",), 2, "the path of a scenario file or the name of a shipped one"),
        (("notes.txt",), 2, "notes.txt"),
        (("foreign.h5",), 2, "a result that spotdwell saved"),
    ],
)
def test_what_cannot_be_reported_is_refused_and_nothing_is_written(
    call, kept, tmp_path, monkeypatch, options, code, words
):
    monkeypatch.chdir(tmp_path)
    for name in ("notes.txt", "foreign.h5"):
        (tmp_path / name).write_text("no result")
    before = {path.name for path in tmp_path.iterdir()}
    answer = call("report", *(one.format(kept=kept) for one in options))
    assert answer.code == code
    assert words in " ".join(answer.err.split())
    assert {path.name for path in tmp_path.iterdir()} == before


def test_a_result_is_known_by_its_first_bytes_too(call, kept, tmp_path):
    other = kept.rename(tmp_path / "shot.dat")
    assert call("report", other, "--html", tmp_path / "a.html").code == 0


def test_a_stopped_report_exits_with_130(call, kept, tmp_path, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("spotdwell.document.printed.write_html", stop)
    answer = call("report", kept)
    assert answer.code == 130 and "Stopped" in answer.err


@pytest.mark.parametrize("verb", ["report", "card"])
def test_help_has_an_example_and_loads_no_solver(call, verb):
    answer = call(verb, "--help")
    assert answer.code == 0 and f"Example: spotdwell {verb}" in answer.out
    code = (
        f"import sys\nfrom spotdwell.cli import main\nmain(['{verb}', '--help'])\n"
        "print('LOADED', [n for n in ('numpy', 'numba', 'pint', 'h5py', 'matplotlib') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=20)
    assert done.stdout.endswith("LOADED []\n")
