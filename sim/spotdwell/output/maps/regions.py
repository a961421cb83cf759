"""Regions of a map: cells painted by their verdict, borders between them, and a word in each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.measure.verdict import Word
from spotdwell.output.maps.cube import FAILED
from spotdwell.output.pictures.style import INK, Tone

Array = NDArray[np.float64]
Words = NDArray[np.str_]

TONES = {
    str(Word.UNMARKED): Tone("#f6f3ea"),
    str(Word.COAGULATED): Tone("#f0d3a2", ".."),
    str(Word.CLEAN): Tone("#9fc9ea"),
    str(Word.UNVERIFIED): Tone("#98a890", "//"),
    str(Word.CHARRED): Tone("#7d5f50", "xx"),
    str(Word.TOO_DEEP): Tone("#5c86b4", "\\\\"),
    str(Word.PERFORATED): Tone("#34597f", "||"),
}
"""From light to dark, with hatches, so that they are told apart in grey too."""
SIGNS = {FAILED: "x", "": "$?$"}
"""Markers of points without a verdict."""
SIGN_NAMES = {FAILED: "failed", "": "not computed"}

_DARK_HATCH, _LIGHT_HATCH = "#6b4a25", "#ffffff"
_DARK = (str(Word.CHARRED), str(Word.TOO_DEEP), str(Word.PERFORATED))
_LEAST_AREA = 0.025
"""Share of a panel from which a region gets its word."""
_LEAST_CELLS = 3


@dataclass(frozen=True)
class Mesh:
    """Where the cells of a panel lie, in the units of its axes."""

    x: Array
    """Centres, shape (columns,)."""
    y: Array
    """Centres, shape (rows,)."""
    x_edges: Array
    y_edges: Array


def hatched(word: str, make: Callable[..., Any]) -> Any:
    """The patch that `make` makes of keywords for the hatch of a region: light on dark tones."""
    from matplotlib import rc_context

    colour = _LIGHT_HATCH if word in _DARK else _DARK_HATCH
    # Older matplotlib hatches in the colour of the edge, newer in that of this setting.
    with rc_context({"hatch.color": colour}):
        return make(hatch=TONES[word].hatch or None, edgecolor=colour, linewidth=0.0)


def paint_regions(axes: Any, mesh: Mesh, words: Words) -> None:
    """Paint the cells of `words`, shape (rows, columns), with a line between different ones."""
    from matplotlib.collections import LineCollection
    from matplotlib.patches import PathPatch

    for word, tone in TONES.items():
        path = _path_of(mesh, words == word)
        if path is None:
            continue
        # Outlined in its own colour: else viewers show seams between the rows of a vector picture.
        axes.add_patch(PathPatch(path, facecolor=tone.colour, edgecolor=tone.colour, linewidth=0.3, zorder=1))
        if tone.hatch:
            make = partial(PathPatch, path, facecolor="none", zorder=1.1)
            axes.add_patch(hatched(word, make))
    borders = LineCollection(list(_borders(mesh, words)), colors=INK, linewidths=0.7, zorder=2)
    axes.add_collection(borders, autolim=False)
    for word, sign in SIGNS.items():
        rows, columns = np.nonzero(words == word)
        if rows.size:
            look = {"marker": sign, "s": 16.0, "color": INK, "linewidths": 0.8, "zorder": 5}
            axes.scatter(mesh.x[columns], mesh.y[rows], **look)


def _path_of(mesh: Mesh, inside: NDArray[np.bool_]) -> Any:
    """Path around the cells `inside`, one rectangle for each run of them in a row; None without any."""
    from matplotlib.path import Path

    runs = [
        Path(
            [(left, low), (right, low), (right, high), (left, high), (left, low)],
            [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY],
        )
        for row, low, high in zip(inside, mesh.y_edges[:-1], mesh.y_edges[1:], strict=True)
        for left, right in _runs(row, mesh.x_edges)
    ]
    return Path.make_compound_path(*runs) if runs else None


def _runs(row: NDArray[np.bool_], edges: Array) -> Iterator[tuple[float, float]]:
    steps = np.diff(np.concatenate([[0], row.astype(int), [0]]))
    for start, stop in zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0), strict=True):
        yield float(edges[start]), float(edges[stop])


def _borders(mesh: Mesh, words: Words) -> Iterator[list[tuple[float, float]]]:
    """Sides that cells of different words share."""
    for row, column in np.argwhere(words[:, 1:] != words[:, :-1]):
        x = mesh.x_edges[column + 1]
        yield [(x, mesh.y_edges[row]), (x, mesh.y_edges[row + 1])]
    for row, column in np.argwhere(words[1:] != words[:-1]):
        y = mesh.y_edges[row + 1]
        yield [(mesh.x_edges[column], y), (mesh.x_edges[column + 1], y)]


def places_of(words: Words) -> Iterator[tuple[str, int, int]]:
    """Each region that is large enough to be named: its word, and the row and column in its middle."""
    from scipy.ndimage import distance_transform_edt, label

    least = max(_LEAST_CELLS, _LEAST_AREA * words.size)
    for word in TONES:
        regions, count = label(words == word)
        sizes = [int(np.sum(regions == number)) for number in range(1, count + 1)]
        for number, size in enumerate(sizes, 1):
            if size >= least:
                inside = np.pad(regions == number, 1)
                distance = distance_transform_edt(inside)[1:-1, 1:-1]
                row, column = np.unravel_index(_most_central(distance), distance.shape)
                yield word, int(row), int(column)


def _most_central(distance: Array) -> int:
    """Of the cells farthest from the region's border the one nearest to the middle of them all."""
    rows, columns = np.nonzero(distance >= distance.max() - 1e-9)
    middle = (rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2
    best = int(np.argmin(middle))
    return int(np.ravel_multi_index((rows[best], columns[best]), distance.shape))
