"""Good scenarios: what they become, and that their text says it all."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spotdwell import library
from spotdwell.base import foreign, units
from spotdwell.base.errors import InputError
from spotdwell.inputs.build import beam_of, cautions_of, exposure_of, problem_of, request_of, target_of
from spotdwell.inputs.read import (
    material_texts,
    read_scenario,
    scenario_from_text,
    scenario_text,
    shipped_scenario,
    with_own_materials,
)
from spotdwell.inputs.schema import Scenario
from spotdwell.library import Shelf
from spotdwell.model.beam import Profile
from spotdwell.model.target import Backing

Build = Callable[[dict[str, Any]], Scenario]


def test_a_scenario_becomes_the_problem_that_it_states(build: Build) -> None:
    changes = {
        "surface.heat_transfer_coefficient": "inf W/m2/K",
        "run": {"end_time": "1 s", "save_times": ["80 ms", "20 ms"], "thermal_dose": True},
        "steps": {"largest_rise": "30 K"},
    }
    problem = problem_of(build(changes))
    assert problem.exposure.peak_power == 25.0
    assert problem.exposure.end == 0.08
    assert problem.beam.radius == 0.8e-3
    assert problem.target.layers[0].medium.name == "soft_tissue"
    assert math.isinf(problem.target.layers[0].thickness)
    assert problem.surface.heat_transfer_coefficient == math.inf
    assert problem.ending.time == 1.0
    assert problem.save_times == (0.02, 0.08)
    assert problem.stepping.largest_rise == 30.0
    assert problem.stepping.front_share == 0.5
    assert problem.thermal_dose


def test_the_shipped_superpulse_sends_its_peak_power_in_every_pulse() -> None:
    exposure = exposure_of(shipped_scenario("superpulsed_train"))
    assert exposure.peak_power == 80.0
    assert exposure.start.size == 3
    # 3 pulses of 400 us at 80 W; round-off of the edges' sums.
    assert_allclose(exposure.energy, 3 * 400e-6 * 80.0, rtol=1e-12)


def test_a_carrier_without_peak_power_chops_the_beam_s(build: Build) -> None:
    exposure = exposure_of(
        build({"exposure.carrier": {"pulse_duration": "1 ms", "repetition_rate": "500 Hz"}})
    )
    assert exposure.peak_power == 25.0
    # Half of 80 ms.
    assert_allclose(exposure.on_time, 0.04, rtol=1e-12)


def test_a_power_may_repeat_what_the_peak_says(build: Build) -> None:
    carrier = {"pulse_duration": "400 us", "repetition_rate": "140 Hz", "peak_power": "80 W"}
    assert build({"exposure.carrier": carrier, "beam.power": "4.48 W"}).peak_power == 80.0


def test_optics_give_the_waist_of_gaussian_optics(build: Build) -> None:
    changes = {"beam.diameter": None, "beam.optics": {"focal_length": "125 mm", "input_diameter": "10 mm"}}
    # lambda f / (pi w_in) = 84.3 um to its three digits.
    assert_allclose(beam_of(build(changes)).radius, 84.3e-6, rtol=1e-3)


def test_a_diameter_by_second_moments_is_converted(build: Build) -> None:
    beam = beam_of(build({"beam.profile": "flat-top", "beam.definition": "D4sigma"}))
    # A flat-top's D4sigma is its diameter (ISO 11146-1).
    assert_allclose(beam.radius, 0.8e-3, rtol=1e-12)


def test_a_slab_is_lit_evenly_over_its_area(build: Build) -> None:
    scenario = build({"grid": {"geometry": "slab", "area": "2 mm2"}})
    beam = beam_of(scenario)
    assert beam.profile is Profile.FLAT_TOP
    # Round-off of a square root.
    assert_allclose(beam.mean_irradiance, 1.0 / 2e-6, rtol=1e-12)
    assert "diameter and profile are not used" in cautions_of(scenario)[0]
    assert problem_of(scenario).grid.columns.count == 1


@pytest.mark.parametrize(
    ("beam", "symmetry"),
    [
        ({}, 4),
        ({"beam.scan_speed": "5 mm/s"}, 2),
        ({"beam.centre": ["1 mm", "0 mm"]}, 2),
        ({"beam.centre": ["0 mm", "1 mm"]}, 1),
    ],
)
def test_a_lattice_takes_the_most_symmetry_that_its_beam_allows(
    build: Build, beam: dict[str, Any], symmetry: int
) -> None:
    assert request_of(build({"grid.geometry": "lattice", **beam})).symmetry == symmetry


def test_a_held_backing_has_the_initial_temperature_unless_stated(build: Build) -> None:
    layers = [{"material": "skin", "thickness": "2 mm"}]
    held = {"target.layers": layers, "target.backing": "held"}
    assert target_of(build(held)).backing is Backing.HELD
    assert target_of(build(held)).backing_temperature == 310.15
    assert target_of(build({**held, "target.backing_temperature": "20 degC"})).backing_temperature == 293.15


def test_a_refused_wavelength_names_the_file_and_the_key(build: Build) -> None:
    with pytest.raises(InputError) as raised:
        problem_of(build({"beam.wavelength": "1064 nm"}))
    assert raised.value.where == "shot.toml: beam.wavelength"


def test_what_the_grid_refuses_names_the_file(build: Build) -> None:
    with pytest.raises(InputError) as raised:
        problem_of(build({"grid.half_width": "0.5 mm"}))
    assert raised.value.where == "shot.toml: grid.half_width"


def test_a_run_that_ends_within_the_exposure_says_so(build: Build) -> None:
    assert "ends before the exposure" in cautions_of(build({"run.end_time": "10 ms"}))[0]
    assert cautions_of(build({"run.end_time": "1 s"})) == ()


@pytest.mark.parametrize("name", library.names(Shelf.SCENARIOS))
def test_the_text_of_a_scenario_reads_back_as_the_same(name: str) -> None:
    scenario = shipped_scenario(name)
    assert scenario_from_text(scenario_text(scenario)) == scenario
    own = with_own_materials(scenario)
    again = scenario_from_text(scenario_text(own))
    assert again == own
    np.testing.assert_array_equal(problem_of(again).grid.depth_edges, problem_of(scenario).grid.depth_edges)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    power=st.floats(min_value=1e-3, max_value=1e4),
    diameter=st.floats(min_value=1e-6, max_value=1e-2),
    title=st.text(st.characters(exclude_categories=["Cs"]), min_size=1).filter(foreign.is_clean),
)
def test_any_power_diameter_and_title_read_back_as_the_same(
    build: Build, power: float, diameter: float, title: str
) -> None:
    scenario = build({"beam.power": f"{power!r} W", "beam.diameter": f"{diameter!r} m", "title": title})
    assert scenario.beam.power == power
    assert scenario_from_text(scenario_text(scenario)) == scenario


def test_a_material_with_an_odd_name_is_written_and_read_back(build: Build) -> None:
    name = 'a "b".c'
    own = {"density": "500 kg/m3", "water_mass_fraction": 1.0, "conductivity": "0.6 W/m/K"}
    scenario = build({"materials": {name: own}, "target.layers": [{"material": name}]})
    assert scenario_from_text(scenario_text(scenario)) == scenario


def test_a_file_keeps_its_text_and_finds_materials_beside_it(tmp_path: Path) -> None:
    text = library.text(Shelf.SCENARIOS, "spot").replace('"soft_tissue"', '"ham.toml"')
    (tmp_path / "shot.toml").write_text(text, encoding="utf-8")
    (tmp_path / "ham.toml").write_text(library.text(Shelf.MATERIALS, "muscle"), encoding="utf-8")
    scenario = read_scenario(tmp_path / "shot.toml")
    assert scenario.origin.text == text
    assert problem_of(scenario).target.layers[0].medium.solid_density == pytest.approx(252.0, rel=1e-12)
    assert list(material_texts(scenario)) == ["ham.toml"]
    # With its materials inside, it needs no folder.
    alone = scenario_from_text(scenario_text(with_own_materials(scenario)))
    assert alone.materials["ham.toml"].title == "Muscle"


def test_a_material_of_its_own_goes_before_a_shipped_one(build: Build) -> None:
    own = {"density": "500 kg/m3", "water_mass_fraction": 1.0, "conductivity": "0.6 W/m/K"}
    target = target_of(build({"materials": {"soft_tissue": own}}))
    assert target.layers[0].medium.density == 500.0


def test_a_problem_in_python_needs_no_toml_and_no_pydantic() -> None:
    code = "import sys, spotdwell.model.problem; print({'pydantic', 'tomllib', 'pint'} & set(sys.modules))"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "set()"


def test_an_interrupt_while_a_table_is_written_stays_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: Any) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(units, "written", interrupt)
    with pytest.raises(KeyboardInterrupt):
        scenario_text(shipped_scenario("spot"))
