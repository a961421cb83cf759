"""From a material and its light to a medium: optics at the wavelength, all values in SI."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol, Self, TypeVar

from pydantic import model_validator

from spotdwell import library
from spotdwell.base import constants, units
from spotdwell.base.errors import InputError
from spotdwell.inputs.material import Basis, DebrisLine, Material, Property, check_range
from spotdwell.inputs.quantities import (
    AbsorptionCoefficient,
    AbsorptionSlope,
    PositiveNumber,
    Share,
    Table,
    Text,
    Wavelength,
)
from spotdwell.model.material import DamageProcess, Medium, Pyrolysis, Removal

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


EMISSIVITY = 0.95
"""Of a material that states none: wet and charred surfaces alike radiate nearly as black ones."""

REFUSED_BELOW = 2.0
"""Least mu_a / mu_s' at which Beer-Lambert may stand in for transport of light (eq. 5)."""

CAUTION_BELOW = 10.0
"""Below this mu_a / mu_s' scattering moves the light noticeably."""


@dataclass(frozen=True)
class Absorption:
    """Coefficients of a material at one wavelength [1/m]."""

    water: float
    """Of pure water."""
    slope: float
    """Share by which water's falls with each kelvin [1/K]."""
    solid: float
    """What the solids add."""
    total: float
    """Of the material with all its water (eq. 4)."""
    scattering: float
    """Reduced scattering coefficient mu_s'."""

    @property
    def dominance(self) -> float:
        """mu_a / mu_s' [-]; infinity without scattering."""
        return self.total / self.scattering if self.scattering else float("inf")


def medium_of(material: Material, wavelength: float, name: str = "", where: str = "wavelength") -> Medium:
    """Medium of `material` at `wavelength` [m], called `name`.

    Raises InputError, with `where` as its place, if the absorption is not known at that wavelength or
    scattering dominates it.
    """
    name = name or material.title or "material"
    light = absorption_of(material, wavelength, name, where)
    if light.dominance < REFUSED_BELOW:
        raise _scatters(light, name, where)
    water = material.water_mass_fraction.value * material.density.value
    wet = material.conductivity.value
    dry = _value(material.conductivity_dry, wet)
    return Medium(
        name=name,
        solid_density=material.density.value - water,
        water_density=water,
        specific_heat_solid=_value(material.specific_heat_solid, constants.WATER_SPECIFIC_HEAT),
        conductivity=wet,
        conductivity_dry=dry,
        conductivity_char=_value(material.conductivity_char, dry),
        absorption_coefficient_water=light.water,
        absorption_coefficient_solid=light.solid,
        absorption_slope=light.slope,
        reflectance=_reflectance(material, wavelength, where),
        emissivity=_value(material.emissivity, EMISSIVITY),
        pyrolysis=_pyrolysis(material),
        removal=_removal(material, wavelength),
        damage=tuple(
            DamageProcess(one.name, one.title, one.frequency_factor, one.activation_energy)
            for one in material.damage
        ),
        perfusion=_value(material.perfusion, 0.0),
    )


def absorption_of(material: Material, wavelength: float, name: str, where: str) -> Absorption:
    """Absorption and scattering of `material` at `wavelength` [m]."""
    fraction = material.water_mass_fraction.value
    has_water, has_solid = fraction > 0.0, fraction < 1.0
    own = line_at(material.absorption, wavelength, name, where) if has_solid else None
    line = line_at(water_lines(), wavelength, "water", where) if has_water else None
    solid, water = own.value if own else 0.0, line.absorption if line else 0.0
    slope = line.slope if line else 0.0
    if own is not None and own.water_slope is not None:
        slope = own.water_slope
    total = water * fraction * material.density.value / constants.WATER_DENSITY + solid
    scattering = material.scattering.coefficient(wavelength) if material.scattering else 0.0
    return Absorption(water, slope, solid, total, scattering)


def cautions(material: Material, wavelength: float, name: str) -> tuple[str, ...]:
    """What whoever reads a result at `wavelength` [m] should know about the material."""
    light = absorption_of(material, wavelength, name, "wavelength")
    notes = []
    if REFUSED_BELOW <= light.dominance < CAUTION_BELOW:
        notes.append(
            f"{name}: absorption ({_per_cm(light.total)}) is only {light.dominance:.2g} times reduced "
            f"scattering ({_per_cm(light.scattering)}); scattered light, which is not modelled, spreads "
            "the heat further."
        )
    medium = medium_of(material, wavelength, name)
    if material.rupture_temperature is not None and not medium.is_liquid and not medium.ruptures:
        hot = units.display(material.rupture_temperature.value, "K", "degC")
        notes.append(
            f"{name}: it holds {medium.water_density:.3g} kg/m3 of water, less than what would flash at its "
            f"rupture temperature of {hot}: this material only burns off."
        )
    line = nearest(water_lines(), wavelength) if light.water else None
    if line is not None and line.note:
        notes.append(line.note)
    return tuple(notes)


def _scatters(light: Absorption, name: str, where: str) -> InputError:
    return InputError(
        where,
        f"light that {name} absorbs at least {REFUSED_BELOW:g} times more strongly than it scatters it",
        f"an absorption coefficient of {_per_cm(light.total)} and a reduced scattering coefficient of "
        f"{_per_cm(light.scattering)}",
        "Such light diffuses, and Beer-Lambert absorption would put the heat in the wrong place: "
        "choose a wavelength that water absorbs more.",
    )


def _reflectance(material: Material, wavelength: float, where: str) -> float:
    if material.reflectance is not None:
        return material.reflectance.value
    return line_at(water_lines(), wavelength, "water, whose reflectance is used,", where).reflectance


def _pyrolysis(material: Material) -> Pyrolysis | None:
    table = material.pyrolysis
    if table is None:
        return None
    return Pyrolysis(
        table.frequency_factor.value,
        table.activation_energy.value,
        table.heat.value,
        table.char_yield.value,
        table.leaves_char,
    )


def _removal(material: Material, wavelength: float) -> Removal | None:
    """None for a material that states neither at which temperature it ruptures nor at which it burns off."""
    if material.rupture_temperature is None and material.burn_off_temperature is None:
        return None
    usual = Removal()
    return Removal(
        _value(material.rupture_temperature, usual.rupture_temperature),
        _value(material.rupture_water_share, usual.rupture_water_share),
        _value(material.steam_escape_time, 0.0),
        _value(material.film_thickness, usual.film_thickness),
        _value(material.film_growth, usual.film_growth),
        debris_at(material.debris, wavelength),
        _value(material.burn_off_conversion, usual.burn_off_conversion),
        _value(material.burn_off_temperature, usual.burn_off_temperature),
    )


def debris_line(lines: tuple[DebrisLine, ...], wavelength: float) -> DebrisLine | None:
    """The line nearest to `wavelength` [m] in ratio, which stands for it; None without any."""
    return min(lines, key=lambda line: abs(math.log(line.wavelength / wavelength)), default=None)


def debris_at(lines: tuple[DebrisLine, ...], wavelength: float) -> float:
    """Heat that debris takes at `wavelength` [m] [J/m3]; 0 without any line."""
    line = debris_line(lines, wavelength)
    return 0.0 if line is None else line.value


def _value(item: Property[float] | None, otherwise: float) -> float:
    return otherwise if item is None else item.value


def _per_cm(coefficient: float) -> str:
    return units.display(coefficient, "1/m", "1/cm")
