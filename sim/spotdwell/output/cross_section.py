"""Cross section: paints a result's crater, zones, layers and beam to scale."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

import numpy as np

from spotdwell.base.names import MEASURES
from spotdwell.base.units import display, significant
from spotdwell.model.columns import Geometry
from spotdwell.output.result import Result
from spotdwell.output.section import ZONES, LayerCut, Section, section_of
from spotdwell.output.style import BEAM, FAINT, INK, TONES, length_unit, setting_line, typeset

_BOX = (6.1, 4.4)
"""Most width and height of the drawing itself [inch]."""
_LEFT, _RIGHT, _BELOW, _LINE, _PAD = 0.75, 0.3, 0.85, 0.18, 0.14
"""Margins, height of a line of text and padding [inch]."""
_CHARACTERS = 100
"""Length of a line of the caption."""
_SHOWN = (
    ("depth", "crater_depth"),
    ("width", "crater_width"),
    ("under the floor char to", "char_thickness_floor"),
    ("coagulation to", "coagulation_thickness_floor"),
)
"""What the caption says of the measures."""
_FAR = 1e6
"""Stands for infinity in a contour's upper level."""


@dataclass(frozen=True)
class _View:
    """What is shown, in the picture's own length unit."""

    left: float
    right: float
    sky: float
    """Height shown above the surface."""
    bottom: float
    target: float
    """Depth of the target."""
    unit: str
    scale: float
    """Picture units a metre."""

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.sky + self.bottom

    @property
    def shown(self) -> float:
        """Depth to which there is target to see."""
        return min(self.bottom, self.target)


def paint(figure: Any, result: Result) -> None:
    """Fill `figure` with the section through the beam's axis, a caption above and a legend below."""
    section = section_of(result)
    view = _view(section, float(result.beam["radius"]))
    caption = _caption(result)
    axes = _axes(figure, view, len(caption), len(section.layers) > 1)
    for layer in section.layers:
        _paint_layer(axes, layer, view)
    _paint_crater(axes, section, view)
    if len(section.layers) > 1:
        _name_layers(axes, section, view)
    _paint_beam(axes, result, section, view)
    _paint_scale_bar(axes, view)
    _write_caption(figure, caption)
    _write_legend(figure, result, section)


def _view(section: Section, beam_radius: float) -> _View:
    """Crater and zones with a margin, and the beam unless it is far wider than they are."""
    reaches = [reach for zone in ZONES if (reach := section.extent_of(zone))]
    removed = np.abs(section.across[section.front > 0.0] - section.beam_at)
    reaches.append((float(removed.max(initial=0.0)), float(section.front.max())))
    aside, deep = max(r for r, _ in reaches), max(d for _, d in reaches)
    # A narrow hole is shown with tissue on both sides of it.
    half = max(
        1.2 * aside, 0.3 * deep, 1.2 * beam_radius if beam_radius < 2.5 * aside or aside == 0.0 else 0.0
    )
    left, right = max(section.edges[0], section.beam_at - half), min(section.edges[1], section.beam_at + half)
    bottom = min(section.bottom, max(1.2 * deep, 0.22 * (right - left)))
    if section.front.max() >= section.bottom:
        bottom = 1.12 * section.bottom
    sky = max(0.16 * (right - left), 0.12 * bottom)
    unit, scale = length_unit(max(right - left, bottom))
    return _View(
        left * scale, right * scale, sky * scale, bottom * scale, section.bottom * scale, unit, scale
    )


def _axes(figure: Any, view: _View, caption_lines: int, named_layers: bool) -> Any:
    """Axes with equal scales in a figure just large enough."""
    inch = min(_BOX[0] / view.width, _BOX[1] / view.height)
    width, height = inch * view.width, inch * view.height
    right = _RIGHT + (0.95 if named_layers else 0.0)
    above = 2.0 * _PAD + caption_lines * _LINE
    # A narrow section still needs the room of its caption.
    total = max(_LEFT + width + right, _LEFT + _BOX[0] + _RIGHT), _BELOW + height + above
    left = _LEFT + 0.5 * (total[0] - _LEFT - width - right)
    figure.set_size_inches(*total)
    axes = figure.add_axes((left / total[0], _BELOW / total[1], width / total[0], height / total[1]))
    axes.set(xlim=(view.left, view.right), ylim=(view.bottom, -view.sky))
    axes.set_xlabel(f"{{}} [{view.unit}]")
    axes.set_ylabel(f"depth [{view.unit}]", y=0.5 * view.bottom / view.height)
    axes.locator_params(axis="y", nbins=max(3, int(height / 0.4)))
    axes.set_yticks([tick for tick in axes.get_yticks() if 0.0 <= tick <= view.bottom])
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines["left"].set_bounds(0.0, view.bottom)
    axes.spines[["left", "bottom"]].set_zorder(8)
    return axes


