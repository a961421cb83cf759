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


CALLEE = """
from spotdwell.kernels.compiled import inner

@inner
def factor():
    return 2.0
"""
CALLER = """
from spotdwell.kernels.compiled import outer
from tiny_kernels.callee import factor

@outer
def times(value):
    return factor() * value
"""


@pytest.fixture
def package(tmp_path, monkeypatch):
    """An empty package of kernels."""
    monkeypatch.setattr(keeping, "_PACKAGE", "tiny_kernels")
    monkeypatch.syspath_prepend(tmp_path)
    made = tmp_path / "tiny_kernels"
    made.mkdir()
    (made / "__init__.py").touch()
    keeping.keep_machine_code()
    return made


def loaded():
    """The module of kernels, as a new process would find it."""
    for name in [name for name in sys.modules if name.startswith("tiny_kernels")]:
        del sys.modules[name]
    importlib.invalidate_caches()
    return importlib.import_module("tiny_kernels.one")


def test_an_edited_callee_in_another_file_leaves_no_caller_stale(package):
    (package / "one.py").write_text(CALLER, encoding="utf-8")
    (package / "callee.py").write_text(CALLEE, encoding="utf-8")
    assert loaded().times(3.0) == 6.0
    kept = loaded()
    assert kept.times(3.0) == 6.0 and kept.times.stats.cache_hits
    (package / "callee.py").write_text(CALLEE.replace("2.0", "50.0"), encoding="utf-8")
    edited = loaded()
    assert edited.times(3.0) == 150.0 and not edited.times.stats.cache_hits
    # As it was: what was kept of it then is not taken for it without a look at the contents.
    (package / "callee.py").write_text(CALLEE, encoding="utf-8")
    assert loaded().times(3.0) == 6.0


def test_damaged_code_is_compiled_again_and_dates_say_nothing(package):
    (package / "one.py").write_text(TINY, encoding="utf-8")
    first = loaded()
    assert keeping.can_keep(first)
    assert first.twice(2.0) == 4.0 and not first.twice.stats.cache_hits
    # As after a reinstall: the sources are newer, and the same.
    for path in package.rglob("*.nb?"):
        os.utime(path, (1.0, 1.0))
    second = loaded()
    assert second.twice(2.0) == 4.0 and second.twice.stats.cache_hits
    for spoilt in (b"\x80\x04damaged", b"", first.__file__.encode()):
        for path in package.rglob("*.nb?"):
            path.write_bytes(spoilt)
        again = loaded()
        assert again.twice(3.0) == 6.0 and not again.twice.stats.cache_hits
