"""Maps: points as single runs, kept as they come, gone on with after an interrupt or a kill."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from spotdwell import pipeline
from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import MEASURES
from spotdwell.inputs.read import scenario_from_text
from spotdwell.inputs.shot import scenario_of_shot, scenario_with
from spotdwell.maps import run as mapping
from spotdwell.maps.cube import OUTLINES, Axis, Cube
from spotdwell.maps.plan import MapPlan, longest_first, shared_setting
from spotdwell.maps.run import map_of
from spotdwell.maps.store import load_cube

pytestmark = pytest.mark.compiled

POWER = Axis("power", (5.0, 12.0, 25.0), "W", "list")
SPOT = Axis("spot", (0.6e-3, 1.5e-3), "mm", "list")
DWELL = Axis("dwell", (2e-3, 8e-3), "ms", "list")
BASE = scenario_of_shot("soft_tissue", "5 W", "1 mm", "2 ms", refinement=0.3)
PLAN = MapPlan(BASE, (POWER, SPOT, DWELL))
POINTS = 12

CHILD = """
import sys
sys.path.insert(0, {folder!r})
from test_run import PLAN, slow
from spotdwell.maps.run import map_of

if __name__ == "__main__":
    map_of(slow(PLAN), {path!r}, workers=2, progress=lambda done, total, left: print(done, flush=True))
