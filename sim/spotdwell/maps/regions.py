"""Regions of verdicts and contours of measures in the plane of a map."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.maps.choice import length_of
from spotdwell.maps.cube import FAILED
from spotdwell.measure.verdict import Word
from spotdwell.output.pictures.style import INK, Tone

Array = NDArray[np.float64]
Words = NDArray[np.str_]

TONES = {
    str(Word.UNMARKED): Tone("#f6f3ea"),
    str(Word.DRIED): Tone("#ede2c8", "--"),
    str(Word.COAGULATED): Tone("#efd09c", ".."),
    str(Word.CLEAN): Tone("#9fc9ea"),
    str(Word.UNVERIFIED): Tone("#98a890", "//"),
    str(Word.SCORCHED): Tone("#b08a63", "++"),
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


@dataclass(frozen=True)
class Line:
    """How lines of a measure look."""

    measure: str
    meaning: str
    colour: str
    style: Any
    slant: str


LINES = (
    Line("crater_depth", "crater depth", INK, "-", "normal"),
    Line("coagulation_thickness_floor", "coagulation under the floor", "#7a1552", (0, (4, 1.6)), "italic"),
)

_STEPS = (1.0, 2.0, 5.0)
_FEWEST, _MOST = 3, 6
_GAP = 5.5
"""Least distance between two labels [em of the labels]."""
_MARGIN = 2.0
"""Of a label's middle from the panel's edge [em]."""


def levels_of(values: Array) -> list[float]:
    """Round levels [m] for the positive `values`: 1, 2, 5, 10 ... um, closer where these are too few."""
    found = values[np.isfinite(values) & (values > 0.0)]
    if found.size < 2:
        return []
    low, high = float(found.min()), float(found.max())
    decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    levels = [step * 10.0**decade for decade in decades for step in _STEPS]
    levels = [float(f"{level:.3g}") for level in levels if low <= level <= high]
    if len(levels) < _FEWEST:
        from matplotlib.ticker import MaxNLocator

        ticks = MaxNLocator(_FEWEST + 1).tick_values(low * 1e6, high * 1e6)
        levels = [float(f"{tick:.6g}e-6") for tick in ticks if low * 1e6 < tick < high * 1e6 and tick > 0.0]
    return levels[-_MOST:]


def draw_contours(
    axes: Any,
    mesh: Mesh,
    values: Array,
    line: Line,
    levels: list[float],
    taken: list[tuple[float, float]],
    marks: Sequence[tuple[float, float]] = (),
) -> None:
    """Draw lines of `values`, shape (rows, columns), and label each away from the places `taken` [pixel].

    Where there is room, also away from `marks`. Places of the new labels are added to `taken`. Nothing is
    drawn next to a point without a value, nor round a single point: cells scatter a measure by as much.
    """
    from matplotlib.collections import LineCollection
    from matplotlib.patheffects import withStroke

    known = np.ma.masked_invalid(values)
    if not levels or min(known.shape) < 2 or known.count() < 4 or not _crossed(known, levels):
        return
    found = axes.contour(mesh.x, mesh.y, known, levels=levels)
    every = [[part for part in parts if _is_resolved(mesh, part)] for parts in found.allsegs]
    found.remove()
    look: dict[str, Any] = {"colors": line.colour, "linestyles": [line.style], "linewidths": 1.0, "zorder": 3}
    drawn = LineCollection([part for parts in every for part in parts], **look)
    drawn.set_path_effects([withStroke(linewidth=2.4, foreground="#ffffffc0")])
    axes.add_collection(drawn, autolim=False)
    for level, parts in zip(levels, every, strict=True):
        place = _best_place(axes, parts, [*taken, *marks]) or _best_place(axes, parts, taken)
        if place is not None:
            taken.append(tuple(axes.transData.transform(place)))
            _write(axes, place, length_of(level), line)


def _is_resolved(mesh: Mesh, part: Array) -> bool:
    """Whether a line goes round more than one point, or is open and as long as one cell."""
    if len(part) < 2:
        return False
    spans = [
        np.ptp(np.interp(part[:, side], centres, np.arange(centres.size)))
        for side, centres in enumerate((mesh.x, mesh.y))
    ]
    least = 2.0 if np.array_equal(part[0], part[-1]) else 1.0
    return bool(max(spans) >= least)


def _crossed(values: Any, levels: Iterable[float]) -> bool:
    low, high = float(values.min()), float(values.max())
    return any(low < level < high for level in levels)


def _best_place(
    axes: Any, parts: list[Array], taken: list[tuple[float, float]]
) -> tuple[float, float] | None:
    """The point of a line farthest from what is written and from the edge; None if all is too near."""
    points = np.concatenate([np.zeros((0, 2)), *(_along(part) for part in parts if len(part) > 1)])
    if not len(points):
        return None
    em = _label_size(axes) * axes.figure.dpi / 72.0
    pixels = axes.transData.transform(points)
    box = axes.bbox
    # A label is wider than high: so are the distances it keeps.
    inside = np.min(
        [
            pixels[:, 0] - box.x0,
            box.x1 - pixels[:, 0],
            2.0 * (pixels[:, 1] - box.y0),
            2.0 * (box.y1 - pixels[:, 1]),
        ],
        axis=0,
    )
    room = inside / (_MARGIN * em)
    for x, y in taken:
        far = np.hypot(pixels[:, 0] - x, 1.8 * (pixels[:, 1] - y))
        room = np.minimum(room, far / (_GAP * em))
    best = int(np.argmax(np.minimum(room, 2.0)))
    return tuple(points[best]) if room[best] >= 1.0 else None


def _along(part: Array) -> Array:
    """Points of a line and the middles between them."""
    return np.concatenate([part, 0.5 * (part[1:] + part[:-1])])


def _write(axes: Any, place: tuple[float, float], text: str, line: Line) -> None:
    patch = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "boxstyle": "square,pad=0.12"}
    look = {"ha": "center", "va": "center", "fontsize": _label_size(axes), "fontstyle": line.slant}
    axes.text(*place, text, color=line.colour, bbox=patch, zorder=4, **look)


def _label_size(axes: Any) -> float:
    """Size of the labels' type [pt]: smaller in small panels."""
    return 6.5 if axes.bbox.width / axes.figure.dpi > 3.0 else 5.6
