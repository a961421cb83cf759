"""Questions of the class page about the beam: what twice the power or spot does, and how wide craters are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from spotdwell.base.names import AXES
from spotdwell.base.units import significant
from spotdwell.maps.choice import length_of, shown
from spotdwell.maps.cube import Axis, Cube
from spotdwell.output.pictures.style import typeset
from spotdwell.pages.beam import beams_of
from spotdwell.pages.points import Index, cut_points, fixed_text, lines_along, places_of, question
from spotdwell.pages.words import setting_text

_ALIKE = 0.05
"""Ratios this close to one another, as a share, are told as the same."""


def doubled(cube: Cube) -> Iterator[dict[str, Any]]:
    """Power or spot about doubled, the rest as it was: what does the depth do?"""
    depths, cut = cube.measures["deepest"], cut_points(cube)
    for number, axis in enumerate(cube.axes):
        if axis.name not in ("power", "peak_power", "spot"):
            continue
        pairs = (
            pair
            for along in lines_along(cube.shape, number)
            if (pair := _nearest_double(axis, [at for at in along if cut[at]], number)) is not None
        )
        if (pair := next(pairs, None)) is None:
            continue
        a, b = pair
        first, second = (float(axis.values[at[number]]) for at in pair)
        depth = f"from {length_of(depths[a])} to {length_of(depths[b])}"
        grows, ratio = second / first, float(depths[b] / depths[a])
        fixed = fixed_text(cube, a, number)
        start = typeset(f"{f'{fixed}: the' if fixed else 'The'} {AXES[axis.name].meaning} goes from ")
        start += typeset(f"{shown(axis, first)} to {shown(axis, second)}")
        start = f"{start[:1].upper()}{start[1:]}"
        if axis.name == "spot":
            falls = float(cube.measures["irradiance_mean"][b] / cube.measures["irradiance_mean"][a])
            yield question(
                f"{start}, the power stays. How much weaker does the beam become, and does the depth follow?",
                f"The mean irradiance falls to {_percent(falls)}; the depth goes {depth}, which is "
                f"{_percent(ratio)}. {_why_spot(ratio / falls)}",
                a,
                b,
            )
        else:
            yield question(
                f"{start}, {significant(grows)} times as much. Does the crater get as many times as deep?",
                f"It goes {depth}, {significant(ratio)} times as deep. {_why_power(ratio / grows)}",
                a,
                b,
            )
        return


def _nearest_double(axis: Axis, points: list[Index], number: int) -> tuple[Index, Index] | None:
    """Of points along an axis the two whose values are nearest to 1 : 2; None without some that are near."""
    pairs = [
        (abs(np.log2(float(axis.values[b[number]]) / float(axis.values[a[number]])) - 1.0), a, b)
        for a in points
        for b in points
        if b[number] > a[number]
    ]
    near = [pair for pair in pairs if pair[0] < 0.3]
    return min(near)[1:] if near else None


def _why_power(share: float) -> str:
    if share > 1.0 + _ALIKE:
        return (
            "More: the energy that only warms the target to the point of removal is paid once, and all that "
            "comes on top removes."
        )
    if share < 1.0 - _ALIKE:
        return (
            "Less: what is thrown out takes part of the beam that follows, and in a deep crater the light "
            "falls on longer walls."
        )
    return "Nearly so: what only warms the target to the point of removal is a small part here."


def _why_spot(share: float) -> str:
    if share < 1.0 - _ALIKE:
        return (
            "The depth falls more: warming the target to the point of removal takes as much at each place as "
            "before, and of less light it is a larger part."
        )
    if share > 1.0 + _ALIKE:
        return (
            "The depth falls less: from a wide beam less heat flows off sideways, and less is thrown out in "
            "the way of the light."
        )
    return "The depth follows: as much energy as before removes about as much volume."


def crater_widths(cube: Cube) -> Iterator[dict[str, Any]]:
    """Craters of one beam: how wide are they, and why not all as wide as the beam?"""
    beam = beams_of(cube)
    if beam is None or beam["even"]:
        return
    widths, cut, along = cube.measures["crater_width"], cut_points(cube), beam["axis"]
    groups: dict[int, list[Index]] = {}
    for at in places_of(cut & (np.nan_to_num(widths) > 0.0)):
        groups.setdefault(0 if along is None else at[along], []).append(at)
    if not groups:
        return
    place, group = max(groups.items(), key=lambda item: (len(item[1]), -item[0]))
    narrow, wide = min(group, key=lambda at: widths[at]), max(group, key=lambda at: widths[at])
    if widths[wide] < 1.05 * widths[narrow]:
        return
    across = length_of(1e-6 * float(f"{beam['across'][place]:.3g}"))
    kind = "from edge to edge" if beam["edges"] else "by 1/e²"
    texts = [f"{length_of(widths[at])} ({setting_text(cube, at)})" for at in (narrow, wide)]
    yield question(
        f"The beam measures {across} {kind}. Are the craters as wide as that?",
        f"From {texts[0]} to {texts[1]}. {_why_width(beam)}",
        narrow,
        wide,
    )


def _why_width(beam: dict[str, Any]) -> str:
    if beam["edges"]:
        return (
            "Nothing arrives beyond the edge, however strong the shot: what lies there is reached by heat "
            "that flows sideways alone. A weak shot does not even remove all that is lit."
        )
    level = _percent(float(np.exp(-2.0)))
    return (
        "Irradiance falls from the axis outwards without an end, and how far out it is still enough to "
        f"remove depends on power and time. The diameter by 1/e² only says where {level} of the peak is left."
    )


def _percent(share: float) -> str:
    return f"{significant(100.0 * share, 2)} %"
