"""Closed forms of steady fronts: ablation, vaporisation and boiling."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import erf, erfc, erfcx, exprel

Array = NDArray[np.float64]
Values = float | Array


def stefan_root(ste: float) -> float:
    """Root of sqrt(pi) x exp(x^2) erf(x) = `ste`, the Stefan number C rise / L [-] (eq. E1).

    The front lies at 2 x sqrt(alpha t). Carslaw & Jaeger 1959, section 11.2.
    """
    return _positive_root(lambda x: math.sqrt(math.pi) * x * math.exp(x * x) * float(erf(x)) - ste)


def drying_front(
    over: float, under: float, L: float, dry: tuple[float, float], wet: tuple[float, float]
) -> float:
    """Root x of Neumann's problem, both sides conducting: front at 2 x sqrt(alpha_dry t) (eq. E2).

    Parameters
    ----------
    over : float
        Surface temperature minus phase-change temperature [K].
    under : float
        Phase-change temperature minus initial temperature [K].
    L : float
        Heat taken up by the front per volume [J/m3].
    dry, wet : (k, C)
        Conductivity [W/m/K] and heat capacity per volume [J/m3/K] on either side.

    Carslaw & Jaeger 1959, section 11.2.
    """
    ratio = math.sqrt(dry[0] / dry[1] / (wet[0] / wet[1]))
    effusivities = math.sqrt(wet[0] * wet[1] / (dry[0] * dry[1]))

    def imbalance(x: float) -> float:
        gain = math.exp(-x * x) / float(erf(x))
        # exp(-(ratio x)^2) / erfc(ratio x) is 1 / erfcx(ratio x).
        loss = effusivities * under / over / float(erfcx(ratio * x))
        return loss + math.sqrt(math.pi) * x * L / (dry[1] * over) - gain

    return _positive_root(imbalance)


def drying_front_rise(
    z: Values,
    t: float,
    over: float,
    under: float,
    L: float,
    dry: tuple[float, float],
    wet: tuple[float, float],
) -> Array:
    """Rise [K] in Neumann's problem above the initial temperature; see `drying_front` (eq. E3)."""
    z = np.asarray(z, dtype=float)
    root = drying_front(over, under, L, dry, wet)
    length, length_wet = math.sqrt(dry[0] / dry[1] * t), math.sqrt(wet[0] / wet[1] * t)
    inside = under + over * (1.0 - erf(z / (2.0 * length)) / erf(root))
    outside = under * erfc(z / (2.0 * length_wet)) / erfc(root * length / length_wet)
    return np.where(z < 2.0 * root * length, inside, outside)


def _positive_root(function: Callable[[float], float]) -> float:
    """Root of an increasing function between 0 and 20; Stefan roots beyond 20 mean exp(400)."""
    return float(brentq(function, 1e-12, 20.0, xtol=1e-15, rtol=1e-14))


def preheat_time(rise: float, q: float, k: float, C: float) -> float:
    """Time [s] until the surface of an opaque target has warmed by `rise` (eq. F1). Landau 1950."""
    return math.pi * k * C * rise**2 / (4.0 * q**2)


def ablation_speed(rise: float, q: float, C: float, L: float) -> float:
    """Steady speed of an ablating surface [m/s], by its heat balance alone (eq. F2). Landau 1950."""
    return q / (L + C * rise)


def ablation_rise(z: Values, rise: float, v: float, k: float, C: float) -> Array:
    """Steady rise [K] at depth `z` below an opaque ablating surface (eq. F3). Landau 1950."""
    return np.asarray(rise * np.exp(-v * C / k * np.asarray(z, dtype=float)))


def ablation_stored_heat(rise: float, v: float, k: float) -> float:
    """Heat that runs ahead of a steady opaque ablating surface [J/m2] (eq. F4). Landau 1950."""
    return k * rise / v


def ablation_depth_bounds(
    t: float, rise: float, q: float, k: float, C: float, L: float
) -> tuple[float, float]:
    """Least and greatest depth [m] ablated from an opaque target after `t` (eq. F5).

    The heat stored rises from that at the end of the preheat to that of the steady front, since the front
    only ever gains speed (Landau 1950); the heat balance turns both into depths.
    """
    v = ablation_speed(rise, q, C, L)
    least = v * t - ablation_stored_heat(rise, v, k) / (L + C * rise)
    return max(0.0, least), max(0.0, v * (t - preheat_time(rise, q, k, C)))


