"""The report of a run is gathered from what the result keeps, and from nothing else."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from spotdwell import pipeline, report
from spotdwell.base.errors import InputError, RunError
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_from_text, shipped_material
from spotdwell.inputs.text import material_text
from spotdwell.output.result import Result
from spotdwell.study.reports.run_report import _brief, _span, report_of, scenario_in
from spotdwell.study.spread.uncertainty import Sample, Uncertainty, check_request

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


def test_notes_are_parted_into_reasons_of_the_grid_and_cautions():
    result, page = solved(), report_of(solved())
    assert page.grid_reasons == problem_of(scenario_from_text(TEXT)).grid.reasons
    assert any("slab is lit evenly" in note for note in page.cautions)
    assert sorted(page.grid_reasons + page.cautions) == sorted(result.notes)
    assert page.about == "Made for a test."


def test_a_scenario_of_another_version_costs_no_note():
    odd = replace(solved(), scenario_text="of = 'a later version'")
    page = report_of(odd)
    assert scenario_in(odd) is None
    assert page.grid_reasons == () and page.cautions == odd.notes and page.about == ""


def test_values_used_are_listed_with_source_and_water_s_own():
    found = {one.title: {v.property: v for v in one.values} for one in report_of(solved()).materials}
    own, water = found["Own"], found["liquid water"]
    film = found[shipped_material("water_film").title]
    density = own["density"]
    assert (density.value, density.range, density.source) == ("1000 kg/m3", "900 to 1100 kg/m3", "weighed")
    assert "absorption of the solids at 10.6 um" in own
    assert "absorption of the solids at 9.6 um" not in own
    assert film["density"].source == shipped_material("water_film").density.source
    assert water["absorption at 10.6 um, as this version ships it"].source.startswith("Segelstein")


def test_rupture_stands_beside_its_pressure_and_debris_at_the_run_s_wavelength_alone():
    skin = material_text(shipped_material("skin"))
    values = {
        v.property: v for v in report_of(replace(solved(), materials={"skin": skin})).materials[0].values
    }
    assert values["rupture temperature"].value == "300 degC (8.6 MPa)"
    assert values["rupture temperature"].range.endswith("305 degC")
    assert [name for name in values if "debris" in name] == ["heat that debris takes at 10.6 um"]
    assert values["heat that debris takes at 10.6 um"].value == "3 kJ/cm3"


def test_a_material_that_cannot_be_read_shows_what_it_states():
    odd = '[density]\nvalue = "3 kg/m3"\nsource = "later"\n[spin]\nvalue = 2\nrange = [1, 3]\n'
    page = report_of(replace(solved(), materials={"odd": odd, "broken": "= ="}))
    values = {value.property: value for value in page.materials[0].values}
    assert values["density"].source == "later" and values["spin"].range == "1 to 3"
    assert page.materials[1].values == ()


def test_intervals_come_from_the_uncertainty():
    scenario = scenario_from_text(TEXT)
    unknowns = check_request(scenario, 8, 0, 1)
    measures = solved().measures
    samples = tuple(Sample({**measures, "crater_depth": n * 1e-6}, "clean") for n in range(20))
    found = Uncertainty(unknowns, np.ones((21, len(unknowns))), measures, (*samples, Sample(failure="x")), 0)
    intervals = report_of(solved(), found).intervals
    assert (intervals.samples, intervals.failed, intervals.words) == (21, 1, {"clean": 20})
    spread = found.spreads["crater_depth"]
    depth = intervals.measures["crater_depth"]
    assert (depth.low, depth.high) == (spread.low, spread.high)
    # 5 and 95 % of 0 to 19 um.
    assert 0.5e-6 < depth.low < 1.5e-6 < 17.5e-6 < depth.high < 18.5e-6


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


def test_ranges_and_long_numbers_are_written_briefly():
    assert _span("4 mm to 5 mm") == "4 to 5 mm"
    assert _span("900 um to 1 mm") == "900 um to 1 mm"
    assert _span("0.5 to 1") == "0.5 to 1"
    assert _span("100000000000 1/s to 1e13 1/s") == "1e11 to 1e13 1/s"
    assert _brief("1090 kg/m3") == "1090 kg/m3"
