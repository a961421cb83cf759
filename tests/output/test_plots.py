"""Pictures show what is there, in colour and in grey, with units and words, and are whole or absent."""

from __future__ import annotations

import dataclasses
import itertools
import re
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import MEASURES
from spotdwell.model.columns import Geometry
from spotdwell.output.pictures import style
from spotdwell.output.pictures.plots import cross_section, history

DRAWERS = [cross_section, history]


def lightness(red, green, blue):
    """L* of sRGB values from 0 to 255 (CIE 1976, relative to the white of sRGB)."""
    linear = [
        v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4
        for v in (red / 255, green / 255, blue / 255)
    ]
    luminance = float(np.dot([0.2126, 0.7152, 0.0722], linear))
    return 116.0 * luminance ** (1 / 3) - 16.0 if luminance > 0.008856 else 903.3 * luminance


def of_tone(name):
    colour = style.TONES[name].colour.lstrip("#")
    return tuple(int(colour[i : i + 2], 16) for i in (0, 2, 4))


def words_of(path):
    return re.findall(r"<text[^>]*>([^<]+)</text>", path.read_text(encoding="utf-8"))


def test_lightness_of_white_black_and_middle_grey_are_right():
    # 100 and 0 by definition; #777777 is L* 50 (from the definition, to its rounding).
    assert [round(lightness(v, v, v), 1) for v in (255, 0, 119)] == [100.0, 0.0, 50.0]


def test_every_two_zones_differ_in_lightness_by_a_tenth_or_in_hatch_and_lightness():
    levels = {name: lightness(*of_tone(name)) for name in style.TONES}
    for one, other in itertools.combinations(levels, 2):
        apart = abs(levels[one] - levels[other])
        hatched = style.TONES[one].hatch != style.TONES[other].hatch
        assert apart >= 10.0 or (hatched and apart >= 5.0), (one, other)


def test_the_drawn_zones_are_told_apart_in_grey(make, tmp_path):
    cross_section(make(), tmp_path / "run.png")
    grey = np.asarray(Image.open(tmp_path / "run.png").convert("L")).ravel()
    share = np.bincount(grey, minlength=256) / grey.size
    for zone in ("untouched", "coagulated", "dried", "charred"):
        level = int(np.asarray(Image.new("RGB", (1, 1), of_tone(zone)).convert("L"))[0, 0])
        # Each zone covers more than a thousandth of the picture with its own level of grey.
        assert share[level - 1 : level + 2].sum() > 1e-3, zone


