"""Beam: profile, diameter with its definition, and the share of its power inside any circle or square.

Special functions are imported where a profile needs them: they load longer than a short shot takes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Shape:
    """Formulas of an irradiance that falls with the distance r from the axis, over the beam's radius.

    Each takes first the number that tells one shape of a kind from another, `number` of a beam.
    """

    number: Callable[[Beam], float]
    """Exponent or inner ratio [-]."""
    share: Callable[[float, Array], Array]
    """Share of the power within r [-]."""
    radius: Callable[[float, float], float]
    """r that holds a share of the power [-]."""
    fall: Callable[[float, Array], Array]
    """Irradiance at r over the highest [-]."""
    peak: Callable[[float], float]
    """Highest irradiance over that of the power spread evenly within r = 1 [-]."""
    moment: Callable[[float], float]
    """Standard deviation along x over the radius [-]."""
    ends: bool
    """Whether nothing lies beyond r = 1."""


def _gaussian(number: Callable[[Beam], float]) -> Shape:
    """exp(-2 r^n)."""
    return Shape(
        number=number,
        share=_gaussian_share,
        radius=_gaussian_radius,
        fall=lambda n, r: np.asarray(np.exp(-2.0 * r**n)),
        peak=lambda n: n * 2.0 ** (2.0 / n) / (2.0 * math.gamma(2.0 / n)),
        moment=lambda n: math.sqrt(2.0 ** (-2.0 / n) * math.gamma(4.0 / n) / math.gamma(2.0 / n) / 2.0),
        ends=False,
    )


def _disc(number: Callable[[Beam], float]) -> Shape:
    """Even from r = e, the inner ratio, to 1."""
    return Shape(
        number=number,
        share=lambda e, r: np.clip((r**2 - e**2) / (1.0 - e**2), 0.0, 1.0),
        radius=lambda e, share: math.sqrt(share + (1.0 - share) * e**2),
        fall=lambda e, r: np.where((r <= 1.0) & (r >= e), 1.0, 0.0),
        peak=lambda e: 1.0 / (1.0 - e**2),
        moment=lambda e: 0.5 * math.sqrt(1.0 + e**2),
        ends=True,
    )


def _gaussian_share(n: float, radius: Array) -> Array:
    """Share of the power of exp(-2 r^n) within `radius`."""
    if n == 2.0:
        return -np.expm1(-2.0 * radius**2)
    from scipy.special import gammainc

    return np.asarray(gammainc(2.0 / n, 2.0 * radius**n))


def _gaussian_radius(n: float, share: float) -> float:
    """Radius that holds `share` of the power of exp(-2 r^n)."""
    if n == 2.0:
        return math.sqrt(-0.5 * math.log1p(-share))
    from scipy.special import gammaincinv

    return float((gammaincinv(2.0 / n, share) / 2.0) ** (1.0 / n))


class Profile(StrEnum):
    """Shape of the irradiance across the beam: the one table of them, each with its formulas."""

    shape: Shape

    def __new__(cls, word: str, shape: Shape | None = None) -> Profile:
        """A profile by its word; raises TypeError without a shape."""
        if shape is None:
            raise TypeError(f"the profile {word!r} has no shape")
        profile = str.__new__(cls, word)
        profile._value_, profile.shape = word, shape
        return profile

    GAUSSIAN = "gaussian", _gaussian(lambda beam: 2.0)
    FLAT_TOP = "flat-top", _disc(lambda beam: 0.0)
    SUPER_GAUSSIAN = "super-gaussian", _gaussian(lambda beam: beam.order)
    ANNULAR = "annular", _disc(lambda beam: beam.inner_ratio)


class Definition(StrEnum):
    """How a beam diameter is meant (ISO 11146-1 terms)."""

    E2 = "1/e2"
    D4SIGMA = "D4sigma"
    D86 = "86.5 %"


@dataclass(frozen=True)
class Beam:
    """A round beam. `radius` is its scale: 1/e2 radius, or the outer edge of a flat-top or annular beam."""

    wavelength: float
    """[m]."""
    radius: float
    """[m], see `beam_radius` for other definitions."""
    profile: Profile = Profile.GAUSSIAN
    order: float = 2.0
    """n of a super-gaussian, exp(-2 (r / radius)^n)."""
    inner_ratio: float = 0.0
    """Inner over outer radius of an annular beam."""
    plume_transmittance: float = 1.0
    """Share of the beam that gets through the plume [-]."""
    centre: tuple[float, float] = (0.0, 0.0)
    """Where the beam starts, x and y [m]; not 0 on a lattice only."""
    scan_speed: float = 0.0
    """Speed along x [m/s]; not 0 on a lattice only."""

    @property
    def _number(self) -> float:
        """What its shape's formulas take first."""
        return self.profile.shape.number(self)

    def encircled(self, radius: Array) -> Array:
        """Share of the power within each `radius` [m] of the axis [-]."""
        return self.profile.shape.share(self._number, np.asarray(radius, dtype=float) / self.radius)

    @property
    def reach(self) -> float:
        """Radius [m] that holds all but 1e-6 of the power."""
        shape = self.profile.shape
        return self.radius if shape.ends else self.radius * shape.radius(self._number, 1.0 - 1e-6)

    @property
    def peak_irradiance(self) -> float:
        """Highest irradiance for 1 W [1/m2]."""
        return self.mean_irradiance * self.profile.shape.peak(self._number)

    @property
    def mean_irradiance(self) -> float:
        """Power over the area of the circle of `radius`, for 1 W [1/m2]."""
        return 1.0 / (math.pi * self.radius**2)

    def on_cell_square(self, x: tuple[Array, Array], y: tuple[Array, Array]) -> Array:
        """Share of the power on rectangles with edges `x` = (low, high) and `y` [m], beam on the axis."""
        if self.profile is Profile.GAUSSIAN:
            from scipy.special import erf

            s = math.sqrt(2.0) / self.radius
            return np.asarray((erf(s * x[1]) - erf(s * x[0])) * (erf(s * y[1]) - erf(s * y[0])) / 4.0)
        return self._sampled_square(x, y)

    def _sampled_square(self, x: tuple[Array, Array], y: tuple[Array, Array], points: int = 16) -> Array:
        """As `on_cell_square` by midpoint sampling; exact in the limit of many points."""
        at = (np.arange(points) + 0.5) / points
        total = np.zeros(np.broadcast(x[0], y[0]).shape)
        for fx in at:
            px = x[0] + fx * (x[1] - x[0])
            for fy in at:
                total += self.irradiance(np.hypot(px, y[0] + fy * (y[1] - y[0])))
        return total / points**2 * (x[1] - x[0]) * (y[1] - y[0])

    def irradiance(self, radius: Array) -> Array:
        """Irradiance at `radius` [m] for 1 W [1/m2]."""
        scaled = np.asarray(radius, dtype=float) / self.radius
        return self.peak_irradiance * self.profile.shape.fall(self._number, scaled)


