"""Steady front of wet tissue that superheats, lets steam escape, and is thrown out at its face."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from spotdwell.exact.fronts import exponential_difference

Array = NDArray[np.float64]
Values = float | Array


@dataclass(frozen=True)
class RuptureFront:
    """Steady front: absorption in depth, escaping steam, rupture at the insulated face (eq. G5 to G10).

    Down to `zone` tissue is superheated and its steam escapes; below, it warms. Conductivity, heat capacity
    and absorption do not change as it dries. Below `least_irradiance` there is no such front, and finding its
    speed raises ValueError.
    """

    q: float
    mu: float
    k: float
    C: float
    boiling: float
    """Rise at which water boils [K]."""
    rupture: float
    """Rise at which the face leaves [K]."""
    latent_heat: float
    """Of the water [J/kg]."""
    escape_time: float
    """Time in which superheat is spent on steam [s]; may be infinite."""

    @property
    def limit(self) -> float:
        """Superheat of the face [J/m3]."""
        return self.C * (self.rupture - self.boiling)

    @property
    def least_irradiance(self) -> float:
        """Absorbed irradiance [W/m2] at which a face that stands still comes to its rupture (eq. G9)."""
        return self.limit * (1.0 / (self.mu * self.escape_time) + math.sqrt(self._alpha / self.escape_time))

    @cached_property
    def v(self) -> float:
        """Speed [m/s]."""
        if self.q <= self.least_irradiance:
            raise ValueError("steam takes all the heat before the face ruptures")
        fastest = self.q / (self.C * self.rupture)
        if math.isinf(self.escape_time):
            return fastest
        # Faster than `barred` tissue would come to the face before it is warmed to its rupture.
        share = self.q / self.limit - 1.0 / (self.mu * self.escape_time)
        barred = share - self._alpha / (self.escape_time * share)
        most = min(fastest, barred * (1.0 - 1e-12))
        return most if self._surplus(most) <= 0.0 else _root(self._surplus, 1e-9 * most, most)

    @property
    def zone(self) -> float:
        """Depth [m] down to which tissue is superheated."""
        return self._zone(self.v)

    def rise_at(self, z: Values) -> Array:
        """Rise [K] at depth `z` below the face."""
        z, zone = np.asarray(z, dtype=float), self.zone
        hot = self.boiling + self._superheat(np.minimum(z, zone), self.v) / self.C
        below = np.maximum(z - zone, 0.0)
        decay = self.v / self._alpha
        fed = self.q * math.exp(-self.mu * zone) / self.k * exponential_difference(below, self.mu, decay)
        return np.asarray(np.where(z < zone, hot, self.boiling * np.exp(-decay * below) + fed))

    def evaporated_at(self, z: Values) -> Array:
        """Water that has escaped [kg/m3] at depth `z` (eq. G8); 0 below the zone."""
        return np.asarray(self._spent(np.minimum(z, self.zone), self.v) / (self.v * self.latent_heat))

    @property
    def evaporated(self) -> float:
        """Water that has escaped from tissue as it leaves [kg/m3]."""
        return float(self.evaporated_at(0.0))

    @property
    def _alpha(self) -> float:
        return self.k / self.C

    def _decays(self, v: float) -> tuple[float, float]:
        """Both rates [1/m] at which superheat without light falls with depth; the second is negative."""
        root = math.sqrt(v * v + 4.0 * self._alpha / self.escape_time)
        fall = (v + root) / (2.0 * self._alpha)
        return fall, -1.0 / (self._alpha * self.escape_time * fall)

    def _superheat(self, z: Values, v: float) -> Array:
        """Heat above boiling [J/m3] in the zone of a front at speed `v`, whose face is flat at rupture."""
        fall, growth = self._decays(v)
        z = np.asarray(z, dtype=float)
        own = (fall * np.exp(-growth * z) - growth * np.exp(-fall * z)) * self.limit
        lit = exponential_difference(z, growth, self.mu) - exponential_difference(z, fall, self.mu)
        return np.asarray((own - self.mu * self.q / self._alpha * lit) / (fall - growth))

    def _slope(self, z: Values, v: float) -> Array:
        """Derivative of `_superheat` by depth [J/m4]."""
        fall, growth = self._decays(v)
        z = np.asarray(z, dtype=float)
        own = fall * growth * (np.exp(-fall * z) - np.exp(-growth * z)) * self.limit
        # d/dz of (exp(-a z) - exp(-mu z)) / (mu - a) is exp(-mu z) - a times itself.
        lit = fall * exponential_difference(z, fall, self.mu) - growth * exponential_difference(
            z, growth, self.mu
        )
        return np.asarray((own - self.mu * self.q / self._alpha * lit) / (fall - growth))

    def _zone(self, v: float) -> float:
        """Depth [m] at which a front at speed `v` stops being superheated."""
        deep = 1.0 / self.mu
        while float(self._superheat(deep, v)) > 0.0:
            deep *= 2.0
        return _root(lambda z: -float(self._superheat(z, v)), 0.0, deep)

    def _spent(self, z: Values, v: float) -> Array:
        """Heat that escapes with steam below `z`, down to the zone's end [W/m2], by what comes and stays."""
        arrives = self.q * np.exp(-self.mu * np.asarray(z, dtype=float))
        held = v * (self.C * self.boiling + self._superheat(z, v))
        return np.asarray(arrives - self._alpha * self._slope(z, v) - held)

    def _surplus(self, v: float) -> float:
        """Flux [W/m2] by which what leaves the zone downwards exceeds what warms tissue to boiling."""
        zone = self._zone(v)
        lit = self.q * math.exp(-self.mu * zone)
        return self._alpha * float(self._slope(zone, v)) - lit + v * self.C * self.boiling


def drying_irradiance(front: RuptureFront, spare: float) -> float:
    """Absorbed irradiance [W/m2] below which `front` would need more than `spare` water (eq. G11).

    `spare` [kg/m3] is the water before the shot less the least that throws tissue out: below this irradiance
    the face dries before it ruptures. The irradiance of `front` itself has no part in it.
    """
    heat = front.C * front.rupture + front.latent_heat * spare

    def surplus(v: float) -> float:
        return -replace(front, q=v * heat)._surplus(v)

    # Slower fronts of this heat do not come to rupture however deep they are superheated.
    share, b = heat / front.limit, 1.0 / (front.mu * front.escape_time)
    spread = 4.0 * share * (share - 1.0) * front.k / (front.C * front.escape_time)
    slow = (b * (2.0 * share - 1.0) + math.sqrt(b * b + spread)) / (2.0 * share * (share - 1.0))
    fast = 2.0 * slow
    while surplus(fast) < 0.0:
        fast *= 2.0
    return heat * _root(surplus, slow * (1.0 + 1e-12), fast)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Root of a function that grows from below to above 0 between `low` and `high`."""
    return float(brentq(function, low, high, xtol=1e-15 * high, rtol=1e-13))
