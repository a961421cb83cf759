"""Quantity strings to SI floats and back. The only importer of pint, and only once a unit is looked up."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from spotdwell.base.constants import ZERO_CELSIUS
from spotdwell.base.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

NUMBER_PATTERN = r"[+-]?(?:(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?|inf)"
"""Regular expression of the number in a quantity string; also used in the JSON Schema."""

_POWER = r"[A-Za-zµμ°]+(?:[²³]|(?:\*\*|\^)?-?[0-9])?"
_FACTOR = rf"(?:{_POWER}|\( ?{_POWER}(?: ?[*/ ] ?{_POWER})* ?\))"
UNIT_PATTERN = rf"(?:1 ?/ ?)?{_FACTOR}(?: ?[*/ ] ?{_FACTOR})*"
"""Regular expression of the unit in a quantity string: products and quotients of names, each with a power of
one digit at most. What the reader of units is given is then no arithmetic that could take for ever."""

_QUANTITY = re.compile(rf"\s*({NUMBER_PATTERN}|[+-]?nan)\s*(.*?)\s*", re.DOTALL)
_UNIT = re.compile(UNIT_PATTERN)
_EXPONENT = re.compile(r"(?<=[A-Za-zµμ])(-?[0-9])")

_SPANS = {
    "m": (1e-12, 1e6),
    "m2": (1e-24, 1e12),
    "m/s": (1e-12, 3e8),
    "s": (1e-18, 1e12),
    "W": (1e-15, 1e15),
    "J": (1e-18, 1e15),
    "Hz": (1e-12, 1e18),
    "K": (1e-12, 1e9),
    "1/s": (1e-200, 1e200),
}
"""Least and greatest size [SI] of what is not 0, by unit: beyond them arithmetic fails before any physics."""
_SPAN = (1e-60, 1e60)
"""The same of all other units."""
_USUAL = {
    "m": {"mm": 1e-3, "um": 1e-6, "cm": 1e-2, "nm": 1e-9},
    "m2": {"mm2": 1e-6, "um2": 1e-12, "cm2": 1e-4},
    "m3": {"mm3": 1e-9},
    "m/s": {"mm/s": 1e-3},
    "s": {"ms": 1e-3, "us": 1e-6, "min": 60.0},
    "kg": {"mg": 1e-6},
    "W": {"kW": 1e3, "mW": 1e-3},
    "Hz": {"kHz": 1e3},
    "1/m": {"1/cm": 1e2},
    "J/kg": {"MJ/kg": 1e6, "kJ/kg": 1e3},
    "J/mol": {"kJ/mol": 1e3},
    "J/m2": {"J/mm2": 1e6, "J/cm2": 1e4},
    "J/m3": {"kJ/cm3": 1e9, "J/cm3": 1e6, "J/mm3": 1e9},
    "W/m2": {"W/mm2": 1e6, "W/cm2": 1e4},
}
"""Sizes [SI] of the units of nearly all texts: to load pint for them would take as long as a shot."""
_CELSIUS = {"degC", "°C", "celsius"}
_KELVIN = {"K", "kelvin"}
_FAHRENHEIT = "degF"
_CHOOSABLE = ("m", "s", "m2", "m3", "kg", "W", "J", "J/m2", "J/m3", "W/m2", "Hz")
"""SI units of what is shown, but for temperatures."""
_asked: ContextVar[Mapping[str, str]] = ContextVar("units asked for", default={})  # noqa: B039 - never changed
_shown_in: ContextVar[Mapping[str, str]] = ContextVar("units shown", default={})  # noqa: B039 - never changed

_WRITTEN_UNITS = {
    "m": ("mm", "um", "m"),
    "m2": ("mm2", "m2"),
    "m/s": ("mm/s", "m/s"),
    "s": ("ms", "s", "us"),
    "W": ("W", "kW", "mW"),
    "K": ("degC", "K"),
    "J/kg": ("MJ/kg", "kJ/kg", "J/kg"),
    "J/mol": ("kJ/mol", "J/mol"),
    "J/m3": ("kJ/cm3", "J/cm3", "J/m3"),
    "1/s": ("1/s",),
    "Hz": ("Hz", "kHz"),
}
_LONGEST_UNIT = 40


def parse(text: object, unit: str, *, where: str, example: str, rise: bool = False) -> float:
    """SI value of the quantity string `text`, in `unit` (an SI unit such as "m", "W/m2/K").

    For `unit` "K" it reads degC or K as an absolute temperature, or K only as a difference when `rise`.
    `where` and `example` go into the `InputError` that a bare number, a wrong dimension, NaN or anything
    else that is no quantity raises.
    """
    kind = "a number" if unit == "1" else f"a quantity in {_expected(unit, rise)}"
    expected = f'{kind}, such as "{example}"'
    if not isinstance(text, str):
        advice = f'Write the number and its unit in quotes, such as "{example}".' if _is_number(text) else ""
        raise InputError(where, expected, _shown(text), advice)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise InputError(where, expected, _shown(text))
    number = float(match[1])
    if math.isnan(number) or (math.isinf(number) and "inf" not in match[1]):
        raise InputError(where, expected, f"{_shown(text)}, which is not a finite number")
    try:
        scale, offset = _conversion(match[2], unit, rise)
    except _UnitProblem as problem:
        raise InputError(where, expected, _shown(text), str(problem)) from None
    value = _converted(number, scale, offset)
    if unit == "K" and not rise and value < 0.0:
        raise InputError(where, expected, f"{_shown(text)}, which is below absolute zero")
    return value


def beyond(value: float, unit: str) -> str:
    """What a finite `value` [`unit`] should be instead, if it is so small or large that nothing can be
    computed with it; else ""."""
    least, greatest = _SPANS.get(unit, _SPAN)
    size = abs(value)
    if size == 0.0 or math.isinf(size) or least <= size <= greatest:
        return ""
    return f"at least {least:g} {unit}" if size < least else f"at most {greatest:g} {unit}"


def units_asked(text: str, where: str = "units") -> dict[str, str]:
    """Units to show by the SI unit that each takes the place of, from a text such as "um, degF".

    Raises InputError for what is no unit of anything that is shown, and for two of one kind.
    """
    found: dict[str, str] = {}
    for word in (part.strip() for part in text.split(",")):
        unit = "K" if word in {*_CELSIUS, *_KELVIN, _FAHRENHEIT} else _kind_of(word)
        if unit is None:
            raise InputError(where, 'units to show, such as "um, degF"', _shown(word))
        if unit in found:
            raise InputError(where, "one unit of each kind", f"{found[unit]} and {word}")
        found[unit] = word
    return found


def _kind_of(word: str) -> str | None:
    for unit in _CHOOSABLE:
        try:
            _conversion(word, unit, False)
        except _UnitProblem:
            continue
        return unit
    return None


@contextmanager
def asking(units: Mapping[str, str]) -> Iterator[None]:
    """Have tables for people, within `showing`, use these units."""
    token = _asked.set(units)
    try:
        yield
    finally:
        _asked.reset(token)


@contextmanager
def showing() -> Iterator[None]:
    """What is written in this context is for people to read, in the units that they asked for.

    Outside of it nothing is: JSON, HDF5 and what a run keeps do not depend on them.
    """
    token = _shown_in.set(_asked.get())
    try:
        yield
    finally:
        _shown_in.reset(token)


def chosen(unit: str, display_unit: str) -> str:
    """The unit in which to show what is kept in the SI `unit`: `display_unit` unless another was asked for.

    Differences of temperatures, which are shown in K, stay so.
    """
    if unit == "K" and display_unit in _KELVIN:
        return display_unit
    return _shown_in.get().get(unit, display_unit)


def convert(value: Any, unit: str, to: str) -> Any:
    """`value` (a float or an array) in `unit`, expressed in the unit `to`; K to degC as temperatures."""
    if to in _CELSIUS and unit in _KELVIN:
        return value - ZERO_CELSIUS
    if to == _FAHRENHEIT and unit in _KELVIN:
        return (value - ZERO_CELSIUS) * 1.8 + 32.0
    scale, offset = _conversion(to, unit, False)
    return (value - offset) / scale


def display(value: float, unit: str, display_unit: str, digits: int = 3) -> str:
    """`value` [`unit`] as text in `display_unit` with `digits` significant digits, such as "253 um".

    Another unit of its kind that was asked for, and is shown, takes the place of `display_unit`.
    """
    display_unit = chosen(unit, display_unit)
    number = significant(float(convert(value, unit, display_unit)), digits)
    return number if display_unit in ("1", "") else f"{number} {display_unit}"


def significant(number: float, digits: int = 3) -> str:
    """`number` rounded to `digits` significant digits; exponents only below 1e-4 and from 1e6."""
    if number == 0.0 or not math.isfinite(number):
        return f"{number:g}"
    rounded = float(f"{number:.{digits - 1}e}")
    size = abs(rounded)
    if not 1e-4 <= size < 1e6:
        return _plain_exponent(f"{number:.{digits - 1}e}")
    decimals = max(0, digits - 1 - math.floor(math.log10(size)))
    return f"{rounded:.{decimals}f}"


def written(value: float, unit: str, rise: bool = False) -> str:
    """Quantity string that `parse` reads back as exactly `value` [`unit`], in a handy unit if possible."""
    choices = (unit,) if rise else _WRITTEN_UNITS.get(unit, (unit,))
    texts = [text for text in (_exact(value, unit, choice) for choice in choices) if text]
    return min(texts, key=_length_of_number) if texts else f"{_plain_exponent(repr(float(value)))} {unit}"


def _exact(value: float, unit: str, choice: str) -> str | None:
    number = float(convert(value, unit, choice))
    text = f"{_plain_exponent(f'{number:.12g}')} {choice}"
    rise = unit == "K" and choice == "K"
    return text if parse(text, unit, where="", example="", rise=rise) == value else None


def _length_of_number(text: str) -> tuple[bool, int]:
    number = text.split(" ")[0]
    return ("e" in number, len(number))


def _plain_exponent(number: str) -> str:
    mantissa, mark, exponent = number.partition("e")
    if "." in mantissa:
        mantissa = mantissa.rstrip("0").rstrip(".") if mark or mantissa.endswith(".0") else mantissa
    return f"{mantissa}e{int(exponent)}" if mark else mantissa


def _converted(number: float, scale: float, offset: float) -> float:
    """`number` scaled; rounded to 15 digits so that "0.25 mm" and "250 um" are the same float."""
    if (scale == 1.0 and offset == 0.0) or not math.isfinite(number):
        return number
    return float(f"{number * scale + offset:.15g}")


class _UnitProblem(Exception):
    """Why a unit does not fit; the text is advice."""


@lru_cache(maxsize=512)
def _conversion(text: str, unit: str, rise: bool) -> tuple[float, float]:
    """Scale and offset from the unit `text` to the SI `unit`."""
    if text == unit:
        return 1.0, 0.0
    if unit in ("1", ""):
        if text in ("1", ""):
            return 1.0, 0.0
        raise _UnitProblem("It has no unit.")
    if not text:
        raise _UnitProblem("The unit is missing.")
    if text.startswith(","):
        raise _UnitProblem("Write a decimal point, not a comma.")
    if unit == "K":
        return _temperature(text, rise)
    return _scale(text, unit), 0.0


def _temperature(text: str, rise: bool) -> tuple[float, float]:
    if text in _KELVIN:
        return 1.0, 0.0
    if text in _CELSIUS and not rise:
        return 1.0, ZERO_CELSIUS
    if text in _CELSIUS:
        raise _UnitProblem("It is a difference of temperatures: write it in K.")
    if text == "C":
        raise _UnitProblem("C is the coulomb: write degC.")
    raise _UnitProblem("Temperatures are read in degC or K.")


def _scale(text: str, unit: str) -> float:
    text = " ".join(text.split())
    if (usual := _USUAL.get(unit, {}).get(text)) is not None:
        return usual
    if len(text) > _LONGEST_UNIT or not _UNIT.fullmatch(text):
        raise _UnitProblem(f'"{text[:_LONGEST_UNIT]}" is not a unit.')
    given, target = _parsed(text), _parsed(unit)
    if given.dimensionality != target.dimensionality:
        raise _UnitProblem(f'"{text}" is a unit of {_meaning(given)}.')
    try:
        one, two = (float(given.from_(number, strict=False).to(target).magnitude) for number in (1.0, 2.0))
    except Exception:  # pint raises several kinds for logarithms and offsets, and overflows
        one = two = math.nan
    if not (0.0 < one < math.inf and math.isclose(2.0 * one, two, rel_tol=1e-9)):
        raise _UnitProblem(f'"{text}" does not grow in proportion to what it measures.')
    return float(f"{one:.15g}")


def _parsed(text: str) -> Any:
    """The pint unit for `text`, where "m2" means m**2 and "m-1" means 1/m (UDUNITS notation)."""
    try:
        return _unit_reader()(_EXPONENT.sub(r"**\1", text.replace("^", "**")))
    except Exception:  # pint raises a dozen kinds, some of them the tokenizer's
        raise _UnitProblem(f'"{text}" is not a unit.') from None


@lru_cache(maxsize=1)
def _unit_reader() -> Callable[[str], Any]:
    import pint

    try:
        # To read the definitions takes pint ten times as long as to find them kept.
        registry: Any = pint.UnitRegistry(cache_folder=":auto:")
    except Exception:  # no folder to write in, or what was kept there is damaged
        registry = pint.UnitRegistry()
    reader: Callable[[str], Any] = registry.parse_units
    return reader


def _meaning(unit: Any) -> str:
    powers = {str(name).strip("[]"): power for name, power in unit.dimensionality.items()}
    known = {
        (("length", 1),): "length",
        (("time", 1),): "time",
        (("temperature", 1),): "temperature",
        (("length", 2),): "area",
        (("time", -1),): "frequency or rate",
        (("length", 2), ("mass", 1), ("time", -3)): "power",
        (("length", 2), ("mass", 1), ("time", -2)): "energy",
    }
    return known.get(tuple(sorted(powers.items())), "another dimension") if powers else "no dimension"


def _expected(unit: str, rise: bool) -> str:
    return "degC or K" if unit == "K" and not rise else unit


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"' if len(value) <= 60 else f'"{value[:57]}..."'
    if _is_number(value):
        return f"the bare number {value}"
    return f"{type(value).__name__} {value!r}"[:80]


def positive(text: str | None, unit: str, where: str, example: str) -> float | None:
    """Value [`unit`] of a quantity above 0 and finite; None for None. Raises InputError that names it."""
    if text is None:
        return None
    value = parse(text, unit, where=where, example=example)
    if not 0.0 < value < float("inf"):
        raise InputError(where, f'more than 0 {unit} and finite, such as "{example}"', f'"{text}"')
    return value