def _paint_layer(axes: Any, layer: LayerCut, view: _View) -> None:
    from matplotlib.patches import Rectangle

    across, depth = layer.across * view.scale, layer.depth * view.scale
    top, bottom = layer.top * view.scale, layer.bottom * view.scale
    tone = TONES["liquid" if layer.liquid else "untouched"]
    size = across[-1] - across[0], bottom - top
    whole = Rectangle((across[0], top), *size, facecolor=tone.colour, hatch=tone.hatch or None, linewidth=0.0)
    axes.add_patch(whole)
    mesh = np.broadcast_to(across, depth.shape), depth
    for zone in ZONES:
        margin = np.clip(layer.margins[zone], -_FAR, 0.5 * _FAR)
        if margin.max() < 0.0:
            continue
        tone = TONES[zone]
        look = {"colors": [tone.colour], "hatches": [tone.hatch or None]}
        painted = [axes.contourf(*mesh, margin, levels=[0.0, _FAR], **look)]
        if margin.min() < 0.0:
            painted.append(axes.contour(*mesh, margin, levels=[0.0], colors=[INK], linewidths=0.5))
        for item in painted:
            item.set_clip_path(whole)


def _paint_crater(axes: Any, section: Section, view: _View) -> None:
    """What is gone, and the line of what is left."""
    across = np.concatenate([[section.edges[0]], section.across, [section.edges[1]]]) * view.scale
    front = np.pad(section.front, 1, mode="edge") * view.scale
    through = front >= section.bottom * view.scale
    gone = np.where(through, view.bottom, front)
    axes.fill_between(across, 0.0, gone, facecolor=TONES["air"].colour, linewidth=0.0, zorder=3)
    axes.plot(across, np.where(through, np.nan, front), color=INK, linewidth=1.0, zorder=4)
    if section.has_crater:
        removed = front > 0.0
        removed = np.convolve(removed, [1, 1, 1], mode="same") > 0
        was = np.where(removed, 0.0, np.nan)
        axes.plot(across, was, color=FAINT, linewidth=0.6, linestyle=(0, (4, 3)), zorder=4)
    if view.bottom > section.bottom * view.scale:
        under = np.where(through, np.nan, section.bottom * view.scale)
        axes.plot(across, under, color=INK, linewidth=1.0, zorder=4)


def _name_layers(axes: Any, section: Section, view: _View) -> None:
    """Boundaries as dashed lines under the crater, names at the right, spread where layers are thin."""
    shown = [layer for layer in section.layers if layer.top * view.scale < view.bottom]
    least = 0.055 * view.height
    at = -np.inf
    for layer in shown:
        top, bottom = layer.top * view.scale, min(layer.bottom * view.scale, view.bottom)
        if layer.top > 0.0:
            axes.axhline(top, color=INK, linewidth=0.8, linestyle=(0, (6, 2)), zorder=2.5)
        middle = 0.5 * (top + bottom)
        at = max(middle, at + least)
        axes.annotate(
            typeset(layer.name),
            (view.right, middle),
            xytext=(view.right + 0.03 * view.width, at),
            va="center",
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": FAINT, "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0},
        )


