"""The verb `calibrate` and laser files as they are typed."""

import time
import tomllib

import pytest

from spotdwell.inputs.laser_file import read_laser
from spotdwell.inputs.read import read_material, shipped_material

BENCH = """power [W],dwell [ms],dial,depth [um],char seen
12,2,1,210,no
16,2,1,290,no
20,2,1,375,yes
24,2,1,440,
12,2,1,214,no
"""
COARSE = ("--refinement", "0.6", "--workers", "1")
LASER = """
[wavelength]
value = "10.6 um"
source = "maker"
[delivered_share]
value = 0.8
interval = [0.75, 0.85]
source = "power meter"
[[diameter]]
dial = "1"
value = "400 um"
interval = ["390 um", "410 um"]
source = "craters"
[[diameter]]
dial = "2"
value = "1 mm"
interval = ["0.97 mm", "1.03 mm"]
source = "craters"
"""


@pytest.fixture
def bench(tmp_path):
    path = tmp_path / "bench.csv"
    path.write_text(BENCH)
    return path


@pytest.fixture
def laser(tmp_path):
    path = tmp_path / "laser.toml"
    path.write_text(LASER)
    return path


def calibrate(call, bench, *arguments):
    return call("calibrate", bench, "--on", "soft_tissue", *COARSE, *arguments)


@pytest.mark.compiled
def test_a_fit_is_shown_drawn_and_kept_and_the_laser_file_serves_a_shot(call, bench, tmp_path):
    new, picture = tmp_path / "new.toml", tmp_path / "fit.svg"
    known = ("--fix", "delivered-share=0.9", "--fix", "debris-heat=3 kJ/cm3")
    answer = calibrate(call, bench, *known, "--save", new, "--picture", picture)
    assert answer.code == 0
    assert "Fitting takes some" in answer.err
    said = " ".join(answer.out.split())
    for wanted in (
        "spot:1",
        "95 % interval",
        "known",
        "Char: 3 of 4",
        "Student's t",
        "eye protection",
        "Lasers burn",
    ):
        assert wanted in said, wanted
    assert picture.stat().st_size > 10_000
    saved = read_laser(new)
    assert saved.delivered_share.value == 0.9 and "stated" in saved.delivered_share.source
    assert "5 shots of bench.csv" in saved.spot("1").source
    shot = call(
        "shot", "--on", "soft_tissue", "--laser", new, "--power", "12 W", "--dwell", "2 ms", *COARSE[:2]
    )
    assert shot.code == 0 and "10.8 W of 12.0 W" in " ".join(shot.out.split())


@pytest.mark.compiled
def test_a_fitted_debris_heat_is_saved_as_a_material_that_shot_and_map_take(call, bench, laser, tmp_path):
    mine = tmp_path / "my_tissue.toml"
    known = ("--laser", laser, "--fix", "rupture-temperature=230 degC")
    answer = calibrate(call, bench, *known, "--save-material", mine, "--json")
    assert answer.code == 0
    found = answer.json["values"]["debris-heat"]
    material = read_material(mine)
    kept = material.debris[0]
    # The file keeps four digits.
    assert kept.wavelength == pytest.approx(10.6e-6, rel=1e-12)  # round-off
    assert kept.value == pytest.approx(found["value"], rel=1e-3)
    assert kept.range == pytest.approx((found["low"], found["high"]), rel=1e-3)
    assert kept.basis == "calibrated" and "bench.csv" in kept.source
    assert material.rupture_temperature.value == 503.15
    assert material.rupture_temperature.basis == "assumed" and "stated" in material.rupture_temperature.source
    # All else is borrowed, and the file says no more than that.
    shipped = shipped_material("soft_tissue")
    assert material.damage == shipped.damage and material.density == shipped.density
    assert set(tomllib.loads(mine.read_text())) == {"title", "based_on", "rupture_temperature", "debris"}
    base = ("--on", mine, "--laser", laser, "--dial", "1", "--refinement", "0.25", "--quiet")
    assert call("shot", *base, "--power", "16 W", "--dwell", "2 ms").code == 0
    over = ("--over", "power: 12 W, 16 W", "--over", "dwell: 1 ms, 2 ms")
    assert call("map", *base, *over, "--workers", "1").code == 0


