"""The report of a run is gathered from what the result keeps, and from nothing else."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from spotdwell import pipeline, report
from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import MEASURES
from spotdwell.document.model import Points, Section, Text, blocks_in
from spotdwell.document.printed import html
from spotdwell.document.quantities import sentence
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import material_text, scenario_from_text, shipped_material
from spotdwell.output.result import Result
from spotdwell.reports.document import document_of
from spotdwell.reports.origins import grid_reasons, materials_of, scenario_in
from spotdwell.spread.run import Sample, Uncertainty, check_request

TEXT = """
title = "A slab under water"
about = "Made for a test."

[beam]
wavelength = "10.6 um"
power = "20 W"
diameter = "1 mm"

[exposure]
dwell_time = "1 ms"

[target]
[[target.layers]]
material = "water_film"
thickness = "20 um"
[[target.layers]]
material = "own"

[materials.own]
title = "Own"
density = { value = "1000 kg/m3", range = ["900 kg/m3", "1100 kg/m3"], source = "weighed" }
water_mass_fraction = 0.5
specific_heat_solid = "2000 J/kg/K"
conductivity = "0.5 W/m/K"
conductivity_dry = "0.2 W/m/K"
absorption = [{ wavelength = "10.6 um", value = "1e4 1/m" }, { wavelength = "9.6 um", value = "2e4 1/m" }]

[run]
end_time = "2 ms"

[grid]
geometry = "slab"
area = "1 mm2"
cell_depth = "10 um"
depth = "0.5 mm"
"""


@lru_cache
def solved() -> Result:
    return pipeline.run(scenario_from_text(TEXT))


def lists_in(document) -> dict[str, tuple[str, ...]]:
    """Points under each heading."""
    sections = [block for block in blocks_in(document) if isinstance(block, Section)]
    return {one.title: one.blocks[0].lines for one in sections if isinstance(one.blocks[0], Points)}


def test_notes_are_parted_into_reasons_of_the_grid_and_cautions():
    result, document = solved(), document_of(solved())
    reasons = grid_reasons(result, scenario_in(result))
    assert reasons == problem_of(scenario_from_text(TEXT)).grid.reasons
    lists = lists_in(document)
    assert lists["Grid, and why"] == tuple(map(sentence, reasons))
    cautions = lists["Cautions of this run"]
    assert any("slab is lit evenly" in note for note in cautions)
    assert sorted(lists["Grid, and why"] + cautions) == sorted(map(sentence, result.notes))
    assert any(block == Text("Made for a test.") for block in blocks_in(document))


def test_a_scenario_of_another_version_costs_no_note():
    odd = replace(solved(), scenario_text="of = 'a later version'")
    assert scenario_in(odd) is None and grid_reasons(odd, None) == ()
    lists = lists_in(document_of(odd))
    assert "Grid, and why" not in lists
    assert lists["Notes of this run"] == tuple(map(sentence, odd.notes))


def test_values_used_are_listed_with_source_and_water_s_own():
    found = {title: {one.property: one for one in values} for title, values in materials_of(solved())}
    own, water = found["Own"], found["liquid water"]
    film = found[shipped_material("water_film").title]
    density = own["density"]
    assert (density.value, density.source) == ("1000 kg/m3", "weighed")
    assert "absorption of the solids at 10.6 um" in own
    assert "absorption of the solids at 9.6 um" not in own
    assert film["density"].source == shipped_material("water_film").density.source
    assert water["absorption at 10.6 um, as this version ships it"].source.startswith("Segelstein")


def test_rupture_stands_beside_its_pressure_and_debris_at_the_run_s_wavelength_alone():
    skin = material_text(shipped_material("skin"))
    [(_, rows), _] = materials_of(replace(solved(), materials={"skin": skin}))
    values = {row.property: row for row in rows}
    assert values["rupture temperature"].value == "300 degC (8.6 MPa)"
    assert values["rupture temperature"].range.endswith("305 degC")
    assert [name for name in values if "debris" in name] == ["heat that debris takes at 10.6 um"]
    assert values["heat that debris takes at 10.6 um"].value == "3 kJ/cm3"


def test_a_material_that_cannot_be_read_shows_what_it_states():
    odd = '[density]\nvalue = "3 kg/m3"\nsource = "later"\n[spin]\nvalue = 2\nrange = [1, 3]\n'
    first, second = materials_of(replace(solved(), materials={"odd": odd, "broken": "= ="}))
    values = {value.property: value for value in first[1]}
    assert values["density"].source == "later" and values["spin"].range == "1 to 3"
    assert second == ("broken", ())


def test_intervals_come_from_the_uncertainty():
    scenario = scenario_from_text(TEXT)
    unknowns = check_request(scenario, 8, 0, 1)
    measures = solved().measures
    samples = tuple(Sample({**measures, "crater_depth": n * 1e-6}, "clean") for n in range(20))
    found = Uncertainty(unknowns, np.ones((21, len(unknowns))), measures, (*samples, Sample(failure="x")), 0)
    page = html(document_of(solved(), found))
    assert "Verdicts of 21 runs with sampled material values: clean 20." in page
    assert "1 samples failed." in page
    spread = found.spreads["crater_depth"]
    depth = MEASURES["crater_depth"]
    assert f"{depth.text(spread.low)} to {depth.text(spread.high)}" in page
    # 5 and 95 % of 0 to 19 um.
    assert 0.5e-6 < spread.low < 1.5e-6 < 17.5e-6 < spread.high < 18.5e-6


def test_a_kept_result_and_the_one_in_memory_give_the_same_files(tmp_path):
    solved().save(tmp_path / "run.h5")
    report(solved(), html=tmp_path / "a.html", pdf=tmp_path / "a.pdf")
    report(tmp_path / "run.h5", html=tmp_path / "b.html", pdf=tmp_path / "b.pdf")
    for kind in ("html", "pdf"):
        assert (tmp_path / f"a.{kind}").read_bytes() == (tmp_path / f"b.{kind}").read_bytes()


def test_neither_file_is_an_error_and_so_is_no_result(tmp_path):
    with pytest.raises(InputError, match="html, pdf or both"):
        report(solved())
    with pytest.raises(InputError, match="a result file"):
        report(tmp_path / "absent.h5", html=tmp_path / "a.html")
    with pytest.raises(RunError, match="there is no folder"):
        report(solved(), html=tmp_path / "absent" / "a.html")
