"""Progress of many runs: told now and then, wiped in the end, silent if asked."""

import pytest

from spotdwell.terminal import count


@pytest.fixture
def clock(monkeypatch):
    """A second passes at every look at the clock."""
    monkeypatch.setattr(count.time, "perf_counter", iter(range(1000)).__next__)


def test_a_line_every_five_seconds_says_how_far_and_how_long(clock, capsys):
    with count.Count(False, "points") as told:
        for done in range(1, 13):
            told.see(done, 40, 200.0 - done)
    lines = capsys.readouterr().err.splitlines()
    # Patience of 2 s, then one of every five.
    assert lines == [f"{2.5 * done:3.0f} %  {done} of 40 points, 3 min left" for done in (2, 7, 12)]
    assert (told.done, told.total) == (12, 40)


def test_a_terminal_shows_one_line_that_is_wiped_in_the_end(clock, capsys, monkeypatch):
    monkeypatch.setattr(count.sys.stderr, "isatty", lambda: True)
    with count.Count(False, "frames") as told:
        for done in range(1, 5):
            told.see(done, 4)
    shown = capsys.readouterr().err
    assert shown.count("\n") == 0 and shown.count("frames") == 3
    assert shown.endswith("\r\x1b[K")


def test_quiet_is_silent(clock, capsys):
    with count.Count(True, "points") as told:
        told.see(1, 2, 3.0)
        told.tell("something")
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.2, "1 s"), (40.0, "40 s"), (720.0, "12 min"), (12600.0, "3.5 h")]
)
def test_times_are_written_as_people_say_them(seconds, text):
    assert count.time_text(seconds) == text