"""


def slow(plan: MapPlan) -> MapPlan:
    """The same map with cells that make every point take longer than its notice."""
    return replace(plan, base=scenario_with(plan.base, {"grid.refinement": 0.45}))


@pytest.fixture(scope="module")
def cube():
    return map_of(PLAN, workers=1)


def assert_same(one: Cube, other: Cube) -> None:
    """Everything but the time that it took, to the last bit."""
    assert one.axes == other.axes
    for name in MEASURES:
        assert_array_equal(one.measures[name], other.measures[name], err_msg=name)
    for name in OUTLINES:
        assert_array_equal(one.outlines[name], other.outlines[name], err_msg=name)
    assert_array_equal(one.radius, other.radius)
    assert_array_equal(one.word, other.word)
    assert_array_equal(one.failure, other.failure)


def test_a_point_is_the_single_run_with_its_settings(cube):
    index = (2, 0, 1)
    result = pipeline.run(scenario_of_shot("soft_tissue", "25 W", "0.6 mm", "8 ms", refinement=0.3))
    found = {name: cube.measures[name][index] for name in MEASURES}
    assert found == {
        name: pytest.approx(np.nan if value is None else value, rel=0.0, nan_ok=True)
        for name, value in result.measures.items()
    }
    assert cube.word[index] == result.verdict.word


def test_workers_find_what_this_process_finds_to_the_last_bit(cube):
    told = []
    assert_same(map_of(PLAN, workers=2, progress=lambda *state: told.append(state)), cube)
    assert [done for done, _, _ in told] == list(range(1, POINTS + 1))
    assert {total for _, total, _ in told} == {POINTS}
    assert told[-1][2] == 0.0
    assert all(left > 0.0 for _, _, left in told[:-1])


def test_an_outline_begins_at_the_depths_on_the_axis_and_ends_beyond_the_zones(cube):
    crater, coagulated = cube.outlines["crater"], cube.outlines["coagulated"]
    assert np.all(np.diff(np.stack([cube.outlines[name] for name in OUTLINES]), axis=0) >= 0.0)
    assert_array_equal(crater[..., -1], 0.0)
    assert_array_equal(coagulated[..., -1], 0.0)
    deep = cube.measures["crater_depth"] > 0.0
    assert deep.any()
    # The measure fits a parabola to some columns of the floor, the outline takes the first: some cells.
    assert_allclose(crater[..., 0][deep], cube.measures["crater_depth"][deep], rtol=0.1)


def test_a_point_that_fails_is_kept_with_its_reason_and_the_others_are_solved(tmp_path):
    plan = MapPlan(BASE, (Axis("wavelength", (1.064e-6, 10.6e-6), "um", "list"), SPOT))
    found = map_of(plan, tmp_path / "map.h5", workers=1)
    assert_array_equal(found.failed, [[True, True], [False, False]])
    assert all("scatter" in reason for reason in found.failure[0])
    assert np.isnan(found.measures["crater_depth"][0]).all()
    assert_same(load_cube(tmp_path / "map.h5"), found)


def test_materials_may_be_an_axis_and_travel_with_the_map():
    film = scenario_of_shot("skin", "20 W", "1 mm", "5 ms", refinement=0.3, film="20 um")
    plan = MapPlan(film, (Axis("material", ("skin", "liver"), "", "list"), POWER))
    assert [layer.material for layer in plan.scenario((1, 0)).target.layers] == ["water_film", "liver"]
    found = map_of(plan, workers=1)
    assert not found.failed.any()
    again = scenario_from_text(found.scenario_text)
    assert {"skin", "liver", "water_film"} <= set(again.materials)
    assert "target" not in found.setting
    assert found.setting["exposure"] == "5 ms"


def test_shared_settings_leave_out_what_changes():
    train = scenario_of_shot("skin", "20 W", "1 mm", dwell="5 ms", pause="95 ms", count=3)
    found = shared_setting(MapPlan(train, (POWER, Axis("pause", (0.01, 0.1), "ms", "list"))))
    assert found == {
        "spot": "1 mm (1/e2, gaussian)",
        "target": "skin",
        "wavelength": "10.6 um",
        "dwell": "5 ms",
        "count": "3",
    }


def test_an_interrupted_map_keeps_what_was_done_and_goes_on_with_the_rest_alone(tmp_path, cube, monkeypatch):
    path, solved = tmp_path / "map.h5", []
    whole = mapping.point_of

    def counted(plan, index):
        solved.append(index)
        return whole(plan, index)

    def stop(done, total, left):
        if done == 5:
            raise KeyboardInterrupt

    monkeypatch.setattr(mapping, "point_of", counted)
    with pytest.raises(KeyboardInterrupt):
        map_of(PLAN, path, workers=1, progress=stop)
    assert load_cube(path).missing.sum() == POINTS - 5
    told = []
    assert_same(map_of(PLAN, path, workers=1, progress=lambda *state: told.append(state)), cube)
    assert len(set(solved)) == len(solved) == POINTS
    assert told[0][:2] == (6, POINTS)
    assert_same(map_of(PLAN, path, workers=1), cube)
    assert len(solved) == POINTS


def test_a_killed_map_leaves_no_workers_and_goes_on_to_what_an_uninterrupted_one_finds(tmp_path):
    path, script = tmp_path / "map.h5", tmp_path / "child.py"
    script.write_text(CHILD.format(folder=os.path.dirname(__file__), path=str(path)))
    child = subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True)
    for line in child.stdout:
        if int(line) >= POINTS // 2:
            break
    os.kill(child.pid, signal.SIGKILL)
    # The workers hold the other end of this pipe: it ends when they have ended.
    told = [int(line) for line in child.communicate(timeout=20.0)[0].split()]
    kept = load_cube(path)
    done = POINTS - kept.missing.sum()
    assert max([POINTS // 2, *told]) <= done < POINTS
    began = time.time()
    assert_same(map_of(slow(PLAN), path, workers=1), map_of(slow(PLAN), workers=1))
    assert_array_equal(load_cube(path).seconds[~kept.missing], kept.seconds[~kept.missing])
    assert path.stat().st_mtime >= began


def other_maps() -> dict[str, tuple[MapPlan, str]]:
    hot = scenario_with(BASE, {"target.initial_temperature": "40 degC"})
    strict = scenario_with(BASE, {"limits.char_thickness": "10 um"})
    heavy = MapPlan(BASE, PLAN.axes).whole
    material = heavy.materials["soft_tissue"]
    denser = material.model_copy(update={"density": material.density.model_copy(update={"value": 1070.0})})
    own = BASE.model_copy(update={"materials": {"soft_tissue": denser}})
    return {
        "base": (replace(PLAN, base=hot), "target.initial_temperature = 40 degC"),
        "limits": (replace(PLAN, base=strict), "limits.char_thickness"),
        "material": (replace(PLAN, base=own), "materials.soft_tissue.density.value = 1070 kg/m3"),
        "values": (
            replace(PLAN, axes=(replace(POWER, values=(5.0, 12.0, 26.0)), SPOT, DWELL)),
            "power = 5 W",
        ),
        "order": (replace(PLAN, axes=(SPOT, POWER, DWELL)), "axes = spot, power, dwell"),
    }


@pytest.mark.parametrize("kind", ["base", "limits", "material", "values", "order"])
def test_the_file_of_another_map_is_refused_with_what_differs_and_left_alone(tmp_path, cube, kind):
    path = tmp_path / "map.h5"
    mapping.save_cube(cube, path, PLAN.identity)
    before = path.read_bytes()
    plan, difference = other_maps()[kind]
    with pytest.raises(InputError) as caught:
        map_of(plan, path, workers=1)
    assert str(path) in str(caught.value)
    assert difference in caught.value.expected
    assert path.read_bytes() == before


def test_a_title_and_values_that_the_axes_replace_make_no_other_map():
    named = scenario_with(BASE, {"title": "Another name", "beam.power": "7 W", "beam.diameter": "2 mm"})
    assert replace(PLAN, base=named).identity == PLAN.identity


def test_a_disk_that_is_full_from_the_start_shows_before_the_first_run(tmp_path, monkeypatch):
    monkeypatch.setattr(mapping, "point_of", lambda plan, index: pytest.fail("a run began"))
    with file_limit(20_000), pytest.raises(RunError, match=r"map\.h5: cannot be written.*space"):
        map_of(PLAN, tmp_path / "map.h5", workers=1)
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_later_stops_the_map_and_what_was_written_stays(tmp_path, cube):
    path = tmp_path / "map.h5"
    limit = None

    def full(done, total, left):
        nonlocal limit
        if done == 4:
            limit = file_limit(20_000)
            limit.__enter__()

    with pytest.raises(RunError, match=r"map\.h5: cannot be written.*are kept.*again to go on"):
        try:
            map_of(PLAN, path, workers=1, progress=full)
        finally:
            limit.__exit__(None, None, None)
    assert load_cube(path).missing.sum() == POINTS - 4
    assert_same(map_of(PLAN, path, workers=1), cube)


class file_limit:
    """Context in which writing beyond a file's first bytes fails as on a full disk."""

    def __init__(self, size: int) -> None:
        self._size = size

    def __enter__(self):
        self._before = resource.getrlimit(resource.RLIMIT_FSIZE)
        self._handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (self._size, self._before[1]))

    def __exit__(self, *_):
        resource.setrlimit(resource.RLIMIT_FSIZE, self._before)
        signal.signal(signal.SIGXFSZ, self._handler)