def test_a_deeper_crater_has_more_air_and_the_same_scale(make, tmp_path):
    """The share of white below the surface grows with the crater."""
    shares = []
    for depth in (0.1e-3, 0.6e-3):
        cross_section(make(depth=depth), tmp_path / "run.png")
        picture = np.asarray(Image.open(tmp_path / "run.png").convert("RGB")).astype(int)
        rows = np.flatnonzero((np.abs(picture - of_tone("untouched")).sum(axis=2) < 6).sum(axis=1) > 100)
        middle = picture[rows[0] : rows[-1], picture.shape[1] // 2]
        shares.append(float(np.mean(middle.min(axis=1) > 250)))
    assert shares[1] > shares[0] + 0.3


def test_the_section_names_zones_axes_beam_scale_and_measures(make, tmp_path):
    result = make(film=True)
    cross_section(result, tmp_path / "run.svg")
    words = words_of(tmp_path / "run.svg")
    for wanted in (
        "A spot on soft tissue",
        "25 W · 1.6 mm (1/e²) · 80 ms · soft tissue",
        "depth [mm]",
        "distance from the axis [mm]",
        "gaussian beam, 1.60 mm (1/e²)",
        "0.2 mm",
        "saline",
        "soft tissue",
        "charred",
        "dried",
        "coagulated",
        "untouched",
        "liquid",
    ):
        assert wanted in words, wanted
    assert str(result.verdict.word) in words
    for name, value in (("depth", "600 µm"), ("energy", "2.00 J")):
        assert words[words.index(name) + 1] == value
    # Floor and wall beside each zone's name; they were made to reach 20 and 140 µm.
    for name, zone in (("charred", "char"), ("coagulated", "coagulation")):
        floor = result.measures[f"{zone}_thickness_floor"]
        assert words[words.index(name) + 1] == MEASURES[f"{zone}_thickness_floor"].text(
            floor, result.measures["cell_depth"]
        )
    assert any("IEC 60825-1" in word for word in words)


def test_zones_end_at_the_boundary_of_their_layer(make):
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    from spotdwell.output.pictures.cross_section import paint

    figure = Figure()
    canvas = FigureCanvasAgg(figure)
    paint(figure, make(depth=0.15e-3, film=True))
    canvas.draw()
    picture = np.asarray(canvas.buffer_rgba())[::-1, :, :3]

    def around(across, depth):
        x, y = figure.axes[0].transData.transform((across, depth)).astype(int)
        return picture[y - 2 : y + 3, x - 2 : x + 3].reshape(-1, 3).astype(int)

    # At 0.5 mm the film ends at 0.1 mm and the tissue under it is coagulated.
    for depth, own, other in ((0.06, "liquid", "coagulated"), (0.13, "coagulated", "liquid")):
        found = around(0.5, depth)
        # The ground shows between the lines and dots of the hatch.
        assert np.abs(found - of_tone(own)).max(axis=1).min() <= 3
        assert np.abs(found - of_tone(other)).max(axis=1).min() > 30


def test_zones_that_are_not_there_are_not_in_the_legend(make, tmp_path):
    result = make()
    cold = dataclasses.replace(result.fields, conversion=np.zeros_like(result.fields.conversion))
    cross_section(dataclasses.replace(result, snapshots=(cold,)), tmp_path / "run.svg")
    words = words_of(tmp_path / "run.svg")
    assert "charred" not in words and "dried" in words and "liquid" not in words


def test_the_history_has_units_on_every_axis_and_both_pulse_and_cooling(make, tmp_path):
    history(make(), tmp_path / "run.svg")
    words = words_of(tmp_path / "run.svg")
    for wanted in (
        "power",
        "[W]",
        "temperature",
        "[°C]",
        "crater depth",
        "[µm]",
        "time [ms]",
        "time since the beam went off",
        "1 ms",
        "100 ms",
        "hottest",
        "surface on the axis",
    ):
        assert wanted in words, wanted


def test_a_history_without_long_cooling_or_beam_has_one_time_axis(make, tmp_path):
    result = make()
    rows = result.history.time <= 0.1
    short = {f.name: getattr(result.history, f.name)[rows] for f in dataclasses.fields(result.history)}
    dark = dict(short, power=np.zeros_like(short["power"]))
    for columns in (short, dark):
        past = dataclasses.replace(result.history, **columns)
        history(dataclasses.replace(result, history=past), tmp_path / "run.svg")
        assert "time since the beam went off" not in words_of(tmp_path / "run.svg")


def test_after_perforation_no_surface_temperature_is_drawn(make):
    from matplotlib.figure import Figure

    from spotdwell.output.pictures.history import paint

    result = make()
    bottom = float(result.history.crater_depth[100])
    result = dataclasses.replace(result, depth_edges=result.depth_edges * (bottom / result.depth_edges[-1]))
    figure = Figure()
    paint(figure, result)
    _, surface, _ = figure.axes[2].lines
    drawn = np.isfinite(surface.get_ydata())
    assert drawn[:100].all() and not drawn[100:].any()


@pytest.mark.parametrize("draw", DRAWERS)
@pytest.mark.parametrize("geometry", list(Geometry))
@pytest.mark.parametrize("depth", [0.0, 30e-6, 1.5e-3])
def test_every_geometry_is_drawn_from_untouched_to_perforated(make, tmp_path, draw, geometry, depth):
    result = make(geometry, depth=depth)
    if depth == 1.5e-3:
        through = result.fields.crater_depth >= 1.4e-3
        fields = dataclasses.replace(
            result.fields,
            floor=np.where(through, 150, result.fields.floor),
            crater_depth=np.where(through, 1.5e-3, result.fields.crater_depth),
        )
        assert through.any()
        result = dataclasses.replace(result, snapshots=(fields,))
    draw(result, tmp_path / "run.png")
    picture = np.asarray(Image.open(tmp_path / "run.png").convert("RGB")).astype(int)
    # Tissue is left in every section but a slab that is cut through; a history has its lines.
    left = draw is cross_section and not (geometry is Geometry.SLAB and depth == 1.5e-3)
    wanted = of_tone("untouched") if left else (0x1A, 0x1A, 0x1A)
    assert np.mean(np.abs(picture - wanted).sum(axis=2) < 6) > (0.02 if left else 5e-4)


@pytest.mark.parametrize("draw", DRAWERS)
@pytest.mark.parametrize(
    ("suffix", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF"), ("PNG", b"\x89PNG")]
)
def test_the_suffix_chooses_the_format(make, tmp_path, draw, suffix, start):
    draw(make(), tmp_path / f"run.{suffix}")
    assert (tmp_path / f"run.{suffix}").read_bytes().startswith(start)


@pytest.mark.parametrize("suffix", ["svg", "pdf", "png"])
def test_the_same_result_gives_the_same_picture_to_the_byte(make, tmp_path, suffix):
    for name in ("one", "two"):
        cross_section(make(), tmp_path / f"{name}.{suffix}")
    assert (tmp_path / f"one.{suffix}").read_bytes() == (tmp_path / f"two.{suffix}").read_bytes()


@pytest.mark.parametrize("draw", DRAWERS)
@pytest.mark.parametrize("name", ["run.bmp", "run"])
def test_an_unknown_suffix_is_an_input_error_that_lists_the_known(make, tmp_path, draw, name):
    with pytest.raises(InputError, match=r"\.png, \.svg, \.pdf"):
        draw(make(), tmp_path / name)


@pytest.mark.parametrize("draw", DRAWERS)
def test_a_missing_folder_is_a_run_error(make, tmp_path, draw):
    with pytest.raises(RunError, match="there is no folder"):
        draw(make(), tmp_path / "absent" / "run.png")


@pytest.mark.parametrize("failure", [ZeroDivisionError, KeyboardInterrupt])
def test_a_failure_while_drawing_leaves_the_old_picture_and_no_other(tmp_path, failure):
    path = tmp_path / "run.png"
    path.write_bytes(b"old")

    def paint(figure):
        raise failure

    with pytest.raises(failure):
        style.draw_file(path, paint)
    assert path.read_bytes() == b"old"
    assert [file.name for file in tmp_path.iterdir()] == ["run.png"]


def test_drawing_leaves_the_users_own_plot_settings_alone(make, tmp_path):
    import matplotlib

    before = dict(matplotlib.rcParams)
    make().plot(tmp_path / "run.png")
    assert dict(matplotlib.rcParams) == before


def test_a_result_loads_neither_matplotlib_nor_h5py_until_asked():
    code = (
        "import sys, spotdwell.output.result, spotdwell.output.pictures.plots, spotdwell.output.tables; "
        "print(sorted({'matplotlib', 'h5py', 'pint'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
