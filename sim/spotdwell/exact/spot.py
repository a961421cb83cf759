"""Gaussian spots and point sources on a half-space: at rest or moving, opaque or with finite absorption."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad, quad_vec
from scipy.special import ive

from spotdwell.exact.conduction import absorption_pulse_kernel

Array = NDArray[np.float64]
Values = float | Array


def spot_centre_rise(t: Values, P: float, w: float, k: float, C: float) -> Array:
    """Rise [K] at the centre of a gaussian surface source after `t`, which may be infinite (eq. C1).

    Steady value P / (sqrt(2 pi) k w). From Carslaw & Jaeger 1959, section 10.5 (gaussian disc).
    """
    angle = np.arctan(np.sqrt(8.0 * k / C * np.asarray(t, dtype=float)) / w)
    return np.asarray(math.sqrt(2.0) * P / (math.pi**1.5 * k * w) * angle)


def spot_steady_profile(r: Values, w: float) -> Array:
    """Steady surface rise at `r` over that at the centre, gaussian surface source [-] (eq. C2).

    exp(-u) I0(u) with u = (r / w)^2. Lax 1977.
    """
    return np.asarray(ive(0, (np.asarray(r, dtype=float) / w) ** 2))


def finite_absorption_ratio(W: float) -> float:
    """Steady centre rise with finite absorption over that of an opaque target [-] (eq. D1).

    `W` = mu times the 1/e beam radius (w / sqrt 2). Lax 1977.
    """
    # The tail beyond lambda = 40 is below exp(-400).
    value, _ = quad(lambda x: math.exp(-(x**2) / 4.0) * W / (W + x), 0.0, 40.0, epsabs=1e-13, epsrel=1e-12)
    return float(value / math.sqrt(math.pi))


def spot_rise(
    x: Values,
    y: Values,
    z: Values,
    t: float,
    P: float,
    w: float,
    k: float,
    C: float,
    mu: float = math.inf,
    v: float = 0.0,
    tolerance: float = 1e-10,
) -> Array:
    """Rise [K] a time `t`, which may be infinite, after a gaussian beam came on (eq. C3, D2, H2).

    Parameters
    ----------
    x, y, z : float or array, broadcast together
        Position [m] from the beam's axis as it is now; a beam moving towards +x leaves its trail at x < 0.
    mu : float
        Absorption coefficient [1/m]; infinite for a surface source.
    v : float
        Speed of the beam along x [m/s].
    tolerance : float
        Error relative to the largest value.

    Notes
    -----
    The source of each past moment, spread by a gaussian along the surface and by `absorption_pulse_kernel`
    in depth, is summed over the time since. With tan(phi) = sqrt(8 alpha (time since)) / w the integral has
    a finite range and no singularity. Carslaw & Jaeger 1959, chapter 10, with their instantaneous sources.
    """
    x, y, z = (np.asarray(value, dtype=float) for value in (x, y, z))
    alpha = k / C

    def moment(phi: float) -> Array:
        spread = w * math.tan(phi) / math.sqrt(8.0)
        behind = x + v * spread**2 / alpha
        across = np.exp(-2.0 * (behind**2 + y**2) * (math.cos(phi) / w) ** 2)
        return np.asarray(across * math.tan(phi) * absorption_pulse_kernel(z, spread, mu))

    end = math.atan(math.sqrt(8.0 * alpha * t) / w)
    # Heat laid down within the absorption depth spreads early: the break helps where mu w is large.
    early = end / (2.0 + mu * w) if mu < math.inf else 0.5 * end
    total, _ = quad_vec(moment, 0.0, end, 0.0, tolerance, norm="max", points=(early,), limit=2000)
    return np.asarray(P / (2.0 * math.pi * k) * total)


def moving_point_rise(x: Values, y: Values, z: Values, Q: float, k: float, C: float, v: float) -> Array:
    """Steady rise [K] around a point source of `Q` [W] moving along +x on a half-space (eq. H1).

    Position is taken from the source; the trail is at x < 0. Rosenthal 1946.
    """
    distance = np.sqrt(np.square(x) + np.square(y) + np.square(z))
    return np.asarray(Q / (2.0 * math.pi * k * distance) * np.exp(-v * C / (2.0 * k) * (distance + x)))


def swept_spot_rise(
    y: Values,
    z: Values,
    t: float,
    P: float,
    w: float,
    k: float,
    C: float,
    v: float,
    mu: float = math.inf,
    along: bool = True,
    tolerance: float = 1e-10,
) -> Array:
    """Rise [K] in the plane x = 0 across an endless line, `t` after the beam's axis went through (eq. S1).

    Parameters
    ----------
    y, z : float or array, broadcast together
        Distance from the line, and depth [m].
    t : float
        Time since the axis passed [s]; negative before.
    along : bool
        False: without conduction along the line, as in a slice; True: as `spot_rise` in its steady state.
    tolerance : float
        Error relative to the largest value.

    Notes
    -----
    As eq. H2, with the width along the line kept for a slice.
    """
    y, z = np.asarray(y, dtype=float), np.asarray(z, dtype=float)
    alpha = k / C

    def moment(root: float) -> Array:
        age = root**2
        wide = w**2 + 8.0 * alpha * age
        length = wide if along else w**2
        here = np.exp(-2.0 * y**2 / wide - 2.0 * (v * (t - age)) ** 2 / length)
        kernel = absorption_pulse_kernel(z, max(math.sqrt(alpha * age), 1e-12 * w), mu)
        return np.asarray(2.0 * root * here / math.sqrt(wide * length) * kernel)

    # Far behind the beam what still arrives was laid down at the latest some radii after it passed.
    latest = t + 6.0 * w / v + (0.0 if not along else 150.0 * alpha / v**2)
    if latest <= 0.0:
        return np.zeros(np.broadcast(y, z).shape)
    earliest = max(t - 3.0 * w / v, 0.0)
    points = [math.sqrt(one) for one in (earliest, max(t, 0.0), t + 3.0 * w / v) if 0.0 < one < latest]
    total, _ = quad_vec(moment, 0.0, math.sqrt(latest), 0.0, tolerance, norm="max", points=points, limit=2000)
    return np.asarray(2.0 * P / (math.pi * C) * total)


def slice_error(peclet: float, absorption: float = math.inf) -> float:
    """Highest surface rise of a slice over that with conduction along the line, less 1 [-] (eq. 25).

    `peclet` is v w / alpha, `absorption` is mu w; on the axis of one gaussian line.
    """
    from scipy.optimize import minimize_scalar

    def highest(along: bool) -> float:
        def cool(time: float) -> float:
            return -float(swept_spot_rise(0.0, 0.0, time, 1.0, 1.0, 1.0, 1.0, peclet, absorption, along))

        found = minimize_scalar(cool, bounds=(-1.0 / peclet, 3.0 / peclet), method="bounded")
        return -float(found.fun)

    return highest(False) / highest(True) - 1.0
