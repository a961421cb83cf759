"""Caption of a map: what it goes through, what all points share, the limits and the cleanest setting."""

from __future__ import annotations

from spotdwell.base.names import AXES
from spotdwell.measure.verdict import Limits
from spotdwell.output.maps.choice import Choice, length_of, setting_text
from spotdwell.output.maps.cube import Cube
from spotdwell.output.maps.view import View


def caption_of(cube: Cube, view: View, choice: Choice | None) -> list[str]:
    """Title, setting, limits and the chosen setting, a paragraph each."""
    names = [AXES[axis.name].meaning for axis in cube.axes]
    title = cube.setting.get("title") or f"Map over {', '.join(names[:-1])} and {names[-1]}"
    setting = " · ".join(text for key, text in cube.setting.items() if key != "title")
    lines = [title, setting, f"Limits: {limits_text(cube.limits)}."]
    if choice is not None:
        lines.append(choice_text(cube, choice))
    if view.has_words:
        lines.append("Figures: crater depth over coagulation under the floor, in um.")
    return [line for line in lines if line]


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
    found = f"{choice.word}, {', '.join(figures)} under the floor" if figures else choice.word
    wanted = length_of(choice.depth)
    return f"Cleanest for a depth of {wanted}: {setting_text(cube.axes, choice)} ({found}{how})."
