"""The spot that a lens gives, and the spot along the beam."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pydantic import ValidationError

from spotdwell.base import units
from spotdwell.base.errors import InputError, together
from spotdwell.inputs import quantities as q
from spotdwell.inputs.light import OpticsTable
from spotdwell.inputs.shot import nothing
from spotdwell.inputs.toml import schema_complaint
from spotdwell.model.beam import Beam, focused_radius

_NEEDED = {"focal_length": "125 mm", "input_diameter": "10 mm"}
"""What no lens goes without, with an example of each."""


class LensTable(OpticsTable):
    """A lens with the wavelength, and what is asked of it."""

    wavelength: q.Wavelength = 10.6e-6
    power: q.Power | None = None
    """On the target."""
    wanted: q.Length | None = None
    """Diameter that the surface should be given."""


def lens_of(**options: str | float | None) -> LensTable:
    """Table of the options that are not None. Raises InputError that names them."""
    given = {name: value for name, value in options.items() if value is not None}
    if missing := [name for name in _NEEDED if name not in given]:
        raise together([nothing(name, _NEEDED[name]) for name in missing], "settings")
    try:
        return LensTable.model_validate(given)
    except ValidationError as error:
        raise schema_complaint(error, LensTable, lambda key: key or "settings") from None


FEW_PERCENT = 1.05
"""Growth of the diameter within which the surface counts as in focus, in the stricter depth of focus."""
LOWEST_F_NUMBER = 2.0
"""Below it the edge rays' tangent and sine, which paraxial optics takes as equal, differ by over 3 %."""
LONG_LENS = 0.3
"""Focal length over the input beam's Rayleigh range from which the waist is over 4 % smaller than w0."""
BLURRED = 0.1
"""Spherical aberration is called noticeable from this share of the waist diameter."""
ZINC_SELENIDE_INDEX = 2.40
"""Refractive index of zinc selenide at 10.6 um (from memory), for the estimate of aberration."""