def beam_radius(
    diameter: float,
    definition: Definition,
    profile: Profile = Profile.GAUSSIAN,
    order: float = 2.0,
    inner_ratio: float = 0.0,
) -> float:
    """Radius [m] that `Beam` takes, from a `diameter` [m] by any `definition`.

    A gaussian has the same diameter by all three (ISO 11146-1). For the others the second moment and
    the 86.5 % circle follow from the profile in closed form.
    """
    shape, number = profile.shape, profile.shape.number(Beam(1.0, 1.0, profile, order, inner_ratio))
    if definition is Definition.E2:
        return diameter / 2.0
    if definition is Definition.D86:
        return diameter / (2.0 * shape.radius(number, 1.0 - math.exp(-2.0)))
    return diameter / (4.0 * shape.moment(number))


def focused_radius(
    focal_length: float, input_diameter: float, beam_quality: float, wavelength: float, defocus: float
) -> float:
    """1/e2 radius [m] at `defocus` [m] from the waist behind a thin lens (gaussian optics, ISO 11146).

    w0 = M2 lambda f / (pi w_in), zR = pi w0^2 / (M2 lambda), w = w0 sqrt(1 + (z / zR)^2).
    """
    if beam_quality < 1.0:
        raise InputError("beam.optics.beam_quality", "M2 of at least 1", f"{beam_quality:g}")
    waist = beam_quality * wavelength * focal_length / (math.pi * input_diameter / 2.0)
    rayleigh_range = math.pi * waist**2 / (beam_quality * wavelength)
    return waist * math.hypot(1.0, defocus / rayleigh_range)
