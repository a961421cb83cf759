"""The table of a map: a line for each point, units in the header."""

from __future__ import annotations

import csv

import numpy as np

from spotdwell.base.names import MEASURES
from spotdwell.maps.cube import OUTLINES, Axis, Cube
from spotdwell.maps.table import write_table
from spotdwell.measure.verdict import Limits


def test_every_point_is_a_line_with_its_settings_and_measures(tmp_path):
    axes = (Axis("power", (5.0, 1e2 / 3.0), "W", "linear"), Axis("material", ("skin", "liver"), "", "list"))
    measures = {name: np.full((2, 2), np.nan) for name in MEASURES}
    measures["crater_depth"] = np.array([[1e-4, np.nan], [3e-4, 0.0]])
    word = np.array([["clean", "failed"], ["clean", ""]], dtype="U16")
    failure = np.array([["", "no, it did not"], ["", ""]], dtype="U40")
    lines = {name: np.zeros((2, 2, 4)) for name in OUTLINES}
    blank = (np.ones((2, 2)), np.zeros((2, 2, 4)), lines, Limits(), {}, "", {})
    write_table(Cube(axes, measures, word, failure, *blank), tmp_path / "map.csv")
    with (tmp_path / "map.csv").open(newline="") as file:
        assert file.readline().startswith("# ")
        rows = list(csv.DictReader(file))
    assert [(row["power [W]"], row["material"], row["verdict"]) for row in rows] == [
        ("5", "skin", "clean"),
        ("5", "liver", "failed"),
        ("33.3333333333", "skin", "clean"),
        ("33.3333333333", "liver", ""),
    ]
    assert [row["crater_depth [m]"] for row in rows] == ["0.0001", "", "0.0003", "0.0"]
    assert rows[1]["failure"] == "no, it did not"
    assert len(rows[0]) == 4 + len(MEASURES)
