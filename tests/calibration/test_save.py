"""What bench shots told, as a material: no more than it must say, and what it says is what was found."""

import tomllib

import numpy as np
import pytest
import tomli_w

from spotdwell.base.errors import InputError
from spotdwell.calibration.result import Calibration, FittedValue
from spotdwell.calibration.save import material_with
from spotdwell.inputs.read import material_from_text, own_tables, shipped_material
from spotdwell.inputs.shot import scenario_of_shot

DEBRIS = FittedValue("debris-heat", "J/m3", 3e9, 3.4567e9, 3.1e9, 3.9e9)
RUPTURE = FittedValue("rupture-temperature", "K", 513.15, 493.15, 483.15, 503.15)
SHARE = FittedValue("delivered-share", "1", 0.85, 0.9, 0.85, 0.95)


def found(*values, known=()):
    given = ("bench.csv", "apple", values, known, (), 0.05, 1e-4, "residuals", 7, 0.05)
    return Calibration(*given, np.eye(len(values)), 100, 0.1)


def material_of(calibration, name, wavelength=10.6e-6):
    scenario = scenario_of_shot(name, "1 W", "1 mm", "1 ms")
    table = material_with(calibration, own_tables(name, scenario), wavelength)
    return table, material_from_text(tomli_w.dumps(table))


def test_a_shipped_material_becomes_the_base_and_all_else_is_borrowed():
    table, material = material_of(found(SHARE, DEBRIS), "apple")
    assert set(table) == {"title", "based_on", "debris"} and len(table["debris"]) == 1
    line, own = material.debris[0], shipped_material("apple")
    # Four digits are kept.
    assert line.value == pytest.approx(3.457e9, rel=1e-12) and line.range == pytest.approx((3.1e9, 3.9e9))
    assert line.basis == "calibrated" and "0 shots of bench.csv in apple" in line.source
    assert material.debris[1:] == tuple(one for one in own.debris if one.wavelength != 10.6e-6)
    left = {"based_on", "borrowed_from", "about", "debris"}
    assert material.model_dump(exclude=left) == own.model_dump(exclude=left)


def test_a_value_that_was_stated_is_kept_as_stated():
    known = (("debris-heat", 2.5e9), ("delivered-share", 0.9))
    table, material = material_of(found(RUPTURE, known=known), "apple")
    assert material.rupture_temperature.value == 493.15
    assert material.rupture_temperature.range == pytest.approx((483.15, 503.15), rel=1e-12)
    assert table["debris"][0]["source"] == "stated by the user" and "range" not in table["debris"][0]
    assert table["debris"][0]["basis"] == "assumed" and material.debris[0].value == 2.5e9


def test_a_file_of_the_users_own_keeps_what_it_says_and_its_line_is_replaced(tmp_path):
    mine = tmp_path / "mine.toml"
    mine.write_text(
        'based_on = "apple"\ndensity = "800 kg/m3"\n'
        '[[debris]]\nwavelength = "10600 nm"\nvalue = "1 kJ/cm3"\n'
        '[[debris]]\nwavelength = "9.3 um"\nvalue = "2 kJ/cm3"\n'
    )
    table, material = material_of(found(DEBRIS), str(mine))
    assert {key: value for key, value in table.items() if key != "debris"} == {
        key: value for key, value in tomllib.loads(mine.read_text()).items() if key != "debris"
    }
    assert [line["value"] for line in table["debris"]] == ["3.457 kJ/cm3", "2 kJ/cm3"]
    assert material.density.value == 800.0


def test_nothing_of_the_material_is_no_material():
    with pytest.raises(InputError, match="save_material"):
        material_of(found(SHARE), "apple")
