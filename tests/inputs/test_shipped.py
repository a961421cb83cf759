"""The shipped materials and scenarios: complete, sourced, and ready to run."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from numpy.testing import assert_allclose

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.catalogue.json_schema import scenario_schema_text
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.material import Basis, Property
from spotdwell.inputs.material_view import rows_of, rupture_of
from spotdwell.inputs.medium import medium_of, water_lines
from spotdwell.inputs.quantities import Table
from spotdwell.inputs.read import shipped_material, shipped_scenario
from spotdwell.library import Shelf

MATERIALS = library.names(Shelf.MATERIALS)
SCENARIOS = library.names(Shelf.SCENARIOS)
CO2 = 10.6e-6
FAMILIES = [f"families/{path.stem}" for path in (library.folder(Shelf.MATERIALS) / "families").glob("*.toml")]


def evidence(table: Table, path: str = "") -> list[tuple[str, object]]:
    """Every entry of a material that should carry a source, with its path."""
    found: list[tuple[str, object]] = []
    for key, value in table:
        if isinstance(value, Property):
            found.append((f"{path}{key}", value))
        elif isinstance(value, tuple):
            found += [(f"{path}{key}[{index}]", one) for index, one in enumerate(value)]
        elif isinstance(value, Table):
            found += [(f"{path}{key}", value)] if hasattr(value, "source") else evidence(value, f"{key}.")
    return found


def test_the_named_materials_are_all_there() -> None:
    wanted = (
        "apple gelatin hardwood_dry hardwood_soaked liver muscle oral_mucosa pmma potato skin soft_tissue"
    )
    assert set(MATERIALS) >= {*wanted.split(), "water_film"}


@pytest.mark.parametrize("name", MATERIALS)
def test_every_value_has_a_source_and_lies_in_its_range(name: str) -> None:
    entries = evidence(shipped_material(name))
    assert len(entries) > 3
    for path, entry in entries:
        assert len(entry.source) > 10, path  # type: ignore[attr-defined]
        if not path.startswith("damage"):
            value = entry.value if hasattr(entry, "value") else entry.amplitude  # type: ignore[attr-defined]
            assert entry.range is not None, path  # type: ignore[attr-defined]
            assert entry.range[0] <= value <= entry.range[1], path  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", MATERIALS)
def test_every_material_says_what_it_is_and_makes_a_medium(name: str) -> None:
    material = shipped_material(name)
    assert material.title
    assert material.about
    medium = medium_of(material, CO2, name)
    assert (medium.removal is None) is medium.is_liquid
    # Round-off of one subtraction.
    assert_allclose(medium.density, material.density.value, rtol=1e-12)


@pytest.mark.parametrize("name", MATERIALS)
def test_every_property_shows_in_its_table(name: str) -> None:
    rows = rows_of(shipped_material(name))
    assert len(rows) == len(evidence(shipped_material(name)))
    assert all(row.value and row.basis and row.source for row in rows)


@pytest.mark.parametrize("name", ["soft_tissue", "oral_mucosa", "skin", "liver", "muscle"])
def test_a_tissue_has_the_specific_heat_that_its_source_gives_the_whole(name: str) -> None:
    whole = {"soft_tissue": 3510.0, "oral_mucosa": 3734.0, "skin": 3500.0, "liver": 3540.0, "muscle": 3639.0}
    medium = medium_of(shipped_material(name), CO2)
    # The solids' value is rounded to a few J/kg/K.
    assert_allclose(medium.heat_capacity / medium.density, whole[name], rtol=1e-3)


def test_soft_tissue_costs_what_its_water_does() -> None:
    # All water of tissue with w = 0.7 evaporated from 37 degC, solids warmed: 1.96 kJ/cm3 (IAPWS-95).
    medium = medium_of(shipped_material("soft_tissue"), CO2)
    full = medium.heat_capacity * (373.15 - 310.15) + medium.water_density * medium.latent_heat
    assert_allclose(full, 1.96e9, rtol=5e-3)


def test_dry_wood_and_acrylic_are_not_thrown_out_by_steam() -> None:
    for name in ("hardwood_dry", "pmma"):
        assert not medium_of(shipped_material(name), CO2).ruptures


@pytest.mark.parametrize("name", sorted(set(MATERIALS) - {"hardwood_dry", "pmma", "water_film"}))
def test_what_is_moist_is_thrown_out_below_the_ceiling_of_liquid_water(name: str) -> None:
    medium = medium_of(shipped_material(name), CO2)
    assert medium.ruptures
    assert medium.removal is not None
    # 309 degC: 0.9 of water's critical temperature, beyond which no liquid holds (explosive boiling).
    assert 373.15 < medium.removal.rupture_temperature <= 582.4
    assert 0.0 < medium.flash_water < medium.water_density
    assert medium.removal.debris_heat > 0.0


def test_slopes_of_water_are_sourced_or_absent() -> None:
    for line in water_lines():
        if line.slope != 0.0:
            assert len(line.slope_source) > 10, line.wavelength
            assert line.slope_range is not None
            assert line.slope_range[0] <= line.slope <= line.slope_range[1]


@pytest.mark.parametrize("name", FAMILIES)
def test_a_family_states_value_range_basis_and_source_of_all_that_it_lends(name: str) -> None:
    text = library.text(Shelf.MATERIALS, name)
    entries = list(lent(tomllib.loads(text)))
    assert len(entries) > 10
    for path, entry in entries:
        assert entry["basis"] in set(Basis), path
        assert len(entry["source"]) > 10, path
        assert len(entry.get("range", ())) == 2 or path.startswith("damage"), path


def lent(table: dict[str, Any], path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table of a file that holds a value or a process, with its path."""
    for key, value in table.items():
        for index, one in enumerate(value if isinstance(value, list) else [value]):
            if not isinstance(one, dict):
                continue
            name = f"{path}{key}[{index}]"
            if "value" in one or isinstance(one.get("frequency_factor"), str):
                yield name, one
            else:
                yield from lent(one, f"{name}.")


