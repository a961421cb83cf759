"""Answers of the class page that give reasons: their numbers are the map's, for maps of several kinds."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from spotdwell.base.names import MEASURES
from spotdwell.maps.cube import RADII, Axis, Cube, Point, blank_cube
from spotdwell.measure.verdict import Limits
from spotdwell.pages.questions import questions_of

POWER = Axis("power", (5.0, 10.0, 20.0), "W", "log")
SPOT = Axis("spot", (0.5e-3, 1e-3), "mm", "log")
DWELL = Axis("dwell", (1e-3, 4e-3, 16e-3), "ms", "log")
PULSE = Axis("pulse_duration", (0.2e-3, 0.8e-3), "ms", "log")
SCENARIO = """
[beam]
wavelength = "10.6 um"
diameter = "0.5 mm"
profile = "{profile}"
[exposure]
dwell_time = "4 ms"
[materials.skin]
initial_temperature = "{start}"
density = {{ value = "1125 kg/m3", basis = "measured", source = "a paper" }}
film_growth = {{ value = "1", basis = "assumed", source = "nothing" }}
"""
TAU = 0.5e-3
DOUBLED = [(1.0, 2.0, "Nearly"), (1.5, 2.83, "More"), (0.5, 1.41, "Less")]
WIDENED = [(1.0, 25, "follows"), (1.5, 12, "more"), (0.5, 50, "less")]
WIDTHS = [("gaussian", "14 % of the peak"), ("flat-top", "beyond the edge")]


def point_of(at: dict[str, float], power_law: float = 1.0, **other: float) -> Point:
    """A shot whose depth goes with a power of what arrives on an area; `other` measures as they are."""
    power, spot, dwell = at.get("power", 10.0), at.get("spot", 0.5e-3), at.get("dwell", 4e-3)
    area = np.pi * (spot / 2.0) ** 2
    depth = 1e-12 * (power * dwell / area / 1e4) ** power_law * 1e4 * 1e3
    found = {
        "crater_depth": depth,
        "deepest": depth,
        "crater_width": spot * (1.0 + 0.1 * np.log10(power)),
        "crater_mass": 1e-9 * power,
        "char_thickness_floor": 0.0,
        "char_thickness_wall": 0.0,
        "dried_thickness_floor": 20e-6,
        "dried_thickness_wall": 20e-6,
        "coagulation_thickness_floor": 50e-6,
        "coagulation_thickness_wall": 50e-6 + 5e-3 * dwell,
        "incident_energy": power * dwell,
        "irradiance_mean": power / area,
        "radiant_exposure": power * dwell / area,
        "thermal_relaxation_time": TAU,
        **other,
    }
    measures = np.array([found.get(name, np.nan) for name in MEASURES])
    return Point(measures, "clean", "", 0.1, np.linspace(0.0, 1e-3, RADII), np.zeros((4, RADII)))


def cube_of(*axes: Axis, profile: str = "gaussian", start: str = "37 degC", law: float = 1.0) -> Cube:
    cube = blank_cube(axes, Limits(), {}, SCENARIO.format(profile=profile, start=start), {})
    for index in np.ndindex(cube.shape):
        at = {axis.name: axis.values[one] for axis, one in zip(axes, index, strict=True)}
        cube.fill(index, point_of(at, law))
    return cube


def asked(cube: Cube, words: str) -> dict:
    (found,) = (one for one in questions_of(cube) if words in one["text"])
    return found


@pytest.mark.parametrize(("law", "ratio", "why"), DOUBLED)
def test_twice_the_power_gives_the_depth_of_the_map_and_the_reason_that_fits_it(law, ratio, why):
    cube = cube_of(POWER, law=law)
    found = asked(cube, "the power goes from" if len(cube.axes) > 1 else "The power goes from")
    a, b = (tuple(found[name]) for name in "ab")
    depth = cube.measures["deepest"]
    assert depth[b] / depth[a] == pytest.approx(ratio, rel=4e-3)
    assert "2.00 times as much" in found["text"] and f"{ratio:.2f} times as deep. {why}" in found["answer"]


@pytest.mark.parametrize(("law", "share", "why"), WIDENED)
def test_twice_the_spot_gives_the_irradiance_and_depth_of_the_map(law, share, why):
    found = asked(cube_of(SPOT, DWELL, law=law), "the spot goes from 0.5 mm to 1 mm")
    assert "The mean irradiance falls to 25 %" in found["answer"]
    assert int(re.search(r"which is ([0-9]+)", found["answer"])[1]) == pytest.approx(share, abs=1)
    assert re.search(rf"The depth (falls )?{why}", found["answer"])


@pytest.mark.parametrize(("profile", "why"), WIDTHS)
def test_widths_are_those_of_one_beam_and_the_reason_is_that_of_its_profile(profile, why):
    found = asked(cube_of(SPOT, POWER, profile=profile), "The beam measures")
    assert "500 µm" in found["text"] or "1 mm" in found["text"]
    a, b = found["a"], found["b"]
    assert a[0] == b[0] and (a[1], b[1]) == (0, 2) and why in found["answer"]


def test_times_spread_heat_as_their_root_and_stand_beside_the_relaxation_time():
    answer = asked(cube_of(DWELL), "Where does the heat go")["answer"]
    assert "in 16 ms, the longest of this map, 4.0 times as far as in 1 ms" in answer
    assert "500 µs (its thermal relaxation time): every exposure here is longer" in answer
    short = replace(DWELL, values=(0.1e-3, 0.4e-3))
    assert "every exposure here is shorter" in asked(cube_of(short), "Where does the heat go")["answer"]
    # A map over power alone has one exposure, that of its scenario.
    alone = asked(cube_of(POWER), "Where does the heat go")["answer"]
    assert "the longest" not in alone and "every exposure here is longer" in alone


def test_the_eye_and_the_microscope_are_told_what_the_map_holds():
    cube = cube_of(DWELL)
    answer = asked(cube, "naked eye")["answer"]
    # 50 um and 5 um for each ms: 55, 70 and 130 um, of which the last is seen.
    assert (
        "Here no setting leaves any" in answer and "at most 130 µm" in answer and "1 of 3 settings" in answer
    )
    cube.measures["char_thickness_wall"][1:] = 12e-6
    assert (
        "Here 2 of 3 settings leave char at floor or wall, at most 12 µm"
        in asked(cube, "naked eye")["answer"]
    )
    for place in ("floor", "wall"):
        cube.measures[f"coagulation_thickness_{place}"][:] = np.nan
    answer = asked(cube, "naked eye")["answer"]
    assert "No damage process is stated" in answer and "0 of 3 settings" in answer
    assert "microscope" not in answer


def test_what_is_checked_has_the_sizes_of_the_map():
    answer = asked(cube_of(POWER), "ruler")["answer"]
    # 20 W lose 20 ug; 50 of them make 1 mg. 0.5 mm wide, and a tenth of it more for each decade of power.
    assert "0.020 mg at most" in answer and "50 such shots" in answer
    assert "535 µm to 565 µm" in answer and "here 4 ms, with a light sensor" in answer
    cold = cube_of(POWER)
    for name in ("crater_width", "crater_mass", "deepest"):
        cold.measures[name][:] = 0.0
    assert "ruler" not in asked(cold, "ruler")["answer"].lower()


def test_living_tissue_and_the_bench_lack_other_things():
    alive, bench = (asked(cube_of(POWER, start=one), "living tissue") for one in ("37 degC", "22 degC"))
    assert "Vessels bleed" in alive["answer"] and "not alive" not in alive["answer"]
    assert "This target is not alive" in bench["answer"] and "1 of the 2 are assumed" in bench["answer"]
    deep = cube_of(POWER)
    assert "twice their width; none here" in asked(deep, "living tissue")["answer"]
    deep.measures["deepest"][1:] = 3e-3
    assert "twice their width, as 2 are here" in asked(deep, "living tissue")["answer"]


def test_pulses_of_one_energy_are_compared_and_counted():
    cube = blank_cube(
        (PULSE,),
        Limits(),
        {"all points": "equal energy"},
        SCENARIO.format(profile="gaussian", start="37 degC"),
        {},
    )
    for place, wall in enumerate((300e-6, 80e-6)):
        # 4 ms lit in all: 20 pulses of 0.2 ms, or 5 of 0.8 ms.
        cube.fill((place,), point_of({}, coagulation_thickness_wall=wall))
    found = asked(cube, "why?")
    assert (found["a"], found["b"]) == ([0], [1]) and "pulse duration 0.2 ms" in found["text"]
    assert "A: 300 µm; B: 80 µm" in found["answer"] and "A sends 20 pulses, B 5 pulses" in found["answer"]
    cube.measures["incident_energy"][1] *= 1.2
    assert not [one for one in questions_of(cube) if "why?" in one["text"]]


@pytest.mark.parametrize("axes", [(POWER,), (SPOT, DWELL), (PULSE,), (POWER, SPOT, DWELL)])
def test_every_question_of_every_map_has_an_answer_and_settings_that_are_there(axes):
    cube = cube_of(*axes)
    questions = questions_of(cube)
    assert len(questions) >= 4 and len({one["text"] for one in questions}) == len(questions)
    for one in questions:
        assert one["answer"].endswith((".", "long.")) and "nan" not in one["answer"] + one["text"]
        assert (one["a"] is None) == (one["b"] is None)
        for at in (one["a"], one["b"]):
            assert at is None or cube.word[tuple(at)] != ""
