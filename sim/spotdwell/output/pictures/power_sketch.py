"""Power sketch: the beginning of an exposure as power against time, small enough to stand over a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from spotdwell.model.exposure import Exposure
from spotdwell.output.pictures.style import BEAM, FAINT, INK

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
