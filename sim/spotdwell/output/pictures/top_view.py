"""The crater from above, with its surface laid out from the columns."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.model.columns import Geometry
from spotdwell.output.pictures.key import round_length
from spotdwell.output.pictures.section import at_state
from spotdwell.output.pictures.style import (
    CAUTION,
    INK,
    PAGE,
    TONES,
    Sheet,
    length_text,
    length_unit,
    setting_line,
    typeset,
)
from spotdwell.output.record import Record
from spotdwell.solve.outcome import Snapshot

Array = NDArray[np.float64]

VISIBLE = {"coagulated": 1.0 - float(np.exp(-1.0)), "dried": 0.5, "charred": 0.5}
"""Shares from which a place counts as such: Omega of 1, half the water gone, half the solids converted."""
_FARTHEST = 2000
"""Places looked at along a ray."""


@dataclass(frozen=True, eq=False)
class Surface:
    """The exposed cells from above. A film of liquid is clear: what lies under it is seen."""

    x: Array
    """Centres of columns along x, or radii [m], ascending."""
    y: Array
    """Centres along y [m]; one place on rings."""
    values: dict[str, Array]
    """depth and char [m], through and liquid (0 or 1), and the share of each zone [-]; shape (x, y)."""
    ring: bool
    mirrored: tuple[bool, bool]
    """Whether the columns are a half of the target, in x and in y."""
    beam_at: tuple[float, float]
    """Where the beam stands, or stood half way of a scan [m]."""
    scanned: bool
    reach: tuple[float, float, float, float]
    """Left, right, lower and upper edges of the target [m]."""

    def seen(self, name: str, x: Array, y: Array) -> Array:
        """`name` of `values` at places `x`, `y` [m], linear between columns' centres."""
        field = self.values[name]
        if self.ring:
            return np.asarray(np.interp(np.hypot(x, y), self.x, field[:, 0]))
        from scipy.ndimage import map_coordinates

        x, y = (np.abs(p) if half else p for p, half in zip((x, y), self.mirrored, strict=True))
        at = np.stack(
            [np.interp(x, self.x, np.arange(self.x.size)), np.interp(y, self.y, np.arange(self.y.size))]
        )
        return np.asarray(map_coordinates(field, at, order=1, mode="nearest"))

    def reach_of(self, name: str, threshold: float, direction: float) -> float | None:
        """Farthest distance from the beam at which `name` exceeds `threshold` [m], or None.

        Along a ray from where the beam stands, in `direction` [rad].
        """
        far = np.linspace(0.0, max(map(abs, self.reach)), _FARTHEST)
        x, y = self.beam_at
        values = self.seen(name, x + far * np.cos(direction), y + far * np.sin(direction))
        inside = np.flatnonzero(values > threshold)
        if inside.size == 0 or inside[-1] + 1 == far.size:
            return float(far[-1]) if inside.size else None
        last = inside[-1]
        share = (values[last] - threshold) / (values[last] - values[last + 1])
        return float(far[last] + share * (far[last + 1] - far[last]))


def surface_of(result: Record) -> Surface:
    """The surface of the final state. Raises InputError for a slab, which looks the same everywhere."""
    if result.geometry is Geometry.SLAB:
        raise InputError(
            "the result", "rings or a lattice, to be seen from above", "a slab", "Draw its section."
        )
    ring = result.geometry is Geometry.AXISYMMETRIC
    x, y = (0.5 * (edges[1:] + edges[:-1]) for edges in (result.x_edges, result.y_edges))
    mirrored = (result.symmetry >= 4.0, result.symmetry >= 2.0)
    right, upper = float(result.x_edges[-1]), float(result.y_edges[-1])
    left, lower = (
        -end if half else float(edges[0])
        for end, half, edges in ((right, mirrored[0], result.x_edges), (upper, mirrored[1], result.y_edges))
    )
    speed = float(result.beam["scan_speed"])
    lit = result.history.time[result.history.power > 0.0]
    middle = float(result.beam["x"]) + speed * (0.5 * float(lit[0] + lit[-1]) if lit.size else 0.0)
    values = {name: seen.reshape(x.size, -1) for name, seen in _exposed(result).items()}
    # Along the beam a wall's char looks thicker than it is.
    steep = np.ones_like(values["depth"])
    for axis, at in enumerate((x, y)):
        if steep.shape[axis] > 1:
            steep += np.asarray(np.gradient(values["depth"], at, axis=axis)) ** 2
    values["char"] = values["char"] / np.sqrt(steep)
    return Surface(
        x,
        np.zeros(1) if ring else y,
        values,
        ring,
        mirrored,
        (middle, float(result.beam["y"])),
        speed != 0.0,
        (-right, right, -right, right) if ring else (left, right, lower, upper),
    )


