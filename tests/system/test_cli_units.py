"""Units for tables: people read what they asked for; JSON and files that are kept stay in SI."""

from __future__ import annotations

import csv
import json

import pytest

from spotdwell.base import units
from spotdwell.base.cautions import SAFETY
from spotdwell.base.errors import InputError

ASKED = ("--units", "mm, degF")


def test_a_summary_is_in_the_units_asked_for_and_its_json_is_not(call, slab):
    plain, asked = call("run", slab), call("run", slab, *ASKED)
    assert "How far the zones reach [mm]" in asked.out and "How far the zones reach [um]" in plain.out
    both = [" ".join(one.out.split()) for one in (plain, asked)]
    found = call("run", slab, "--json").json
    depth, hot = (found["measures"][name] for name in ("crater_depth", "peak_temperature"))
    assert f"axis {units.significant(1e6 * depth)} um" in both[0]
    assert f"axis {units.significant(1e3 * depth)} mm" in both[1]
    assert f"{units.significant((hot - 273.15) * 1.8 + 32.0)} degF" in both[1]
    again = json.loads(call("run", slab, "--json", *ASKED).out)
    assert again["measures"] == found["measures"] and again["verdict"] == found["verdict"]


def test_nothing_that_is_kept_depends_on_them(call, slab, tmp_path):
    from spotdwell.output.result import load

    one, two = tmp_path / "one.h5", tmp_path / "two.h5"
    call("run", slab, "--out", one)
    call("run", slab, "--out", two, *ASKED)
    assert load(one).verdict == load(two).verdict and load(one).notes == load(two).notes


def test_a_map_is_written_in_them_and_begins_with_the_caution(call, tmp_path):
    base = ("map", "--on", "soft_tissue", "--spot", "0.5 mm", "--refinement", "0.2", "--workers", "1")
    over = ("--over", "power: 5 W, 10 W", "--over", "dwell: 1 ms, 2 ms")
    answer = call(*base, *over, "--json", "--units", "mm", "--table", tmp_path / "map.csv")
    assert answer.code == 0 and answer.json["caution"] == SAFETY
    lines = (tmp_path / "map.csv").read_text().splitlines()
    assert lines[0] == f"# {SAFETY}"
    rows = list(csv.DictReader(lines[1:]))
    points = [one for row in answer.json["measures"]["crater_depth"] for one in row]
    assert [float(row["crater_depth [mm]"]) for row in rows] == pytest.approx([1e3 * one for one in points])
    assert [float(row["dwell [s]"]) for row in rows] == [1e-3, 2e-3, 1e-3, 2e-3]
    assert list(answer.json["axes"]) == ["power", "dwell"]
    assert answer.json["axes"]["dwell"] == {"unit": "s", "values": [1e-3, 2e-3]}


@pytest.mark.parametrize(
    ("text", "words"), [("um, mm", "one unit of each kind"), ("wide", "units to show"), ("K/s", "units to")]
)
def test_what_is_no_unit_of_a_table_is_refused(call, slab, text, words):
    answer = call("run", slab, "--units", text)
    assert answer.code == 2 and answer.err.startswith("Error: --units: ") and words in answer.err
    with pytest.raises(InputError):
        units.units_asked(text)


def test_differences_of_temperatures_stay_in_kelvin():
    with units.asking(units.units_asked("degF")), units.showing():
        assert units.display(310.15, "K", "degC") == "98.6 degF"
        assert units.display(10.0, "K", "K") == "10.0 K"
    assert units.display(310.15, "K", "degC") == "37.0 degC"
