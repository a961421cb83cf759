"""Temperature in a section: isotherms and a map of shades."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.constants import ZERO_CELSIUS
from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.output.pictures.section import LayerCut, Section
from spotdwell.output.pictures.style import PAGE, Sheet
from spotdwell.output.pictures.view import View
from spotdwell.output.pictures.zone_drawing import fill_layer, paint_crater
from spotdwell.output.record import Record
from spotdwell.solve.outcome import Snapshot

Array = NDArray[np.float64]

_LINE = "#0b2f6b"
_STYLES: tuple[Any, ...] = ("-", (0, (5, 1.5)), (0, (1.2, 1.2)), (0, (6, 1.5, 1.2, 1.5)))
_DIRECTIONS = (20.0, 80.0)
"""Between these angles below the horizontal the temperatures are spread [degree]."""
_OUTSIDE = 1.8
"""How far outside the outermost line they stand [em]."""
_LABEL = 4.6, 1.5
"""Width and height of a written temperature [em]."""
_NEARLY = 0.8
"""Share of the highest temperature rise that counts as nearly as hot."""


def hottest_state(result: Record) -> Snapshot:
    """The last of the saved states that are nearly as hot as the hottest of them."""
    # While char burns off, the highest temperature goes up and down by some percent at random.
    highest = [_highest(state) - result.snapshots[0].temperature.min() for state in result.snapshots]
    hot = [index for index, rise in enumerate(highest) if rise >= _NEARLY * max(highest)]
    return result.snapshots[hot[-1]]


def state_at(result: Record, time: float, where: str = "at") -> Snapshot:
    """The state saved at `time` [s]. Raises InputError, which lists the saved times, if there is none."""
    for state in result.snapshots:
        if np.isclose(state.time, time, rtol=1e-3, atol=0.0):
            return state
    saved = ", ".join(display(state.time, "s", "ms", 4) for state in result.snapshots[:12])
    advice = "Choose one of them, or run it again with this time among run.save_times."
    raise InputError(where, f"a saved time ({saved})", display(time, "s", "ms"), advice)


def check_contours(state: Snapshot, levels: Sequence[float], where: str = "contours") -> None:
    """Raise InputError if `state` reaches none of the temperatures `levels` [K]."""
    inside = ~state.gone()
    low, high = (float(f(state.temperature[inside])) for f in (np.min, np.max))
    if inside.any() and not any(low <= level <= high for level in levels):
        between = f"{display(low, 'K', 'degC')} and {display(high, 'K', 'degC')}"
        expected = f"a temperature between {between}, as at {display(state.time, 's', 'ms')}"
        advice = "Ask for one of those, or keep a hotter moment: save_times."
        raise InputError(where, expected, ", ".join(display(one, "K", "degC") for one in levels), advice)


def _highest(state: Snapshot) -> float:
    inside = ~state.gone()
    return float(state.temperature[inside].max()) if inside.any() else 0.0


def paint_contours(
    axes: Any, section: Section, view: View, levels: Sequence[float], sheet: Sheet = PAGE
) -> None:
    """Lines at `levels` [K], each with its own dashes, named on the right of the beam's axis."""
    from matplotlib.patheffects import withStroke

    casing = [withStroke(linewidth=2.0, foreground="white")]
    levels = sorted(levels)
    points: dict[float, list[Array]] = {level: [] for level in levels}
    for layer in section.layers:
        across, depth = layer.across * view.scale, layer.depth * view.scale
        clip = fill_layer(axes, layer, view, "none")
        for number, level in enumerate(levels):
            if not layer.temperature.min() < level < layer.temperature.max():
                continue
            look: dict[str, Any] = {"colors": [_LINE], "linewidths": 1.0, "zorder": 2.8}
            look["linestyles"] = [_STYLES[number % len(_STYLES)]]
            mesh = np.broadcast_to(across, depth.shape), depth
            lines = axes.contour(*mesh, layer.temperature, levels=[level], **look)
            lines.set(path_effects=casing)
            lines.set_clip_path(clip)
            points[level] += _inside(lines.allsegs[0], layer, view)
    _name_lines(axes, section, view, points, sheet)


def _inside(segments: Sequence[Array], layer: LayerCut, view: View) -> list[Array]:
    """The vertices of a contour that lie in its layer and in the view."""
    low, high = layer.top * view.scale, min(layer.bottom * view.scale, view.bottom)
    kept = []
    for segment in segments:
        x, y = segment.T
        kept.append(segment[(x > view.left) & (x < view.right) & (y >= low) & (y <= high)])
    return [segment for segment in kept if segment.size]