@dataclass(frozen=True)
class Spot:
    """A gaussian beam behind a thin lens; all SI. Diameters are 1/e2, which for a gaussian is D4sigma too.

    Defocus is the distance of the work surface from the waist, positive where it lies farther from the lens.
    """

    focal_length: float
    input_diameter: float
    """Of the beam on the lens [m]."""
    beam_quality: float
    """M2, the beam propagation ratio [-]."""
    wavelength: float
    defocus: float = 0.0
    power: float | None = None
    """On the target [W]; None: not given."""
    wanted: float | None = None
    """Diameter that the surface should be given [m]; None: not asked."""

    @property
    def waist_diameter(self) -> float:
        """Smallest diameter, at the focus [m]: 4 M2 lambda f / (pi D)."""
        return self.diameter_at(0.0)

    @property
    def rayleigh_range(self) -> float:
        """Distance from the waist at which the diameter is sqrt(2) times as large [m] (ISO 11145)."""
        return math.pi * self.waist_diameter**2 / (4.0 * self.beam_quality * self.wavelength)

    @property
    def depth_of_focus(self) -> float:
        """Twice the Rayleigh range [m]: the mean irradiance is at least half that of the waist within it."""
        return 2.0 * self.rayleigh_range

    @property
    def flat_depth(self) -> float:
        """Length along the axis on which the diameter exceeds the waist's by at most 5 % [m]."""
        return 2.0 * self.rayleigh_range * math.sqrt(FEW_PERCENT**2 - 1.0)

    @property
    def f_number(self) -> float:
        """Focal length over the 1/e2 diameter on the lens [-]."""
        return self.focal_length / self.input_diameter

    @property
    def input_rayleigh_range(self) -> float:
        """Rayleigh range of the beam on the lens, had it its waist there [m]."""
        return math.pi * self.input_diameter**2 / (4.0 * self.beam_quality * self.wavelength)

    @property
    def diameter(self) -> float:
        """At the work surface [m]."""
        return self.diameter_at(self.defocus)

    def diameter_at(self, defocus: float) -> float:
        """Diameter [m] at a distance `defocus` [m] from the waist."""
        lens = self.focal_length, self.input_diameter, self.beam_quality, self.wavelength
        return 2.0 * focused_radius(*lens, defocus)

    def peak_irradiance_at(self, defocus: float) -> float:
        """Irradiance on the axis [W/m2], 2 P / (pi w^2). Raises ValueError without a power."""
        return self._power * self._beam(defocus).peak_irradiance

    def mean_irradiance_at(self, defocus: float) -> float:
        """Power over the area of the 1/e2 circle, which holds 86.5 % of it [W/m2]; ValueError as above."""
        return self._power * self._beam(defocus).mean_irradiance

    def defocus_for(self, diameter: float) -> tuple[float | None, float]:
        """Defocus [m] nearer the lens and farther from it at which the beam is `diameter` [m] wide.

        The nearer one is None where it would lie at the lens or behind it. Raises InputError for a diameter
        below the waist's, with the lens or the input beam that would reach it.
        """
        waist = self.waist_diameter
        if diameter < waist * (1.0 - 1e-12):
            raise self._too_small(diameter)
        away = self.rayleigh_range * math.sqrt(max(0.0, (diameter / waist) ** 2 - 1.0))
        return (-away if away < self.focal_length else None), away

    @property
    def defocuses(self) -> tuple[float | None, float] | None:
        """`defocus_for` the wanted diameter; None if none is wanted."""
        return None if self.wanted is None else self.defocus_for(self.wanted)

    def blur(self, index: float = ZINC_SELENIDE_INDEX) -> float:
        """Least diameter of the blur of the 1/e2 rays by a plano-convex lens, plane side to the focus [m].

        Third-order aberration of a thin lens for a distant source (Jenkins & White, Fundamentals of Optics,
        from memory); its smallest circle is half as wide as the edge rays' aberration at the paraxial focus.
        """
        n = index
        shape = (n + 2.0) / (n - 1.0) - 4.0 * (n + 1.0) + (3.0 * n + 2.0) * (n - 1.0) + n**3 / (n - 1.0)
        return self.input_diameter**3 / (128.0 * self.focal_length**2) * shape / (n * (n - 1.0))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences on where these numbers mislead."""
        return tuple(text for text in (self._steep(), self._near(), self._inside(), self._blurred()) if text)

    @property
    def _power(self) -> float:
        if self.power is None:
            raise ValueError("a power is needed for an irradiance")
        return self.power

    def _beam(self, defocus: float) -> Beam:
        return Beam(self.wavelength, self.diameter_at(defocus) / 2.0)

    def _too_small(self, diameter: float) -> InputError:
        share = diameter / self.waist_diameter
        shorter = units.display(share * self.focal_length, "m", "mm")
        wider = units.display(self.input_diameter / share, "m", "mm")
        return InputError(
            "wanted",
            f"at least {units.display(self.waist_diameter, 'm', 'mm')}, the waist of this lens and beam",
            units.display(diameter, "m", "mm"),
            f"Take a focal length of at most {shorter}, or widen the beam on the lens to {wider}.",
        )

    def _steep(self) -> str:
        if self.f_number >= LOWEST_F_NUMBER:
            return ""
        return (
            f"The f-number, {self.f_number:.2g}, is below {LOWEST_F_NUMBER:g}: the rays are too steep for "
            "paraxial optics, and a real spot is larger than this one."
        )

    def _near(self) -> str:
        share = self.focal_length / self.input_rayleigh_range
        if share <= LONG_LENS:
            return ""
        return (
            "The beam on the lens spreads by itself within the focal length (its Rayleigh range is "
            f"{units.display(self.input_rayleigh_range, 'm', 'mm')}): with a waist at the lens the focus is "
            f"{units.display(self.focal_length * share**2 / (1 + share**2), 'm', 'mm')} nearer and its "
            f"diameter is {1.0 / math.hypot(1.0, share):.2f} times the one given."
        )

    def _inside(self) -> str:
        if self.defocus > -self.focal_length:
            return ""
        return "The work surface lies at the lens or behind it: nothing is focused there."

    def _blurred(self) -> str:
        if self.blur() <= BLURRED * self.waist_diameter:
            return ""
        return (
            f"Spherical aberration is noticeable: a plano-convex lens of zinc selenide (index "
            f"{ZINC_SELENIDE_INDEX:.2f}) blurs the 1/e2 rays to {units.display(self.blur(), 'm', 'um')}, "
            f"{units.significant(100.0 * self.blur() / self.waist_diameter, 2)} % of the waist. It is not "
            "included: a meniscus or an aspheric lens has less."
        )


def spot_of(
    focal_length: str,
    input_diameter: str,
    beam_quality: float = 1.0,
    wavelength: str = "10.6 um",
    defocus: str = "0 mm",
    power: str | None = None,
    wanted: str | None = None,
) -> Spot:
    """Spot behind a lens, from quantity strings such as "125 mm".

    Raises InputError for an option that is wrong, and for a `wanted` diameter that is smaller than the waist.
    """
    return spot_behind(
        lens_of(
            focal_length=focal_length,
            input_diameter=input_diameter,
            beam_quality=float(beam_quality),
            wavelength=wavelength,
            defocus=defocus,
            power=power,
            wanted=wanted,
        )
    )


def spot_behind(lens: LensTable) -> Spot:
    """Spot of a checked table.

    Raises InputError for a wanted diameter smaller than the waist, and for a waist that no lens makes.
    """
    spot = Spot(
        lens.focal_length,
        lens.input_diameter,
        lens.beam_quality,
        lens.wavelength,
        lens.defocus,
        lens.power,
        lens.wanted,
    )
    if spot.waist_diameter < spot.wavelength:
        least, waist = (units.display(one, "m", "um") for one in (spot.wavelength, spot.waist_diameter))
        raise InputError(
            "input_diameter",
            f"a beam that this lens focuses to no less than the wavelength, {least}",
            f"one that it would focus to {waist}",
            "Check its unit and that of the focal length.",
        )
    if spot.waist_diameter >= spot.input_diameter:
        raise InputError(
            "focal_length",
            f"a lens that narrows the beam of {units.display(spot.input_diameter, 'm', 'mm')} on it",
            f"a waist of {units.display(spot.waist_diameter, 'm', 'mm')}",
            "Check the units of wavelength and lengths, or take a shorter focal length or a wider beam.",
        )
    if spot.wanted is not None:
        spot.defocus_for(spot.wanted)
    return spot