def _exposed(result: Record) -> dict[str, Array]:
    """State of each column's exposed cell, or of the first below a film of liquid, shape (columns,)."""
    fields, cells = result.fields, result.liquid.size
    column = np.arange(fields.floor.size)
    solid = np.append(np.flatnonzero(~result.liquid), cells - 1)
    exposed = np.minimum(fields.floor, cells - 1)
    cell = solid[np.minimum(np.searchsorted(solid, exposed), solid.size - 1)]
    first = result.initial_water[cell]
    omega = fields.damage[0][column, cell] if fields.damage.shape[0] else np.zeros(column.size)
    water = np.divide(fields.water[column, cell], first, out=np.ones(column.size), where=first > 0.0)
    below = np.arange(cells) >= fields.floor[:, None]
    char = below & (fields.conversion > VISIBLE["charred"]) & result.leaves_char
    return {
        "depth": fields.crater_depth,
        "char": char @ np.diff(result.depth_edges),
        "through": (fields.floor >= cells).astype(float),
        "liquid": (result.liquid[exposed]).astype(float),
        "coagulated": 1.0 - np.exp(-omega),
        "dried": np.clip(1.0 - water, 0.0, 1.0),
        "charred": np.where(result.leaves_char[cell], fields.conversion[column, cell], 0.0),
    }


_NOTE = "Zones as the model computes them, in the tones of the section; no photograph."
_CHAR_NOTE = " Char is the paler the thinner it is: black from the limit of {} on."
_LABELS = 10.5
"""Room for the names at the right [em]."""
_PAD, _TITLE, _LINE, _SMALL, _LETTER = 0.9, 1.6, 1.35, 0.72, 0.52
"""As in the cross section [em]."""
_MARGIN = 1.3
"""Half the width shown over the farthest reach."""
_POINTS, _EDGE_SHARE = 600, 0.02
"""Points along each side, and the share of the depth where the crater's edge is drawn."""
_SHADES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
"""Thicknesses of char from which it is painted darker, over the limit [-]."""
CHAR_SHADES = ("#7d6e64", "#65584f", "#4d433e", "#362f2c", TONES["charred"].colour)
_STEEPEST = 65.0
"""Names start at rings between this angle above and below the horizontal [degree]."""


@dataclass(frozen=True)
class _Ring:
    """The outer end of something that is seen."""

    name: str
    reach: float
    """From the beam's axis or the path of its scan [m]."""


def paint(figure: Any, result: Record, sheet: Sheet = PAGE, state: Snapshot | None = None) -> None:
    """Fill `figure` with the target from above, names with sizes at the right, setting and cautions below.

    `state` is the moment that is shown, the end if left out. Raises InputError for a slab.
    """
    state = state or result.fields
    drawn = at_state(result, state)
    surface = surface_of(drawn)
    rings = _rings(drawn, surface, state is result.fields)
    place = _place(result, surface, rings)
    foot = _foot(result, sheet, state)
    title = textwrap.wrap(
        typeset(_title(result, state)), int((sheet.width / sheet.em - 2.0) / (1.2 * _LETTER))
    )
    em = sheet.em
    top = (_PAD + _TITLE * len(title) + 0.4) * em
    below = (_PAD + 0.8 + sum(_LINE * size for _, size in foot)) * em
    width, height = place[1] - place[0], place[3] - place[2]
    room = sheet.width - (2.0 * _PAD + 1.0 + _LABELS) * em
    most = sheet.height - top - below if sheet.height else max(sheet.most_height, room)
    inch = min(room / width, most / height)
    total = sheet.width, sheet.height or top + inch * height + below
    figure.set_size_inches(*total)
    size = inch * width, inch * height
    left = _PAD * em + 0.5 * (room - size[0])
    axes = figure.add_axes(
        (left / total[0], (total[1] - top - size[1]) / total[1], size[0] / total[0], size[1] / total[1])
    )
    axes.set(xlim=place[:2], ylim=place[2:], xticks=[], yticks=[])
    paint_surface(axes, surface, place, result.verdict.limits.char_thickness)
    _paint_beam(axes, result, surface)
    _name_rings(axes, surface, rings, place, sheet, inch)
    _paint_scale_bar(axes, place)
    _write(figure, title, foot, sheet, total)


