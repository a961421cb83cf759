"""Field types of the TOML files: quantity strings that become SI floats, shares and plain numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, PydanticSerializationError, core_schema

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.foreign import shown

SI_UNIT_KEY = "x-si-unit"
"""Key of the JSON Schema that says in which SI unit the value is kept."""

RISE_KEY = "x-difference"
"""Key of the JSON Schema that marks a difference of temperatures."""


class Table(BaseModel):
    """A TOML table: frozen, and no key beyond those it names."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def model_dump(self, *arguments: Any, **options: Any) -> dict[str, Any]:
        """As pydantic does, but an interrupt stays one: there it comes out as a fault of the model."""
        try:
            return super().model_dump(*arguments, **options)
        except PydanticSerializationError as error:
            if isinstance(error.__cause__, KeyboardInterrupt):
                raise error.__cause__ from None
            raise


@dataclass(frozen=True)
class QuantityType:
    """Annotation of a float field that is written as a quantity string."""

    name: str
    """What the JSON Schema calls it."""
    unit: str
    """SI unit in which the value is kept."""
    example: str
    above: float | None = None
    """The value must exceed this [unit]."""
    least: float | None = None
    """The value must be at least this [unit]."""
    infinite: bool = False
    """Whether "inf" is allowed."""
    rise: bool = False
    """Whether it is a difference of temperatures."""

    def read(self, text: object) -> float:
        """SI value of `text`; a `PydanticCustomError` that carries expected, got and advice otherwise."""
        try:
            value = units.parse(text, self.unit, where="", example=self.example, rise=self.rise)
        except InputError as error:
            raise wrong(error.expected, error.got, error.advice) from None
        if limit := self._limit(value):
            raise wrong(f'{limit}, such as "{self.example}"', f'"{text}"')
        return value

    def _limit(self, value: float) -> str | None:
        """The limit that `value` breaks, in words."""
        if abs(value) == float("inf") and not (self.infinite and value > 0.0):
            return "a finite quantity"
        if self.above is not None and value <= self.above:
            return f"more than {units.written(self.above, self.unit, self.rise)}"
        if self.least is not None and value < self.least:
            return f"at least {units.written(self.least, self.unit, self.rise)}"
        return units.beyond(value, self.unit) or None

    def write(self, value: float) -> str:
        """Quantity string that reads back as exactly `value`."""
        return units.written(value, self.unit, self.rise)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(
            self.write, return_schema=core_schema.str_schema(), when_used="json"
        )
        return core_schema.no_info_plain_validator_function(
            self.read, serialization=writer, json_schema_input_schema=core_schema.str_schema()
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        number = units.NUMBER_PATTERN
        return {
            "type": "string",
            "pattern": rf"^\s*{number}\s*{units.UNIT_PATTERN}\s*$",
            "examples": [self.example],
            SI_UNIT_KEY: self.unit,
            **({RISE_KEY: True} if self.rise else {}),
        }


def wrong(expected: str, got: str, advice: str = "", key: str = "") -> PydanticCustomError:
    """Error for a validator to raise; `key` names the offending key below the table that raises it."""
    # The message is a template to pydantic: the parts go in as context, so that braces in them stay text.
    return PydanticCustomError(
        "spotdwell",
        "expected {expected}, got {got}",
        {"expected": shown(expected), "got": shown(got), "advice": shown(advice), "key": shown(key)},
    )


def _positive(name: str, unit: str, example: str) -> QuantityType:
    return QuantityType(name, unit, example, above=0.0)


def _not_negative(name: str, unit: str, example: str, infinite: bool = False) -> QuantityType:
    return QuantityType(name, unit, example, least=0.0, infinite=infinite)


Length = Annotated[float, _positive("length", "m", "250 um")]
Position = Annotated[float, QuantityType("position", "m", "-1 mm")]
Wavelength = Annotated[float, _positive("wavelength", "m", "10.6 um")]
Area = Annotated[float, _positive("area", "m2", "1 mm2")]
Speed = Annotated[float, _not_negative("speed", "m/s", "5 mm/s")]
Duration = Annotated[float, _positive("duration", "s", "80 ms")]
Pause = Annotated[float, _not_negative("pause", "s", "200 ms")]
Power = Annotated[float, _positive("power", "W", "25 W")]
Rate = Annotated[float, _positive("rate", "Hz", "200 Hz")]
Temperature = Annotated[float, QuantityType("temperature", "K", "37 degC")]
TemperatureRise = Annotated[float, QuantityType("temperature rise", "K", "60 K", above=0.0, rise=True)]
HeatTransfer = Annotated[float, _not_negative("heat transfer", "W/m2/K", "10 W/m2/K", infinite=True)]
Density = Annotated[float, _positive("density", "kg/m3", "1090 kg/m3")]
SpecificHeat = Annotated[float, _positive("specific heat", "J/kg/K", "1900 J/kg/K")]
Conductivity = Annotated[float, _positive("conductivity", "W/m/K", "0.46 W/m/K")]
AbsorptionCoefficient = Annotated[float, _not_negative("absorption coefficient", "1/m", "100 1/cm")]
AbsorptionSlope = Annotated[float, QuantityType("slope of absorption", "1/K", "2.8e-3 1/K")]
EnergyDensity = Annotated[float, _not_negative("energy per volume", "J/m3", "3 kJ/cm3")]
FilmThickness = Annotated[float, _not_negative("thickness", "m", "30 um")]
FrequencyFactor = Annotated[float, _not_negative("frequency factor", "1/s", "1e12 1/s")]
RateFactor = Annotated[float, _positive("rate factor", "1/s", "1e45 1/s")]
ActivationEnergy = Annotated[float, _not_negative("activation energy", "J/mol", "160 kJ/mol")]
ReactionHeat = Annotated[float, QuantityType("heat of reaction", "J/kg", "1 MJ/kg")]
Perfusion = Annotated[float, _not_negative("perfusion", "W/m3/K", "2000 W/m3/K")]

Share = Annotated[float, Field(strict=True, ge=0.0, le=1.0, allow_inf_nan=False, title="share")]
OpenShare = Annotated[float, Field(strict=True, gt=0.0, le=1.0, allow_inf_nan=False, title="share above 0")]
PositiveNumber = Annotated[float, Field(strict=True, gt=0.0, allow_inf_nan=False, title="number above 0")]
Count = Annotated[int, Field(strict=True, ge=1, title="count")]
Switch = Annotated[bool, Field(strict=True)]
Text = Annotated[str, Field(min_length=1)]
