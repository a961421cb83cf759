"""Bench measurements in CSV: units from header or cells, and errors that name file, row and column."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.inputs.bench_table import Column, read_table

ENERGY = Column("pulse energy", "J", "5 mJ", ("energy",))
DIAMETER = Column("crater diameter", "m", "320 um", zero=True)
PULSES = Column("pulses", "1", "1", required=False)
COLUMNS = (ENERGY, DIAMETER, PULSES)

GOOD = "pulse energy [mJ],crater diameter [um]\n5,100\n7.5,150\n"


@pytest.fixture
def write(tmp_path):
    def written(text, encoding="utf-8"):
        path = tmp_path / "bench.csv"
        path.write_text(text, encoding=encoding)
        return path

    return written


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        "pulse energy (mJ),crater diameter (um)\n5,100\n7.5,150\n",
        "Pulse_Energy [J], Crater diameter [mm] \n 0.005, 0.1\n0.0075,0.15\n",
        "energy,crater diameter\n5 mJ,100 um\n7.5 mJ,150 um\n",
        'crater diameter [um],"pulse energy [mJ]"\n100,5\n150,7.5\n',
        "# birch\n\npulse energy [mJ],crater diameter [µm],\n5,100,\n,,\n# pause\n7.5,150,\n",
        "\ufeffpulse energy [mJ],crater diameter [um]\r\n5,100\r\n7.5,150\r\n",
    ],
)
def test_units_stand_in_the_header_or_in_the_cells(write, text):
    table = read_table(write(text), COLUMNS)
    # The reader rounds to 15 digits.
    assert_allclose(table.values["pulse energy"], [5e-3, 7.5e-3], rtol=1e-14)
    assert_allclose(table.values["crater diameter"], [100e-6, 150e-6], rtol=1e-14)
    assert "pulses" not in table.values


def test_rows_are_those_of_the_file_and_other_columns_are_named(write):
    table = read_table(
        write("# birch\nenergy [mJ],note,crater diameter [um],pulses\n5,a,0,1\n\n6,b,9,2\n"), COLUMNS
    )
    assert table.rows == (3, 5)
    assert table.ignored == ("note",)
    assert table.units == {"pulse energy": "mJ", "crater diameter": "um", "pulses": ""}
    np.testing.assert_array_equal(table.values["pulses"], [1.0, 2.0])
    assert table.where(5, "pulses").endswith('bench.csv: row 5, column "pulses"')


HEAD = "pulse energy [mJ],crater diameter [um]\n"
WRONG = [
    ("", "bench.csv", "a header line", "an empty file", "a row for each"),
    (HEAD, "bench.csv", "at least 2 rows", "none", "add more"),
    (HEAD + "5,100\n", "bench.csv", "at least 2 rows", "1", "add more"),
    (HEAD + "5,100,7\n", "bench.csv: row 2", "2 cells", "3", "decimal points"),
    (
        "pulse energy [mJ]\n5\n6\n",
        "row 1",
        'a column "crater diameter [um]"',
        '"pulse energy [mJ]"',
        "Name it",
    ),
    (
        "pulse energy [mJ],crater diametre [um]\n5,1\n",
        "row 1",
        "a column",
        "diametre",
        'Is "crater diametre [um]"',
    ),
    ("pulse energy [mJ];crater diameter [um]\n5;1\n", "row 1", "commas", "semicolons", "Save it as CSV"),
    ("pulse energy [mJ];crater diameter [um]\n5,1;1\n", "row 1", "commas", "semicolons", "Save it as CSV"),
    ("pulse energy [mJ]\tcrater diameter [um]\n5\t1\n", "row 1", "commas", "tabs", "Save it as CSV"),
    ("5,100\n6,120\n", "row 1", "names of columns", '"5,100"', "Add them"),
    ("energy [mJ],crater diameter [um],energy [J]\n5,1,5\n", "row 1", "each name once", "twice", "Rename"),
    ("energy [mJ],crater diameter [um],pulse energy [J]\n5,1,5\n", "row 1", "one column", "and", "Leave one"),
    ("pulse energy [mm],crater diameter [um]\n5,100\n", "row 1", "a unit of pulse energy", '"mm"', "length"),
    (
        "pulse energy,crater diameter [um]\n5,100\n6,9\n",
        "row 2",
        "a quantity in J",
        '"5"',
        "The unit is missing",
    ),
    (
        "pulse energy,crater diameter [um]\n5 mJ,1\n6,9\n",
        "row 3",
        "a quantity in J",
        '"6"',
        "The unit is missing",
    ),
    (
        "pulse energy,crater diameter [um]\n5 mJ,1\n6 J,9\n",
        "row 3",
        "mJ, as in the rows",
        "mixture",
        "one unit",
    ),
    (HEAD + "5,100\n6 mJ,120\n", "row 3", "the unit once", "in the header", "header alone"),
    (HEAD + "5,100\n-6,120\n", 'row 3, column "pulse energy"', "more than 0", '"-6 mJ"', "Correct it"),
    (HEAD + "5,100\n6,-1\n", 'row 3, column "crater diameter"', "0 or more", '"-1 um"', "Correct it"),
    (HEAD + "5,100\n0,120\n", "row 3", "more than 0", '"0 mJ"', "Correct it"),
    (HEAD + "5,100\nnan,120\n", "row 3", "a quantity in J", "not a finite number", ""),
    (HEAD + "5,100\ninf,120\n", "row 3", "more than 0", '"inf mJ"', "Correct it"),
    (HEAD + "5,100\n,120\n", "row 3", "a value", "an empty cell", "leave the row out"),
    (HEAD + "5,100\nsix,120\n", 'row 3, column "pulse energy"', "a quantity in J", '"six mJ"', ""),
    (HEAD + "5,100\n6\n", "row 3", "2 cells", "1", "decimal points"),
    (HEAD + "5,100\n6,5,120\n", "row 3", "2 cells", "3", "decimal points"),
    (HEAD + '5,100\n"6,5",120\n', "row 3", "a quantity in J", '"6,5 mJ"', "decimal point"),
    (HEAD + '5,100\n"6,120\n', "row 3", "cells between commas", "", "quotes"),
]


@pytest.mark.parametrize(("text", "where", "expected", "got", "advice"), WRONG)
def test_what_is_wrong_is_named_with_its_place_and_what_to_do(write, text, where, expected, got, advice):
    path = write(text)
    with pytest.raises(InputError) as caught:
        read_table(path, COLUMNS)
    error = caught.value
    assert error.where.startswith(str(path)) and where in error.where
    assert expected in error.expected
    assert got in error.got
    assert advice in error.advice


def test_all_wrong_cells_are_told_at_once(write):
    with pytest.raises(InputError) as caught:
        read_table(write(HEAD + "x,100\n5,y\n-1,-1\n6,1\n"), COLUMNS)
    assert "4 problems" in str(caught.value)
    assert all(f"row {row}, " in str(caught.value) for row in (2, 3, 4))


def test_a_long_list_of_wrong_cells_is_cut(write):
    with pytest.raises(InputError) as caught:
        read_table(write(HEAD + "x,100\n" * 50), COLUMNS)
    assert "42 others" in str(caught.value) and "row 30" not in str(caught.value)


@pytest.mark.parametrize("name", ["none.csv", "."])
def test_a_file_that_cannot_be_read_is_named(tmp_path, name):
    with pytest.raises(InputError, match="a CSV file of measurements"):
        read_table(tmp_path / name, COLUMNS)


def test_text_in_another_encoding_is_refused(write):
    path = write(HEAD.replace("um", "µm"), encoding="latin-1")
    with pytest.raises(InputError) as caught:
        read_table(path, COLUMNS)
    assert "UTF-8" in caught.value.advice
