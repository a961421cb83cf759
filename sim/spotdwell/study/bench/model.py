"""Bench model: the rows that a bench's shots should have, for any values of laser and material."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.inputs.bench_shots import BenchShots
from spotdwell.study.bench.least_squares import Space
from spotdwell.study.bench.response import Found, Setting
from spotdwell.study.bench.values import DEBRIS, DELIVERED, RUPTURE, Values, spot_key

Array = NDArray[np.float64]
Respond = Callable[[Sequence[Setting]], list[Found]]
"""What becomes of settings."""

_LEAST = 0.25
"""Of the median depth: shallower craters are measured no better, in length, than one of that depth."""


@dataclass(frozen=True, eq=False)
class Bench:
    """Shots with the values that they depend on."""

    shots: BenchShots
    values: Values
    dials: tuple[str, ...]
    """Dial position of each shot; empty where its spot is given."""
    definitions: tuple[str, ...]
    """Of the diameter of each shot's spot."""

    @property
    def used(self) -> NDArray[np.intp]:
        """Shots that are fitted: those that were not cut through."""
        return np.flatnonzero(~self.shots.perforated)

    @property
    def wide(self) -> NDArray[np.intp]:
        """Of the used shots, those with a width."""
        return self.used[np.isfinite(self.shots.width[self.used])]

    @property
    def start(self) -> Array:
        """Logarithms of the free values, where the fit begins."""
        return np.log([one.start for one in self.values.free])

    @property
    def space(self) -> Space:
        """Where the logarithms of the free values may be."""
        low, high = np.log(np.array([one.bounds for one in self.values.free])).T
        return Space(low, high)

    @property
    def measured(self) -> Array:
        """Measured depths, then widths [m]."""
        return np.concatenate([self.shots.depth[self.used], self.shots.width[self.wide]])

    @property
    def is_width(self) -> NDArray[np.bool_]:
        """Which rows are widths."""
        return np.repeat([False, True], [self.used.size, self.wide.size])

    @property
    def median_depth(self) -> float:
        """Of the craters [m]."""
        depth = self.shots.depth[self.used]
        return float(np.median(depth[depth > 0.0]))

    @property
    def least_depth(self) -> float:
        """Depth [m] below which a depth is measured no better in length."""
        return _LEAST * self.median_depth

    def at(self, places: Array) -> dict[str, float]:
        """All values [SI] by key, with logarithms of the free ones."""
        free = {one.key: float(np.exp(place)) for one, place in zip(self.values.free, places, strict=True)}
        return {**self.values.known, **free}

    def settings(self, values: Mapping[str, float]) -> list[Setting]:
        """What decides each shot, with these `values` [SI] by key."""
        shots = self.shots
        return [
            Setting(
                float(shots.power[index] * values[DELIVERED]),
                float(shots.dwell[index]),
                float(shots.spot[index]) if shots.spot is not None else values[spot_key(dial)],
                definition,
                values.get(DEBRIS),
                values.get(RUPTURE),
            )
            for index, (dial, definition) in enumerate(zip(self.dials, self.definitions, strict=True))
        ]

    def rows(self, respond: Respond, points: Array) -> Array:
        """Depths, then widths, that should have been measured, shape (points, rows)."""
        wanted = [self.settings(self.at(places)) for places in points]
        # Shots that were cut through are not asked for: they say nothing and may take long.
        flat = respond([settings[index] for settings in wanted for index in self.used])
        found = np.array([(one.depth, one.width) for one in flat]).reshape(len(points), self.used.size, 2)
        wide = np.isin(self.used, self.wide)
        return np.concatenate([found[:, :, 0], found[:, wide, 1]], axis=1)

    def scale(self, reference: Array, width_ratio: float = 1.0) -> Array:
        """What the relative error of each row is relative to [m], by `reference` depths and widths [m].

        `width_ratio` is the relative error of a width over that of a depth.
        """
        count = np.concatenate([self.shots.count[self.used], self.shots.count[self.wide]])
        size = np.maximum(reference, self.least_depth) * np.where(self.is_width, width_ratio, 1.0)
        return np.asarray(size / np.sqrt(count))

    def repeats(self) -> list[NDArray[np.intp]]:
        """Places among the used shots of each setting that was repeated."""
        shots = self.shots
        groups: dict[tuple[float, float, str | float], list[int]] = {}
        for place, index in enumerate(self.used):
            spot = self.dials[index] if shots.spot is None else float(shots.spot[index])
            groups.setdefault((float(shots.power[index]), float(shots.dwell[index]), spot), []).append(place)
        return [np.array(one) for one in groups.values() if len(one) > 1]
