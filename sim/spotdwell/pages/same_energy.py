"""Question of the class page: of two settings that send the same energy, which leaves more, and why?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from spotdwell.base.units import significant
from spotdwell.maps.choice import length_of
from spotdwell.maps.cube import Cube
from spotdwell.pages.points import LEAST_SPREAD, Array, Index, cut_points, places_of, question, thickest
from spotdwell.pages.words import setting_text

SAME = 0.05
"""Energies this close, as a share, count as the same."""
_PULSED = ("pulse_duration", "repetition_rate")
_CHANGING = ("dwell", "power", "peak_power", *_PULSED)
"""Axes along which the same energy is sent in another way."""


def same_energy(cube: Cube) -> Iterator[dict[str, Any]]:
    """The two points of one energy, alike but for power and times, that differ most in what they leave."""
    names = [axis.name for axis in cube.axes]
    changing = [number for number, name in enumerate(names) if name in _CHANGING]
    pulsed = any(name in _PULSED for name in names)
    if not pulsed and not ("dwell" in names and len(changing) > 1):
        return
    for zone, left in (("char", "charred"), ("coagulation", "coagulated"), ("dried", "dried")):
        thickness = thickest(cube, zone)
        pair = _most_apart(cube, thickness, changing, None if pulsed else names.index("dwell"))
        if pair is None:
            continue
        less, more = pair
        a, b = sorted(pair) if pulsed else pair
        energy = cube.measures["incident_energy"]
        layers = "; ".join(f"{'B' if at == b else 'A'}: {length_of(thickness[at])}" for at in (more, less))
        yield question(
            f"A: {setting_text(cube, a)}. B: {setting_text(cube, b)}. They send {_energy(energy[a])} and "
            f"{_energy(energy[b])}. Which leaves the thicker {left} layer, and why?",
            f"{layers} (at floor or wall, whichever is more). {_why(cube, a, b, pulsed)}",
            a,
            b,
        )
        return


def _why(cube: Cube, a: Index, b: Index, pulsed: bool) -> str:
    if pulsed:
        counts = [_pulses(cube, at) for at in (a, b)]
        sent = f"A sends {counts[0]}, B {counts[1]}. " if all(counts) else ""
        return (
            f"{sent}What a pulse warms but does not remove stays as heat and flows on before the next one. "
            "So pulses that each remove much leave little, and many weak ones a lot, however short they are."
        )
    number = [axis.name for axis in cube.axes].index("dwell")
    values = cube.axes[number].values
    times = significant(float(values[b[number]]) / float(values[a[number]]), 2)
    return (
        f"B takes {times} times as long: its heat has more time to flow into what stays, where A removes "
        "what it has heated."
    )


def _pulses(cube: Cube, at: Index) -> str:
    """How many pulses are sent at a point; "" where the map does not say how long each is."""
    number = next((n for n, axis in enumerate(cube.axes) if axis.name == "pulse_duration"), None)
    if number is None:
        return ""
    lit = cube.measures["radiant_exposure"][at] / cube.measures["irradiance_mean"][at]
    count = round(float(lit) / float(cube.axes[number].values[at[number]]))
    return f"{count} pulse{'s' if count != 1 else ''}"


def _most_apart(
    cube: Cube, thickness: Array, changing: list[int], dwell: int | None
) -> tuple[Index, Index] | None:
    """Points of the same energy, alike but for the axes `changing`, that differ most: less and more left.

    With the axis `dwell`, the one that leaves more takes longer.
    """
    energy = cube.measures["incident_energy"]
    best, most = None, LEAST_SPREAD
    groups: dict[Index, list[Index]] = {}
    for at in places_of(cut_points(cube)):
        groups.setdefault(tuple(one for n, one in enumerate(at) if n not in changing), []).append(at)
    for group in groups.values():
        energies, left = (np.array([values[at] for at in group]) for values in (energy, thickness))
        for number, at in enumerate(group):
            close = np.abs(energies - energies[number]) <= SAME * energies[number]
            apart = np.where(close, left - left[number], -np.inf)
            other = int(np.argmax(apart))
            later = dwell is None or group[other][dwell] > at[dwell]
            if apart[other] > most and later:
                best, most = (at, group[other]), float(apart[other])
    return best


def _energy(energy: float) -> str:
    return f"{significant(float(energy))} J"
