"""Unknowns: material values of a scenario that have a range, and samples of them (THEORY.md, Uncertainty)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.inputs.material import AbsorptionLine, DebrisLine, Material, Property
from spotdwell.inputs.medium import debris_line, line_at, water_lines
from spotdwell.inputs.quantities import QuantityType, Table
from spotdwell.inputs.read import materials_of
from spotdwell.inputs.schema import Scenario

Array = NDArray[np.float64]

DECADE = 10.0
"""A range whose ends differ by more than this factor is sampled on a logarithmic scale."""
SLOPE = "water_slope"
"""Key of an absorption line that stands for the slope of plain water's absorption at that line."""


@dataclass(frozen=True)
class Unknown:
    """A material value that is known within a range only."""

    material: str
    """The material's name in the scenario."""
    path: tuple[str | int, ...]
    """Keys from the material's table to the value's own."""
    name: str
    """What a reader calls it."""
    unit: str
    """SI unit; "1" for a plain number."""
    low: float
    value: float
    high: float
    item: Property[Any] | AbsorptionLine | DebrisLine
    """The table that holds it, for writing other values as its file does."""
    key: str = "value"
    """Of that table."""

    @property
    def title(self) -> str:
        """Material and value."""
        return f"{self.material}: {self.name}"

    @property
    def is_logarithmic(self) -> bool:
        """Whether it is sampled on a logarithmic scale."""
        return self.low > 0.0 and self.high > DECADE * self.low

    def written(self, value: float) -> str | float:
        """`value` as a material file has it, such as "1090 kg/m3"."""
        if self.key == SLOPE:
            return f"{float(value)!r} {self.unit}"
        table = self.item.model_copy(update={self.key: float(value)}).model_dump(mode="json")
        text: str | float = table[self.key]
        return text


def unknowns_of(scenario: Scenario) -> tuple[Unknown, ...]:
    """Every value with a range that the run depends on, for the material of every layer.

    Left out: the pyrolysis frequency factor where the activation energy has a range (the two compensate; the
    factor is held), absorption and debris at other wavelengths, and scattering, which only decides on a
    refusal. Raises InputError if there is none.
    """
    found = tuple(
        unknown
        for name, material in materials_of(scenario).items()
        for unknown in _of_material(name, material, scenario.beam.wavelength)
    )
    if not found:
        raise InputError(
            "samples",
            "materials whose values have ranges",
            "none with any",
            'Give them, such as range = ["1066 kg/m3", "1105 kg/m3"] beside a value.',
        )
    return found


def samples_of(unknowns: Sequence[Unknown], count: int, seed: int) -> Array:
    """Latin hypercube of `count` samples, shape (count, unknowns), SI; the same for the same seed.

    Each value follows a triangular distribution from the low end over its value, the most likely, to the
    high end: it uses the three stated numbers and nothing else. The scale is logarithmic where the range
    spans more than a decade.
    """
    shares = latin_hypercube(np.random.default_rng(seed), count, len(unknowns))
    return np.column_stack([_spread(one, shares[:, index]) for index, one in enumerate(unknowns)])


def latin_hypercube(rng: np.random.Generator, count: int, size: int) -> Array:
    """Shares from 0 to 1, shape (count, size): each column has one in each of `count` equal parts.

    Those of `scipy.stats.qmc.LatinHypercube`, whose import takes longer than a shot.
    """
    rng = rng.spawn(1)[0]
    inside = rng.uniform(size=(count, size))
    places = np.tile(np.arange(1, count + 1), (size, 1))
    for row in places:
        rng.shuffle(row)
    return np.asarray((places.T - inside) / count)


def triangular(shares: Array, mode: float) -> Array:
    """Quantiles of the triangular distribution from 0 over `mode` to 1, as `scipy.stats.triang.ppf`."""
    rising = np.sqrt(mode * shares)
    return np.where(shares < mode, rising, 1.0 - np.sqrt((1.0 - mode) * (1.0 - shares)))


def student_of_4(shares: Array) -> Array:
    """Quantiles of Student's t of 4 degrees of freedom, as `scipy.special.stdtrit(4, shares)`.

    With sin(a) = 2 p - 1 the cubic of its distribution has the root t^2 / 4 = cos(a / 3) / cos(a) - 1, here
    written without a difference of nearly equal numbers. SciPy's takes an import longer than a shot.
    """
    angle = np.arcsin(2.0 * shares - 1.0)
    product = np.sin(2.0 * angle / 3.0) * np.sin(angle / 3.0) / np.sqrt(shares * (1.0 - shares))
    return np.asarray(np.copysign(2.0 * np.sqrt(product), angle))


def _spread(one: Unknown, shares: Array) -> Array:
    ends = np.array([one.low, one.value, one.high])
    low, mode, high = np.log(ends) if one.is_logarithmic else ends
    values = low + (high - low) * triangular(shares, (mode - low) / (high - low))
    values = np.exp(values) if one.is_logarithmic else values
    inside: Array = np.clip(values, one.low, one.high)  # round-off must not leave the range
    return inside


def _of_material(name: str, material: Material, wavelength: float) -> Iterator[Unknown]:
    yield from _properties(name, material, ())
    table = material.pyrolysis
    if table is not None:
        held = {"frequency_factor"} if _ranged(table.activation_energy) else set()
        yield from _properties(name, table, ("pyrolysis",), held)
    if material.absorption and material.water_mass_fraction.value < 1.0:
        line = line_at(material.absorption, wavelength, name, "beam.wavelength")
        if _ranged(line):
            path = ("absorption", material.absorption.index(line))
            yield _unknown(name, path, "absorption of the solids", line)
        if material.water_mass_fraction.value > 0.0:
            yield from _slope(name, material.absorption.index(line), line)
    if (shade := debris_line(material.debris, wavelength)) is not None and _ranged(shade):
        yield _unknown(name, ("debris", material.debris.index(shade)), "heat that debris takes", shade)


def _slope(name: str, place: int, line: AbsorptionLine) -> Iterator[Unknown]:
    """Slope of water's absorption, where water states a range and the material does not state its own."""
    water = next((one for one in water_lines() if math.isclose(one.wavelength, line.wavelength)), None)
    if line.water_slope is None and water is not None and water.slope_range is not None:
        low, high = water.slope_range
        if low < high:
            title = "fall of water's absorption with heat"
            yield Unknown(name, ("absorption", place), title, "1/K", low, water.slope, high, line, SLOPE)


def _properties(
    name: str, table: Table, prefix: tuple[str, ...], held: set[str] | None = None
) -> Iterator[Unknown]:
    for key, item in table:
        if isinstance(item, Property) and _ranged(item) and key not in (held or ()):
            path = (*prefix, key)
            yield _unknown(name, path, " ".join(path).replace("_", " "), item)


def _ranged(item: Property[Any] | AbsorptionLine | DebrisLine) -> bool:
    return item.range is not None and item.range[0] < item.range[1]


def _unknown(
    material: str, path: tuple[str | int, ...], name: str, item: Property[Any] | AbsorptionLine | DebrisLine
) -> Unknown:
    assert item.range is not None
    low, high = item.range
    kinds = type(item).model_fields["value"].metadata
    unit = next((kind.unit for kind in kinds if isinstance(kind, QuantityType)), "1")
    return Unknown(material, path, name, unit, float(low), float(item.value), float(high), item)
