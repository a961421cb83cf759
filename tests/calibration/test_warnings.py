"""What bench shots cannot tell, or nobody can set, is refused before anything is solved, with what to do."""

import numpy as np
import pytest

from spotdwell.base.errors import InputError
from spotdwell.calibration.request import BenchShots
from spotdwell.calibration.run import bench_of
from spotdwell.inputs.read import shipped_material
from spotdwell.inputs.shot import scenario_of_shot

SPOTS = {"1": 0.4e-3, "2": 0.7e-3}
SHOTS = tuple((1.0 + number, 5e-3, "1" if number < 6 else "2") for number in range(12))


@pytest.fixture(scope="module")
def scenario():
    return scenario_of_shot("soft_tissue", "1 W", "1 mm", "1 ms")


def shots_of(depth, shots=SHOTS, by_dial=False, **changes):
    power, dwell, dial = zip(*shots, strict=True)
    count = len(shots)
    given = {
        "source": "bench.csv",
        "file": "bench.csv",
        "rows": np.arange(2, 2 + count),
        "power": np.array(power, dtype=float),
        "dwell": np.array(dwell),
        "spot": None if by_dial else np.array([SPOTS[one] for one in dial]),
        "dial": dial if by_dial else None,
        "depth": np.asarray(depth, dtype=float),
        "width": np.full(count, np.nan),
        "char_seen": (None,) * count,
        "perforated": np.zeros(count, dtype=bool),
        "count": np.ones(count),
    }
    return BenchShots(**(given | changes))


REFUSED = [
    ({"depth": np.full(3, 1e-4), "shots": SHOTS[:3]}, None, (), "at least 4 rows"),
    ({"perforated": np.ones(12, dtype=bool)}, None, (), "all rows perforated"),
    ({"depth": np.zeros(12)}, None, (), "a depth of 0 in all rows"),
    (
        {"by_dial": True, "shots": (*SHOTS[:6], SHOTS[6]), "depth": np.full(7, 1e-4)},
        None,
        ("delivered-share=1",),
        "at dial 2",
    ),
    ({"by_dial": True}, "spot:7", (), "No row has that dial position"),
    ({"by_dial": True}, "delivered-share", (), "spot:1 fitted or known"),
    ({"by_dial": True}, None, ("spot:1=0.4 mm", "spot:9=1 mm"), "No row has that dial position"),
    ({}, "spot", (), "as the column spot says it"),
    ({}, "absorption", (), "one of delivered-share, debris-heat, rupture-temperature"),
    ({}, None, ("delivered-share",), "a name and a value"),
    ({}, None, ("delivered-share=1.2",), "0.100 to 1.00"),
    ({}, None, ("delivered-share=0.9 mm",), "no unit"),
    ({"by_dial": True}, None, ("spot=0.4",), "unit is missing"),
    ({}, "delivered-share", ("delivered-share=0.9",), "not fitted too"),
    ({}, None, ("delivered-share=0.9", "debris-heat=3 kJ/cm3"), "left to fit"),
    ({}, None, ("debris-heat=3",), "unit is missing"),
    ({}, None, ("debris-heat=90 kJ/cm3",), "0.100 kJ/cm3 to 20.0 kJ/cm3"),
    ({}, None, ("rupture-temperature=320 degC",), "150 degC to 309 degC"),
    ({}, "debris-heat,rupture-temperature", ("delivered-share=0.9",), "widths of at least 4 craters"),
]


@pytest.mark.parametrize(("changes", "fit", "fix", "said"), REFUSED)
def test_what_cannot_be_fitted_is_refused_with_what_to_do(scenario, changes, fit, fix, said):
    given = {"depth": np.linspace(1e-4, 5e-4, 12)} | changes
    with pytest.raises(InputError) as caught:
        bench_of(shots_of(given.pop("depth"), **given), scenario, None, fit, fix)
    assert said in str(caught.value) and caught.value.expected


def test_a_bench_without_spots_needs_a_laser_of_one_spot(scenario):
    bare = shots_of(np.linspace(1e-4, 5e-4, 12), spot=None)
    with pytest.raises(InputError, match="a column spot or a column dial"):
        bench_of(bare, scenario, None, None, ())


def test_a_material_that_nothing_throws_out_has_no_debris():
    acrylic = scenario_of_shot("pmma", "1 W", "1 mm", "1 ms")
    assert shipped_material("pmma").rupture_temperature is None
    bench = bench_of(shots_of(np.linspace(1e-4, 5e-4, 12)), acrylic, None, None, ())
    assert [one.key for one in bench.values.free] == ["delivered-share"]
    with pytest.raises(InputError, match="a material that superheated water throws out"):
        bench_of(shots_of(np.linspace(1e-4, 5e-4, 12)), acrylic, None, "debris-heat", ())


def test_the_rupture_temperature_is_the_materials_unless_it_is_named(scenario):
    shots = shots_of(np.linspace(1e-4, 5e-4, 12))
    own = shipped_material("soft_tissue").rupture_temperature.value
    bench = bench_of(shots, scenario, None, None, ())
    assert bench.values.known == {"rupture-temperature": own}
    fix = ("rupture-temperature=210 degC",)
    assert bench_of(shots, scenario, None, None, fix).values.known["rupture-temperature"] == 483.15
    named = bench_of(shots, scenario, None, "rupture-temperature", ("delivered-share=0.9",)).values
    assert [one.key for one in named.free] == ["rupture-temperature"]
    assert set(named.known) == {"delivered-share", "debris-heat"}


def test_widths_let_debris_heat_and_rupture_temperature_be_fitted_together(scenario):
    width = np.full(12, np.nan)
    width[:4] = 4e-4
    shots = shots_of(np.linspace(1e-4, 5e-4, 12), width=width)
    bench = bench_of(shots, scenario, None, "debris-heat,rupture-temperature", ("delivered-share=0.9",))
    assert [one.key for one in bench.values.free] == ["debris-heat", "rupture-temperature"]
