"""A lens's spot shown: waist, depth of focus, the surface, a table against defocus, and the caustic."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.table import Table

from spotdwell.base.units import display
from spotdwell.console.saving import Files
from spotdwell.console.text import bullets, heading, indented, length, plain_table, section

if TYPE_CHECKING:
    from spotdwell.spots.picture import Caustic
    from spotdwell.spots.run import Spot

_ASSUMED = (
    "Diameters are 1/e2 of the irradiance, for a gaussian the same as D4sigma (ISO 11146); with M2 above 1 "
    "they are second-moment ones, and the peak irradiance takes the shape as gaussian.",
    "Thin lens and paraxial optics, with the beam filling the lens as stated and nothing cut off. Spherical "
    "aberration, a lens that warms up and wrong alignment are not included: a measured spot is often larger. "
    "Measure yours with: spotdwell craters --help",
)


def show(spot: Spot, as_json: bool, picture: Path | None) -> None:
    """Print the spot, and draw it if a `picture` is named.

    Raises InputError for a picture's suffix, and RunError where it cannot be written.
    """
    from spotdwell.spots.picture import draw_caustic

    files = Files(as_json=as_json)
    files.check("picture", picture, "picture")
    files.show(lambda: plain(spot), str, lambda: lines(spot))
    files.keep(picture, lambda path: draw_caustic(caustic_of(spot), path))


def lines(spot: Spot) -> list[RenderableType]:
    """All that is to be said of the spot."""
    parts: list[RenderableType] = [heading(_title(spot)), indented(_values(spot))]
    if spot.wanted is not None:
        parts += section(f"Wanted: {length(spot.wanted)}", bullets(_answers(spot)))
    parts += section("Diameter against defocus", _course(spot))
    return parts + section("Mind", bullets([*spot.warnings, *_ASSUMED]))


def plain(spot: Spot) -> dict[str, Any]:
    """The same in SI, of types that JSON knows."""
    lit = spot.power is not None
    return {
        **vars(spot),
        "definition": "1/e2",
        "waist_diameter": spot.waist_diameter,
        "rayleigh_range": spot.rayleigh_range,
        "depth_of_focus": spot.depth_of_focus,
        "flat_depth": spot.flat_depth,
        "f_number": spot.f_number,
        "diameter": spot.diameter,
        "irradiance_peak": spot.peak_irradiance_at(spot.defocus) if lit else None,
        "irradiance_mean": spot.mean_irradiance_at(spot.defocus) if lit else None,
        "defocus_for_wanted": None if spot.defocuses is None else list(spot.defocuses),
        "warnings": list(spot.warnings),
    }


def caustic_of(spot: Spot) -> Caustic:
    """What the picture shows."""
    import numpy as np

    from spotdwell.spots.picture import Caustic, Mark

    reach = 1.25 * _reach(spot)
    along = np.linspace(max(-reach, -spot.focal_length), reach, 601)
    marks = [Mark(spot.defocus, spot.diameter, f"surface: {length(spot.diameter)}")]
    for side, at in zip(("nearer", "farther"), spot.defocuses or (None, None), strict=True):
        if at is not None and spot.wanted is not None:
            marks.append(Mark(at, spot.wanted, f"{length(spot.wanted)} at {_signed(at)} ({side})"))
    widths = np.array([spot.diameter_at(float(one)) for one in along])
    title = f"Waist {length(spot.waist_diameter)} (1/e²), Rayleigh range {length(spot.rayleigh_range)}"
    return Caustic(along, widths, spot.rayleigh_range, title, marks)


def _title(spot: Spot) -> str:
    return (
        f"Lens of {length(spot.focal_length)}, beam of {length(spot.input_diameter)} on it, "
        f"M2 {spot.beam_quality:g}, {display(spot.wavelength, 'm', 'um')}"
    )


def _values(spot: Spot) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    at = "in focus" if spot.defocus == 0.0 else f"at a defocus of {_signed(spot.defocus)}"
    rows = [
        ("waist diameter", length(spot.waist_diameter)),
        ("Rayleigh range", length(spot.rayleigh_range)),
        ("depth of focus, to sqrt(2) times the waist", length(spot.depth_of_focus)),
        ("depth of focus, to 1.05 times the waist", length(spot.flat_depth)),
        ("f-number, by the 1/e2 diameter on the lens", f"{spot.f_number:.3g}"),
        (f"diameter at the surface, {at}", length(spot.diameter)),
    ]
    if spot.power is not None:
        peak, mean = spot.peak_irradiance_at(spot.defocus), spot.mean_irradiance_at(spot.defocus)
        rows.append((f"peak irradiance there, {display(spot.power, 'W', 'W')}", _irradiance(peak)))
        rows.append(("mean irradiance there, over the 1/e2 circle", _irradiance(mean)))
    for name, value in rows:
        table.add_row(name, value)
    return table


def _answers(spot: Spot) -> list[str]:
    nearer, farther = spot.defocuses or (None, 0.0)
    if farther == 0.0:
        return ["It is the waist: put the surface in focus."]
    near = (
        "Nearer the lens there is none: it would lie at the lens or behind it."
        if nearer is None
        else f"Defocus {_signed(nearer)}: the surface {length(spot.focal_length + nearer)} from the lens, "
        "nearer than the focus."
    )
    far = f"Defocus {_signed(farther)}: the surface {length(spot.focal_length + farther)} from the lens, "
    return [near, f"{far}beyond the focus."]


def _course(spot: Spot) -> Table:
    columns = [("defocus [mm]", "right"), ("from the lens [mm]", "right"), ("diameter [mm]", "right")]
    lit = spot.power is not None
    table = plain_table(*columns, *([("peak [W/mm2]", "right"), ("mean [W/mm2]", "right")] if lit else []))
    for at in _stations(spot):
        row = [_bare(at), _bare(spot.focal_length + at), _bare(spot.diameter_at(at))]
        if lit:
            row += [f"{1e-6 * one(at):.3g}" for one in (spot.peak_irradiance_at, spot.mean_irradiance_at)]
        table.add_row(*row)
    return table


def _stations(spot: Spot) -> list[float]:
    """Defocuses of the table [m]: even steps around the waist, where there is a lens in front of them."""
    step = _round_up(_reach(spot) / 4.0)
    return [step * count for count in range(-4, 5) if step * count > -spot.focal_length]


def _reach(spot: Spot) -> float:
    """How far from the waist it is worth looking [m]."""
    wanted = spot.defocuses[1] if spot.defocuses else 0.0
    return max(2.0 * spot.rayleigh_range, abs(spot.defocus), wanted)


def _round_up(value: float) -> float:
    """The next of 1, 2, 2.5, 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(one * power for one in (1.0, 2.0, 2.5, 5.0, 10.0) if one * power >= value * (1.0 - 1e-9))


def _signed(value: float) -> str:
    return f"{'+' if value > 0.0 else ''}{display(value, 'm', 'mm')}"


def _bare(value: float) -> str:
    return f"{1e3 * value:.4g}"


def _irradiance(value: float) -> str:
    return f"{display(value, 'W/m2', 'W/mm2')} ({display(value, 'W/m2', 'kW/cm2')})"
