"""A fitted spot goes into a laser file, new or old, or is refused before anything is written."""

import numpy as np
import pytest

from spotdwell.base.errors import InputError, RunError
from spotdwell.craters.laser_spot import save_spot
from spotdwell.craters.result import Craters
from spotdwell.craters.run import fit_craters
from spotdwell.inputs.laser_file import read_laser


def fit_of(w=0.2e-3, noise=2e-6, count=9):
    energy = np.geomspace(4e-3, 40e-3, count)
    scatter = noise * np.random.default_rng(4).standard_normal(count)
    cut = np.sqrt(2.0 * w**2 * np.log(energy / 3e-3)) + scatter
    return fit_craters(Craters("bench.csv", np.arange(2, 2 + count), energy, cut))


def test_a_new_file_holds_value_interval_definition_and_source(tmp_path):
    fit, path = fit_of(), tmp_path / "laser.toml"
    saved = save_spot(fit, path, wavelength="10.6 um")
    assert read_laser(path) == saved
    spot = saved.spot()
    assert saved.wavelength.value == 10.6e-6
    # The file keeps four digits.
    np.testing.assert_allclose(
        [spot.value, *spot.interval], list(vars(fit.beam_diameter).values()), rtol=6e-4
    )
    assert spot.definition == "1/e2"
    assert "9 craters of bench.csv" in spot.source and "95 %" in spot.source


def test_another_dial_position_joins_the_file_and_the_same_one_is_replaced(tmp_path):
    path = tmp_path / "laser.toml"
    save_spot(fit_of(), path, "1", "10.6 um")
    save_spot(fit_of(0.5e-3), path, "2")
    again = save_spot(fit_of(0.3e-3), path, "1", "10.6 um")
    assert read_laser(path) == again and again.dials == ("1", "2")
    # A percent of noise in nine craters.
    np.testing.assert_allclose([one.value for one in again.diameter], [0.6e-3, 1.0e-3], rtol=0.02)


@pytest.mark.parametrize(
    ("name", "wavelength", "where"),
    [
        ("laser.txt", "10.6 um", "save"),
        ("laser.toml", None, "wavelength"),
        ("laser.toml", "10.6", "wavelength"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_written(tmp_path, name, wavelength, where):
    with pytest.raises(InputError) as caught:
        save_spot(fit_of(), tmp_path / name, wavelength=wavelength)
    assert caught.value.where == where
    assert list(tmp_path.iterdir()) == []


def test_another_laser_and_a_file_that_is_no_laser_stay_as_they_were(tmp_path):
    path, other = tmp_path / "laser.toml", tmp_path / "notes.toml"
    save_spot(fit_of(), path, wavelength="10.6 um")
    other.write_text('title = "notes"\n')
    before = path.read_text()
    with pytest.raises(InputError, match="as in"):
        save_spot(fit_of(), path, "2", "2.94 um")
    with pytest.raises(InputError, match="holds something else"):
        save_spot(fit_of(), other, "2")
    assert (path.read_text(), other.read_text()) == (before, 'title = "notes"\n')


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(RunError, match="no folder"):
        save_spot(fit_of(), tmp_path / "none" / "laser.toml", wavelength="10.6 um")


def test_a_diameter_without_a_lower_end_is_not_saved(tmp_path):
    fit = fit_of(noise=60e-6, count=3)
    assert fit.beam_diameter.low == 0.0
    with pytest.raises(InputError, match="bounded"):
        save_spot(fit, tmp_path / "laser.toml", wavelength="10.6 um")