def _paint_beam(axes: Any, result: Result, section: Section, view: _View) -> None:
    """A bar as wide as the beam over the surface and an arrow onto it."""
    centre = section.beam_at * view.scale
    slab = result.geometry is Geometry.SLAB
    half = view.width if slab else float(result.beam["radius"]) * view.scale
    ends = max(centre - half, view.left), min(centre + half, view.right)
    level = -0.22 * view.sky
    axes.plot(ends, [level, level], color=BEAM, linewidth=1.6, solid_capstyle="butt", zorder=5)
    for end, marker in zip(ends, ("<", ">"), strict=True):
        # Where the beam is wider than the view, an arrow head says that it goes on.
        cut_off = half > abs(end - centre) * (1.0 + 1e-9)
        shape = marker if cut_off else "|"
        axes.plot([end], [level], marker=shape, color=BEAM, markersize=5, zorder=5, clip_on=False)
    arrow = {"arrowstyle": "-|>", "color": BEAM, "linewidth": 1.4, "shrinkA": 0, "shrinkB": 1}
    axes.annotate("", (centre, level), xytext=(centre, -view.sky), arrowprops=arrow, zorder=5)
    beside = {"xytext": (8, 0), "textcoords": "offset points", "va": "center", "annotation_clip": False}
    axes.annotate(_beam_label(result), (centre, -0.68 * view.sky), color=BEAM, zorder=5, **beside)


def _beam_label(result: Result) -> str:
    radius = float(result.beam["radius"])
    if result.geometry is Geometry.SLAB:
        return "uniform beam"
    unit, scale = length_unit(2.0 * radius)
    across = f"{significant(2.0 * radius * scale)} {unit}"
    edge = "1/e²" if "gaussian" in str(result.beam["profile"]) else "edge to edge"
    scanned = ", scanned" if float(result.beam["scan_speed"]) != 0.0 else ""
    return f"{result.beam['profile']} beam{scanned}, {across} ({edge})"


def _paint_scale_bar(axes: Any, view: _View) -> None:
    """A bar of a round length, at the lower right."""
    room = min(0.22 * max(view.width, 0.6 * view.height), 0.6 * view.width)
    decade = 10.0 ** np.floor(np.log10(room))
    length = float(max(step * decade for step in (1.0, 2.0, 5.0) if step * decade <= room))
    end, level = view.right - 0.03 * view.width, view.shown - 0.05 * view.height
    patch = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "boxstyle": "square,pad=0.25"}
    axes.text(
        end - 0.5 * length,
        level - 0.012 * view.height,
        f"{length:g} {view.unit}",
        ha="center",
        va="bottom",
        fontsize=7.5,
        bbox=patch,
        zorder=6,
    )
    axes.plot([end - length, end], [level, level], color=INK, linewidth=2.4, solid_capstyle="butt", zorder=7)


def _caption(result: Result) -> list[str]:
    """Title, setting, and the verdict with the measures that matter, a line each or more."""
    shown = [
        f"{words} {display(value, MEASURES[name].unit, MEASURES[name].display_unit)}"
        for words, name in _SHOWN
        if (value := result.measures.get(name)) is not None
    ]
    found = f"{result.verdict.word}: {', '.join(shown)}"
    lines = textwrap.wrap(result.title, _CHARACTERS - 15)
    for text in (setting_line(result), found):
        lines += textwrap.wrap(text, _CHARACTERS)
    return [typeset(line) for line in lines]


def _write_caption(figure: Any, lines: list[str]) -> None:
    width, height = figure.get_size_inches()
    for number, line in enumerate(lines):
        y = (height - _PAD - number * _LINE) / height
        weight = "bold" if number == 0 else "normal"
        figure.text(_LEFT / width, y, line, va="top", fontweight=weight, fontsize=9.5 if number == 0 else 8.5)


def _write_legend(figure: Any, result: Result, section: Section) -> None:
    from matplotlib.patches import Patch

    present = [zone for zone in reversed(ZONES) if section.extent_of(zone)]
    names = [*present, "untouched"]
    if any(layer.liquid for layer in section.layers):
        names.append("liquid")
    patches = [
        Patch(facecolor=TONES[n].colour, hatch=TONES[n].hatch or None, edgecolor=INK, linewidth=0.5, label=n)
        for n in names
    ]
    figure.legend(
        handles=patches,
        loc="lower center",
        ncols=len(patches),
        frameon=False,
        handlelength=2.2,
        handleheight=1.1,
        borderaxespad=0.4,
    )
    figure.axes[0].set_xlabel(figure.axes[0].get_xlabel().format(section.label))
