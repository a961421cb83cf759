"""Bench shots are read with their units, and what is wrong is named with its row."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.calibration.request import read_shots

GOOD = """power [W],dwell [ms],dial,depth [um],width [um],char seen,count,repeat
10,5,low,420,300,no,1,a

# a note
5 ,20,high,0,,yes,3,b
"""


def shots_of(tmp_path, text):
    path = tmp_path / "bench.csv"
    path.write_text(text)
    return read_shots(path)


def test_values_are_si_and_empty_cells_are_not_measured(tmp_path):
    shots = shots_of(tmp_path, GOOD)
    assert list(shots.rows) == [2, 5] and shots.source == "bench.csv"
    assert_allclose(
        [shots.power, shots.dwell, shots.depth], [[10, 5], [5e-3, 20e-3], [420e-6, 0]], rtol=1e-12
    )
    assert shots.spot is None and shots.dial == ("low", "high")
    assert_allclose(shots.width[0], 300e-6, rtol=1e-12)
    assert np.isnan(shots.width[1])
    assert shots.char_seen == (False, True)
    assert list(shots.count) == [1.0, 3.0] and not shots.perforated.any()


def test_what_need_not_be_there_may_be_missing(tmp_path):
    shots = shots_of(
        tmp_path, "power,dwell time,spot,crater depth\n9 W,5 ms,0.4 mm,1 um\n9 W,5 ms,0.4 mm,0 um\n"
    )
    assert shots.dial is None and shots.char_seen == (None, None)
    assert list(shots.count) == [1.0, 1.0] and np.isnan(shots.width).all()


HEAD = "power [W],dwell [ms],spot [mm],depth [um]"
ROW = "10,5,0.4,420"
WRONG = [
    (f"{HEAD.replace(',depth [um]', '')}\n10,5,0.4\n9,5,0.4", "row 1 (the header)", 'a column "depth [um]"'),
    (f"{HEAD},colour\n{ROW},red\n{ROW},red", 'row 1 (the header), column "colour"', "one of the columns"),
    (f"{HEAD},widht [um]\n{ROW},3\n{ROW},4", 'column "widht [um]"', 'Is "width" meant?'),
    (f"{HEAD}\n{ROW}\n10,5,0.4,-3", 'row 3, column "depth"', "0 or more"),
    (f"{HEAD}\n{ROW}\n-10,5,0.4,3", 'row 3, column "power"', "more than 0"),
    (f"{HEAD}\n{ROW}\n10,,0.4,3", 'row 3, column "dwell"', "an empty cell"),
    (
        "power,dwell [ms],spot [mm],depth [um]\n9 W,5,0.4,3\n9000 mW,5,0.4,3",
        'row 3, column "power"',
        "mixture",
    ),
    (f"{HEAD}\n{ROW}", "bench.csv", "at least 2 rows"),
    (f"{HEAD},char seen\n{ROW},yes\n{ROW},maybe", 'row 3, column "char seen"', "yes or no"),
    (f"{HEAD},perforated\n{ROW},7\n{ROW},no", 'row 2, column "perforated"', "yes or no"),
    (f"{HEAD},dial\n{ROW},1\n{ROW},2", "row 1 (the header)", "a column spot or a column dial"),
    ("power [W],dwell [ms],dial,depth [um]\n10,5,1,3\n10,5,,3", 'row 3, column "dial"', "an empty cell"),
]


@pytest.mark.parametrize(("text", "where", "said"), WRONG)
def test_what_is_wrong_is_named_with_its_row(tmp_path, text, where, said):
    with pytest.raises(InputError) as caught:
        shots_of(tmp_path, text)
    assert where in str(caught.value) and said in str(caught.value)
