"""View: which part of a section is shown, how large, and with which scales."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spotdwell.output.pictures.section import ZONES, LayerCut, Section
from spotdwell.output.pictures.style import length_unit

_FLATTEST, _STEEPEST = 0.08, 5.0
"""Depth over width of what is shown beyond which equal scales would leave a thread of it."""
_STRETCHES = (2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_LEAST_HEIGHT = 0.42
"""Of a drawing over its width, where there is tissue to show."""


@dataclass(frozen=True)
class View:
    """What is shown, in the picture's own length unit, and its size on paper."""

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
    stretch: float
    """Scale of depths over scale of widths; 1 unless the hole would be illegible."""
    size: tuple[float, float]
    """Width and height on paper [in]."""

    @property
    def width(self) -> float:
        """[unit]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """[unit], of depth."""
        return self.sky + self.bottom

    @property
    def shown(self) -> float:
        """Depth to which there is target to see."""
        return min(self.bottom, self.target)

    @property
    def stretch_note(self) -> str:
        """What a reader must know of unequal scales; empty for equal ones."""
        if self.stretch == 1.0:
            return ""
        if self.stretch > 1.0:
            return f"depth drawn {self.stretch:g} times larger than width"
        return f"width drawn {1.0 / self.stretch:g} times larger than depth"


@dataclass(frozen=True)
class Content:
    """What of a section must be seen: crater, zones and beam."""

    aside: float
    """Farthest from the beam's axis [m]."""
    deep: float
    """[m]."""
    half: float
    """Half of the least width to show [m]."""
    stretch: float

    @property
    def aspect(self) -> float:
        """Height over width on paper, without what lies above the surface."""
        return 1.2 * self.deep * self.stretch / (2.0 * self.half)


def content_of(section: Section, beam_radius: float) -> Content:
    """Crater and zones with a margin, and the beam of `beam_radius` [m] unless it is far wider."""
    reaches = [reach for zone in ZONES if (reach := section.extent_of(zone))]
    removed = np.abs(section.across[section.front > 0.0] - section.beam_at)
    reaches.append((float(removed.max(initial=0.0)), float(section.front.max())))
    aside, deep = max(r for r, _ in reaches), max(d for _, d in reaches)
    stretch = _stretch(aside, deep)
    beam = 1.2 * beam_radius if beam_radius < 2.5 * aside or aside == 0.0 else 0.0
    # A narrow hole is shown with tissue on both sides of it.
    half = max(1.2 * aside, 0.3 * deep * stretch, beam)
    room = max(section.beam_at - section.edges[0], section.edges[1] - section.beam_at)
    return Content(aside, deep, min(half, room), stretch)


def _stretch(aside: float, deep: float) -> float:
    """Round factor by which depths are enlarged (below 1: widths are), so that the shape can be read."""
    if aside <= 0.0 or deep <= 0.0:
        return 1.0
    ratio = deep / (2.0 * aside)
    if ratio < _FLATTEST:
        return next((s for s in _STRETCHES if ratio * s >= _FLATTEST), _STRETCHES[-1])
    if ratio > _STEEPEST:
        return 1.0 / next((s for s in _STRETCHES if ratio / s <= _STEEPEST), _STRETCHES[-1])
    return 1.0


def view_of(section: Section, content: Content, box: tuple[float, float], sky: float, fill: bool) -> View:
    """The view of `content` that suits a `box` [in] with `sky` [in] of it above the surface.

    The tissue beside and below is shown as far as the box and the target go; `fill` takes the whole height.
    """
    bottom = max(1.2 * content.deep, 0.44 * content.half / content.stretch)
    if section.front.max() >= section.bottom:
        bottom = 1.12 * section.bottom  # cut through: with the air under it
    bottom = min(bottom, 1.12 * section.bottom)
    inch = min(0.5 * box[0] / content.half, (box[1] - sky) / (bottom * content.stretch))
    half = 0.5 * box[0] / inch
    left, right = max(section.edges[0], section.beam_at - half), min(section.edges[1], section.beam_at + half)
    least = box[1] if fill else min(box[1], _LEAST_HEIGHT * box[0] + sky)
    # Below a thin target there is nothing to show.
    bottom = max(bottom, min((least - sky) / (inch * content.stretch), section.bottom))
    unit, scale = length_unit(max(right - left, bottom))
    down = inch * content.stretch
    return View(
        left * scale,
        right * scale,
        sky / down * scale,
        bottom * scale,
        section.bottom * scale,
        unit,
        scale,
        content.stretch,
        (inch * (right - left), sky + down * bottom),
    )


def seen_part(section: Section, view: View) -> Section:
    """`section` with meshes that end just outside the view: drawings get quicker and files smaller."""
    left, right, bottom = view.left / view.scale, view.right / view.scale, view.bottom / view.scale
    layers = (_cropped(layer, left, right, bottom) for layer in section.layers if layer.top < bottom)
    return replace(section, layers=tuple(layers))


def _cropped(layer: LayerCut, left: float, right: float, bottom: float) -> LayerCut:
    columns = slice(
        max(0, int(np.searchsorted(layer.across, left)) - 1), int(np.searchsorted(layer.across, right)) + 1
    )
    rows = slice(0, int(np.searchsorted(layer.depth[:, columns].min(axis=1), bottom)) + 2)
    return replace(
        layer,
        across=layer.across[columns],
        depth=layer.depth[rows, columns],
        margins={zone: margin[rows, columns] for zone, margin in layer.margins.items()},
        temperature=layer.temperature[rows, columns],
    )
