"""Film times: the moments of a run that its film shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EXPOSURE_FRAMES = 48
"""Frames of the exposure, unless said otherwise."""
COOLING_FRAMES = 7
"""Frames of each decade of cooling."""
_FIRST_COOLING = 2e-3
"""First moment of cooling over the time with the beam on."""


def film_times(start: Array, stop: Array, end: float, frames: int = EXPOSURE_FRAMES) -> tuple[float, ...]:
    """Moments [s] of a run with the beam on from each `start` to each `stop` [s], until `end` [s].

    Some `frames` of them during the exposure, at even steps while the beam is on and closer to the pulse
    than to the next one while it is off; then by decades. Time 0 is the first.
    """
    if stop.size == 0:
        return tuple(np.linspace(0.0, end, frames + 1).tolist())
    last, lit = float(stop[-1]), float(np.sum(stop - start))
    cooling: Array = np.empty(0)
    if end > last:
        first = min(_FIRST_COOLING * lit, 0.1 * (end - last))
        count = max(2, round(COOLING_FRAMES * np.log10((end - last) / first)) + 1)
        cooling = last + np.geomspace(first, end - last, count)
    exposure = _pulses(start, stop, frames) if 2 * stop.size - 1 <= frames else _some(stop, frames)
    times = np.unique(np.concatenate([[0.0], exposure, cooling]))
    return tuple(times[times <= end].tolist())


def _pulses(start: Array, stop: Array, frames: int) -> Array:
    """Moments in and after every pulse; its end is always one."""
    on, off = stop - start, start[1:] - stop[:-1]
    slow = min(1.0, float(on.sum() / off.sum())) if off.sum() > 0.0 else 1.0
    each = frames / float(on.sum() + slow * off.sum())
    moments = [begin + span * _shares(each * span) for begin, span in zip(start, on, strict=True)]
    moments += [
        begin + span * _shares(each * slow * span) ** 2 for begin, span in zip(stop[:-1], off, strict=True)
    ]
    return np.concatenate(moments)


def _shares(count: float) -> Array:
    """Even shares of an interval, of which the last is its end."""
    whole = max(1, round(count))
    return np.arange(1, whole + 1) / whole


def _some(stop: Array, frames: int) -> Array:
    """Ends of some of very many pulses, evenly spread."""
    return np.asarray(stop[np.unique(np.linspace(0, stop.size - 1, frames).round().astype(int))])
