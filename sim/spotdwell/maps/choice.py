"""Choice: the setting that a map recommends for a wanted depth, as pictures and tables show it."""

from __future__ import annotations

from dataclasses import dataclass

from spotdwell.base import units
from spotdwell.base.names import AXES
from spotdwell.maps.cube import Axis


@dataclass(frozen=True)
class Choice:
    """A setting of a map for a wanted crater depth."""

    depth: float
    """The wanted depth [m]."""
    point: dict[str, float | str]
    """Value of each axis, SI."""
    position: tuple[float, ...]
    """Place along each axis, counted in its values from 0; fractional between two of them."""
    between: str
    """Axis along which it lies between two computed points; empty if it is one of them."""
    measures: dict[str, float | None]
    """At the setting, SI; interpolated where `between` says so."""
    word: str
    """Verdict on these measures."""

    @property
    def nearest(self) -> tuple[int, ...]:
        """Indices of the nearest computed point."""
        return tuple(round(place) for place in self.position)


def shown(axis: Axis, value: float | str, digits: int = 3) -> str:
    """`value` of `axis` as text in the axis' unit, such as "22.1 W"."""
    number, unit = number_of(axis, value, digits), axis.unit
    return f"{number} {unit}" if unit else number


def number_of(axis: Axis, value: float | str, digits: int = 3) -> str:
    """`value` of `axis` in the axis' unit, without it."""
    if isinstance(value, str):
        return value
    return f"{float(units.significant(in_unit(axis, value), digits)):g}"


def in_unit(axis: Axis, value: float) -> float:
    """`value` [SI] of `axis` in the axis' unit."""
    return float(units.convert(value, AXES[axis.name].unit, axis.unit)) if axis.unit else value


def setting_text(axes: tuple[Axis, ...], choice: Choice) -> str:
    """The chosen setting, such as "power 22.1 W, dwell 40 ms"."""
    return ", ".join(f"{axis.name} {shown(axis, choice.point[axis.name])}" for axis in axes)


def length_of(length: float) -> str:
    """A length [m] as text without idle zeros, such as 50 µm or 1.5 mm."""
    unit, scale = ("mm", 1e3) if length >= 0.9995e-3 else ("µm", 1e6)
    return f"{float(units.significant(length * scale)):g} {unit}"