def test_longer_points_are_solved_first():
    order = [index for _, index in longest_first(PLAN, list(np.ndindex(PLAN.shape)))]
    assert order[0] == (2, 0, 1)
    assert order[-1] == (0, 1, 0)


@pytest.mark.parametrize(
    ("plan", "where"),
    [
        (MapPlan(BASE, ()), "axes"),
        (MapPlan(BASE, (POWER, POWER)), "axes"),
        (MapPlan(BASE, (Axis("colour", (1.0, 2.0), "", "list"),)), "axes"),
        (MapPlan(BASE, (Axis("power", tuple(np.arange(1.0, 100_002.0)), "W", "list"),)), "axes"),
        (MapPlan(scenario_with(BASE, {"grid.geometry": "lattice"}), (POWER,)), "geometry"),
        (MapPlan(BASE, (Axis("count", (1.0, 2.0), "", "list"),)), "count"),
        (MapPlan(BASE, (Axis("material", ("skin", "unobtainium"), "", "list"),)), "material"),
    ],
)
def test_settings_that_make_no_map_are_refused_before_anything_runs(tmp_path, plan, where):
    with pytest.raises(InputError) as caught:
        map_of(plan, tmp_path / "map.h5")
    assert where in caught.value.where
    assert list(tmp_path.iterdir()) == []


def test_fewer_workers_than_one_are_refused():
    with pytest.raises(InputError, match="workers"):
        map_of(PLAN, workers=0)
