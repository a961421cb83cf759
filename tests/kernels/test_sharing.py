"""Kernels that are compiled apart, by this process or a second one, which may fail in any way."""

from __future__ import annotations

import importlib
import multiprocessing
import shutil
import subprocess
import sys

import numpy as np
import pytest

from spotdwell.kernels import compiling, keeping, sharing

pytestmark = pytest.mark.compiled

KERNELS = """
import math
from spotdwell.kernels.compiled import FUSED, inner
from spotdwell.kernels.entry import outer

@inner
def swell(value):
    return value + 0.1

@inner(apart=1, fastmath=FUSED)
def fused(one, two, three):
    return swell(one * two + three)

@inner(apart=2)
def both(values):
    total, least = 0.0, math.inf
    for value in values:
        total += math.sin(value)
        least = min(least, value)
    return total, least

@outer
def march(values):
    total, least = both(values)
    return fused(total, least, 1.0 / 3.0) + fused(least, total, swell(1.0))
"""
EXIT, GARBAGE, NEVER, HANGS = (
    "import os, pickle, sys; pickle.load(sys.stdin.buffer); os._exit(9)",
    "import sys; sys.stdin.buffer.read(1); print('not what was asked for', flush=True)",
    "raise SystemExit(3)",
    "import time; time.sleep(600.0)",
)


@pytest.fixture
def values():
    return np.linspace(0.3, 2.0, 7)


@pytest.fixture
def made(tmp_path, monkeypatch):
    """What makes a package of the kernels anew and gives their march."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "kept"))
    monkeypatch.syspath_prepend(tmp_path)
    (tmp_path / "apart_kernels").mkdir()
    (tmp_path / "apart_kernels" / "__init__.py").touch()

    def make(text=KERNELS):
        shutil.rmtree(tmp_path / "kept", ignore_errors=True)
        (tmp_path / "apart_kernels" / "one.py").write_text(text, encoding="utf-8")
        sys.modules.pop("apart_kernels.one", None)
        importlib.invalidate_caches()
        return importlib.import_module("apart_kernels.one").march

    yield make
    for name in [name for name in sys.modules if name.startswith("apart_kernels")]:
        del sys.modules[name]


@pytest.fixture
def seen(monkeypatch):
    """Second processes as they were made, and pieces that this process compiled."""
    seconds, own = [], []

    class Seen(sharing.Second):
        def __init__(self, process):
            super().__init__(process)
            seconds.append(self)

    def compiled(piece, compile=compiling.piece_object):
        own.append(piece.kernel.__name__)
        return compile(piece)

    monkeypatch.setattr(sharing, "Second", Seen)
    monkeypatch.setattr(compiling, "piece_object", compiled)
    return seconds, own


@pytest.fixture
def two_cores(monkeypatch):
    monkeypatch.setattr(sharing, "cores", lambda: 2)


def test_both_processes_make_code_that_gives_the_same_numbers(made, seen, monkeypatch, values):
    (seconds, own), told = seen, []
    monkeypatch.setattr(sharing, "cores", lambda: 1)
    alone = made()(values)
    assert own == ["both", "fused"] and seconds[0].objects == []
    monkeypatch.setattr(sharing, "cores", lambda: 2)
    # This process takes a piece only if the second one has given up.
    usual = sharing.taken
    monkeypatch.setattr(compiling, "taken", lambda take: None if seconds[1].is_busy else usual(take))
    with compiling.heard(lambda count, kept: told.append(count)):
        shared = made()(values)
    assert len(own) == 2 and len(seconds[1].objects) == 2
    assert shared == alone
    assert told == sorted(told) and seconds[1].count >= 3  # both, fused and swell
    assert told[-1] > seconds[1].count


@pytest.mark.parametrize("start", [EXIT, GARBAGE, NEVER, HANGS])
def test_a_second_process_that_fails_leaves_its_piece_to_the_first(made, seen, monkeypatch, values, start):
    monkeypatch.setattr(sharing, "cores", lambda: 1)
    alone = made()(values)
    monkeypatch.setattr(sharing, "cores", lambda: 2)
    monkeypatch.setattr(sharing, "_START", start)
    monkeypatch.setattr(sharing, "_PATIENCE", 0.5)
    assert made()(values) == alone
    assert sorted(seen[1][2:]) == ["both", "fused"] and seen[0][1].objects == []


def test_the_second_process_leaves_if_the_sources_are_others_now(two_cores, made, seen, monkeypatch, values):
    monkeypatch.setattr(compiling, "stamp", lambda source: "of before")
    made()(values)
    assert len(seen[1]) == 2 and seen[0][0].objects == []


@pytest.mark.parametrize("name", ["no python", "python of another folder"])
def test_without_a_python_to_start_this_process_does_all(two_cores, made, seen, monkeypatch, values, name):
    monkeypatch.setattr(sys, "executable", name)
    made()(values)
    assert len(seen[1]) == 2


@pytest.mark.parametrize("place", ["a worker", "another program"])
def test_no_process_is_started_in_a_worker_or_from_within_another_program(two_cores, monkeypatch, place):
    started = sharing._started("spotdwell.kernels.books", "")
    assert started is not None
    started.kill()
    started.communicate()
    if place == "a worker":
        monkeypatch.setattr(multiprocessing, "parent_process", lambda: "another")
    else:
        monkeypatch.setattr(sys, "frozen", True, raising=False)
    assert sharing._started("spotdwell.kernels.books", "") is None


@pytest.mark.parametrize("count", [1, 2])
def test_a_kernel_that_returns_other_than_declared_fails_whoever_compiles_it(
    made, monkeypatch, values, count
):
    monkeypatch.setattr(sharing, "cores", lambda: count)
    wrong = KERNELS.replace("return swell(one * two + three)", "return 3")
    with pytest.raises(TypeError, match=r"fused returns .*int.*, and is declared to return float64"):
        made(wrong)(values)
    assert made()(values) > 0.0


def test_the_second_process_ends_with_the_first_and_says_nothing():
    words = [sys.executable, "-c", sharing._START, "spotdwell.kernels.books", "", *sys.path]
    done = subprocess.run(words, input=b"", capture_output=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
    words[4] = keeping.stamp(importlib.import_module("spotdwell.kernels.books").__file__)
    done = subprocess.run(words, input=b"", capture_output=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
