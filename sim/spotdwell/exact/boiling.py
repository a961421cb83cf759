"""Steady front of a target that cannot pass its boiling point while wet, and is thrown out by its steam."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from spotdwell.exact.fronts import exponential_difference

Array = NDArray[np.float64]
Values = float | Array


@dataclass(frozen=True)
class BoilingFront:
    """Steady front with a boiling zone under its surface (eq. G5 to G9).

    Down to `zone` the target sits at its boiling point and all light goes into evaporation; below, it
    warms. Absorption falls in proportion to the water, from `mu` wet to `mu_dry` dry, and is constant
    where both are equal. What has evaporated at the surface, `evaporated`, decides the speed.
    """

    q: float
    k: float
    C: float
    """Of the wet target."""
    rise: float
    latent_heat: float
    """Of the water [J/kg]."""
    water: float
    """Before the shot [kg/m3]."""
    evaporated: float
    """Water gone when a cell reaches the surface [kg/m3]."""
    mu: float
    mu_dry: float

    @property
    def v(self) -> float:
        """Speed [m/s]."""
        return self.q / (self.C * self.rise + self.latent_heat * self.evaporated)

    @property
    def zone(self) -> float:
        """Thickness of the boiling zone [m]."""
        return float(self._depth_of(self._warming))

    @property
    def _warming(self) -> float:
        """Water that the heat of warming would evaporate [kg/m3]: scaled irradiance under the zone."""
        return self.C * self.rise / self.latent_heat

    @property
    def _slope(self) -> float:
        """Absorption coefficient for each kg/m3 of water [m2/kg]."""
        return (self.mu - self.mu_dry) / self.water

    def _mu_of(self, j: Values) -> Array:
        """Absorption coefficient [1/m] where the scaled irradiance I / (v L_v) is `j` [kg/m3]."""
        # Not below 0, which round-off would make it where clear solids have lost all their water.
        return np.maximum(self.mu - self._slope * (np.asarray(j) - self._warming), 0.0)

    @property
    def _rate(self) -> float:
        """Rate at which ln(j / mu(j)) falls with depth in the zone [1/m]."""
        return self.mu + self._slope * self._warming

    def _depth_of(self, j: Values) -> Array:
        """Depth [m] in the zone where the scaled irradiance is `j`."""
        top = self._warming + self.evaporated
        return np.asarray(np.log(top / j * self._mu_of(j) / self._mu_of(top)) / self._rate)

    def evaporated_at(self, z: Values) -> Array:
        """Water evaporated [kg/m3] at depth `z`; 0 below the zone."""
        j = self._warming
        # Both sides of ln(j / mu(j)) = ln(j1 / mu) + rate (zone - z), solved for j.
        lift = np.exp(self._rate * np.maximum(self.zone - np.asarray(z, dtype=float), 0.0)) * j / self.mu
        return np.asarray(self._rate * lift / (1.0 + self._slope * lift) - j)

    def irradiance_at(self, z: Values) -> Array:
        """Irradiance [W/m2] that gets to depth `z`."""
        below = np.maximum(np.asarray(z, dtype=float) - self.zone, 0.0)
        scaled = self._warming + self.evaporated_at(z)
        return np.asarray(self.v * self.latent_heat * scaled * np.exp(-self.mu * below))

    def rise_at(self, z: Values) -> Array:
        """Rise [K] at depth `z` below the surface."""
        below = np.maximum(np.asarray(z, dtype=float) - self.zone, 0.0)
        difference = exponential_difference(below, self.mu, self.v * self.C / self.k)
        return np.asarray(self.rise * (np.exp(-self.mu * below) + self.mu * difference))

    @property
    def warm_heat(self) -> float:
        """Heat of warming (without evaporation) that travels with the front [J/m2]."""
        return self.C * self.rise * (self.zone + 1.0 / self.mu) + self.k * self.rise / self.v

    def steam_at_surface(self, escape_time: float) -> float:
        """Steam still trapped when a cell reaches the surface [kg/m3], leaking over `escape_time` [s]."""
        top = self._warming + self.evaporated
        power = 1.0 / (self._rate * self.v * escape_time)
        value, _ = quad(
            lambda j: float((j / top * self._mu_of(top) / self._mu_of(j)) ** power),
            self._warming,
            top,
            epsabs=0.0,
            epsrel=1e-11,
            limit=200,
        )
        return float(value)


def boiling_front(
    q: float,
    k: float,
    C: float,
    rise: float,
    latent_heat: float,
    water: float,
    ejected_share: float,
    mu: float,
    mu_dry: float | None = None,
    escape_time: float = math.inf,
) -> BoilingFront:
    """Steady front on which a cell leaves once its trapped steam is `ejected_share` of its `water` (eq. G10).

    Of two losses of water that give as much steam the lesser counts: the cell leaves at the first. `mu_dry`
    defaults to `mu`. Raises ValueError where steam escapes so fast that the surface dries.
    """
    need = ejected_share * water
    template = BoilingFront(q, k, C, rise, latent_heat, water, need, mu, mu if mu_dry is None else mu_dry)
    if math.isinf(escape_time):
        return template
    most = _steamiest(template, escape_time)
    if _steam(template, most, escape_time) < need:
        raise ValueError("the surface dries before its steam can throw it out")
    found = brentq(
        lambda m: _steam(template, m, escape_time) - need, need, most, xtol=1e-12 * need, rtol=1e-13
    )
    return replace(template, evaporated=float(found))


def drying_irradiance(
    C: float,
    rise: float,
    latent_heat: float,
    water: float,
    ejected_share: float,
    mu: float,
    escape_time: float,
    mu_dry: float | None = None,
) -> float:
    """Absorbed irradiance [W/m2] below which the surface dries before it is ejected (eq. G11).

    Below it the surface can char. It goes as 1 / `escape_time` and needs 0 < `ejected_share` < 1. `mu_dry`
    defaults to `mu`.
    """
    need = ejected_share * water
    dry = mu if mu_dry is None else mu_dry
    # Conduction does not enter: any conductivity will do.
    template = BoilingFront(1.0, 1.0, C, rise, latent_heat, water, need, mu, dry)

    def surplus(log_q: float) -> float:
        front = replace(template, q=math.exp(log_q))
        return _steam(front, _steamiest(front, escape_time), escape_time) - need

    # Steam cannot outlast its escape if made slower than `need` over it, whatever the absorption.
    scale = math.log(latent_heat * need / (max(mu, dry) * escape_time))
    return math.exp(float(brentq(surplus, scale, scale + 30.0, xtol=1e-13)))


def _steam(front: BoilingFront, evaporated: float, escape_time: float) -> float:
    """Steam at the surface [kg/m3] if `evaporated` had gone when a cell gets there."""
    return replace(front, evaporated=evaporated).steam_at_surface(escape_time)


def _steamiest(front: BoilingFront, escape_time: float) -> float:
    """Loss of water [kg/m3], from `front.evaporated` up, that leaves most steam at the surface.

    All of it if absorption does not fall with drying; else a lesser loss can leave more.
    """
    if front.mu_dry >= front.mu:
        return front.water
    bounds = (front.evaporated, front.water)
    found = minimize_scalar(
        lambda m: -_steam(front, m, escape_time),
        bounds=bounds,
        method="bounded",
        options={"xatol": 1e-9 * front.water},
    )
    return float(found.x)
