"""What a material file holds, with what it borrows from the material that it is based on."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Any, Generic, Self, TypeVar

from pydantic import Field, model_validator

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.inputs.quantities import (
    AbsorptionCoefficient,
    AbsorptionSlope,
    ActivationEnergy,
    Conductivity,
    Density,
    EnergyDensity,
    FilmThickness,
    FrequencyFactor,
    Pause,
    Perfusion,
    PositiveNumber,
    QuantityType,
    RateFactor,
    ReactionHeat,
    Share,
    SpecificHeat,
    Switch,
    Table,
    Temperature,
    Text,
    Wavelength,
    wrong,
)

KEY = "based_on"
RECORD = "borrowed_from"
"""Key that says in a completed material where the rest came from, so that a copy of it stands alone."""
_OWN = ("title", "about", KEY, RECORD)
"""What a material never takes from another."""
_BY_WAVELENGTH = ("absorption", "debris")
_MOST_STEPS = 4
"""Longest chain of materials based on one another."""


def with_borrowed(table: Any, steps: int = 0) -> Any:
    """`table` of a material, as TOML gives it, with what it lacks from the one that it is `based_on`.

    Tables are completed key by key, absorption and debris line by line, damage processes as a whole. Raises
    PydanticCustomError where there is no such material, or materials are based on one another in a ring.
    """
    if not isinstance(table, Mapping) or not isinstance(name := table.get(KEY), str):
        return table
    if steps == _MOST_STEPS:
        raise wrong(f"a chain of at most {_MOST_STEPS} materials", f'"{name}" after {steps}', key=KEY)
    try:
        text = library.text(library.Shelf.MATERIALS, name)
    except InputError as error:
        raise wrong(error.expected, error.got, error.advice, key=KEY) from None
    base = with_borrowed(tomllib.loads(text), steps + 1)
    own = {key: value for key, value in table.items() if key != KEY} | {RECORD: name}
    return _completed(own, {key: value for key, value in base.items() if key not in _OWN})


def _completed(own: Mapping[str, Any], base: Mapping[str, Any]) -> dict[str, Any]:
    found = dict(own)
    for key, value in base.items():
        if key not in found:
            found[key] = value
        elif key in _BY_WAVELENGTH:
            there = {str(line.get("wavelength")) for line in found[key]}
            found[key] = [*found[key], *(line for line in value if str(line.get("wavelength")) not in there)]
        elif isinstance(value, Mapping) and isinstance(found[key], Mapping) and "value" not in value:
            found[key] = _completed(found[key], value)
    return found


Value = TypeVar("Value")
Checked = TypeVar("Checked", bound=Table)


class Basis(StrEnum):
    """On what a value rests."""

    MEASURED = "measured"
    DERIVED = "derived"
    CALIBRATED = "calibrated"
    ASSUMED = "assumed"


class Property(Table, Generic[Value]):
    """A value with its range, basis and source; a bare value is short for one without any of the three."""

    value: Value
    range: tuple[Value, Value] | None = None
    """Lowest and highest believable value; absent: not stated."""
    basis: Basis = Basis.ASSUMED
    """On what the value rests."""
    source: str = ""
    """Where the value and its range come from, or why they were assumed."""

    @classmethod
    def model_parametrized_name(cls, params: tuple[Any, ...]) -> str:
        """Readable name in the JSON Schema, one for each kind of value."""
        kind = params[0].__metadata__[0]
        return f"{cls.__name__} ({kind.name if isinstance(kind, QuantityType) else kind.title})"

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, data: Any) -> Any:
        return {"value": data} if isinstance(data, (str, int, float)) else data

    @model_validator(mode="after")
    def _within_range(self) -> Self:
        return check_range(self, self.value, self.range)


def check_range(table: Checked, value: Any, limits: tuple[Any, Any] | None) -> Checked:
    """`table`, unless its `limits` descend or exclude its `value`."""
    if limits is None:
        return table
    if limits[0] > limits[1]:
        raise wrong("a lowest and a highest value", f"{limits[0]:g} and {limits[1]:g} [SI]", key="range")
    if not limits[0] <= value <= limits[1]:
        raise wrong(
            f"a value between {limits[0]:g} and {limits[1]:g} [SI], the stated range",
            f"{value:g}",
            "Widen the range, with its reason, or correct the value.",
            key="value",
        )
    return table


class AbsorptionLine(Table):
    """What the solids add to the absorption at one wavelength."""

    wavelength: Wavelength
    value: AbsorptionCoefficient
    """mu_solid, per volume of the whole material."""
    range: tuple[AbsorptionCoefficient, AbsorptionCoefficient] | None = None
    water_slope: AbsorptionSlope | None = None
    """Share by which absorption of the water in it falls with each kelvin; absent: that of plain water."""
    basis: Basis = Basis.ASSUMED
    source: str = ""
    """Where it and its range come from, or why they were assumed."""

    @model_validator(mode="after")
    def _within_range(self) -> Self:
        return check_range(self, self.value, self.range)


class DebrisLine(Table):
    """What thrown-out material takes from the beam at one wavelength, for each volume of it."""

    wavelength: Wavelength
    value: EnergyDensity
    range: tuple[EnergyDensity, EnergyDensity] | None = None
    basis: Basis = Basis.ASSUMED
    source: str = ""
    """Where it and its range come from, or why they were assumed."""

    @model_validator(mode="after")
    def _within_range(self) -> Self:
        return check_range(self, self.value, self.range)


class Scattering(Table):
    """Reduced scattering, amplitude (wavelength / 500 nm)^-exponent."""

    amplitude: AbsorptionCoefficient
    """Reduced scattering coefficient at 500 nm."""
    exponent: Annotated[float, Field(strict=True, ge=0.0, le=4.0)]
    """How fast it falls with wavelength; 4 is Rayleigh's."""
    range: tuple[AbsorptionCoefficient, AbsorptionCoefficient] | None = None
    """Of the amplitude."""
    basis: Basis = Basis.ASSUMED
    source: str = ""
    """Where it and its range come from, or why they were assumed."""

    def coefficient(self, wavelength: float) -> float:
        """Reduced scattering coefficient mu_s' at `wavelength` [m] [1/m]."""
        return float(self.amplitude * (wavelength / 500e-9) ** -self.exponent)

    @model_validator(mode="after")
    def _within_range(self) -> Self:
        return check_range(self, self.amplitude, self.range)


