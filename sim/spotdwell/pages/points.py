"""Points of a map that questions are about, and the words for where they lie."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.maps.cube import Cube
from spotdwell.measure.verdict import Word
from spotdwell.pages.words import axis_text

LEAST_SPREAD = 1e-6
"""Thicknesses that differ by less make no question [m]."""

Array = NDArray[np.float64]
Index = tuple[int, ...]


def question(text: str, answer: str, a: Index | None = None, b: Index | None = None) -> dict[str, Any]:
    """What the page shows: the points are the settings A and B that an answer speaks of."""
    return {"text": text, "answer": answer, "a": a and list(a), "b": b and list(b)}


def lines_along(shape: Index, number: int) -> list[list[Index]]:
    """The points of each line along an axis, the lines nearest to the middle of the map first."""
    starts = list(np.ndindex(*(1 if n == number else size for n, size in enumerate(shape))))
    starts.sort(key=lambda at: sum(abs(a - size // 2) for a, size in zip(at, shape, strict=True)))
    return [[(*at[:number], place, *at[number + 1 :]) for place in range(shape[number])] for at in starts]


def fixed_text(cube: Cube, at: Index, number: int) -> str:
    """The setting at a point, without the axis that is gone along."""
    texts = (axis_text(axis, axis.values[at[n]]) for n, axis in enumerate(cube.axes) if n != number)
    return ", ".join(texts)


def cut_points(cube: Cube) -> NDArray[np.bool_]:
    """Points that removed something and are judged neither too deep nor perforated."""
    beyond = np.isin(cube.word, (str(Word.TOO_DEEP), str(Word.PERFORATED)))
    depths = np.nan_to_num(cube.measures["deepest"])
    return np.asarray((depths > 0.0) & ~beyond & ~cube.missing & ~cube.failed)


def thickest(cube: Cube, zone: str) -> Array:
    """Thickness of a zone at the floor or the wall, whichever is more [m]; 0 where neither applies."""
    floor, wall = (np.nan_to_num(cube.measures[f"{zone}_thickness_{place}"]) for place in ("floor", "wall"))
    return np.asarray(np.maximum(floor, wall))


def places_of(inside: NDArray[np.bool_]) -> list[Index]:
    """Indices of the points where `inside` holds."""
    return [tuple(at) for at in np.argwhere(inside).tolist()]
