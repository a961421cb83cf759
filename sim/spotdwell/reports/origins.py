"""Origins of a result: the scenario, the reasons of the grid and the material values that it keeps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.material import Material
from spotdwell.inputs.material_view import DEBRIS, Row, rows_of
from spotdwell.inputs.medium import WaterLine, debris_line, nearest, water_lines
from spotdwell.inputs.read import material_from_text, scenario_from_dict
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.toml import table_of
from spotdwell.output.result import Result

_ABSORPTION, _SCATTERING = "absorption of the solids at ", "reduced scattering at "
"""Beginnings of the rows of a material that depend on the wavelength."""


def scenario_in(result: Result) -> Scenario | None:
    """The scenario that `result` keeps, with its materials; None if this version cannot read it."""
    try:
        data = table_of(result.scenario_text, "the stored scenario")
        data["materials"] = {name: table_of(text, name) for name, text in result.materials.items()}
        return scenario_from_dict(data, "the stored scenario")
    except InputError:
        return None


def grid_reasons(result: Result, scenario: Scenario | None) -> tuple[str, ...]:
    """The notes that explain the grid: those that the scenario's own grid gives again."""
    if scenario is None:
        return ()
    try:
        given = problem_of(scenario).grid.reasons
    except InputError:
        return ()
    return tuple(note for note in result.notes if note in given)


def materials_of(result: Result) -> Iterator[tuple[str, tuple[Row, ...]]]:
    """Title and values of each material at the run's wavelength, then those of water."""
    wavelength = float(result.beam["wavelength"])
    has_water = False
    for name, text in result.materials.items():
        try:
            material = material_from_text(text, name)
        except InputError:
            # Of another version, or not of this tool: its text is all that can be shown.
            yield name, tuple(_raw_values(text))
            continue
        has_water = has_water or material.water_mass_fraction.value > 0.0
        yield material.title or name, tuple(map(_noted, _rows_used(material, wavelength)))
    line = nearest(water_lines(), wavelength)
    if has_water and line is not None:
        yield "liquid water", (_water(line),)


def _rows_used(material: Material, wavelength: float) -> list[Row]:
    """Rows of `material` without what belongs to other wavelengths."""
    lines = (
        (_ABSORPTION, nearest(material.absorption, wavelength)),
        (DEBRIS, debris_line(material.debris, wavelength)),
    )
    own = {head: line and f"{head}{units.written(line.wavelength, 'm')}" for head, line in lines}
    return [
        row
        for row in rows_of(material)
        if all(row.property == kept for head, kept in own.items() if row.property.startswith(head))
    ]


def _noted(row: Row) -> Row:
    note = ", which tells whether scattering can be left out" if row.property.startswith(_SCATTERING) else ""
    return replace(row, property=f"{row.property}{note}")


def _raw_values(text: str) -> Iterator[Row]:
    """Every table with a value in TOML `text`, as it stands there."""
    try:
        data = table_of(text, "material")
    except InputError:
        return
    for name, table in data.items():
        if isinstance(table, Mapping) and "value" in table:
            span = " to ".join(map(str, table.get("range", ())))
            basis, source = (str(table.get(key, "")) for key in ("basis", "source"))
            yield Row(name.replace("_", " "), str(table["value"]), span, basis, source)


def _water(line: WaterLine) -> Row:
    low, high = (display(one, "1/m", "1/m", 4) for one in line.range)
    return Row(
        f"absorption at {units.written(line.wavelength, 'm')}, as this version ships it",
        display(line.absorption, "1/m", "1/m", 4),
        f"{low} to {high}",
        line.basis,
        line.source,
    )
