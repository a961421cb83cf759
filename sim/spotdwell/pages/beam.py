"""The beam of the class page and the live page: its profile as a curve, its diameter, and what that means."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.inputs.build import beam_on
from spotdwell.inputs.read import beam_tables
from spotdwell.maps.cube import Cube
from spotdwell.model.beam import Beam
from spotdwell.model.columns import Geometry

_DIGITS = 5
"""Significant digits of a curve, where a page draws some hundred dots."""
_SAMPLES = 61
"""Of a curve, from the axis outwards."""
_JUMP = 0.2
"""Share of the peak by which neighbours on a curve differ where it has an edge between them."""
_SHOWN = 0.9999
"""Share of the power that a curve holds: beyond it irradiance is too low to be drawn."""


def beams_of(cube: Cube) -> dict[str, Any] | None:
    """Beam of each point of `cube`: `profile_shown`, with `across` and the axis that it goes along.

    `across` holds diameters [um] by the place on the axis `axis`; that is None where all points have the
    same. None for a map whose scenario states no beam.
    """
    try:
        table, grid = beam_tables(cube.scenario_text)
    except InputError:
        return None
    if not table.has_spot and grid.geometry is not Geometry.SLAB:
        return None
    number, tables = None, [table]
    for place, axis in enumerate(cube.axes):
        key = {"spot": "diameter", "wavelength": "wavelength"}.get(axis.name)
        if key == "diameter" or (key and table.optics is not None):
            number, tables = place, [table.model_copy(update={key: value}) for value in axis.values]
    beams = [beam_on(one, grid) for one in tables]
    shown = profile_shown(beams[0], grid.geometry is Geometry.SLAB)
    return {**shown, "across": [across_shown(beam) for beam in beams], "axis": number}


def profile_shown(beam: Beam, even: bool) -> dict[str, Any]:
    """What pages draw of a beam's profile; `even` for one that lights a slab.

    `curve` holds distance over radius and irradiance over the highest, from the axis outwards; `peak` is the
    highest irradiance over the mean, `hole` the inner over the outer radius or 0, and `within` the share of
    the power inside the diameter.
    """
    shape, number = beam.profile.shape, beam.profile.shape.number(beam)
    return {
        "profile": str(beam.profile),
        "even": even,
        "edges": shape.ends,
        "hole": beam.inner_ratio,
        "peak": _rounded(shape.peak(number)),
        "within": _rounded(float(shape.share(number, np.array(1.0)))),
        "curve": _curve(beam),
        "scanned": beam.scan_speed != 0.0,
    }


def across_shown(beam: Beam) -> float:
    """Diameter of `beam` [um]: by 1/e2, or from edge to edge."""
    return _rounded(2e6 * beam.radius)


def _curve(beam: Beam) -> list[list[float]]:
    """Distance over radius, and irradiance over the highest; two dots where it jumps."""
    shape, number = beam.profile.shape, beam.profile.shape.number(beam)

    def fall(at: float) -> float:
        return float(shape.fall(number, np.array(at)))

    last = 1.0 if shape.ends else shape.radius(number, _SHOWN)
    at = np.linspace(0.0, 1.02 * last, _SAMPLES).tolist()
    dots = [(at[0], fall(at[0]))]
    for one in at[1:]:
        low, high = dots[-1][0], one
        if abs(fall(high) - fall(low)) > _JUMP:
            while high - low > 1e-9:
                middle = 0.5 * (low + high)
                steps = [abs(fall(middle) - fall(end)) for end in (low, high)]
                low, high = (low, middle) if steps[0] > steps[1] else (middle, high)
            dots += [(low, fall(low)), (high, fall(high))]
        dots.append((one, fall(one)))
    return [[_rounded(one) for one in dot] for dot in dots]


def _rounded(number: float) -> float:
    return float(f"{number:.{_DIGITS}g}")
