"""Questions of the class page, with answers: those that the map itself gives; `causes` holds reasons."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from spotdwell.base.names import AXES
from spotdwell.base.units import convert, significant
from spotdwell.maps.choice import length_of, shown
from spotdwell.maps.cube import Cube
from spotdwell.output.pictures.style import typeset
from spotdwell.pages.beam_effects import crater_widths, doubled
from spotdwell.pages.causes import what_is_checked, what_is_left_out, what_is_seen, where_heat_goes
from spotdwell.pages.points import (
    LEAST_SPREAD,
    Array,
    Index,
    cut_points,
    fixed_text,
    lines_along,
    places_of,
    question,
    thickest,
)
from spotdwell.pages.same_energy import same_energy
from spotdwell.pages.words import setting_text

NEAR = 0.10
"""A crater this close to a round depth, as a share of it, counts as that deep."""
_ROUND = tuple(1e-6 * step * 10.0**decade for decade in range(1, 4) for step in (1.0, 2.0, 3.0, 5.0))


def questions_of(cube: Cube) -> list[dict[str, Any]]:
    """Questions, each with its text, its answer, and the points A and B that show it or None."""
    makers = (
        *(_least_left, same_energy, _threshold, doubled, crater_widths, _least_energy, _materials),
        *(where_heat_goes, what_is_seen, what_is_checked, what_is_left_out),
    )
    return [found for maker in makers for found in maker(cube)]


def _least_left(cube: Cube) -> Iterator[dict[str, Any]]:
    """Of the craters of about one depth, which has the least char, or else the least coagulation?"""
    depths, inside = cube.measures["deepest"], cut_points(cube)
    near = {depth: inside & (np.abs(depths - depth) <= NEAR * depth) for depth in _ROUND}
    depth = max(near, key=lambda one: (int(np.sum(near[one])), one))
    for zone, left in (("char", "charred"), ("coagulation", "coagulated")):
        thickness = np.where(near[depth], thickest(cube, zone), np.nan)
        if np.sum(near[depth]) < 3 or np.nanmax(thickness) - np.nanmin(thickness) < LEAST_SPREAD:
            continue
        coagulated = thickest(cube, "coagulation")
        best = min(
            places_of(near[depth]),
            key=lambda at: (round(float(thickness[at]) / LEAST_SPREAD), coagulated[at]),
        )
        most = max(places_of(near[depth]), key=lambda at: thickness[at])
        low, high = (length_of(one * depth) for one in (1.0 - NEAR, 1.0 + NEAR))
        count = int(np.sum(near[depth]))
        yield question(
            f"Which {_names(cube)} leave the thinnest {left} layer at floor and wall in a crater some "
            f"{length_of(depth)} deep?",
            f"Of the {count} computed settings that cut {low} to {high}: "
            f"{_least_told(cube, best, thickness, left)}. The most, {length_of(thickness[most])}: "
            f"{setting_text(cube, most)}.",
            best,
            most,
        )
        return


def _least_told(cube: Cube, best: Index, thickness: Array, left: str) -> str:
    """The setting that leaves least, and how many leave as little."""
    least = f"{length_of(thickness[best])} {left} at floor or wall, whichever is more"
    steps = np.rint(thickness / LEAST_SPREAD)
    alike = int(np.sum(steps == steps[best]))
    if alike == 1:
        return f"{setting_text(cube, best)}, with {least}"
    if np.all(np.isnan(cube.measures["coagulation_thickness_floor"])):
        return f"{alike} leave {least}, such as {setting_text(cube, best)}"
    coagulated = length_of(thickest(cube, "coagulation")[best])
    return f"{alike} leave {least}; of these {setting_text(cube, best)} coagulates least, {coagulated}"


def _threshold(cube: Cube) -> Iterator[dict[str, Any]]:
    """From which value of an axis on is anything removed, the other inputs in the middle of the map?"""
    depths = cube.measures["deepest"]
    solved = ~(cube.missing | cube.failed)
    for number, axis in enumerate(cube.axes):
        if axis.name not in ("power", "peak_power", "dwell"):
            continue
        for along in lines_along(cube.shape, number):
            removed = [bool(solved[at]) and bool(depths[at] > 0.0) for at in along]
            first = removed.index(True) if any(removed) else 0
            if first == 0 or not all(solved[at] for at in along[: first + 1]):
                continue
            under, over = along[first - 1], along[first]
            fixed = fixed_text(cube, over, number)
            where = f"With {fixed}: what" if fixed else "What"
            meaning, values = AXES[axis.name].meaning, axis.values
            yield question(
                f"{where} is the least {meaning} of the map that removes anything?",
                typeset(
                    f"{shown(axis, values[first])}, which removes {length_of(depths[over])}; at "
                    f"{shown(axis, values[first - 1])} nothing is removed ({cube.word[under]})."
                ),
                under,
                over,
            )
            return


def _least_energy(cube: Cube) -> Iterator[dict[str, Any]]:
    """Which setting removes with the least energy per volume?"""
    needed = np.where(cut_points(cube), cube.measures["energy_per_removed_volume"], np.nan)
    if np.sum(np.isfinite(needed)) < 2:
        return
    least, most = (
        tuple(int(one) for one in np.unravel_index(find(needed), needed.shape))
        for find in (np.nanargmin, np.nanargmax)
    )
    if needed[most] < 1.1 * needed[least]:
        return
    texts = [f"{significant(convert(float(needed[at]), 'J/m3', 'J/mm3'))} J/mm³" for at in (least, most)]
    yield question(
        "Which setting removes a cubic millimetre with the least energy, and which needs the most?",
        f"Least: {setting_text(cube, least)}, {texts[0]}. Most: {setting_text(cube, most)}, {texts[1]}.",
        least,
        most,
    )


def _materials(cube: Cube) -> Iterator[dict[str, Any]]:
    """In which material is the crater of the same shot deepest?"""
    number = next((n for n, axis in enumerate(cube.axes) if axis.name == "material"), None)
    if number is None:
        return
    cut, depths = cut_points(cube), cube.measures["deepest"]
    for along in lines_along(cube.shape, number):
        if len(along) < 2 or not all(cut[at] for at in along):
            continue
        ranked = sorted(along, key=lambda at: -float(depths[at]))
        names = [typeset(str(cube.axes[number].values[at[number]])) for at in ranked]
        order = ", ".join(f"{name} {length_of(depths[at])}" for name, at in zip(names, ranked, strict=True))
        fixed = fixed_text(cube, ranked[0], number)
        yield question(
            f"The same shot ({fixed}) on each material: which crater is deepest?",
            f"In this order: {order}.",
            ranked[0],
            ranked[-1],
        )
        return


def _names(cube: Cube) -> str:
    names = [AXES[axis.name].meaning for axis in cube.axes]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else f"values of {names[0]}"
