"""Rates at constant temperature or constant heating: damage, thermal dose, pyrolysis, escaping steam."""

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


def superheated_cell(t: Values, rate: float, escape_time: float, store: float) -> tuple[Array, Array]:
    """Superheat and latent heat of the water left [J/m3] after `t` of heating from boiling (eq. K2, K3).

    `rate` is the heating [W/m3], `store` the latent heat of all the water at first [J/m3]. Steam takes the
    superheat, or if that is less the latent heat of what water is left, once in every `escape_time` [s].
    """
    t = np.asarray(t, dtype=float)
    scarce = store / rate
    wet, late = np.minimum(t, scarce), np.maximum(t - scarce, 0.0)
    superheat = -rate * escape_time * np.expm1(-wet / escape_time)
    water = (store - rate * wet + superheat) * np.exp(-late / escape_time)
    return np.asarray(np.where(late > 0.0, water + rate * late, superheat)), np.asarray(water)


def rupture_time(rate: float, escape_time: float, store: float, limit: float) -> float:
    """Time [s] until superheat reaches `limit` [J/m3], more than which water must still take (eq. K4).

    Infinite where steam takes the heat first, or water runs out.
    """
    if math.isinf(escape_time):
        return limit / rate if limit <= store else math.inf
    filled = limit / (rate * escape_time)
    time = -escape_time * math.log1p(-filled) if filled < 1.0 else math.inf
    return time if time <= store / rate else math.inf
