"""Compiled code that cannot be kept, is damaged, or was kept before a reinstall."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from spotdwell.console.progress import COMPILING, NOWHERE
from spotdwell.kernels import keeping

COMMAND = (sys.executable, "-m", "spotdwell")
pytestmark = pytest.mark.compiled

# The only place that the compiler is left with is one that none of our sources has.
NO_PLACE = {"NUMBA_CACHE_LOCATOR_CLASSES": "ZipCacheLocator"}


def ran(*arguments: str | Path, **environment: str) -> subprocess.CompletedProcess[str]:
    clean = {name: value for name, value in os.environ.items() if name != "NUMBA_DISABLE_JIT"}
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=120,
        env=clean | environment,
        encoding="utf-8",
    )


def test_without_a_folder_to_keep_code_in_a_run_is_compiled_in_memory_and_says_so_once(slab):
    done = ran("run", slab, HOME="/dev/null/none", XDG_CACHE_HOME="", **NO_PLACE)
    assert done.returncode == 0, done.stderr
    assert "Verdict: " in done.stdout
    assert done.stderr.count(NOWHERE) == 1
    assert COMPILING not in done.stderr and "Traceback" not in done.stderr


def test_a_command_that_solves_nothing_needs_no_folder():
    for arguments in (("--version",), ("list", "materials"), ("list", "scenarios", "spot")):
        done = ran(*arguments, HOME="/dev/null/none", XDG_CACHE_HOME="", **NO_PLACE)
        assert (done.returncode, done.stderr) == (0, "")


TINY = """
from numba import njit

@njit(cache=True)
def twice(value):
    return 2.0 * value
"""


def test_damaged_code_is_compiled_again_and_dates_say_nothing(tmp_path, monkeypatch):
    monkeypatch.setattr(keeping, "_PACKAGE", "tiny_kernels")
    monkeypatch.syspath_prepend(tmp_path)
    package = tmp_path / "tiny_kernels"
    package.mkdir()
    (package / "__init__.py").touch()
    (package / "one.py").write_text(TINY, encoding="utf-8")

    def loaded():
        for name in [name for name in sys.modules if name.startswith("tiny_kernels")]:
            del sys.modules[name]
        return importlib.import_module("tiny_kernels.one")

    keeping.keep_machine_code()
    first = loaded()
    assert keeping.can_keep(first) and not keeping.is_kept(first)
    assert first.twice(2.0) == 4.0
    # As after a reinstall: the sources are newer, and the same.
    for path in package.rglob("*.nb?"):
        os.utime(path, (1.0, 1.0))
    assert keeping.is_kept(loaded())
    for spoilt in (b"\x80\x04damaged", b"", first.__file__.encode()):
        for path in package.rglob("*.nb?"):
            path.write_bytes(spoilt)
        again = loaded()
        assert not keeping.is_kept(again)
        assert again.twice(3.0) == 6.0
