"""Water's absorption and reflectance at laser wavelengths, and the match of a wavelength to a line."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import lru_cache
from typing import Protocol, Self, TypeVar

from pydantic import model_validator

from spotdwell import library
from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs.material import Basis, check_range
from spotdwell.inputs.quantities import (
    AbsorptionCoefficient,
    AbsorptionSlope,
    PositiveNumber,
    Share,
    Table,
    Text,
    Wavelength,
)

TOLERANCE = 0.005
"""A wavelength matches a line within this share of it."""


class WaterLine(Table):
    """Liquid water at one wavelength, 25 degC."""

    wavelength: Wavelength
    absorption: AbsorptionCoefficient
    range: tuple[AbsorptionCoefficient, AbsorptionCoefficient]
    """Of the absorption."""
    slope: AbsorptionSlope = 0.0
    """Share by which the absorption falls with each kelvin above 25 degC; negative where it rises."""
    slope_range: tuple[AbsorptionSlope, AbsorptionSlope] | None = None
    slope_basis: Basis = Basis.ASSUMED
    slope_source: str = ""
    """Where the slope comes from; "" where none is known and the absorption is held."""
    index: PositiveNumber
    """Refractive index."""
    reflectance: Share
    """At normal incidence from air."""
    basis: Basis
    source: Text
    note: str = ""
    """Sentence for whoever uses the line."""

    @model_validator(mode="after")
    def _within_range(self) -> Self:
        return check_range(self, self.absorption, self.range)


class _WaterFile(Table):
    """The data file."""

    title: Text
    about: Text
    line: tuple[WaterLine, ...]


class HasWavelength(Protocol):
    """A line of any table."""

    @property
    def wavelength(self) -> float:
        """[m]."""


Line = TypeVar("Line", bound=HasWavelength)


@lru_cache(maxsize=1)
def water_lines() -> tuple[WaterLine, ...]:
    """All tabulated lines of water, longest wavelength first."""
    data = tomllib.loads(library.text(library.Shelf.MATERIALS, library.WATER_OPTICS))
    return _WaterFile.model_validate(data).line


def nearest(lines: Sequence[Line], wavelength: float) -> Line | None:
    """The line within `TOLERANCE` of `wavelength` [m], or None."""
    best = min(lines, key=lambda line: abs(line.wavelength - wavelength), default=None)
    if best is None or abs(best.wavelength - wavelength) > TOLERANCE * best.wavelength:
        return None
    return best


def line_at(lines: Sequence[Line], wavelength: float, what: str, where: str) -> Line:
    """The line at `wavelength` [m]; InputError that lists the known ones where there is none."""
    if (line := nearest(lines, wavelength)) is not None:
        return line
    known = ", ".join(units.written(line.wavelength, "m") for line in lines)
    raise InputError(
        where,
        f"a wavelength at which the absorption of {what} is known: {known}",
        units.written(wavelength, "m"),
        "Choose one of them, or add a line to the material.",
    )
