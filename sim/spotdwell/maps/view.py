"""What of a map is seen: the slice, the axes and the caption."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.base.names import AXES
from spotdwell.maps.choice import Choice, in_unit, length_of, number_of, setting_text, shown
from spotdwell.maps.cube import Axis, Cube
from spotdwell.maps.regions import Mesh
from spotdwell.measure.verdict import Limits
from spotdwell.output.pictures.style import typeset

Array = NDArray[np.float64]

MOST_PANELS = 12
_LONG = 8.0
"""Last over first of listed numbers from which they are drawn to a logarithmic scale."""
_MOST_NAMED = 9
"""Values of a listed axis that get a tick's label; of more every second or third does."""


@dataclass(frozen=True)
class View:
    """Roles of the axes, by their numbers."""

    across: int
    up: int
    panels: tuple[int, ...]
    axes: tuple[Axis, ...]

    @property
    def places(self) -> list[tuple[int, ...]]:
        """Indices along the panel axes, one for each panel."""
        return list(product(*(range(len(self.axes[one].values)) for one in self.panels)))

    def slice_of(self, place: tuple[int, ...], values: NDArray[Any]) -> NDArray[Any]:
        """What the panel at `place` shows of `values`, shape (values up, values across)."""
        index: list[int | slice] = [slice(None)] * len(self.axes)
        for number, one in zip(self.panels, place, strict=True):
            index[number] = one
        found = values[tuple(index)]
        return found.T if self.across < self.up else found

    def title_of(self, place: tuple[int, ...]) -> str:
        """What a panel is for, such as "spot 0.4 mm, skin"."""
        texts = []
        for number, one in zip(self.panels, place, strict=True):
            axis = self.axes[number]
            text = shown(axis, axis.values[one])
            texts.append(text if axis.name == "material" else f"{AXES[axis.name].meaning} {text}")
        return typeset(", ".join(texts))

    @property
    def has_words(self) -> bool:
        """Whether one side of the panels is an axis of words, across which nothing is interpolated."""
        return any(isinstance(self.axes[one].values[0], str) for one in (self.across, self.up))

    @property
    def mesh(self) -> Mesh:
        """Where the cells of a panel lie."""
        sides = [sides_of(self.axes[one]) for one in (self.across, self.up)]
        (x, x_edges), (y, y_edges) = sides
        return Mesh(x, y, x_edges, y_edges)


def view_of(axes: tuple[Axis, ...]) -> View:
    """The first two axes of numbers go across and up, words up if there is but one; the rest make panels."""
    numbers = [one for one, axis in enumerate(axes) if not isinstance(axis.values[0], str)]
    words = [one for one in range(len(axes)) if one not in numbers]
    across, up = [*numbers, *words][:2]
    return View(across, up, tuple(one for one in range(len(axes)) if one not in (across, up)), axes)


def check_panels(axes: tuple[Axis, ...]) -> None:
    """Raise InputError where a picture of the map would need too many panels."""
    if len(axes) == 1:
        return
    view = view_of(axes)
    if (count := int(np.prod([len(axes[one].values) for one in view.panels], dtype=int))) > MOST_PANELS:
        names = " and ".join(axes[one].name for one in view.panels)
        advice = f"Fix {names} or give fewer values of it; a table or file holds all."
        raise InputError("picture", f"at most {MOST_PANELS} panels", f"{count}, over {names}", advice)


def spacing(axis: Axis) -> str:
    """How `axis` is drawn: "words" side by side, or numbers to a "linear" or "log" scale.

    Listed numbers over more than a factor of 8 are drawn to a logarithmic one.
    """
    if isinstance(axis.values[0], str):
        return "words"
    if axis.scale != "list":
        return axis.scale
    low, high = (float(axis.values[one]) for one in (0, -1))
    return "log" if low > 0.0 and high > _LONG * low else "linear"