def _name_lines(
    axes: Any, section: Section, view: View, points: dict[float, list[Array]], sheet: Sheet
) -> None:
    """Each temperature outside of all lines, in a direction of its own, with a leader to its line."""
    inch = np.array([view.size[0] / view.width, view.size[1] / view.height])
    centre = np.array([section.beam_at, 0.5 * float(section.front.max())]) * view.scale
    drawn = {level: (np.concatenate(found) - centre) * inch for level, found in points.items() if found}
    angles = np.deg2rad(np.linspace(*_DIRECTIONS[::-1], max(2, len(drawn))))
    edge = (np.array([view.right, view.shown]) - centre) * inch - np.array(_LABEL) * sheet.em * (1.0, 0.6)
    taken: list[Array] = []
    # The hottest line is the innermost: it is named below, the coldest at the side.
    for angle, level in zip(angles, sorted(drawn, reverse=True), strict=False):
        direction = np.array([np.cos(angle), np.sin(angle)])
        own = _toward(drawn[level], angle)
        far = max(float(_toward(places, angle) @ direction) for places in drawn.values())
        place = _free(far + _OUTSIDE * sheet.em, direction, edge, taken, sheet)
        taken.append(place)
        axes.annotate(
            f"{level - ZERO_CELSIUS:.4g} °C",
            own / inch + centre,
            xytext=place / inch + centre,
            color=_LINE,
            ha="left",
            va="center",
            fontsize="small",
            fontweight="bold",
            zorder=7,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "boxstyle": "square,pad=0.12"},
            arrowprops={"arrowstyle": "-", "color": _LINE, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0},
        )


def _toward(places: Array, angle: float) -> Array:
    """Of `places` about a centre the one nearest to the direction of `angle` [rad]."""
    return np.asarray(places[int(np.argmin(np.abs(np.arctan2(places[:, 1], places[:, 0]) - angle)))])


def _free(far: float, direction: Array, edge: Array, taken: list[Array], sheet: Sheet) -> Array:
    """A place for a label: `far` in its direction, farther if others are in the way, inside `edge` [in]."""
    size = np.array(_LABEL) * sheet.em
    for more in range(12):
        place = np.minimum((far + 0.7 * more * sheet.em) * direction, edge)
        if all(np.any(np.abs(place - other) >= size) for other in taken):
            break
    return np.asarray(place)


LEVELS = (45.0, 60.0, 80.0, 100.0, 150.0, 250.0, 400.0, 600.0, 900.0)
"""Steps of the colours [degC], close where tissue coagulates and dries. Steps keep files small."""
_MAP = "inferno"
"""Its lightness grows evenly, so that it reads in grey and without red and green."""


def _colours() -> list[str]:
    from matplotlib import colormaps
    from matplotlib.colors import to_hex

    return [to_hex(colormaps[_MAP](share)) for share in np.linspace(0.06, 0.97, len(LEVELS) + 1)]


def paint_temperatures(axes: Any, section: Section, view: View) -> None:
    """Temperatures of what is left, and the crater."""
    colours = _colours()
    for layer in section.layers:
        across, depth = layer.across * view.scale, layer.depth * view.scale
        whole = fill_layer(axes, layer, view, colours[0])
        celsius = layer.temperature - ZERO_CELSIUS
        if celsius.max() < LEVELS[0]:
            continue
        mesh = np.broadcast_to(across, depth.shape), depth
        shade(axes, mesh, celsius).set_clip_path(whole)
    paint_crater(axes, section, view)


def shade(axes: Any, mesh: tuple[Array, Array], celsius: Array) -> Any:
    """Temperatures [degC] over a mesh in the colours of `LEVELS`; returns what was painted."""
    return axes.contourf(*mesh, celsius, levels=LEVELS, colors=_colours(), extend="both")


def write_scale(figure: Any, place: tuple[float, float, float, float], sheet: Sheet) -> None:
    """A bar of the colours with their temperatures, at `place`: left, bottom, width and height [in]."""
    total = figure.get_size_inches()
    axes = figure.add_axes(
        (place[0] / total[0], place[1] / total[1], place[2] / total[0], place[3] / total[1])
    )
    colours = _colours()
    for index, colour in enumerate(colours):
        axes.axhspan(index, index + 1, facecolor=colour, linewidth=0.0)
    axes.set(xlim=(0.0, 1.0), ylim=(0.0, len(colours)), xticks=[])
    axes.yaxis.tick_right()
    axes.set_yticks(range(1, len(colours)), [f"{level:g}" for level in LEVELS], fontsize="small")
    axes.tick_params(length=2.0, pad=1.5)
    axes.set_title("°C", fontsize=sheet.type_size, pad=3.0)
