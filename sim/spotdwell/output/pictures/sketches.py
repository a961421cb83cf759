"""Small drawings of a beam in space and of its power in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.beam import Profile
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import Exposure
from spotdwell.output.pictures.style import BEAM, FAINT, INK, length_text
from spotdwell.output.pictures.view import View
from spotdwell.output.record import Record

_FOOT, _PEAK = 0.22, 0.66
"""Levels of the irradiance's zero and peak over the height above the surface."""
_SHAPES = {
    Profile.GAUSSIAN: lambda r: np.exp(-2.0 * r**2),
    Profile.FLAT_TOP: lambda r: (np.abs(r) <= 1.0).astype(float),
}
"""Irradiance over its peak against distance over radius; a result does not keep the others' shapes."""


def paint_beam(axes: Any, result: Record, beam_at: float, view: View, label: bool = True) -> None:
    """Irradiance over the surface, a bar as wide as the diameter, and what the diameter means."""
    centre = beam_at * view.scale
    half = view.width if result.geometry is Geometry.SLAB else float(result.beam["radius"]) * view.scale
    _paint_shape(axes, result, centre, half, view)
    _paint_bar(axes, centre, half, view)
    if label:
        look: dict[str, Any] = {"color": BEAM, "ha": "center", "va": "bottom", "zorder": 5}
        axes.text(centre, -(_PEAK + 0.04) * view.sky, beam_label(result), **look)


def _paint_shape(axes: Any, result: Record, centre: float, half: float, view: View) -> None:
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


def beam_label(result: Record) -> str:
    """Profile and diameter, and what the diameter is."""
    radius = float(result.beam["radius"])
    if result.geometry is Geometry.SLAB:
        return "uniform beam"
    across = length_text(2.0 * radius)
    edge = "1/e²" if "gaussian" in str(result.beam["profile"]) else "edge to edge"
    scanned = ", scanned" if float(result.beam["scan_speed"]) != 0.0 else ""
    return f"{result.beam['profile']} beam{scanned}, {across} ({edge})"


_PERIODS = 2.2
"""Periods of the slowest train that are shown."""
_ROOM = 2.5
"""Factor of power shown above the highest and below the lowest."""


@dataclass(frozen=True)
class Span:
    """What all sketches of a picture show, so that they compare."""

    time: float
    """[s] from the start."""
    least: float
    """[W]."""
    most: float
    """[W]."""


def span_of(exposures: Sequence[Exposure]) -> Span:
    """Two periods of the slowest train, and all powers down to the lowest average."""
    ends = [duration(one) for one in exposures]
    periods = [float(one.start[1] - one.start[0]) for one in exposures if one.start.size > 1]
    time = min(_PERIODS * max(periods), max(ends)) if periods else 1.05 * max(ends)
    powers = [power for one in exposures for power in (average_power(one), one.peak_power)]
    return Span(time, min(powers) / _ROOM, max(powers) * _ROOM)


def duration(exposure: Exposure) -> float:
    """Up to the last falling edge, or of a train to the end of its last period [s]."""
    if exposure.start.size < 2:
        return exposure.end
    return float(exposure.start.size * (exposure.start[1] - exposure.start[0]))


def average_power(exposure: Exposure) -> float:
    """Over whole periods [W]; of a single exposure its power."""
    if exposure.start.size < 2:
        return exposure.peak_power
    period = float(exposure.start[1] - exposure.start[0])
    return float((exposure.stop[0] - exposure.start[0]) * exposure.power[0]) / period


def paint_power(axes: Any, exposure: Exposure, span: Span, with_scale: bool) -> None:
    """Pulses of `exposure` on a logarithmic scale of power, with the average as a dashed line."""
    from matplotlib.ticker import EngFormatter, LogLocator, NullLocator

    axes.set_yscale("log")
    axes.set(xlim=(0.0, span.time), ylim=(span.least, span.most))
    shown = exposure.start < span.time
    start, stop = exposure.start[shown], np.minimum(exposure.stop[shown], span.time)
    axes.bar(
        start, exposure.power[shown] - span.least, stop - start, span.least,
        align="edge", color=BEAM, edgecolor=BEAM, linewidth=0.5,
    )  # fmt: skip
    axes.axhline(average_power(exposure), color=INK, linewidth=0.8, linestyle=(0, (4, 2)))
    axes.yaxis.set_major_locator(LogLocator(numticks=4))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(EngFormatter(unit="W"))
    axes.tick_params(labelleft=with_scale, labelsize="small", length=2.0, pad=2.0)
    whole = duration(exposure)
    end = _time(span.time) if whole <= span.time * 1.001 else f"{_time(span.time)} of {_time(whole)}"
    axes.set_xticks([0.0, span.time], labels=["0", end])
    for label, side in zip(axes.get_xticklabels(), ("left", "right"), strict=True):
        label.set_horizontalalignment(side)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(FAINT)


def _time(value: float) -> str:
    unit = "s" if value >= 1.0 else "ms" if value >= 1e-3 else "us"
    number = float(f"{value / {'s': 1.0, 'ms': 1e-3, 'us': 1e-6}[unit]:.3g}")
    return f"{number:g} {unit}".replace("us", "µs")