@pytest.mark.compiled
def test_size_map_and_compare_take_the_set_power_of_a_laser_file(call, laser):
    base = ("--on", "soft_tissue", "--refinement", "0.25")
    spot, with_laser = ("--spot", "0.4 mm"), ("--laser", laser, "--dial", "1")
    sized = call("size", *base, *with_laser, "--dwell", "2 ms", "--depth", "200 um", "--json").json
    on_target = f"{0.8 * sized['setting']!r} W"
    again = call("shot", *base, *spot, "--power", on_target, "--dwell", "2 ms", "--json").json
    # The same power on the target makes the same crater, but for round-off.
    assert again["measures"]["crater_depth"] == pytest.approx(sized["nearest"]["depth"], rel=1e-6)
    refused = call("size", *base, *with_laser, "--dwell", "2 ms", "--power", "5 W", "--depth", "200 um")
    assert refused.code == 2 and "a laser counts as the spot" in refused.err
    regimes = ("--regime", "continuous", "--regime", "gated: 2 ms on, 8 ms off")
    compared = call("compare", *base, *with_laser, *regimes, "--time", "20 ms", "--workers", "1", "--json")
    assert compared.code == 0
    # Eight tenths of 10 W for 20 ms.
    assert "0.16" in compared.out


KNOWN = ("--fix", "delivered-share=0.9", "--fix", "spot=0.4 mm")
WRONG = [
    (("--fix", "power=3 W"), "--fix: "),
    (("--fix", "delivered=0.9"), "Did you mean delivered-share?"),
    (("--fix", "delivered-share"), "Add what delivered-share is, after an equals sign."),
    (("--fix", "delivered-share=2"), 'got "2". Check its unit, or leave it out to have it fitted.'),
    (("--fix", "delivered-share=x"), '--fix delivered-share: expected a number, such as "0.9", got "x"'),
    (("--fit", "colour"), "--fit: "),
    (("--fit", "spot:2", "--fix", "delivered-share=0.9"), "--fit: "),
    (("--laser", "none.toml"), "none.toml"),
    (("--save", "laser.txt"), "--save: "),
    (("--save-material", "tissue.h5"), "--save-material: "),
    (("--fix", "debris-heat=3 kJ/cm3", "--save-material", "tissue.toml"), "--save-material: "),
    (("--fix", "debris-heat=3"), "--fix debris-heat: "),
    (
        ("--fit", "debris-heat,rupture-temperature", *KNOWN),
        "bench.csv: expected widths of at least 4 craters",
    ),
    (("--picture", "fit.gif"), "--picture: "),
    (("--workers", "0"), "--workers: "),
    (("--thickness", "3"), "--thickness: "),
]


@pytest.mark.parametrize(("arguments", "named"), WRONG)
def test_what_is_wrong_is_named_before_anything_is_solved(call, bench, arguments, named, tmp_path):
    began = time.perf_counter()
    answer = calibrate(call, bench, *arguments)
    assert (answer.code, answer.out) == (2, "")
    assert named in answer.err and "Traceback" not in answer.err
    assert time.perf_counter() - began < 5.0  # a fit takes longer on any machine
    assert sorted(one.name for one in tmp_path.iterdir()) == ["bench.csv"]


def test_an_unknown_material_is_named_as_it_was_typed(call, bench):
    answer = call("calibrate", bench, "--on", "potatoe")
    assert answer.code == 2 and answer.err.startswith("Error: --on: ")


def test_a_stop_leaves_older_files_as_they_were(call, bench, laser, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("spotdwell.calibration.run.fit_bench", stopped)
    answer = calibrate(call, bench, "--laser", laser, "--fit", "debris-heat,spot", "--save", laser, "--force")
    assert answer.code == 130
    assert "nothing was saved" in answer.err and "As it was before" in answer.err
    assert laser.read_text() == LASER


SPOTS = "power [W],dwell [ms],spot [mm],depth [um]\n12,2,0.4,210\n16,2,0.4,290\n20,2,0.4,375\n24,2,0.4,440\n"


@pytest.mark.compiled
def test_a_fixed_share_is_saved_with_the_spot_that_the_shots_were_given_with(call, bench, tmp_path):
    bench.write_text(SPOTS)
    new = tmp_path / "new.toml"
    answer = calibrate(call, bench, "--fix", "delivered-share=0.9", "--save", new)
    assert answer.code == 0, answer.err
    laser = read_laser(new)
    assert laser.delivered_share.value == 0.9 and laser.delivered_share.source == "stated by the user"
    assert [(spot.value, spot.source) for spot in laser.diameter] == [(0.4e-3, "stated by the user")]


@pytest.mark.compiled
def test_a_fixed_share_takes_the_place_of_that_of_a_laser_file(call, bench, laser, tmp_path):
    new, spots = tmp_path / "new.toml", ("--fit", "debris-heat", "--laser", laser)
    assert calibrate(call, bench, *spots, "--fix", "delivered-share=0.9", "--save", new).code == 0
    assert read_laser(new).delivered_share.value == 0.9
    # What the file says already is nothing new to save.
    refused = calibrate(call, bench, *spots, "--fix", "delivered-share=0.8", "--save", tmp_path / "no.toml")
    assert refused.code == 2 and "a value of the laser, fitted or fixed" in refused.err
