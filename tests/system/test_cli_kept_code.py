"""Compiled code that cannot be kept, is damaged, or was kept before a reinstall."""

from __future__ import annotations

import importlib
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from spotdwell.console.progress import COMPILING, NOWHERE
from spotdwell.kernels import keeping

COMMAND = (sys.executable, "-m", "spotdwell")
pytestmark = pytest.mark.compiled

# A place that is stated is the only one, and no folder can be made there.
NO_PLACE = {"NUMBA_CACHE_DIR": "/dev/null/none"}


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


LOADED = """
from spotdwell.entry import main
main()
print("LOADED", [name for name in ("numba", "matplotlib", "pint", "h5py", "scipy") if name in sys.modules])
"""
CALLEE = """
from spotdwell.kernels.compiled import inner

@inner
def factor():
    return 2.0
"""
CALLER = """
from spotdwell.kernels.entry import outer
from tiny_kernels.callee import factor

@outer
def times(value):
    return factor() * value
"""


@pytest.fixture
def package(tmp_path, monkeypatch):
    """A package of two kernels, of which one calls the other."""
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.syspath_prepend(tmp_path)
    made = tmp_path / "tiny_kernels"
    made.mkdir()
    (made / "__init__.py").touch()
    (made / "one.py").write_text(CALLER, encoding="utf-8")
    (made / "callee.py").write_text(CALLEE, encoding="utf-8")
    return made


def loaded():
    """The kernel that Python calls, as a new process would find it."""
    for name in [name for name in sys.modules if name.startswith("tiny_kernels")]:
        del sys.modules[name]
    importlib.invalidate_caches()
    return importlib.import_module("tiny_kernels.one").times


def test_an_edited_callee_in_another_file_leaves_no_caller_stale(package):
    assert loaded()(3.0) == 6.0
    kept = loaded()
    assert kept(3.0) == 6.0 and kept.compiled == 0
    (package / "callee.py").write_text(CALLEE.replace("2.0", "50.0"), encoding="utf-8")
    edited = loaded()
    assert edited(3.0) == 150.0 and edited.compiled == 1
    # As it was: what was kept of it then is not taken for it without a look at the contents.
    (package / "callee.py").write_text(CALLEE, encoding="utf-8")
    assert loaded()(3.0) == 6.0


def test_damaged_code_is_compiled_again_and_dates_say_nothing(package):
    first = loaded()
    assert first(2.0) == 4.0 and first.compiled == 1
    (path,) = package.rglob(f"*{keeping.SUFFIX}")
    # As after a reinstall: the sources are newer, and the same.
    os.utime(path, (1.0, 1.0))
    second = loaded()
    assert second(2.0) == 4.0 and second.compiled == 0
    whole = path.read_bytes()
    for spoilt in (b"damaged", b"", whole[:-1], whole[:200] + b"!" + whole[201:]):
        path.write_bytes(spoilt)
        again = loaded()
        assert again(3.0) == 6.0 and again.compiled == 1
        mended = loaded()
        assert mended(3.0) == 6.0 and mended.compiled == 0


def test_code_is_made_once_for_arguments_of_a_type(package):
    kernel = loaded()
    assert kernel(1.5) == 3.0 and kernel(2) == 4.0 and kernel(np.float64(2.5)) == 5.0
    assert kernel.compiled == 2
    assert len(list(package.rglob(f"*{keeping.SUFFIX}"))) == 2


def test_a_folder_that_cannot_be_written_leaves_the_user_s_own(package, tmp_path, monkeypatch):
    (package / "__pycache__").touch()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "own"))
    assert loaded()(2.0) == 4.0
    assert len(list((tmp_path / "own").rglob(f"*{keeping.SUFFIX}"))) == 1
    again = loaded()
    assert again(2.0) == 4.0 and again.compiled == 0


def test_a_later_shot_loads_no_compiler(slab):
    ran("run", slab, "--quiet")
    words = ["spotdwell", "run", str(slab), "--quiet"]
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.argv = {words}\n{LOADED}"],
        capture_output=True,
        text=True,
        timeout=120,
        env={name: value for name, value in os.environ.items() if name != "NUMBA_DISABLE_JIT"},
    )
    assert "LOADED []" in done.stdout, done.stderr


def living_in_group(group: int) -> list[str]:
    """Processes of a group that still run; ended ones that nobody has waited for (Z) do not count."""
    table = subprocess.run(["ps", "-eo", "pgid=,stat=,args="], capture_output=True, text=True, check=True)
    rows = (line.split(None, 2) for line in table.stdout.splitlines())
    return [row[2] for row in rows if row[0] == str(group) and not row[1].startswith("Z")]


@pytest.mark.skipif(shutil.which("ps") is None, reason="needs ps")
@pytest.mark.parametrize("by", ["terminal", "system"])
def test_a_command_that_is_stopped_while_it_compiles_leaves_nothing(slab, tmp_path, by):
    kept = tmp_path / "kept"
    process = subprocess.Popen(
        [*COMMAND, "run", str(slab)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"NUMBA_CACHE_DIR": str(kept), "NUMBA_DISABLE_JIT": "0"},
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    try:
        assert process.stderr.readline().strip() == COMPILING
        time.sleep(1.5)  # both processes are at work
        if by == "terminal":
            os.killpg(process.pid, signal.SIGINT)  # the whole group gets it
        else:
            process.kill()
        out, err = process.communicate(timeout=20)
    finally:
        process.kill()
    assert out == ""
    if by == "terminal":
        assert process.returncode == 130
        assert "Stopped" in err and "Traceback" not in err
    waited = time.monotonic() + 20.0
    while living_in_group(process.pid) and time.monotonic() < waited:
        time.sleep(0.1)
    assert living_in_group(process.pid) == []
    assert [path for path in kept.rglob("*") if path.is_file()] == []
