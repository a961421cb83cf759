"""From a material to the medium that the solver needs at one wavelength, or a refusal."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spotdwell.base import constants, units
from spotdwell.base.errors import InputError
from spotdwell.inputs.material import Material, Property
from spotdwell.inputs.optics import line_at, nearest, water_lines
from spotdwell.model.material import DamageProcess, Medium, Pyrolysis, Removal

EMISSIVITY = 0.95
"""Of a material that states none: wet and charred surfaces alike radiate nearly as black ones."""

NEVER_EJECTED = 2.0
"""Ejected share of a material that states none: steam cannot exceed the water that it came from."""

REFUSED_BELOW = 2.0
"""Least mu_a / mu_s' at which Beer-Lambert may stand in for transport of light (eq. 5)."""

CAUTION_BELOW = 10.0
"""Below this mu_a / mu_s' scattering moves the light noticeably."""


@dataclass(frozen=True)
class Absorption:
    """Coefficients of a material at one wavelength [1/m]."""

    water: float
    """Of pure water."""
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
        reflectance=_reflectance(material, wavelength, where),
        emissivity=_value(material.emissivity, EMISSIVITY),
        pyrolysis=_pyrolysis(material),
        removal=_removal(material),
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
    solid = line_at(material.absorption, wavelength, name, where).value if has_solid else 0.0
    water = line_at(water_lines(), wavelength, "water", where).absorption if has_water else 0.0
    total = water * fraction * material.density.value / constants.WATER_DENSITY + solid
    scattering = material.scattering.coefficient(wavelength) if material.scattering else 0.0
    return Absorption(water, solid, total, scattering)


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
    share, escape = material.ejected_share, material.steam_escape_time
    solid = material.water_mass_fraction.value < 1.0
    if solid and share is not None and escape and share.value >= 1.0 and math.isfinite(escape.value):
        notes.append(
            f"{name}: trapped steam always leaks, so an ejected_share of {share.value:g} is never reached: "
            "this material only burns off."
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


def _removal(material: Material) -> Removal | None:
    """None for a material that states neither how steam nor from which temperature fire removes it."""
    if material.ejected_share is None and material.burn_off_temperature is None:
        return None
    usual = Removal(NEVER_EJECTED, 1e-3)
    return Removal(
        _value(material.ejected_share, usual.ejected_share),
        _value(material.steam_escape_time, usual.steam_escape_time),
        _value(material.burn_off_conversion, usual.burn_off_conversion),
        _value(material.burn_off_temperature, usual.burn_off_temperature),
    )


def _value(item: Property[float] | None, otherwise: float) -> float:
    return otherwise if item is None else item.value


def _per_cm(coefficient: float) -> str:
    return units.display(coefficient, "1/m", "1/cm")
