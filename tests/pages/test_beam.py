"""The beam of the class page: its curve is the model's irradiance, its diameter the one that a shot has."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.inputs.read import beam_tables
from spotdwell.maps.cube import Axis, Cube, blank_cube
from spotdwell.measure.verdict import Limits
from spotdwell.model.beam import Beam, Definition, Profile, beam_radius
from spotdwell.pages.beam import across_shown, beams_of, profile_shown

SHAPES = {
    Profile.GAUSSIAN: {},
    Profile.FLAT_TOP: {},
    Profile.SUPER_GAUSSIAN: {"order": 6.0},
    Profile.ANNULAR: {"inner_ratio": 0.4},
}
SCENARIO = """
[beam]
wavelength = "10.6 um"
"""
POWER = Axis("power", (5.0, 10.0), "W", "linear")
SPOT = Axis("spot", (0.5e-3, 1e-3), "mm", "linear")
OPTICS = """[beam.optics]
focal_length = "125 mm"
input_diameter = "10 mm"
"""


def cube_of(text: str, *axes: Axis) -> Cube:
    return blank_cube(axes, Limits(), {}, SCENARIO + text, {})


def power_within(curve: list[list[float]], peak: float) -> float:
    """Power of a curve over that of its mean irradiance within its radius: 1 if the curve is right."""
    at, share = np.array(curve).T
    return float(peak * np.trapezoid(share * 2.0 * at, at))


@pytest.mark.parametrize("profile", Profile)
def test_a_curve_is_the_models_irradiance_and_holds_the_power(profile):
    beam = Beam(10.6e-6, 0.3e-3, profile, **SHAPES[profile])
    shown = profile_shown(beam, even=False)
    at, share = np.array(shown["curve"]).T
    assert np.all(np.diff(at) >= 0.0) and share.max() == pytest.approx(1.0, rel=1e-4)
    # Away from edges, at which both sides are kept.
    smooth = ~np.isclose(np.abs(np.gradient(share)), 0.5, atol=0.3)
    model = beam.irradiance(at * beam.radius) / beam.peak_irradiance
    assert_allclose(share[smooth], model[smooth], atol=1e-4)
    assert shown["peak"] == pytest.approx(beam.peak_irradiance / beam.mean_irradiance, rel=1e-4)
    # The trapezium rule over steps of 0.03 radii errs by some 1e-3; 1e-4 of the power lies outside.
    assert power_within(shown["curve"], shown["peak"]) == pytest.approx(1.0, abs=4e-3)
    assert power_within([[2.0 * one, level] for one, level in shown["curve"]], shown["peak"]) > 3.9
    assert shown["within"] == pytest.approx(float(beam.encircled(np.array(beam.radius))), rel=1e-4)
    assert (shown["edges"], shown["hole"]) == (beam.profile.shape.ends, beam.inner_ratio)


def test_an_edge_is_drawn_upright_and_a_slope_is_not():
    ring = np.array(profile_shown(Beam(1e-5, 1e-3, Profile.ANNULAR, inner_ratio=0.37), False)["curve"])
    jumps = ring[1:][np.abs(np.diff(ring[:, 1])) > 0.9]
    assert_allclose(jumps[:, 0], [0.37, 1.0], rtol=1e-5)
    assert_allclose(np.diff(ring[:, 0])[np.abs(np.diff(ring[:, 1])) > 0.9], 0.0, atol=1e-5)
    slope = np.array(profile_shown(Beam(1e-5, 1e-3), False)["curve"])
    assert np.abs(np.diff(slope[:, 1])).max() < 0.1


@pytest.mark.parametrize("definition", Definition)
@pytest.mark.parametrize("profile", Profile)
def test_a_diameter_by_any_definition_is_drawn_as_the_shot_has_it(definition, profile):
    extra = {Profile.SUPER_GAUSSIAN: "order = 6.0", Profile.ANNULAR: "inner_ratio = 0.4"}.get(profile, "")
    text = f'diameter = "0.5 mm"\ndefinition = "{definition}"\nprofile = "{profile}"\n{extra}'
    found = beams_of(cube_of(text, POWER, SPOT))
    radii = [beam_radius(spot, definition, profile, **SHAPES[profile]) for spot in SPOT.values]
    assert_allclose(found["across"], [2e6 * one for one in radii], rtol=1e-4)
    assert (found["axis"], found["profile"]) == (1, str(profile))


def test_a_lens_makes_another_spot_of_each_wavelength_and_a_diameter_does_not():
    lines = Axis("wavelength", (9.3e-6, 10.6e-6), "um", "list")
    found = beams_of(cube_of(OPTICS, lines))
    assert found["axis"] == 0
    assert found["across"][1] / found["across"][0] == pytest.approx(10.6 / 9.3, rel=1e-4)
    same = beams_of(cube_of('diameter = "0.5 mm"', lines))
    assert (same["axis"], same["across"]) == (None, [500.0])


def test_a_slab_is_lit_evenly_and_a_map_without_a_beam_has_none():
    slab = beams_of(cube_of('[grid]\ngeometry = "slab"\narea = "1 mm2"', POWER))
    assert slab["even"] and slab["peak"] == 1.0
    for text in ("", 'diameter = "none"', 'diameter = "1 mm"\nprofile = "square"'):
        assert beams_of(cube_of(text, POWER)) is None
    assert beams_of(replace(cube_of("", POWER), scenario_text="")) is None


def test_the_tables_of_a_beam_are_read_without_the_materials(tmp_path):
    text = SCENARIO + 'diameter = "1 mm"\n[[target.layers]]\nmaterial = "/no/such/file.toml"'
    table, grid = beam_tables(text)
    assert (table.diameter, str(grid.geometry)) == (1e-3, "axisymmetric")
    assert across_shown(Beam(table.wavelength, table.diameter / 2.0)) == 1000.0