class DamageTable(Table):
    """A first-order rate process of thermal damage; its two factors belong together, so it has no range."""

    name: Text
    """Short key, such as "collagen"."""
    title: Text
    """What a reader calls it."""
    frequency_factor: RateFactor
    activation_energy: ActivationEnergy
    basis: Basis = Basis.ASSUMED
    source: str = ""
    """Where it and its range come from, or why they were assumed."""


class PyrolysisTable(Table):
    """How the dry solid turns into char and gas."""

    frequency_factor: Property[FrequencyFactor]
    activation_energy: Property[ActivationEnergy]
    heat: Property[ReactionHeat]
    """Heat taken up by each kg of solid converted; negative if it gives off heat."""
    char_yield: Property[Share]
    """Share of the solid's mass that stays as char."""
    leaves_char: Switch = True
    """False where the solid turns to gas, as an acrylic does."""


class Material(Table):
    """A material: what it is, and its properties with their evidence."""

    title: Text | None = None
    based_on: Text | None = None
    """A shipped material, or one of `families/`, whose values stand for those that are absent here."""
    borrowed_from: Text | None = None
    """Record of what it was based on, once completed."""
    about: str = ""
    """What it stands for, and what its values leave out."""
    initial_temperature: Temperature = 310.15
    """Before a shot, unless the scenario says: of the body, or of the room for what is shot at on a bench."""
    density: Property[Density]
    """Mass per volume with all its water."""
    water_mass_fraction: Property[Share]
    """Mass of free water over the whole mass; 1 is a liquid, 0 a dry solid."""
    specific_heat_solid: Property[SpecificHeat] | None = None
    """Of the solids alone; needed unless the material is all water."""
    conductivity: Property[Conductivity]
    """With all its water."""
    conductivity_dry: Property[Conductivity] | None = None
    """Once dried; needed where there are water and solids."""
    conductivity_char: Property[Conductivity] | None = None
    """Once charred; needed where char stays."""
    reflectance: Property[Share] | None = None
    """Share of the beam reflected at the surface; absent: water's at the wavelength."""
    emissivity: Property[Share] | None = None
    """For heat radiation; absent: 0.95."""
    rupture_temperature: Property[Temperature] | None = None
    """At which superheated water throws it out; absent: nothing is thrown out."""
    rupture_water_share: Property[Share] | None = None
    """Share of its water below which it is too porous to be thrown out; absent: 0."""
    steam_escape_time: Property[Pause] | None = None
    """Time in which superheat is spent on steam that escapes; absent: water boils at once."""
    film_thickness: Property[FilmThickness] | None = None
    """Largest thickness of the liquefied film on a front that is thrown out; absent: none."""
    film_growth: Property[PositiveNumber] | None = None
    """Film gained for each depth thrown out, at first."""
    debris: tuple[DebrisLine, ...] = ()
    """What thrown-out material takes from the beam, by wavelength; the nearest line stands for others."""
    burn_off_temperature: Property[Temperature] | None = None
    """From which a converted, exposed solid is burnt off; absent: 1000 degC."""
    burn_off_conversion: Property[Share] | None = None
    """Conversion from which it may burn off; absent: 0.9."""
    pyrolysis: PyrolysisTable | None = None
    absorption: tuple[AbsorptionLine, ...] = ()
    damage: tuple[DamageTable, ...] = ()
    """The first process bounds the coagulated zone."""
    scattering: Scattering | None = None
    """Absent: the material does not scatter."""
    perfusion: Property[Perfusion] | None = None
    """Heat carried by blood per volume and kelvin; absent: none."""

    @model_validator(mode="before")
    @classmethod
    def _borrowed(cls, data: Any) -> Any:
        return with_borrowed(data)

    @model_validator(mode="after")
    def _complete(self) -> Self:
        """Properties that the water content makes necessary."""
        water = self.water_mass_fraction.value
        needs = {
            "specific_heat_solid": water < 1.0,
            "absorption": water < 1.0,
            "conductivity_dry": 0.0 < water < 1.0,
            "conductivity_char": self.pyrolysis is not None and self.pyrolysis.leaves_char,
            "steam_escape_time": self.rupture_temperature is not None,
            "film_growth": self.film_thickness is not None and self.film_thickness.value > 0.0,
        }
        for key, needed in needs.items():
            if needed and not getattr(self, key):
                raise wrong(f"the key {key} (water_mass_fraction is {water:g})", "nothing", key=key)
        if water == 1.0 and self.pyrolysis is not None:
            raise wrong("no pyrolysis in a material that is all water", "a table", key="pyrolysis")
        return self
