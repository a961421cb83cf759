"""What Python users touch first: names, help, short texts, names and files in place of scenarios, xarray."""

import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError, RunError

COARSE = {"refinement": 0.3}


@pytest.fixture(scope="module")
def result():
    return spotdwell.shot("soft_tissue", "25 W", "1.6 mm", "20 ms", **COARSE)


def test_the_package_names_what_it_has_and_its_version():
    assert set(spotdwell.__all__) <= set(dir(spotdwell))
    assert spotdwell.__version__.count(".") == 2
    missing = [name for name in spotdwell.__all__ if name not in spotdwell.__doc__]
    assert missing == []
    with pytest.raises(AttributeError, match="no attribute 'shoot'"):
        spotdwell.shoot  # noqa: B018


def test_a_mistyped_keyword_is_a_type_error_with_a_suggestion():
    with pytest.raises(TypeError, match="Did you mean dwell"):
        spotdwell.shot("skin", "25 W", "1.6 mm", dwel="80 ms")
    with pytest.raises(InputError):
        spotdwell.shot("skin", "25 W", "1.6 mm", dwel="80 ms")


@pytest.mark.compiled
def test_results_say_in_a_line_what_they_are(result):
    assert repr(result).startswith("<Result: 25 W, 1.6 mm") and len(repr(result)) < 160
    assert str(result.verdict.word) in repr(result)
    html = result._repr_html_()
    assert html.startswith("<svg") and "depth of the crater" in html and "<script" not in html
    assert repr(spotdwell.card("apple", "5 W", "1 ms", spot="1 mm", against="none", **COARSE)).startswith(
        "<Card: 1"
    )


@pytest.mark.compiled
def test_a_plot_without_a_path_is_a_figure(result, tmp_path):
    figure = result.plot()
    figure.savefig(tmp_path / "own.png")
    assert result.plot(tmp_path / "ours.png") is None and (tmp_path / "ours.png").stat().st_size > 10_000


@pytest.mark.compiled
def test_a_result_is_a_dataset_with_units(result, monkeypatch):
    data = result.to_xarray()
    assert data["temperature"].attrs["units"] == "K"
    np.testing.assert_array_equal(data["temperature"].isel(time=-1).values, result.fields.temperature)
    assert float(data["crater_width"]) > 0.0
    assert float(data["ledger_incident"]) == result.ledger["incident"]
    monkeypatch.setitem(__import__("sys").modules, "xarray", None)
    with pytest.raises(RunError, match=r"spotdwell\[notebook\]"):
        result.to_xarray()


@pytest.mark.compiled
def test_run_takes_a_name_a_file_a_kept_result_and_a_scenario(tmp_path):
    changed = {"soft_tissue.water_mass_fraction": 0.70}
    result = spotdwell.shot("soft_tissue", "25 W", "1.6 mm", "20 ms", values=changed, **COARSE)
    result.save(tmp_path / "kept.h5")
    again = spotdwell.run(tmp_path / "kept.h5")
    assert again.measures == result.measures and again.materials == result.materials
    (tmp_path / "mine.toml").write_text(result.scenario_text)
    plain = spotdwell.run(str(tmp_path / "mine.toml"))
    assert plain.measures == result.measures  # the text of a scenario holds its materials
    assert "water_mass_fraction]\nvalue = 0.7" in result.materials["soft_tissue"]
    with pytest.raises(InputError, match="Did you mean spot"):
        spotdwell.run("spott")


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("skin.density", "1.1 g/cm3", "a material of this shot"),
        ("soft_tissue.water", 0.5, "Did you mean water_mass_fraction"),
        ("soft_tissue.water_mass_fraction", 3.0, "water_mass_fraction"),
        ("soft_tissue.density", "3 W", "density"),
    ],
)
def test_a_value_that_cannot_be_set_is_named(key, value, said):
    with pytest.raises(InputError, match=said):
        spotdwell.shot("soft_tissue", "25 W", "1.6 mm", "20 ms", values={key: value})
