"""A result carries what the problem and the outcome say, cell by cell."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from spotdwell.base.errors import RunError
from spotdwell.output.sealed import sealed
from spotdwell.output.whole_file import check_writable


def test_media_become_cell_arrays(make):
    result = make(film=True)
    assert result.layer_names == ("saline", "soft_tissue")
    np.testing.assert_array_equal(result.liquid, [True] * 10 + [False] * 140)
    np.testing.assert_array_equal(result.leaves_char, [False] * 10 + [True] * 140)
    np.testing.assert_array_equal(result.initial_water, [997.0] * 10 + [763.0] * 140)


def test_damage_processes_are_named_though_the_top_layer_has_none(make):
    result = make(film=True)
    assert result.damage_names == ("collagen", "cells")
    assert result.damage_titles == ("collagen birefringence loss", "cell death")


def test_the_last_snapshot_is_the_result_s_fields(make):
    result = make()
    assert result.fields is result.snapshots[-1]
    assert result.fields.time == 3.0


def test_the_title_falls_back_on_the_setting(make):
    result = make()
    assert result.title == "A spot on soft tissue"
    assert dataclasses.replace(result, setting={"power": "25 W", "dwell": "80 ms"}).title == "25 W, 80 ms"


def test_check_writable_leaves_nothing_and_keeps_what_is_there(tmp_path):
    check_writable(tmp_path / "new.h5")
    assert list(tmp_path.iterdir()) == []
    old = tmp_path / "old.h5"
    old.write_bytes(sealed(b"\x89HDF\r\n\x1a\nkept", "spotdwell result", 1))
    before = old.read_bytes()
    check_writable(old)
    assert old.read_bytes() == before


def test_check_writable_refuses_a_folder_and_a_path_below_a_file(tmp_path):
    with pytest.raises(RunError, match="it is a folder"):
        check_writable(tmp_path)
    (tmp_path / "file").touch()
    with pytest.raises(RunError, match="there is no folder"):
        check_writable(tmp_path / "file" / "run.h5")
