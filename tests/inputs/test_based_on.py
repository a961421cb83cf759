"""Materials that take from another what they do not state."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.inputs.material import Material, with_borrowed
from spotdwell.inputs.material_view import origin_of
from spotdwell.inputs.medium import medium_of
from spotdwell.inputs.read import material_from_text, shipped_material

FAMILY = "families/moist_tissue"
TISSUE = f"""
title = "Ham"
based_on = "{FAMILY}"
density = "1100 kg/m3"
water_mass_fraction = 0.7
specific_heat_solid = "1900 J/kg/K"
conductivity = "0.45 W/m/K"
"""


def shelf(folder: Path, monkeypatch: pytest.MonkeyPatch, **files: str) -> None:
    """Put material files in place of the shipped ones."""
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(library, "text", lambda _, name: (folder / f"{name}.toml").read_text("utf-8"))


def family() -> dict[str, Any]:
    """What the family states, as TOML gives it."""
    import tomllib

    return tomllib.loads(library.text(library.Shelf.MATERIALS, FAMILY))


def test_a_few_values_of_its_own_make_a_whole_material() -> None:
    ham = material_from_text(TISSUE, "ham")
    assert (ham.title, ham.based_on, ham.borrowed_from) == ("Ham", None, FAMILY)
    base = family()
    assert ham.rupture_temperature is not None
    assert ham.rupture_temperature.source == base["rupture_temperature"]["source"]
    assert [line.wavelength for line in ham.absorption][:2] == [10.6e-6, 9.6e-6]
    medium = medium_of(ham, 10.6e-6)
    assert medium.ruptures
    assert [process.name for process in medium.damage] == [one["name"] for one in base["damage"]]


def test_what_it_states_goes_before_what_it_borrows() -> None:
    ham = material_from_text(TISSUE + '\n[rupture_temperature]\nvalue = "200 degC"\n', "ham")
    assert ham.rupture_temperature is not None
    # A value is taken whole: range and source of another number would not belong to it.
    assert ham.rupture_temperature.value == 473.15
    assert ham.rupture_temperature.range is None
    assert ham.rupture_temperature.source == ""


def test_tables_are_completed_key_by_key() -> None:
    ham = material_from_text(TISSUE + '\n[pyrolysis.heat]\nvalue = "2 MJ/kg"\n', "ham")
    assert ham.pyrolysis is not None
    assert ham.pyrolysis.heat.value == 2e6
    given = family()["pyrolysis"]["activation_energy"]
    assert ham.pyrolysis.activation_energy.source == given["source"]


def test_absorption_and_debris_are_completed_line_by_line() -> None:
    own = '\n[[absorption]]\nwavelength = "10.6 um"\nvalue = "9e3 1/m"\n'
    own += '\n[[debris]]\nwavelength = "2.94 um"\nvalue = "1 kJ/cm3"\n'
    ham, plain = material_from_text(TISSUE + own, "ham"), material_from_text(TISSUE, "ham")
    found = {line.wavelength: line.value for line in ham.absorption}
    usual = {line.wavelength: line.value for line in plain.absorption}
    assert found == usual | {10.6e-6: 9e3}
    assert usual[10.6e-6] != 9e3
    shade = {line.wavelength: line.value for line in ham.debris}
    assert shade == {line.wavelength: line.value for line in plain.debris} | {2.94e-6: 1e9}


def test_damage_processes_are_taken_as_a_whole() -> None:
    own = '\n[[damage]]\nname = "cells"\ntitle = "cell death"\n'
    own += 'frequency_factor = "1e80 1/s"\nactivation_energy = "500 kJ/mol"\n'
    assert [one.name for one in material_from_text(TISSUE + own, "ham").damage] == ["cells"]


def test_neither_title_nor_description_is_borrowed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    base = TISSUE.replace(FAMILY, "root").replace("Ham", "Base") + 'about = "The base."\n'
    shelf(tmp_path, monkeypatch, base=base, root='conductivity_dry = "0.2 W/m/K"\n')
    found = with_borrowed({"based_on": "base"})
    assert "title" not in found
    assert "about" not in found
    # A chain is followed to its end, and the record names the first link.
    assert found["conductivity_dry"] == "0.2 W/m/K"
    assert found["borrowed_from"] == "base"


def test_materials_that_borrow_from_one_another_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf(tmp_path, monkeypatch, one='based_on = "two"\n', two='based_on = "one"\n')
    with pytest.raises(InputError, match="based_on: expected a chain of at most 4 materials"):
        material_from_text('based_on = "one"\n', "ring.toml")


def test_an_unknown_name_is_refused_with_near_ones() -> None:
    with pytest.raises(InputError) as raised:
        material_from_text(TISSUE.replace(FAMILY, "soft_tisue"), "ham.toml")
    assert raised.value.where.endswith("based_on")
    assert "soft_tisue" in raised.value.got
    assert "Did you mean soft_tissue" in raised.value.advice


def test_a_name_that_is_no_text_is_refused() -> None:
    with pytest.raises(InputError, match="based_on"):
        material_from_text(TISSUE.replace(f'"{FAMILY}"', "3"), "ham.toml")


def test_a_copy_of_a_completed_material_borrows_nothing_more() -> None:
    table = shipped_material("skin").model_dump(mode="json", exclude_none=True)
    table["film_thickness"]["value"] = "25 um"
    del table["debris"]
    again = Material.model_validate(table)
    assert again.debris == ()
    assert again.borrowed_from == FAMILY


def test_a_material_says_from_where_it_borrows() -> None:
    assert origin_of(shipped_material("pmma")) is None
    assert origin_of(shipped_material("hardwood_soaked")) == (
        "What its own file does not state comes from hardwood_dry."
    )


def test_a_name_too_long_for_a_file_is_refused_in_words():
    with pytest.raises(InputError, match=r"9{40}\.\.\."):
        material_from_text(f'based_on = "{"9" * 4000}"\n')
