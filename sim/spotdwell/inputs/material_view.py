"""A material as rows of text, for tables."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from spotdwell.base import units
from spotdwell.inputs.material import Material, Property
from spotdwell.inputs.quantities import QuantityType, Table
from spotdwell.model.saturation import rupture_text, rupture_words

RUPTURE = "rupture temperature"
"""Row with the saturation pressure beside it."""
DEBRIS = "heat that debris takes at "
"""Beginning of the row of a debris line."""


@dataclass(frozen=True)
class Row:
    """One property of a material."""

    property: str
    value: str
    """In a handy unit."""
    range: str
    """"low to high", or empty."""
    basis: str
    source: str


def rows_of(material: Material) -> list[Row]:
    """Rows of every property that a material states, in the order of its file."""
    rows = list(_properties(material))
    for line in material.absorption:
        name = f"absorption of the solids at {units.written(line.wavelength, 'm')}"
        rows.append(_row(name, line, line.value, "1/m"))
        if line.water_slope is not None:
            name = f"water's absorption falls at {units.written(line.wavelength, 'm')} by"
            rows.append(Row(name, units.written(line.water_slope, "1/K"), "", line.basis, line.source))
    for shade in material.debris:
        rows.append(_row(f"{DEBRIS}{units.written(shade.wavelength, 'm')}", shade, shade.value, "J/m3"))
    if (scattering := material.scattering) is not None:
        name = f"reduced scattering at 500 nm (falls with wavelength^{scattering.exponent:g})"
        rows.append(_row(name, scattering, scattering.amplitude, "1/m"))
    for process in material.damage:
        factor = units.written(process.frequency_factor, "1/s")
        factors = f"{factor}, {units.written(process.activation_energy, 'J/mol')}"
        rows.append(Row(f"damage: {process.title}", factors, "", process.basis, process.source))
    return rows


def origin_of(material: Material) -> str | None:
    """Where `material` has from what its own file does not state, in words; None if it states all."""
    if material.borrowed_from is None:
        return None
    return f"What its own file does not state comes from {material.borrowed_from}."


def rupture_of(material: Material, name: str) -> str | None:
    """At what `material`, called `name`, is thrown out, in words; None if nothing throws it out."""
    if material.rupture_temperature is None:
        return None
    return rupture_words(name, material.rupture_temperature.value)


def _properties(table: Table, prefix: str = "") -> Iterator[Row]:
    for key, value in table:
        name = f"{prefix}{key.replace('_', ' ')}"
        if isinstance(value, Property):
            row = _row(name, value, value.value, _unit(value))
            yield replace(row, value=rupture_text(value.value)) if name == RUPTURE else row
        elif key == "pyrolysis" and value is not None:
            yield from _properties(value, "pyrolysis: ")


def _unit(item: Property[Any]) -> str:
    """SI unit of a property; "1" for a plain number."""
    kinds = type(item).model_fields["value"].metadata
    return next((kind.unit for kind in kinds if isinstance(kind, QuantityType)), "1")


def _row(name: str, item: Any, value: float, unit: str) -> Row:
    limits = item.range
    span = "" if limits is None else f"{_text(limits[0], unit)} to {_text(limits[1], unit)}"
    return Row(name, _text(value, unit), span, item.basis, item.source)


def _text(value: float, unit: str) -> str:
    return f"{value:.4g}" if unit == "1" else units.written(value, unit)
