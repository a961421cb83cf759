"""Tables show display units; plain values stay in SI."""

from __future__ import annotations

import csv
import io
import json

import pytest

from spotdwell.base.cautions import CSV_LINE
from spotdwell.base.names import MEASURES
from spotdwell.model.columns import Geometry
from spotdwell.output.tables import comma_separated, measure_rows, plain


def test_measures_are_shown_in_display_units(make):
    rows = {row.name: (row.value, row.unit) for row in measure_rows(make().measures)}
    assert rows["char_thickness_rim"][1] == "um"
    assert rows["crater_depth"] == ("600", "um")
    assert rows["peak_temperature"] == ("937", "degC")  # 1210.15 K
    assert rows["incident_energy"] == ("2.00", "J")
    assert rows["crater_mass"] == ("0.400", "mg")
    assert rows["char_per_removed_volume"][1] == ""


def test_measures_that_do_not_apply_have_no_row(make):
    result = make(Geometry.SLAB)
    names = [row.name for row in measure_rows(result.measures)]
    assert names == [name for name in MEASURES if result.measures[name] is not None]
    assert "char_thickness_wall" not in names


def test_plain_values_survive_json_and_are_si(make):
    result = make()
    back = json.loads(json.dumps(plain(result), allow_nan=False))
    assert back["measures"] == result.measures
    assert back["units"]["crater_depth"] == "m"
    assert back["verdict"]["word"] == str(result.verdict.word)
    assert back["verdict"]["limits"]["char_thickness"] == pytest.approx(52e-6, rel=1e-15)


def test_csv_reads_back_exactly_with_units_in_the_header(make):
    results = {"a, b": make().measures, "c": make(Geometry.SLAB).measures}
    caution, *lines = io.StringIO(comma_separated(results))
    header, first, second = csv.reader(lines)
    assert caution == CSV_LINE
    assert header[:2] == ["run", "crater_depth [m]"]
    assert first[0] == "a, b"
    for label, line in (("a, b", first), ("c", second)):
        values = [None if text == "" else float(text) for text in line[1:]]
        assert values == [results[label][name] for name in MEASURES]