def test_tissues_share_what_they_do_not_know_apart() -> None:
    for name in ("soft_tissue", "skin", "oral_mucosa", "liver", "muscle", "apple", "potato", "gelatin"):
        assert shipped_material(name).borrowed_from == "families/moist_tissue", name
    assert shipped_material("skin").steam_escape_time == shipped_material("liver").steam_escape_time


def test_the_rupture_temperature_stands_beside_its_pressure() -> None:
    rows = {row.property: row.value for row in rows_of(shipped_material("skin"))}
    assert rows["rupture temperature"] == "300 degC (8.6 MPa)"
    assert rows["heat that debris takes at 10.6 um"] == "3 kJ/cm3"
    assert rupture_of(shipped_material("skin"), "skin") == "skin ruptures at 300 degC (8.6 MPa)"
    assert rupture_of(shipped_material("pmma"), "pmma") is None


def test_water_reflects_as_its_complex_index_says() -> None:
    for line in water_lines():
        k = line.absorption * line.wavelength / (4.0 * math.pi)
        reflectance = ((line.index - 1.0) ** 2 + k**2) / ((line.index + 1.0) ** 2 + k**2)
        # The table rounds to 0.001, and the index at 10.6 um is the middle of 1.153 to 1.179.
        assert_allclose(line.reflectance, reflectance, atol=1e-3, rtol=0.0)


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_scenario_makes_a_problem(name: str) -> None:
    scenario = shipped_scenario(name)
    assert scenario.title
    assert scenario.about
    assert problem_of(scenario).exposure.energy > 0.0


@pytest.mark.parametrize(
    ("name", "irradiance", "fluence", "source"),
    [
        ("acrylic_gauge", 9.9e6, 4.93e5, "Cozzens and Fox"),
        ("buccal_pulse", 2.63e9, 1.05e6, "2017;32:573-581"),
        ("skin_fast_front", 1.59e8, 7.96e5, "CLEO Technical Digest 1989"),
        ("skin_gentle_pass", 5.0e5, 4.0e4, "Ross and Anderson"),
        ("skin_short_pulse", 5.57e7, 5.0e4, "1996;132:451"),
    ],
)
def test_a_setting_from_practice_is_that_of_its_source(
    name: str, irradiance: float, fluence: float, source: str
) -> None:
    scenario = shipped_scenario(name)
    assert source in scenario.about
    problem = problem_of(scenario)
    area = math.pi * scenario.beam.diameter**2 / 4.0
    assert scenario.beam.power is not None
    # Three digits: the means over the 1/e2 circle as the sources round them [W/m2, J/m2].
    assert_allclose(scenario.beam.power / area, irradiance, rtol=6e-3)
    assert_allclose(problem.exposure.energy / area, fluence, rtol=6e-3)


def test_the_schema_file_is_the_generated_one() -> None:
    path = library.folder(Shelf.SCENARIOS) / "scenario.schema.json"
    assert path.read_text(encoding="utf-8") == scenario_schema_text()


def test_a_name_that_is_not_shipped_comes_with_near_ones() -> None:
    with pytest.raises(InputError, match="Did you mean potato"):
        library.find(Shelf.MATERIALS, "potatoe")
    with pytest.raises(InputError, match="Known: "):
        library.find(Shelf.MATERIALS, "granite")


def test_text_of_a_shipped_file_is_its_text() -> None:
    assert library.text(Shelf.MATERIALS, "skin").startswith('title = "Skin"')
    assert library.find(Shelf.MATERIALS, "skin.toml") == library.find(Shelf.MATERIALS, "skin")


def test_the_installed_folder_goes_before_the_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "site" / "spotdwell"
    (package / "materials").mkdir(parents=True)
    (package / "materials" / "stone.toml").write_text('title = "Stone"\n')
    monkeypatch.setattr(library, "__file__", str(package / "library.py"))
    library.folder.cache_clear()
    library.names.cache_clear()
    try:
        assert library.names(Shelf.MATERIALS) == ("stone",)
        with pytest.raises(InputError, match="a folder of shipped scenarios"):
            library.folder(Shelf.SCENARIOS)
    finally:
        library.folder.cache_clear()
        library.names.cache_clear()
