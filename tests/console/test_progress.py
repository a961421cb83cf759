"""Progress on standard error: nothing for a moment's work, then a line every few seconds, or one bar."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from numba.core import event

from spotdwell.console import progress
from spotdwell.console.progress import Watch, progress_text, time_text
from spotdwell.kernels.compiling import telling
from spotdwell.solve.march import Progress

STATE = Progress(time=0.0125, fraction=0.42, crater_depth=240e-6, peak_temperature=693.15, steps=77)


@pytest.fixture
def now(monkeypatch):
    """A clock that the test sets, in seconds."""
    clock = [100.0]
    monkeypatch.setattr(progress.time, "perf_counter", lambda: clock[0])
    progress._say_once.cache_clear()
    return clock


def test_progress_text_says_time_crater_and_hottest_point():
    assert progress_text(STATE) == "12.5 ms simulated, crater 240 um, hottest 420 degC"


def test_first_line_comes_after_two_seconds_and_the_next_five_later(now, capsys):
    lines = []
    with Watch() as seen:
        for second in range(13):
            now[0] = 100.0 + second
            seen.see(STATE)
            lines.append(capsys.readouterr().err)
    assert [second for second, text in enumerate(lines) if text] == [2, 7, 12]
    assert lines[2] == " 42 %  12.5 ms simulated, crater 240 um, hottest 420 degC\n"


def test_part_of_the_work_is_named(now, capsys):
    with Watch() as seen:
        now[0] += 3.0
        seen.see_part("grid 2 of 2", STATE)
    assert "grid 2 of 2: 12.5 ms" in capsys.readouterr().err


def compile_one(module="spotdwell.kernels.conduct"):
    """What the compiler broadcasts as it compiles a function of a module, before and after."""
    function = SimpleNamespace(py_func=SimpleNamespace(__module__=module))
    event.start_event("numba:compile", data={"dispatcher": function})
    event.end_event("numba:compile", data={"dispatcher": function})


def test_quiet_watch_says_nothing(now, capsys):
    with telling(kept=False), Watch(quiet=True) as seen:
        now[0] += 60.0
        compile_one()
        seen.see(STATE)
    assert capsys.readouterr().err == ""


def test_progress_stays_off_standard_output(now, capsys):
    with Watch() as seen:
        now[0] += 3.0
        seen.see(STATE)
    assert capsys.readouterr().out == ""


def test_pieces_are_counted_with_the_time_that_is_left(now, capsys):
    lines = []
    with Watch(False, "points") as seen:
        for done in range(1, 13):
            now[0] += 1.0
            seen.count(done, 40, 200.0 - done)
            lines.append(capsys.readouterr().err)
    assert [text for text in lines if text] == [
        f"{2.5 * done:3.0f} %  {done} of 40 points, 3 min left\n" for done in (2, 7, 12)
    ]
    assert (seen.done, seen.total) == (12, 40)


@pytest.mark.parametrize("known", [True, False], ids=["end known", "end not known"])
def test_a_terminal_shows_one_bar_that_is_wiped_in_the_end(now, capsys, monkeypatch, known):
    monkeypatch.setattr(progress.sys.stderr, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    with Watch(False, "frames") as seen:
        for done in range(1, 5):
            now[0] += 1.0
            if known:
                seen.count(done, 4)
            else:
                seen.tell(f"{done} frames")
    shown = capsys.readouterr().err
    assert "frames" in shown and "━" in shown
    # The bar is one line that is drawn over itself; what is left of it in the end is erased.
    assert shown.endswith("\x1b[2K")


def test_a_line_that_stays_comes_at_once_and_unless_quiet(now, capsys):
    with Watch() as seen, Watch(quiet=True) as silent:
        seen.say("try 1")
        silent.say("try 1")
        silent.count(1, 2)
        silent.tell("something")
    assert capsys.readouterr().err == "try 1\n"


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.2, "1 s"), (40.0, "40 s"), (720.0, "12 min"), (12600.0, "3.5 h")]
)
def test_times_are_written_as_people_say_them(seconds, text):
    assert time_text(seconds) == text


def test_a_run_of_minutes_is_foretold_after_its_first_steps(now, capsys):
    with Watch() as seen:
        for second in range(8):
            now[0] = 100.0 + second
            seen.see(replace(STATE, fraction=0.001 * second))
    said = capsys.readouterr().err.splitlines()
    # A thousandth a second: 998 s are left at the third, and 993 at the eighth.
    assert said[0].startswith("At the pace of its first steps this run takes about 17 min more.")
    assert [line.rpartition(", ")[2] for line in said[1:]] == ["about 17 min left"] * 2


def test_a_short_run_is_not_foretold(now, capsys):
    with Watch() as seen:
        for second in range(8):
            now[0] = 100.0 + second
            seen.see(replace(STATE, fraction=0.1 * second))
    assert "left" not in capsys.readouterr().err


def test_compiling_is_said_when_the_compiler_is_at_work_and_only_then(now, capsys):
    with telling(kept=False):
        with Watch():
            compile_one("numba.cpython.unicode")
            assert capsys.readouterr().err == ""
            compile_one()
            assert capsys.readouterr().err == progress.NOWHERE + "\n"
            for _ in range(8):
                now[0] += 1.0
                compile_one()
        assert capsys.readouterr().err == "5 functions compiled in 5 s\n"
        # Nobody listens any more, and a second command of one process does not repeat it.
        compile_one()
        with Watch():
            compile_one()
        assert capsys.readouterr().err == ""