def sides_of(axis: Axis) -> tuple[Array, Array]:
    """Centres and edges of the cells along `axis`: in its unit, or counted from 0 for words."""
    if (drawn := spacing(axis)) == "words":
        centres = np.arange(len(axis.values), dtype=np.float64)
    else:
        centres = np.array([in_unit(axis, float(value)) for value in axis.values])
    scaled = np.log(centres) if drawn == "log" else centres
    middles = 0.5 * (scaled[1:] + scaled[:-1])
    edges = np.concatenate([[2.0 * scaled[0] - middles[0]], middles, [2.0 * scaled[-1] - middles[-1]]])
    return centres, np.exp(edges) if drawn == "log" else edges


def at_position(axis: Axis, position: float) -> float:
    """Where a place along `axis`, counted in its values, lies on a side."""
    centres = sides_of(axis)[0]
    places = np.arange(centres.size)
    if spacing(axis) == "log":
        return float(np.exp(np.interp(position, places, np.log(centres))))
    return float(np.interp(position, places, centres))


def scale_side(side: Any, axis: Axis, set_scale: Any) -> None:
    """Scale and ticks of one side of a panel: `side` is matplotlib's x or y axis."""
    from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullFormatter

    if (drawn := spacing(axis)) == "log":
        set_scale("log")
    if axis.scale == "list":
        step = -(-len(axis.values) // _MOST_NAMED)
        places, centres = range(0, len(axis.values), step), sides_of(axis)[0]
        names = [typeset(number_of(axis, axis.values[one])) for one in places]
        side.set_ticks([centres[one] for one in places], names)
        side.set_minor_formatter(NullFormatter())
        side.set_tick_params(which="minor", length=0.0)
    elif drawn == "log":
        decades = np.log10(float(axis.values[-1]) / float(axis.values[0]))
        side.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0) if decades < 2.5 else (1.0,)))
        side.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        side.set_minor_formatter(NullFormatter())
    else:
        side.set_major_locator(MaxNLocator(6, integer=axis.name == "count"))


def label_of(axis: Axis) -> str:
    """What an axis shows, with its unit."""
    unit = typeset(f" {axis.unit}").strip()
    meaning = AXES[axis.name].meaning
    return f"{meaning} [{unit}]" if unit else meaning


def caption_of(cube: Cube, view: View | None, choice: Choice | None) -> list[str]:
    """Title, setting, limits and the chosen setting, a paragraph each."""
    names = [AXES[axis.name].meaning for axis in cube.axes]
    title = cube.setting.get("title") or f"Map over {joined(names)}"
    setting = " · ".join(text for key, text in cube.setting.items() if key != "title")
    lines = [title, setting, f"Limits: {limits_text(cube.limits)}."]
    if choice is not None:
        lines.append(choice_text(cube, choice))
    if view is not None and view.has_words:
        lines.append("Figures: crater depth over coagulation under the floor, in um.")
    return [line for line in lines if line]


def joined(names: Sequence[str]) -> str:
    """Names with commas, and "and" before the last."""
    return " and ".join([*([", ".join(names[:-1])] if names[1:] else []), names[-1]])


def limits_text(limits: Limits) -> str:
    """The limits of the verdict in words."""
    depth = "any depth" if limits.depth is None else f"depth {length_of(limits.depth)}"
    ratio = f"depth over width {limits.aspect_ratio:g}"
    return f"char {length_of(limits.char_thickness)} at floor and wall, {depth}, {ratio}"


def choice_text(cube: Cube, choice: Choice) -> str:
    """The chosen setting, with what it does, in a sentence."""
    # A computed point is only nearly as deep as wanted.
    depth = () if choice.between else (("depth", "crater_depth"),)
    under = (("char", "char_thickness_floor"), ("coagulation", "coagulation_thickness_floor"))
    figures = [
        f"{words} {length_of(value)}"
        for words, name in (*depth, *under)
        if (value := choice.measures[name]) is not None
    ]
    how = f"; between two points along {choice.between}" if choice.between else ""
    odds = "" if choice.between else cube.odds(choice.nearest)
    word = f"{choice.word}, {odds}" if odds else choice.word
    found = f"{word}, {', '.join(figures)} under the floor" if figures else word
    wanted = length_of(choice.depth)
    return f"Cleanest for a depth of {wanted}: {setting_text(cube.axes, choice)} ({found}{how})."
