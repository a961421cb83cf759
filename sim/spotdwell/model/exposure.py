"""Exposure: when the beam is on. Power is a step function whose edges the clock meets exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Exposure:
    """Power against time: `power[i]` between `start[i]` and `stop[i]`, zero elsewhere."""

    start: Array
    """Rising edges [s], shape (pulses,), ascending."""
    stop: Array
    """Falling edges [s], shape (pulses,)."""
    power: Array
    """Power while on [W], shape (pulses,)."""

    @property
    def end(self) -> float:
        """Last falling edge [s]; 0 without pulses."""
        return float(self.stop[-1]) if self.stop.size else 0.0

    @property
    def on_time(self) -> float:
        """Total time with the beam on [s]."""
        return float(np.sum(self.stop - self.start))

    @property
    def energy(self) -> float:
        """Energy sent [J]."""
        return float(np.sum((self.stop - self.start) * self.power))

    @property
    def peak_power(self) -> float:
        """Highest power [W]."""
        return float(self.power.max(initial=0.0))


def steady(power: float, dwell_time: float) -> Exposure:
    """One exposure of `power` [W] for `dwell_time` [s]."""
    return gated(power, dwell_time, 0.0, 1)


def gated(power: float, on_time: float, off_time: float, count: int) -> Exposure:
    """`count` exposures of `on_time` [s] at `power` [W] with `off_time` [s] between them."""
    start = np.arange(count, dtype=np.float64) * (on_time + off_time)
    return Exposure(start, start + on_time, np.full(count, float(power)))


def carried(gate: Exposure, peak_power: float, pulse_duration: float, repetition_rate: float) -> Exposure:
    """Pulses of `peak_power` [W], `pulse_duration` [s] at `repetition_rate` [Hz] inside each gate.

    The first pulse of a gate rises with the gate; one that would outlast it is cut off by it.
    """
    starts, stops = [], []
    for opens, closes in zip(gate.start, gate.stop, strict=True):
        # A pulse that would begin within round-off of the closing edge is not a pulse.
        count = int(np.ceil((closes - opens) * repetition_rate * (1.0 - 1e-12)))
        begin = opens + np.arange(count) / repetition_rate
        starts.append(begin)
        stops.append(np.minimum(begin + pulse_duration, closes))
    start = np.concatenate(starts)
    return Exposure(start, np.concatenate(stops), np.full(start.size, float(peak_power)))
