"""Posterior: the shipped table of draws, which values follow it, and what the model leaves out."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import t as student

from spotdwell import library, pipeline
from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.inputs.read import scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.measure.interval import odds_of
from spotdwell.spread import posterior as module
from spotdwell.spread.brief import FEW, _carried, brief
from spotdwell.spread.posterior import TIMES, draws_of, missed, posterior
from spotdwell.spread.run import uncertainty
from spotdwell.spread.sampling import SLOPE, unknowns_of
from spotdwell.spread.words import COVERS, RANGES


def shot(material="oral_mucosa", **settings):
    return with_own_materials(scenario_of_shot(material, "25 W", "1.6 mm", "80 ms", **settings))


def entries(scenario) -> dict[str, str]:
    """Column of each unknown that has one."""
    unknowns = unknowns_of(scenario)
    found = zip(unknowns, posterior().matching(unknowns), strict=True)
    return {one.name: f"{column.file}: {column.entry}" for one, column in found if column is not None}


def test_table_holds_two_hundred_draws_inside_the_ranges_of_the_materials():
    unknowns = unknowns_of(shot())
    for one, column in zip(unknowns, posterior().matching(unknowns), strict=True):
        if column is not None:
            values = column.in_si(one.unit)
            assert values.shape == (200,)
            # Five digits are written.
            assert np.all(
                (values >= one.low - 1e-4 * abs(one.low)) & (values <= one.high + 1e-4 * abs(one.high))
            )
            assert np.ptp(values) > 0.1 * (one.high - one.low)
    assert np.all(np.array(posterior().left_out) > 0.0)


def test_table_says_how_it_was_made():
    text = (library.folder(library.Shelf.MATERIALS) / module.FILE).read_text()
    comments = [line for line in text.splitlines() if line.startswith("#")]
    for part in ("# Command: python benchmarks/posterior.py", "# Seed: ", "# Rows: V1 damage"):
        assert any(line.startswith(part) for line in comments), part


def test_values_that_rows_saw_have_a_column_and_others_none():
    found = entries(shot())
    assert found["rupture temperature"] == "oral_mucosa: rupture_temperature"
    assert found["heat that debris takes"] == "families/moist_tissue: debris.10.6 um"
    assert found["absorption of the solids"] == "families/moist_tissue: absorption.10.6 um"
    assert found["fall of water's absorption with heat"] == "optics/water: slope.10.6 um"
    # The same number and range stands in acrylic's file, whose rows it belongs to.
    assert not {"emissivity", "burn off conversion", "pyrolysis heat"} & set(found)
    assert entries(shot("liver"))["rupture temperature"] == "families/moist_tissue: rupture_temperature"
    assert all(one.startswith("pmma: ") for one in entries(shot("pmma")).values())
    erbium = entries(shot(wavelength="2.94 um"))
    assert erbium["heat that debris takes"] == "families/moist_tissue: debris.2.94 um"


def test_a_changed_value_is_somebodys_own_and_follows_no_column():
    data = scenario_data(shot())
    data["materials"]["oral_mucosa"]["film_thickness"]["value"] = "34 um"
    found = entries(scenario_from_dict(data))
    assert "film thickness" not in found and "film growth" in found


def test_joint_draws_are_whole_rows_of_the_table():
    unknowns = unknowns_of(shot())
    draws = draws_of(unknowns, 50, seed=4)
    places = [place for place, is_joint in enumerate(draws.joint) if is_joint]
    columns = [posterior().matching(unknowns)[place] for place in places]
    table = np.column_stack([c.in_si(unknowns[p].unit) for c, p in zip(columns, places, strict=True)])
    used = [
        np.flatnonzero(np.all(np.isclose(table, row, rtol=1e-3, atol=0.0), axis=1))
        for row in draws.inputs[:, places]
    ]
    assert all(len(one) == 1 for one in used)
    # Without replacement, as long as the table lasts.
    assert len({int(one[0]) for one in used}) == 50
    assert np.array_equal(draws.inputs, draws_of(unknowns, 50, seed=4).inputs)
    assert not np.array_equal(draws.inputs, draws_of(unknowns, 50, seed=5).inputs)


def test_more_draws_than_the_table_has_use_each_row_again():
    draws = draws_of(unknowns_of(shot()), 450, seed=0)
    rupture = draws.inputs[:, draws.joint.index(True)]
    assert max(np.unique(rupture, return_counts=True)[1]) >= 2
    assert draws.removal.shape == (450, TIMES)


def test_left_out_factors_have_the_scale_that_the_table_states():
    draws = draws_of(unknowns_of(shot()), 200, seed=0)
    logs = np.log(draws.removal)
    # A Student's t of 4 degrees of freedom and the scale of its row; 3200 draws, 3 %.
    deviates = student.ppf((np.arange(400) + 0.5) / 400, 4.0)
    expected = np.median(np.abs(np.outer(posterior().left_out, deviates)))
    assert_allclose(np.median(np.abs(logs)), expected, rtol=0.1)
    assert abs(np.corrcoef(logs.ravel(), np.log(draws.layers).ravel())[0, 1]) < 0.1


def test_what_is_left_out_moves_depths_and_layers_and_nothing_else():
    before = dict.fromkeys(MEASURES, 8.0)
    after = missed(before, 2.0, 0.5)
    assert (after["crater_depth"], after["crater_volume"], after["energy_per_removed_volume"]) == (16, 16, 4)
    assert (after["char_thickness_wall"], after["coagulation_thickness_floor"]) == (4, 4)
    assert after["char_per_removed_volume"] == 2
    assert {after[name] for name in ("crater_width", "peak_temperature", "incident_energy")} == {8.0}
    assert missed(dict.fromkeys(MEASURES), 2.0, 2.0) == dict.fromkeys(MEASURES)


def test_materials_that_no_row_saw_keep_their_ranges_and_no_factor():
    scenario = shot("hardwood_dry")
    draws = draws_of(unknowns_of(scenario), 16, seed=0)
    assert not any(draws.joint)
    assert np.all(draws.removal == 1.0) and draws.removal.shape == (16, 1)


def test_slope_of_water_is_an_unknown_only_where_water_is():
    assert any(one.key == SLOPE for one in unknowns_of(shot()))
    assert not any(one.key == SLOPE for one in unknowns_of(shot("pmma")))


@pytest.mark.parametrize(
    ("share", "text"),
    [(1.0, ""), (0.8, "4 in 5"), (0.26, "1 in 4"), (0.99, "more than 19 in 20"), (0.01, "less than 1 in 20")],
)
def test_odds_are_small_numbers(share, text):
    assert odds_of(share) == text


def test_a_damaged_table_is_an_error(tmp_path, monkeypatch):
    (tmp_path / module.FILE).write_text(
        "# Seed: 1\nskin: rupture_temperature [degC],left out [log]\n300,many\n"
    )
    monkeypatch.setattr(library, "folder", lambda shelf: tmp_path)
    with pytest.raises(InputError, match="rows of numbers"):
        posterior.__wrapped__()


@pytest.mark.compiled
def test_brief_interval_agrees_with_many_draws():
    scenario = scenario_of_shot("skin", "4 W", "0.6 mm", "10 ms")
    result = pipeline.run(scenario)
    few, many = brief(result), uncertainty(scenario, 128, workers=1)
    assert few is not None and len(few.samples) == FEW and few.covers == many.covers == COVERS
    for name in ("crater_depth", "coagulation_thickness_floor"):
        one, other = few.spreads[name], many.spreads[name]
        assert_allclose(one.nominal, other.nominal, rtol=1e-12)
        # Eight draws: over five shots and eight seeds their ends lay 0.15 of the width off, at most 0.46.
        width = other.high - other.low
        assert_allclose([one.low, one.high], [other.low, other.high], atol=0.46 * width)


@pytest.mark.compiled
def test_no_brief_interval_without_evidence_or_where_it_costs_much():
    wood = scenario_of_shot("hardwood_dry", "2 W", "0.6 mm", "1 ms")
    result = pipeline.run(wood)
    assert brief(result) is None
    skin = scenario_of_shot("skin", "4 W", "0.6 mm", "1 ms")
    dear = pipeline.run(skin)
    dear.cost["cell_updates"] = 1e9
    assert brief(dear) is None
    assert uncertainty(wood, 8, workers=1).covers == RANGES


def test_what_a_draw_changes_is_carried_as_a_ratio_and_a_rim_follows_its_wall():
    names = [
        f"{zone}_thickness_{place}" for zone in ("char", "dried", "coagulation") for place in ("wall", "rim")
    ]
    fine = dict.fromkeys(names, 40e-6) | {"deepest": 600e-6, "perforation_time": None}
    own = dict.fromkeys(names, 20e-6) | {"deepest": 500e-6, "perforation_time": None}
    drawn = dict.fromkeys(names, 30e-6) | {
        "char_thickness_rim": 90e-6,
        "deepest": 250e-6,
        "perforation_time": 1.0,
    }
    found = _carried(fine, own, drawn)
    assert found["deepest"] == pytest.approx(300e-6) and found["perforation_time"] == 1.0
    assert found["char_thickness_wall"] == pytest.approx(60e-6) == found["char_thickness_rim"]
    # Where the stated values leave nothing there is no ratio to carry.
    assert _carried(fine | {"deepest": 0.0}, own, drawn)["deepest"] == 250e-6
