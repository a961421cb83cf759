"""Grids that no machine could hold are refused, by the key that asks for them, before they are laid out."""

from __future__ import annotations

import time
import tracemalloc

import pytest

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.inputs.build import problem_of, request_of
from spotdwell.inputs.extent import LARGE, MOST_CELLS, checked_extent
from spotdwell.inputs.read import shipped_material, shipped_scenario

TOO_MUCH = [
    ({"grid": {"cell_depth": "1 nm", "depth": "10 mm", "stretch": False}}, "grid.cell_depth"),
    ({"grid": {"cell_depth": "1 pm"}}, "grid.cell_depth"),
    ({"grid": {"cell_depth": "1e-30 m"}}, "grid.cell_depth"),
    ({"grid": {"cell_depth": "1 um", "depth": "1 km", "stretch": False}}, "grid.depth"),
    ({"grid": {"half_width": "1 km", "stretch": False}}, "grid.half_width"),
    ({"grid": {"refinement": 1e6}}, "grid.refinement"),
    ({"grid": {"refinement": 1e300}}, "grid.refinement"),
    ({"grid": {"geometry": "lattice", "cell_width": "5 um", "stretch": False}}, "grid.cell_width"),
    ({"grid": {"geometry": "lattice", "half_width": "1 m", "stretch": False}}, "grid.half_width"),
    ({"target.layers.0.thickness": "1 km", "grid": {"stretch": False}}, "layers[0]"),
    ({"run": {"end_time": "1 s", "save_times": [f"{n} us" for n in range(1, 100_001)]}}, "run.save_times"),
    ({"run": {"end_time": "1 s"}, "steps": {"largest": "1e-15 s"}}, "steps.largest"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "named"), TOO_MUCH, ids=lambda value: str(value)[:60])
def test_what_no_machine_holds_is_refused_by_its_key_at_once(build, data, monkeypatch, changes, named):
    # Everywhere as on a small machine.
    monkeypatch.setattr("spotdwell.inputs.extent.memory", lambda: 8e9)
    build({})
    tracemalloc.start()
    began = time.perf_counter()
    try:
        with pytest.raises(InputError) as raised:
            problem_of(build(changes))
        took, most = time.perf_counter() - began, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert named in raised.value.where
    # The list of 100,000 save times is itself some 10 MB; the grids would be of gigabytes.
    assert most < 100e6 and took < 20.0


def test_a_material_that_spreads_heat_at_once_is_refused(build):
    material = shipped_material("soft_tissue").model_dump(mode="json", exclude_none=True)
    material["conductivity_dry"] = {"value": "1e30 W/m/K"}
    with pytest.raises(InputError, match=r"target\.layers\[0\]\.material: expected heat that takes a step"):
        problem_of(build({"materials": {"mine": material}, "target.layers.0.material": "mine"}))


def test_a_material_that_holds_no_heat_is_refused(build):
    material = shipped_material("water_film").model_dump(mode="json", exclude_none=True)
    material["density"] = {"value": "1e-3 kg/m3"}
    with pytest.raises(InputError, match=r"target\.layers\[0\]\.material: expected matter that takes"):
        problem_of(build({"materials": {"mine": material}, "target.layers.0.material": "mine"}))


def shipped() -> list[str]:
    folder = library.folder(library.Shelf.SCENARIOS)
    names = (path.relative_to(folder).as_posix() for path in folder.glob("**/*.toml"))
    # Scans lay their own grids, and count them there.
    return sorted(name for name in names if not name.startswith("scans/"))


@pytest.mark.parametrize("name", shipped())
def test_the_count_is_that_of_the_grid_which_is_laid(name):
    scenario = shipped_scenario(name)
    problem = problem_of(scenario)
    found = checked_extent(scenario, problem.target, problem.beam, problem.exposure, request_of(scenario))
    # Each of the axes is counted to a cell or two of every layer.
    assert found.rows == pytest.approx(problem.grid.depth.size, abs=2.0 * len(problem.target.layers))
    assert found.across * found.along == pytest.approx(problem.grid.columns.count, rel=0.03, abs=2.0)
    assert found.rows < MOST_CELLS and found.bytes < LARGE and not found.note


def test_a_large_run_is_told_among_the_reasons_of_its_grid(build):
    scenario = build({"grid": {"geometry": "lattice", "cell_width": "20 um", "cell_depth": "4 um"}})
    assert "this run is large" in problem_of(scenario).grid.reasons[-1]