def _title(result: Record, state: Snapshot) -> str:
    at = "" if state is result.fields else f" at {display(state.time, 's', 'ms')}"
    return f"{result.title}, from above{at}"


def _foot(result: Record, sheet: Sheet, state: Snapshot) -> list[tuple[str, float]]:
    """Lines below the picture with their size over that of the type."""
    room = sheet.width / sheet.em - 2.0 * _PAD
    texts = [(typeset(setting_line(result)), 1.0), (_note(result), _SMALL), (CAUTION, _SMALL)]
    return [(line, size) for text, size in texts for line in textwrap.wrap(text, int(room / size / _LETTER))]


def _note(result: Record) -> str:
    if not any(result.leaves_char):
        return _NOTE
    return _NOTE + _CHAR_NOTE.format(length_text(result.verdict.limits.char_thickness))


def _rings(result: Record, surface: Surface, is_end: bool) -> list[_Ring]:
    """What is seen, from the widest reach to the narrowest; each reach across the path of a scan."""
    across = 0.5 * np.pi if surface.scanned else 0.0
    found = []
    for name, threshold in reversed(VISIBLE.items()):
        reach = surface.reach_of(name, threshold, across)
        if reach is not None and reach > 0.0:
            found.append(_Ring(name, reach))
    hole = surface.reach_of("depth", 0.0, across)
    measured = result.measures.get("crater_width")
    if is_end and measured:
        hole = 0.5 * measured
    if hole:
        found.append(_Ring("crater", hole))
    through = surface.reach_of("through", 0.5, across)
    if through:
        found.append(_Ring("open below", through))
    found.append(_Ring("beam", float(result.beam["radius"])))
    return sorted(found, key=lambda ring: -ring.reach)


def _place(result: Record, surface: Surface, rings: list[_Ring]) -> tuple[float, float, float, float]:
    """Left, right, lower and upper end of what is shown [m]."""
    zones = [ring.reach for ring in rings if ring.name != "beam"]
    beam = float(result.beam["radius"])
    far = max(zones, default=0.0)
    half = _MARGIN * (max(far, beam) if beam < 2.5 * far or far == 0.0 else far)
    lit = result.history.time[result.history.power > 0.0]
    path = abs(float(result.beam["scan_speed"])) * float(lit[-1] - lit[0]) if lit.size else 0.0
    x, y = surface.beam_at
    left, right, lower, upper = surface.reach
    along = half + 0.5 * path
    return max(left, x - along), min(right, x + along), max(lower, y - half), min(upper, y + half)


def paint_surface(axes: Any, surface: Surface, place: tuple[float, ...], most_char: float) -> None:
    """Paint what lies open in `place` (left, right, lower, upper [m]), each zone over those less changed.

    Char is the paler the thinner it is below `most_char` [m].
    """
    left, right, lower, upper = place
    x, y = np.linspace(left, right, _POINTS), np.linspace(lower, upper, _POINTS)
    mesh = np.meshgrid(x, y)
    axes.set_facecolor(TONES["untouched"].colour)
    shown = [*VISIBLE.items(), ("through", 0.5)]
    for name, threshold in shown:
        tone, share = TONES["air" if name == "through" else name], surface.seen(name, *mesh)
        if share.max() > threshold:
            look = {"colors": [tone.colour], "hatches": [tone.hatch or None]}
            axes.contourf(x, y, share, levels=[threshold, 2.0], **look)
            axes.contour(x, y, share, levels=[threshold], colors=[INK], linewidths=0.5)
        if name == "charred" and share.max() > threshold:
            thickness = np.where(share > threshold, surface.seen("char", *mesh), np.nan)
            axes.contourf(x, y, thickness, levels=np.append(_SHADES * most_char, 1.0), colors=CHAR_SHADES)
    liquid = surface.seen("liquid", *mesh)
    if liquid.max() > 0.5:
        # A film is clear: its hatch alone lies over what is seen through it.
        axes.contourf(x, y, liquid, levels=[0.5, 2.0], colors="none", hatches=[TONES["liquid"].hatch])
    depth = surface.seen("depth", *mesh)
    if depth.max() > 0.0:
        # Pale, so that it shows on char as well.
        level = _EDGE_SHARE * float(depth.max())
        axes.contour(x, y, depth, levels=[level], colors=["white"], linewidths=0.9)


