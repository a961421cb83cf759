"""Temperature map: a section's temperatures in steps of colour, from dark for cold to bright for hot."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.base.constants import ZERO_CELSIUS
from spotdwell.output.pictures.section import Section
from spotdwell.output.pictures.style import Sheet
from spotdwell.output.pictures.view import View
from spotdwell.output.pictures.zone_drawing import fill_layer, paint_crater

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
        painted = axes.contourf(*mesh, celsius, levels=LEVELS, colors=colours, extend="both")
        painted.set_clip_path(whole)
    paint_crater(axes, section, view)


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
