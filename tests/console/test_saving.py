"""Files of a verb: refused before the work, each tried after it, and told of when it is stopped."""

from __future__ import annotations

from pathlib import Path

import pytest

from spotdwell.base.errors import InputError, RunError
from spotdwell.console.saving import Files, stopped, try_all
from spotdwell.console.screen import Interrupted


def write(path: Path) -> None:
    path.write_text("whole")


def fail(path: Path) -> None:
    raise RunError(f"{path.name}: the disk is full")


@pytest.mark.parametrize(
    ("name", "kind", "said"),
    [
        ("a.txt", "h5", r"out: expected a file name that ends in .h5 or .hdf5, got .*Name it a.h5."),
        ("a.gif", "picture", r"out: expected a file name that ends in .png, .svg or .pdf, got"),
        ("a", "csv", r"out: expected a file name that ends in .csv, got"),
    ],
)
def test_another_suffix_is_refused_with_those_that_do(tmp_path, name, kind, said):
    with pytest.raises(InputError, match=said):
        Files().check("out", tmp_path / name, kind)


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(RunError, match="no folder"):
        Files().check("out", tmp_path / "none" / "a.h5", "h5")


def test_a_file_that_fails_costs_no_other_and_its_error_is_raised(tmp_path, capsys):
    files = Files()
    with pytest.raises(RunError, match="first"):
        files.finish(
            lambda: None, (tmp_path / "first", fail), (tmp_path / "none", fail), (tmp_path / "b", write)
        )
    shown = capsys.readouterr()
    assert shown.out == f"Saved {tmp_path / 'b'}\n"
    assert "none: the disk is full" in shown.err and "first" not in shown.err
    assert files.kept == [tmp_path / "b"]


def test_beside_json_a_saved_file_is_told_on_standard_error_and_if_quiet_not_at_all(tmp_path, capsys):
    Files(as_json=True).keep(tmp_path / "a", write)
    shown = capsys.readouterr()
    assert (shown.out, shown.err) == ("", f"Saved {tmp_path / 'a'}\n")
    Files(quiet=True).keep(tmp_path / "a", write)
    assert capsys.readouterr() == ("", "")


def test_an_interrupt_says_what_was_saved_and_what_is_as_before(tmp_path):
    old = tmp_path / "old.csv"
    old.write_text("power [W],verdict,deepest [m]\n")  # a table of ours, which may be replaced
    files = Files(quiet=True)
    files.check("table", old, "csv")
    files.check("picture", tmp_path / "a.png", "picture")
    with pytest.raises(Interrupted) as nothing, files.stoppable():
        raise KeyboardInterrupt
    assert str(nothing.value) == f"Stopped: nothing was saved. As it was before: {old}."
    with pytest.raises(Interrupted) as some, files.stoppable():
        files.keep(tmp_path / "a.png", write)
        raise KeyboardInterrupt
    assert str(some.value).startswith(f"Stopped: only {tmp_path / 'a.png'} was saved.")


def test_an_interrupt_ends_what_is_tried_in_turn():
    done = []

    def stop() -> None:
        with stopped("1 of 3 is done."):
            raise KeyboardInterrupt

    with pytest.raises(Interrupted, match=r"^Stopped: 1 of 3 is done\.$"):
        try_all([lambda: done.append(1), stop, lambda: done.append(3)])
    assert done == [1]
