"""The calibration picture: a numbered point for each row, told apart without colour."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from spotdwell.base.errors import InputError
from spotdwell.calibration.picture import draw_calibration, paint
from spotdwell.calibration.result import BenchRow, Calibration, FittedValue


def row_of(number, dial, depth, computed, perforated=False):
    given = (10.0, 5e-3, 0.4e-3, dial, depth, computed, 0.05 * depth, None, 3e-4, None, "clean", perforated)
    return BenchRow(number, *given)


ROWS = (
    row_of(2, "1", 430e-6, 400e-6),
    row_of(3, "1", 425e-6, 400e-6),
    row_of(4, "2", 780e-6, 800e-6),
    row_of(5, "2", 775e-6, 800e-6),
    row_of(6, "3", 900e-6, 1000e-6, perforated=True),
)
VALUES = (
    FittedValue("delivered-share", "1", 0.85, 0.91, 0.86, 0.96),
    FittedValue("spot:1", "m", 418e-6, 400e-6, 390e-6, 410e-6),
)
FOUND = Calibration(
    *("bench.csv", "soft_tissue", VALUES, (("debris-heat", 3.2e9),), ROWS, 0.05, 1e-4, "residuals", 7, 0.05),
    *(np.eye(2), 100, 0.1),
)


@pytest.fixture
def painted():
    figure = Figure()
    FigureCanvasAgg(figure)
    paint(figure, FOUND)
    figure.canvas.draw()
    return figure


def test_every_row_has_its_number_and_no_two_numbers_touch(painted):
    (axes,) = painted.axes
    texts = [one for one in axes.texts if one.get_text().isdecimal()]
    assert sorted(int(one.get_text()) for one in texts) == [2, 3, 4, 5, 6]
    boxes = [one.get_window_extent() for one in texts]
    assert not any(one.overlaps(other) for i, one in enumerate(boxes) for other in boxes[:i])


def test_dial_positions_differ_in_mark_and_a_row_cut_through_is_crossed_out(painted):
    (axes,) = painted.axes
    marks = [one.get_marker() for one in axes.lines if one.get_marker() not in ("None", "")]
    assert [marks.count(one) for one in ("o", "s", "x")] == [2, 2, 1]


def test_values_intervals_and_what_was_known_are_said(painted):
    said = "\n".join(one.get_text() for one in painted.texts)
    for wanted in (
        "delivered share",
        "0.910",
        "0.860 to 0.960",
        "400 µm",
        "debris heat 3.20 kJ/cm3",
        "bench.csv",
    ):
        assert wanted in said, wanted


@pytest.mark.parametrize("suffix", ["png", "svg", "pdf"])
def test_picture_is_the_same_each_time_to_the_byte(tmp_path, suffix):
    paths = [tmp_path / f"{name}.{suffix}" for name in ("a", "b")]
    for path in paths:
        draw_calibration(FOUND, path)
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_an_unknown_suffix_is_refused(tmp_path):
    with pytest.raises(InputError):
        draw_calibration(FOUND, tmp_path / "fit.gif")
