"""Beam sketch: the beam over a section, as wide as it is and shaped as its irradiance."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.beam import Profile
from spotdwell.model.columns import Geometry
from spotdwell.output.pictures.style import BEAM, length_text
from spotdwell.output.pictures.view import View
from spotdwell.output.result import Result

_FOOT, _PEAK = 0.22, 0.66
"""Levels of the irradiance's zero and peak over the height above the surface."""
_SHAPES = {
    Profile.GAUSSIAN: lambda r: np.exp(-2.0 * r**2),
    Profile.FLAT_TOP: lambda r: (np.abs(r) <= 1.0).astype(float),
}
"""Irradiance over its peak against distance over radius; a result does not keep the others' shapes."""


def paint_beam(axes: Any, result: Result, beam_at: float, view: View, label: bool = True) -> None:
    """Irradiance over the surface, a bar as wide as the diameter, and what the diameter means."""
    centre = beam_at * view.scale
    half = view.width if result.geometry is Geometry.SLAB else float(result.beam["radius"]) * view.scale
    _paint_shape(axes, result, centre, half, view)
    _paint_bar(axes, centre, half, view)
    if label:
        look: dict[str, Any] = {"color": BEAM, "ha": "center", "va": "bottom", "zorder": 5}
        axes.text(centre, -(_PEAK + 0.04) * view.sky, beam_label(result), **look)


def _paint_shape(axes: Any, result: Result, centre: float, half: float, view: View) -> None:
    profile = Profile(str(result.beam["profile"]))
    if result.geometry is Geometry.SLAB:
        profile = Profile.FLAT_TOP
    if profile not in _SHAPES:
        return
    across: NDArray[np.float64] = np.linspace(view.left, view.right, 400)
    level = _FOOT + (_PEAK - _FOOT) * _SHAPES[profile]((across - centre) / half)
    foot = -_FOOT * view.sky
    axes.fill_between(across, foot, -level * view.sky, facecolor=BEAM, alpha=0.22, linewidth=0.0, zorder=4)
    axes.plot(across, -level * view.sky, color=BEAM, linewidth=0.8, zorder=5)


def _paint_bar(axes: Any, centre: float, half: float, view: View) -> None:
    """A bar between the ends of the diameter, which dotted lines carry down to the surface."""
    ends = max(centre - half, view.left), min(centre + half, view.right)
    level = -_FOOT * view.sky
    axes.plot(ends, [level, level], color=BEAM, linewidth=1.4, solid_capstyle="butt", zorder=5)
    for end, marker in zip(ends, ("<", ">"), strict=True):
        # Where the beam is wider than the view, an arrow head says that it goes on.
        cut_off = half > abs(end - centre) * (1.0 + 1e-9)
        shape = marker if cut_off else "|"
        axes.plot([end], [level], marker=shape, color=BEAM, markersize=5, zorder=5, clip_on=False)
        if not cut_off:
            axes.plot([end, end], [level, 0.0], color=BEAM, linewidth=0.7, linestyle=":", zorder=5)


def beam_label(result: Result) -> str:
    """Profile and diameter, and what the diameter is."""
    radius = float(result.beam["radius"])
    if result.geometry is Geometry.SLAB:
        return "uniform beam"
    across = length_text(2.0 * radius)
    edge = "1/e²" if "gaussian" in str(result.beam["profile"]) else "edge to edge"
    scanned = ", scanned" if float(result.beam["scan_speed"]) != 0.0 else ""
    return f"{result.beam['profile']} beam{scanned}, {across} ({edge})"