def burning_rise(
    q: float, C: float, initial: float, burning: float, speed: float, activation: float
) -> float:
    """Rise [K] of a dry face that burns back steadily (eq. F6).

    It burns at `speed` [m/s] where it is `burning` [K], with the `activation` temperature [K] of that speed;
    it comes up from `initial` [K].
    """

    def imbalance(rise: float) -> float:
        face = initial + rise
        return math.log(speed * C * rise / q) + activation / burning - activation / face

    return float(brentq(imbalance, 1e-3, 1e5, rtol=1e-13))


@dataclass(frozen=True)
class VolumetricFront:
    """Steady front that evaporates at its surface while light is absorbed below it (eq. G1 to G4).

    The surface stays `rise` [K] above the initial temperature and nothing boils below it, so a maximum
    forms inside. Dabby & Paek 1972. `L` may be 0.
    """

    q: float
    mu: float
    k: float
    C: float
    rise: float
    L: float

    @property
    def v(self) -> float:
        """Speed [m/s]."""
        return ablation_speed(self.rise, self.q, self.C, self.L)

    def rise_at(self, z: Values) -> Array:
        """Rise [K] at depth `z` below the surface."""
        decay = self.v * self.C / self.k
        conducted = self.rise * np.exp(-decay * np.asarray(z, dtype=float))
        return np.asarray(conducted + self.q / self.k * exponential_difference(z, self.mu, decay))

    @property
    def peak_depth(self) -> float:
        """Depth of the hottest point [m]."""
        decay, latent = self.v * self.C / self.k, self.L / self.C
        scale = latent / (decay * latent + self.mu * self.rise)
        x = (self.mu - decay) * scale
        return scale * (math.log1p(x) / x if abs(x) > 1e-8 else 1.0 - 0.5 * x)

    @property
    def peak_rise(self) -> float:
        """Rise at the hottest point [K]."""
        return float(self.rise_at(self.peak_depth))

    @property
    def stored_heat(self) -> float:
        """Heat below the surface [J/m2]: an opaque front's, and the ablation heat of one 1 / mu."""
        return ablation_stored_heat(self.rise, self.v, self.k) + self.q / (self.v * self.mu)


def exponential_difference(z: Values, a: float, b: float) -> Array:
    """(exp(-a z) - exp(-b z)) / (b - a) [m], also where `a` and `b` [1/m] are close or equal."""
    z = np.asarray(z, dtype=float)
    return np.asarray(z * np.exp(-min(a, b) * z) * exprel(-abs(b - a) * z))


@dataclass(frozen=True)
class BoilingFront:
    """Steady front of a liquid with a boiling zone under its surface (eq. G13 to G15).

    Nothing holds its steam back: down to `zone` it sits at its boiling point and all light goes into
    evaporation; below, it warms. At the surface the last of it evaporates.
    """

    q: float
    mu: float
    k: float
    C: float
    rise: float
    L: float
    """Of all its water [J/m3]."""

    @property
    def v(self) -> float:
        """Speed [m/s]."""
        return ablation_speed(self.rise, self.q, self.C, self.L)

    @property
    def zone(self) -> float:
        """Thickness of the boiling zone [m]."""
        return math.log1p(self.L / (self.C * self.rise)) / self.mu

    def evaporated_at(self, z: Values) -> Array:
        """Share of its water that has evaporated [-] at depth `z`; 0 below the zone."""
        left = np.exp(-self.mu * np.minimum(np.asarray(z, dtype=float), self.zone))
        return np.asarray(self.q / (self.v * self.L) * (left - math.exp(-self.mu * self.zone)))

    def rise_at(self, z: Values) -> Array:
        """Rise [K] at depth `z` below the surface."""
        below = np.maximum(np.asarray(z, dtype=float) - self.zone, 0.0)
        difference = exponential_difference(below, self.mu, self.v * self.C / self.k)
        return np.asarray(self.rise * (np.exp(-self.mu * below) + self.mu * difference))

    @property
    def warm_heat(self) -> float:
        """Heat of warming (without evaporation) that travels with the front [J/m2]."""
        return self.C * self.rise * (self.zone + 1.0 / self.mu) + self.k * self.rise / self.v
