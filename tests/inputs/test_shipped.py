"""The shipped materials and scenarios: complete, sourced, and ready to run."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.json_schema import scenario_schema_text
from spotdwell.inputs.material import Property
from spotdwell.inputs.material_view import rows_of
from spotdwell.inputs.medium import medium_of
from spotdwell.inputs.optics import water_lines
from spotdwell.inputs.quantities import Table
from spotdwell.inputs.read import shipped_material, shipped_scenario
from spotdwell.library import Shelf

MATERIALS = library.names(Shelf.MATERIALS)
SCENARIOS = library.names(Shelf.SCENARIOS)
CO2 = 10.6e-6


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
    assert len(entries) > 4
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
    assert medium.removal is not None
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
        removal = medium_of(shipped_material(name), CO2).removal
        assert removal is not None
        assert removal.ejected_share > 1.0


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
    try:
        assert library.names(Shelf.MATERIALS) == ("stone",)
        with pytest.raises(InputError, match="a folder of shipped scenarios"):
            library.folder(Shelf.SCENARIOS)
    finally:
        library.folder.cache_clear()
