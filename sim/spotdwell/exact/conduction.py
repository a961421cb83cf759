"""Conduction in a half-space heated at or below its surface, cooled or in contact; and decaying modes."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf, erfc, erfcx, gamma, j0

Array = NDArray[np.float64]
Values = float | Array


def _diffusion_length(t: Values, k: float, C: float) -> Array:
    """sqrt(alpha t) [m]."""
    return np.sqrt(k / C * np.asarray(t, dtype=float))


def _ierfc(x: Array) -> Array:
    """Integral of erfc from `x` to infinity, without cancellation against the gaussian."""
    return np.asarray(np.exp(-(x**2)) * (1.0 / math.sqrt(math.pi) - x * erfcx(x)))


def surface_flux_rise(z: Values, t: Values, q: float, k: float, C: float) -> Array:
    """Rise [K] at depth `z` after `t` > 0 of constant flux `q` into the surface (eq. A1).

    At z = 0 it is (2 q / k) sqrt(alpha t / pi). Carslaw & Jaeger 1959, section 2.9.
    """
    s = _diffusion_length(t, k, C)
    return np.asarray(2.0 * q / k * s * _ierfc(np.asarray(z, dtype=float) / (2.0 * s)))


def plane_pulse_rise(z: Values, t: Values, E: float, k: float, C: float) -> Array:
    """Rise [K] at time `t` > 0 after `E` [J/m2] was put into the insulated surface at once (eq. A2).

    Its maximum over time at depth z is sqrt(2 / (pi e)) E / (C z). Carslaw & Jaeger 1959, section 10.3.
    """
    s = _diffusion_length(t, k, C)
    return np.asarray(E / (C * math.sqrt(math.pi) * s) * np.exp(-((np.asarray(z) / (2.0 * s)) ** 2)))


def absorption_pulse_kernel(z: Values, s: Values, mu: float) -> Array:
    """Spread of a unit of heat laid down as mu exp(-mu z) under an insulated surface [1/m] (eq. B3).

    `s` = sqrt(alpha t) > 0 [m] is the diffusion length since. An infinite `mu` is a surface source.
    """
    z, s = np.asarray(z, dtype=float), np.asarray(s, dtype=float)
    gaussian = np.exp(-((z / (2.0 * s)) ** 2))
    if math.isinf(mu):
        return np.asarray(gaussian / (math.sqrt(math.pi) * s))
    return np.asarray(0.5 * mu * _mirrored_pair(z, s, mu, gaussian))


def _mirrored_pair(z: Array, s: Array, mu: float, gaussian: Array) -> Array:
    """exp(mu^2 s^2) [exp(-mu z) erfc(mu s - z/2s) + exp(mu z) erfc(mu s + z/2s)] without overflow."""
    near = mu * s - z / (2.0 * s)
    # Where `near` is negative the exponent below is too, so the plain product is the safe form.
    plain = np.exp(np.minimum(mu * s * (mu * s) - mu * z, 0.0)) * erfc(np.minimum(near, 0.0))
    first = np.where(near < 0.0, plain, gaussian * erfcx(np.maximum(near, 0.0)))
    return np.asarray(first + gaussian * erfcx(mu * s + z / (2.0 * s)))


def absorption_rise(z: Values, t: Values, q: float, mu: float, k: float, C: float) -> Array:
    """Rise [K] at depth `z` after `t` > 0 of irradiance `q` absorbed as mu q exp(-mu z) (eq. B1).

    Insulated surface. Round-off is about 1e-16 q / (k mu). Carslaw & Jaeger 1959, section 2.11.
    """
    s, z = _diffusion_length(t, k, C), np.asarray(z, dtype=float)
    x = z / (2.0 * s)
    pair = _mirrored_pair(z, s, mu, np.exp(-(x**2)))
    return np.asarray(q / k * (2.0 * s * _ierfc(x) + (0.5 * pair - np.exp(-mu * z)) / mu))


def absorption_surface_rise(F: Values) -> Array:
    """Scaled surface rise theta = k mu dT / q [-] at scaled time `F` = mu^2 alpha t (eq. B2).

    The surface of `absorption_rise`: theta = 2 sqrt(F / pi) - 1 + exp(F) erfc(sqrt(F)), below F = 0.01 by
    its power series, which does not cancel.
    """
    x = np.sqrt(np.asarray(F, dtype=float))
    small = np.minimum(x, 0.1)
    series = sum((-small) ** n / gamma(n / 2.0 + 1.0) for n in range(2, 16))
    closed = 2.0 * x / math.sqrt(math.pi) - 1.0 + erfcx(x)
    return np.asarray(np.where(x < 0.1, series, closed))


def surface_loss_rise(z: Values, t: Values, h: float, difference: float, k: float, C: float) -> Array:
    """Rise [K] in a half-space whose surroundings are `difference` [K] warmer, coefficient `h` (eq. L1).

    `h` [W/m2/K] may be infinite: the surface is then held. Carslaw & Jaeger 1959, section 2.7.
    """
    s = _diffusion_length(t, k, C)
    x = np.asarray(z, dtype=float) / (2.0 * s)
    if math.isinf(h):
        return np.asarray(difference * erfc(x))
    return np.asarray(difference * (erfc(x) - np.exp(-(x**2)) * erfcx(x + h * s / k)))


def contact_rise(
    z: Values, t: Values, difference: float, upper: tuple[float, float], lower: tuple[float, float]
) -> Array:
    """Rise [K] when an upper half-space (z < 0), `difference` [K] warmer, touches the lower one (eq. M1).

    `upper` and `lower` are (k, C). Rises are above the lower one's initial temperature; the interface
    stays at the mean weighted by the effusivities sqrt(k C). Carslaw & Jaeger 1959, section 2.15.
    """
    z = np.asarray(z, dtype=float)
    above, below = math.sqrt(upper[0] * upper[1]), math.sqrt(lower[0] * lower[1])
    interface = difference * above / (above + below)
    up, down = np.maximum(-z, 0.0), np.maximum(z, 0.0)
    over = interface + (difference - interface) * erf(up / (2.0 * _diffusion_length(t, *upper)))
    under = interface * erfc(down / (2.0 * _diffusion_length(t, *lower)))
    return np.where(z < 0.0, over, under)


def diffusion_mode(
    r: Values, z: Values, t: Values, root: float, waves: int, radius: float, depth: float, alpha: float
) -> Array:
    """Decaying mode J0(root r / radius) cos(waves pi z / depth) of an insulated cylinder [-] (eq. N1).

    `root` is a zero of the Bessel function J1 (0 for a slab), `alpha` [m2/s] the diffusivity.
    """
    radial, axial = root / radius, waves * math.pi / depth
    decay = np.exp(-alpha * (radial**2 + axial**2) * np.asarray(t, dtype=float))
    return np.asarray(j0(radial * np.asarray(r)) * np.cos(axial * np.asarray(z)) * decay)