def _paint_beam(axes: Any, result: Record, surface: Surface) -> None:
    """The beam's edge as a dashed ring, dark within white so that it shows on every ground."""
    turn = np.linspace(0.0, 2.0 * np.pi, 361)
    radius = float(result.beam["radius"])
    x, y = surface.beam_at[0] + radius * np.cos(turn), surface.beam_at[1] + radius * np.sin(turn)
    axes.plot(x, y, color="white", linewidth=1.6, alpha=0.75)
    axes.plot(x, y, color=INK, linewidth=0.8, linestyle=(0, (4, 3)))


def _name_rings(
    axes: Any, surface: Surface, rings: list[_Ring], place: tuple[float, ...], sheet: Sheet, inch: float
) -> None:
    """Names and sizes at the right, a line from each to the ring that it names."""
    from matplotlib.patheffects import withStroke

    casing = [withStroke(linewidth=2.0, foreground="white")]
    middle, half = 0.5 * (place[2] + place[3]), 0.5 * (place[3] - place[2])
    spread = np.deg2rad(np.linspace(_STEEPEST, -_STEEPEST, len(rings)))
    levels = middle + half * np.linspace(0.86, -0.86, len(rings))
    text_at = place[1] + 1.4 * sheet.em / inch
    for ring, angle, level in zip(rings, spread, levels, strict=True):
        x, y = _on_ring(surface, ring, float(angle))
        axes.plot(
            [x, place[1], text_at - 0.3 * sheet.em / inch],
            [y, level, level],
            color=INK,
            linewidth=0.7,
            clip_on=False,
            path_effects=casing,
        )
        axes.plot(
            [x], [y], marker="o", markersize=2.6, color=INK, markeredgecolor="white", markeredgewidth=0.6
        )
        axes.text(text_at, level, _ring_text(ring, surface), va="center", ha="left")


def _on_ring(surface: Surface, ring: _Ring, angle: float) -> tuple[float, float]:
    """A place on the ring [m]: in the direction of `angle` [rad], or for a scan above the path."""
    x, y = surface.beam_at
    if surface.scanned and ring.name != "beam":
        return x, y + ring.reach
    return x + ring.reach * float(np.cos(angle)), y + ring.reach * float(np.sin(angle))


def _ring_text(ring: _Ring, surface: Surface) -> str:
    size = length_text(2.0 * ring.reach)
    sign = "width" if surface.scanned and ring.name != "beam" else "⌀"
    return f"{ring.name}\n{sign} {size}"


def _paint_scale_bar(axes: Any, place: tuple[float, ...]) -> None:
    width, height = place[1] - place[0], place[3] - place[2]
    unit, scale = length_unit(width)
    length = round_length(0.25 * width * scale)
    end, level = place[0] + 0.04 * width + length / scale, place[2] + 0.05 * height
    patch = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "boxstyle": "square,pad=0.25"}
    middle = end - 0.5 * length / scale
    text = f"{length:g} {unit}"
    axes.text(middle, level + 0.02 * height, text, ha="center", va="bottom", fontsize="small", bbox=patch)
    axes.plot(
        [end - length / scale, end], [level, level], color="white", linewidth=4.0, solid_capstyle="butt"
    )
    axes.plot([end - length / scale, end], [level, level], color=INK, linewidth=2.2, solid_capstyle="butt")


def _write(
    figure: Any, title: list[str], foot: list[tuple[str, float]], sheet: Sheet, total: tuple[float, float]
) -> None:
    em, left = sheet.em, _PAD * sheet.em / sheet.width
    for number, line in enumerate(title):
        y = total[1] - (_PAD + _TITLE * number) * em
        look: dict[str, Any] = {"fontsize": 1.15 * sheet.type_size, "fontweight": "bold"}
        figure.text(left, y / total[1], line, va="top", **look)
    y = (_PAD + sum(_LINE * size for _, size in foot)) * em
    for line, size in foot:
        colour = INK if size == 1.0 else "#5a5a5a"
        figure.text(left, y / total[1], line, va="top", fontsize=size * sheet.type_size, color=colour)
        y -= _LINE * size * em
