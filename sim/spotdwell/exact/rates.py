"""Rates at constant temperature or constant evaporation: damage, thermal dose, pyrolysis, trapped steam."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Values = float | Array

GAS_CONSTANT = 8.314462618
"""Molar gas constant [J/mol/K] (CODATA 2018); stated here because closed forms import nothing."""


def damage(t: Values, T: Values, A: float, E: float) -> Array:
    """Omega [-] after `t` at temperature `T` [K]; `A` [1/s], `E` [J/mol] (eq. J1). Henriques 1947."""
    return np.asarray(A * np.asarray(t) * np.exp(-E / (GAS_CONSTANT * np.asarray(T))))


def damage_time(T: Values, A: float, E: float) -> Array:
    """Time [s] in which `T` [K] brings Omega to 1 (eq. J2)."""
    return np.asarray(np.exp(E / (GAS_CONSTANT * np.asarray(T))) / A)


def damage_temperature(t: Values, A: float, E: float) -> Array:
    """Temperature [K] that brings Omega to 1 in `t` (eq. J3)."""
    return np.asarray(E / (GAS_CONSTANT * np.log(A * np.asarray(t))))


def thermal_dose(t: float, T: float) -> float:
    """Time [s] at 43 degC that equals `t` at `T` [K] (eq. J4). Sapareto & Dewey 1984."""
    difference = T - 316.15
    return float(t * (0.5 if difference > 0.0 else 0.25) ** -difference)


def converted_share(t: Values, T: float, A: float, E: float) -> Array:
    """Share x [-] of the solid pyrolysed after `t` at `T` [K], first order (eq. K1)."""
    return np.asarray(-np.expm1(-damage(t, T, A, E)))


def trapped_steam(t: Values, rate: float, escape_time: float) -> Array:
    """Trapped steam [kg/m3] after `t` of evaporation at constant `rate` [kg/m3/s] (eq. K2)."""
    return np.asarray(-rate * escape_time * np.expm1(-np.asarray(t) / escape_time))


def time_to_ejection(rate: float, escape_time: float, limit: float) -> float:
    """Time [s] until trapped steam reaches `limit` [kg/m3] at constant `rate`; infinite if never (eq. K3)."""
    filled = limit / (rate * escape_time)
    return -escape_time * math.log1p(-filled) if filled < 1.0 else math.inf
