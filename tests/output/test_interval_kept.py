"""Intervals are kept with a result, come back with it, and are refused where they were tampered with."""

from __future__ import annotations

import dataclasses
import json

import h5py
import numpy as np
import pytest

from spotdwell.base.errors import InputError
from spotdwell.measure.interval import Interval, odds_of, varies
from spotdwell.output import store
from spotdwell.output.pictures.key import _found
from spotdwell.output.result import load
from spotdwell.output.sealed import sealed
from spotdwell.output.tables import measure_rows, plain

ENDS = {"crater_depth": (380e-6, 770e-6), "char_thickness_wall": None, "incident_energy": (2.0, 2.0)}


@pytest.fixture
def judged(make):
    result = make()
    shares = {str(result.verdict.word): 0.8, "perforated": 0.2}
    return dataclasses.replace(result, interval=Interval(ENDS, shares, 8, "It covers this."))


def test_a_loaded_result_says_of_its_intervals_what_was_saved(judged, tmp_path):
    judged.save(tmp_path / "run.h5")
    found = load(tmp_path / "run.h5")
    assert found.interval == judged.interval
    assert found.odds == "4 in 5" and found.verdict_text == f"{judged.verdict.text}, 4 in 5"
    assert repr(found) == repr(judged) and "4 in 5" in repr(found)
    assert plain(found) == plain(judged)
    table = found._repr_html_()
    assert "380 to 770" in table and "It covers this." in table and ", 4 in 5</b>" in table


def test_a_result_without_draws_keeps_none_and_an_older_version_reads_one_with(make, judged, tmp_path):
    make().save(tmp_path / "bare.h5")
    judged.save(tmp_path / "with.h5")
    assert load(tmp_path / "bare.h5").interval is None and make().odds == ""
    assert "interval" not in plain(make())
    with h5py.File(tmp_path / "bare.h5") as bare, h5py.File(tmp_path / "with.h5") as more:
        # Groups of other names were always skipped, so the format is the same.
        assert set(more) - set(bare) == {"interval"}
        assert more.attrs["format_version"] == bare.attrs["format_version"] == 2
        assert more["interval/crater_depth"].attrs["units"] == "m"


TAMPERED = {
    "ends before it begins": lambda group: group["crater_depth"].write_direct(np.array([2.0, 1.0])),
    "is not finite": lambda group: group["crater_depth"].write_direct(np.array([np.nan, 1.0])),
    "do not sum to 1": lambda group: group["verdict_share"].write_direct(np.array([0.8, 0.3])),
    "covers is missing": lambda group: group.__delitem__("covers"),
    "level or the number": lambda group: group["draws"].write_direct(np.array(8.5)),
    "unknown": lambda group: group.create_dataset("guess", data=1.0),
    "valid Word": lambda group: group["word"].__setitem__(0, "spotless"),
}


@pytest.mark.parametrize("told", TAMPERED)
def test_a_damaged_group_of_intervals_is_refused_by_name(judged, tmp_path, told):
    path = tmp_path / "run.h5"
    judged.save(path)
    with h5py.File(path, "r+") as file:
        TAMPERED[told](file["interval"])
    path.write_bytes(sealed(path.read_bytes(), store.FORMAT, store.FORMAT_VERSION))
    with pytest.raises(InputError, match=f"sound result file.*{told}"):
        load(path)


def test_rows_json_and_picture_show_the_same_interval(judged):
    rows = {row.name: row.interval for row in measure_rows(judged.measures, None, judged.interval)}
    assert rows["crater_depth"] == "380 to 770" and rows["incident_energy"] == ""
    kept = json.loads(json.dumps(plain(judged)))["interval"]
    assert kept["measures"]["crater_depth"] == {"low": 380e-6, "high": 770e-6}
    assert kept["measures"]["char_thickness_wall"] == {"low": None, "high": None}
    assert kept["verdict_odds"] == "4 in 5" and kept["covers"] == "It covers this." and kept["draws"] == 8
    key = dict(_found(judged))
    assert key["90 % interval"] == "380 to 770 µm" and key["verdict holds"] == "4 in 5 draws"
    assert "90 % interval" not in dict(_found(dataclasses.replace(judged, interval=None)))


def test_other_limits_leave_the_ends_and_take_back_the_shares(judged):
    limits = judged.verdict.limits
    assert judged.judged(char_limit=limits.char_thickness).odds == "4 in 5"
    other = judged.judged(char_limit=2.0 * limits.char_thickness)
    assert other.odds == "" and other.interval.measures == judged.interval.measures


def test_what_draws_do_not_change_has_no_interval():
    assert not varies(None) and not varies((2.0, 2.0 + 1e-12)) and varies((2.0, 2.1)) and varies((0.0, 1e-6))
    assert odds_of(1.0) == "" and odds_of(0.999) == "more than 19 in 20"
