"""Questions of the class page: some whose answers the map itself gives, and some that stay open."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.names import AXES
from spotdwell.base.units import convert, significant
from spotdwell.maps.choice import length_of, shown
from spotdwell.maps.cube import Cube
from spotdwell.measure.verdict import Word
from spotdwell.output.pictures.style import typeset
from spotdwell.pages.words import axis_text, setting_text

NEAR = 0.10
"""A crater this close to a round depth, as a share of it, counts as that deep."""
SAME = 0.05
"""Energies this close, as a share, count as the same."""
_LEAST_SPREAD = 1e-6
"""Thicknesses that differ by less make no question [m]."""
_ROUND = tuple(1e-6 * step * 10.0**decade for decade in range(1, 4) for step in (1.0, 2.0, 3.0, 5.0))

OPEN = (
    "Two shots send the same energy, one strong and short, one weak and long. Where does the heat go?",
    "Which layer would you look for under a microscope, and which would you see with the naked eye?",
    "Which figure on this page could you check with a ruler, a scale or a clock, and how?",
    "What happens in living tissue that is not on this page?",
)
"""Without an answer in the data."""

Array = NDArray[np.float64]
Index = tuple[int, ...]


def questions_of(cube: Cube) -> list[dict[str, Any]]:
    """Questions with text, answer ("" for an open one) and the points A and B that show it."""
    makers = (_least_left, _slow_and_fast, _threshold, _least_energy, _materials)
    found = [question for maker in makers for question in maker(cube)]
    return [*found, *(_question(text, "") for text in OPEN)]


def _question(text: str, answer: str, a: Index | None = None, b: Index | None = None) -> dict[str, Any]:
    return {"text": text, "answer": answer, "a": a and list(a), "b": b and list(b)}


def _least_left(cube: Cube) -> Iterator[dict[str, Any]]:
    """Of the craters of about one depth, which has the least char, or else the least coagulation?"""
    depths, inside = cube.measures["crater_depth"], _cut(cube)
    near = {depth: inside & (np.abs(depths - depth) <= NEAR * depth) for depth in _ROUND}
    depth = max(near, key=lambda one: (int(np.sum(near[one])), one))
    for zone, left in (("char", "charred"), ("coagulation", "coagulated")):
        thickness = np.where(near[depth], _thickest(cube, zone), np.nan)
        if np.sum(near[depth]) < 3 or np.nanmax(thickness) - np.nanmin(thickness) < _LEAST_SPREAD:
            continue
        coagulated = _thickest(cube, "coagulation")
        best = min(
            _places(near[depth]), key=lambda at: (round(float(thickness[at]) / _LEAST_SPREAD), coagulated[at])
        )
        most = max(_places(near[depth]), key=lambda at: thickness[at])
        low, high = (length_of(one * depth) for one in (1.0 - NEAR, 1.0 + NEAR))
        count = int(np.sum(near[depth]))
        yield _question(
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
    steps = np.rint(thickness / _LEAST_SPREAD)
    alike = int(np.sum(steps == steps[best]))
    if alike == 1:
        return f"{setting_text(cube, best)}, with {least}"
    coagulated = length_of(_thickest(cube, "coagulation")[best])
    return f"{alike} leave {least}; of these {setting_text(cube, best)} coagulates least, {coagulated}"


def _slow_and_fast(cube: Cube) -> Iterator[dict[str, Any]]:
    """Of two shots that differ in power and dwell but send the same energy, which leaves more behind?"""
    names = [axis.name for axis in cube.axes]
    if "dwell" not in names or not {"power", "peak_power"} & set(names):
        return
    changing = [names.index(one) for one in ("dwell", "power", "peak_power") if one in names]
    for zone, left in (("char", "charred"), ("coagulation", "coagulated")):
        pair = _most_apart(cube, _thickest(cube, zone), changing)
        if pair is None:
            continue
        less, more = pair
        thickness, energy = _thickest(cube, zone), cube.measures["incident_energy"]
        yield _question(
            f"A: {setting_text(cube, less)}. B: {setting_text(cube, more)}. They send "
            f"{_energy(energy[less])} and {_energy(energy[more])}. Which leaves the thicker {left} layer?",
            f"B: {length_of(thickness[more])}; A: {length_of(thickness[less])} (at floor or wall, whichever "
            f"is more). B takes {_times(cube, more, less)} as long.",
            less,
            more,
        )
        return


def _most_apart(cube: Cube, thickness: Array, changing: list[int]) -> tuple[Index, Index] | None:
    """Points of the same energy, alike but for the axes `changing`, that differ most: less and more left."""
    energy, dwell = cube.measures["incident_energy"], [axis.name for axis in cube.axes].index("dwell")
    best, most = None, _LEAST_SPREAD
    groups: dict[Index, list[Index]] = {}
    for at in _places(_cut(cube)):
        groups.setdefault(tuple(one for n, one in enumerate(at) if n not in changing), []).append(at)
    for group in groups.values():
        energies, left = (np.array([values[at] for at in group]) for values in (energy, thickness))
        for number, at in enumerate(group):
            close = np.abs(energies - energies[number]) <= SAME * energies[number]
            apart = np.where(close, left - left[number], -np.inf)
            other = int(np.argmax(apart))
            if apart[other] > most and group[other][dwell] > at[dwell]:
                best, most = (at, group[other]), float(apart[other])
    return best


def _threshold(cube: Cube) -> Iterator[dict[str, Any]]:
    """From which value of an axis on is anything removed, the other inputs in the middle of the map?"""
    depths = cube.measures["crater_depth"]
    solved = ~(cube.missing | cube.failed)
    for number, axis in enumerate(cube.axes):
        if axis.name not in ("power", "peak_power", "dwell"):
            continue
        for along in _lines(cube.shape, number):
            removed = [bool(solved[at]) and bool(depths[at] > 0.0) for at in along]
            first = removed.index(True) if any(removed) else 0
            if first == 0 or not all(solved[at] for at in along[: first + 1]):
                continue
            under, over = along[first - 1], along[first]
            fixed = _fixed(cube, over, number)
            where = f"With {fixed}: what" if fixed else "What"
            meaning, values = AXES[axis.name].meaning, axis.values
            yield _question(
                f"{where} is the least {meaning} of the map that removes anything?",
                typeset(
                    f"{shown(axis, values[first])}, which removes {length_of(depths[over])}; at "
                    f"{shown(axis, values[first - 1])} nothing is removed ({cube.word[under]})."
                ),
                under,
                over,
            )
            return


def _lines(shape: Index, number: int) -> list[list[Index]]:
    """The points of each line along an axis, the lines nearest to the middle of the map first."""
    starts = list(np.ndindex(*(1 if n == number else size for n, size in enumerate(shape))))
    starts.sort(key=lambda at: sum(abs(a - size // 2) for a, size in zip(at, shape, strict=True)))
    return [[(*at[:number], place, *at[number + 1 :]) for place in range(shape[number])] for at in starts]


def _fixed(cube: Cube, at: Index, number: int) -> str:
    """The setting at a point, without the axis that is gone along."""
    texts = (axis_text(axis, axis.values[at[n]]) for n, axis in enumerate(cube.axes) if n != number)
    return ", ".join(texts)


def _least_energy(cube: Cube) -> Iterator[dict[str, Any]]:
    """Which setting removes with the least energy per volume?"""
    needed = np.where(_cut(cube), cube.measures["energy_per_removed_volume"], np.nan)
    if np.sum(np.isfinite(needed)) < 2:
        return
    least, most = (
        tuple(int(one) for one in np.unravel_index(find(needed), needed.shape))
        for find in (np.nanargmin, np.nanargmax)
    )
    if needed[most] < 1.1 * needed[least]:
        return
    texts = [f"{significant(convert(float(needed[at]), 'J/m3', 'J/mm3'))} J/mm³" for at in (least, most)]
    yield _question(
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
    cut, depths = _cut(cube), cube.measures["crater_depth"]
    for along in _lines(cube.shape, number):
        if len(along) < 2 or not all(cut[at] for at in along):
            continue
        ranked = sorted(along, key=lambda at: -float(depths[at]))
        names = [typeset(str(cube.axes[number].values[at[number]])) for at in ranked]
        order = ", ".join(f"{name} {length_of(depths[at])}" for name, at in zip(names, ranked, strict=True))
        fixed = _fixed(cube, ranked[0], number)
        yield _question(
            f"The same shot ({fixed}) on each material: which crater is deepest?",
            f"In this order: {order}.",
            ranked[0],
            ranked[-1],
        )
        return


def _cut(cube: Cube) -> NDArray[np.bool_]:
    """Points that removed something and are judged neither too deep nor perforated."""
    beyond = np.isin(cube.word, (str(Word.TOO_DEEP), str(Word.PERFORATED)))
    depths = np.nan_to_num(cube.measures["crater_depth"])
    return np.asarray((depths > 0.0) & ~beyond & ~cube.missing & ~cube.failed)


def _thickest(cube: Cube, zone: str) -> Array:
    """Thickness of a zone at the floor or the wall, whichever is more [m]; 0 where neither applies."""
    floor, wall = (np.nan_to_num(cube.measures[f"{zone}_thickness_{place}"]) for place in ("floor", "wall"))
    return np.asarray(np.maximum(floor, wall))


def _places(inside: NDArray[np.bool_]) -> list[Index]:
    return [tuple(at) for at in np.argwhere(inside).tolist()]


def _names(cube: Cube) -> str:
    names = [AXES[axis.name].meaning for axis in cube.axes]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else f"values of {names[0]}"


def _energy(energy: float) -> str:
    return f"{significant(float(energy))} J"


def _times(cube: Cube, more: Index, less: Index) -> str:
    number = [axis.name for axis in cube.axes].index("dwell")
    values = cube.axes[number].values
    return f"{significant(float(values[more[number]]) / float(values[less[number]]), 2)} times"
