"""The row shows every result at one scale, with its caption, and is whole or absent."""

from __future__ import annotations

import re

import numpy as np
import pytest
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import gated, steady
from spotdwell.output.pictures.section import section_of
from spotdwell.output.pictures.sketches import span_of
from spotdwell.output.pictures.style import SHEETS, type_of
from spotdwell.regimes import picture as floor_detail
from spotdwell.regimes.picture import Panel, detail_of, draw_row, paint


def words_of(path):
    found = re.findall(r"<text[^>]*>([^<]+)</text>", path.read_text(encoding="utf-8"))
    return " ".join(found).replace("\xa0", " ")


def painted(panels, sheet="page", **options):
    with rc_context(type_of(SHEETS[sheet])):
        figure = Figure()
        paint(figure, panels, sheet=SHEETS[sheet], **options)
    return figure


def panels_of(make, *depths, **options):
    return [Panel(make(depth=depth, **options), (f"number {i}",)) for i, depth in enumerate(depths, 1)]


def scale_of(axes):
    """Inches a data unit, across and down."""
    box = axes.get_position()
    width, height = axes.figure.get_size_inches()
    across, down = np.ptp(axes.get_xlim()), np.ptp(axes.get_ylim())
    return box.width * width / across, box.height * height / down


def test_all_sections_have_one_scale_across_and_down(make):
    figure = painted(panels_of(make, 0.3e-3, 0.6e-3, 0.9e-3))
    scales = np.array([scale_of(axes) for axes in figure.axes])
    assert scales.shape == (3, 2)
    # To round-off of the layout's arithmetic.
    assert_allclose(scales, scales[0, 0], rtol=1e-9, atol=0.0)


def test_every_caption_and_finding_is_written(make, tmp_path):
    panels = [
        Panel(make(depth=d), (name, "25 W for 80 ms"), (f"found {name}",))
        for name, d in (("A", 3e-4), ("B", 6e-4))
    ]
    draw_row(panels, tmp_path / "row.svg", "A title", "A note of some words.")
    words = words_of(tmp_path / "row.svg")
    for text in ("A title", "A note of some words.", "found A", "found B", "25 W for 80 ms", "depth ["):
        assert text in words
    assert "treatment decision" in words


def test_more_results_than_fit_go_into_the_next_line(make):
    figure = painted(panels_of(make, *[0.4e-3] * 5))
    tops = {round(axes.get_position().y1, 6) for axes in figure.axes}
    assert len(figure.axes) == 5 and len(tops) == 2


@pytest.mark.parametrize("sheet", list(SHEETS))
def test_nothing_is_wider_than_the_sheet(make, sheet):
    panels = [
        Panel(make(depth=d), ("Superpulsed", "50 x 500 us, 50 Hz"), ("charred",), exposure)
        for d, exposure in ((0.3e-3, steady(10.0, 1.0)), (0.6e-3, gated(50.0, 0.02, 0.08, 10)))
    ]
    figure = painted(panels, sheet, title="A title", note="A note", enlarge_floor=True)
    width, height = figure.get_size_inches()
    assert_allclose(width, SHEETS[sheet].width, rtol=1e-12, atol=0.0)
    if SHEETS[sheet].height is not None:
        assert_allclose(height, SHEETS[sheet].height, rtol=1e-9, atol=0.0)
    renderer = FigureCanvasAgg(figure).get_renderer()
    for text in figure.texts:
        box = text.get_window_extent(renderer)
        assert box.x1 <= width * figure.dpi and box.y0 >= 0.0


def test_the_power_is_sketched_from_the_same_start_with_the_same_scales(make):
    exposures = steady(10.0, 1.0), gated(50.0, 0.02, 0.08, 10)
    figure = painted([Panel(make(), ("one",), (), one) for one in exposures])
    sketches = [axes for axes in figure.axes if axes.get_yscale() == "log"]
    assert len(sketches) == 2
    assert {axes.get_ylim() for axes in sketches} == {sketches[0].get_ylim()}
    for axes in sketches:
        assert_allclose(axes.get_xlim(), (0.0, 0.22), rtol=1e-12, atol=0.0)
    # Two whole periods of 100 ms and a fifth: three pulses.
    assert [len(axes.patches) for axes in sketches] == [1, 3]
    assert sketches[0].get_xticklabels()[1].get_text() == "220 ms of 1 s"


def test_the_span_of_single_exposures_is_the_longest():
    span = span_of([steady(10.0, 0.1), steady(40.0, 0.3)])
    assert_allclose((span.time, span.least, span.most), (0.315, 4.0, 100.0), rtol=1e-12, atol=0.0)


def test_the_enlarged_floor_reaches_below_the_deepest_zone(make):
    sections = [section_of(make(depth=0.3e-3)), section_of(make(depth=0.6e-3))]
    detail = detail_of(sections, 2.0, 1.0)
    # The made coagulation ends 140 um below the front, read every third of a cell of 10 um; 22 % lies above.
    assert_allclose(detail.height, 1.15 * 140e-6 / 0.78, rtol=0.03, atol=0.0)
    assert_allclose(detail.width, 2.0 * detail.height, rtol=1e-12, atol=0.0)
    for section in sections:
        top = detail.top(section)
        assert top < section.front.max() < top + detail.height


def inked_outside(figure):
    """Pixels that are not white beyond all frames, with words and axes' names taken away."""
    for text in [*figure.texts, *figure.legends]:
        text.remove()
    for axes in figure.axes:
        axes.set(title="", xlabel="", ylabel="")
        axes.set_title("", loc="left")
        axes.tick_params(left=False, labelleft=False)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    image = np.asarray(canvas.buffer_rgba())[:, :, :3].min(axis=2)
    outside = np.ones(image.shape, dtype=bool)
    for axes in figure.axes:
        box = axes.get_window_extent().padded(4.0)
        rows = slice(max(0, int(image.shape[0] - box.y1)), int(image.shape[0] - box.y0) + 1)
        outside[rows, max(0, int(box.x0)) : int(box.x1) + 1] = False
    return int((image[outside] < 250).sum())


def test_enlarged_floors_show_no_zone_beyond_their_frame(make, monkeypatch):
    panels = panels_of(make, 0.6e-3, 0.6e-3)
    assert inked_outside(painted(panels, enlarge_floor=True)) == 0
    monkeypatch.setattr(floor_detail, "clip_to", lambda axes: None)
    assert inked_outside(painted(panels, enlarge_floor=True)) > 1000


def test_results_of_any_geometry_stand_in_one_row(make):
    made = [make(Geometry.LATTICE), make(Geometry.AXISYMMETRIC), make(film=True)]
    figure = painted([Panel(result, ("one",)) for result in made], enlarge_floor=True)
    assert len(figure.axes) == 6


def test_a_row_without_results_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"at least one result"):
        draw_row([], tmp_path / "row.png")


def test_an_unknown_suffix_is_refused(make, tmp_path):
    with pytest.raises(InputError, match=r"suffix"):
        draw_row(panels_of(make, 0.3e-3), tmp_path / "row.bmp")
    assert not list(tmp_path.iterdir())
