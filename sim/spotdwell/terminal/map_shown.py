"""A map in words: grids of verdicts as signs, what each verdict spans, and the cleanest setting."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.names import MEASURES
from spotdwell.console.text import heading, indented, microns, plain_table, shown
from spotdwell.measure.verdict import Word
from spotdwell.output.maps.caption import choice_text, limits_text
from spotdwell.output.maps.choice import Choice, number_of, setting_text
from spotdwell.output.maps.choice import shown as shown_value
from spotdwell.output.maps.cube import FAILED, Cube
from spotdwell.output.maps.view import View, view_of

SIGNS = {
    str(Word.UNMARKED): ".",
    str(Word.COAGULATED): "o",
    str(Word.CHARRED): "#",
    str(Word.CLEAN): "+",
    str(Word.UNVERIFIED): "~",
    str(Word.PERFORATED): "|",
    str(Word.TOO_DEEP): "v",
    FAILED: "x",
    "": "?",
}
"""One for each verdict, told apart without colour."""
_CHOSEN = "@"
_MEANINGS = {"": "not computed"}
_MOST_GRIDS = 6
_LEAST_COLUMNS = 10
_SPANS = ("crater_depth", "coagulation_thickness_floor", "char_thickness_floor")
_SPAN_WORDS = ("crater depth", "coagulated under it", "char under it")


def map_text(cube: Cube, choice: Choice | None, wanted: float | None) -> list[RenderableType]:
    """All that a map found, to be printed; `wanted` is the depth [m] for which a setting was sought."""
    return [
        heading(_title(cube)),
        *([Text(_setting(cube))] if cube.setting else []),
        Text(f"Limits: {_ascii(limits_text(cube.limits))}."),
        *_grids(cube, choice),
        Text(),
        heading("What each verdict spans [um]"),
        indented(_spans(cube)),
        *(Text(line) for line in failure_lines(cube)),
        *(_choice_lines(cube, choice, wanted)),
    ]


def short_text(cube: Cube, choice: Choice | None, wanted: float | None) -> str:
    """How often each verdict fell and the cleanest setting, in a line or two."""
    counts = [f"{_name(word)} {count}" for word in SIGNS if (count := int(np.sum(cube.word == word)))]
    lines = [f"{cube.word.size} points: {', '.join(counts)}"]
    return "\n".join([*lines, *(line.plain for line in _choice_lines(cube, choice, wanted) if line.plain)])


def failure_lines(cube: Cube) -> list[str]:
    """How many points failed, with where and why the first did; empty if none."""
    failed = np.argwhere(cube.failed)
    if not len(failed):
        return []
    index = tuple(int(one) for one in failed[0])
    place = ", ".join(
        f"{axis.name} {shown_value(axis, axis.values[one])}"
        for axis, one in zip(cube.axes, index, strict=True)
    )
    count = "1 point" if len(failed) == 1 else f"{len(failed)} points"
    return ["", f"{count} failed; the first, {place}: {cube.failure[index]}"]


def _title(cube: Cube) -> str:
    sizes = " x ".join(str(size) for size in cube.shape)
    names = [axis.name for axis in cube.axes]
    return f"Map over {', '.join(names[:-1])} and {names[-1]}: {sizes} points"


def _setting(cube: Cube) -> str:
    return ", ".join(f"{name} {value}" for name, value in cube.setting.items() if name != "title")


def _ascii(text: str) -> str:
    return text.replace("µ", "u")


def _choice_lines(cube: Cube, choice: Choice | None, wanted: float | None) -> list[Text]:
    if wanted is None:
        return []
    if choice is None:
        depths = cube.measures["crater_depth"]
        deepest = microns(float(np.nanmax(depths))) if np.any(np.isfinite(depths)) else "none"
        text = f"No setting of this map cuts {microns(wanted)} deep; the deepest crater: {deepest}."
        return [Text(), Text(text)]
    lines = [Text(), Text(_ascii(choice_text(cube, choice)))]
    if choice.between:
        lines.append(Text(f"It is interpolated: check it with a shot of {setting_text(cube.axes, choice)}."))
    return lines


def _grids(cube: Cube, choice: Choice | None) -> Iterator[RenderableType]:
    """A grid of signs for each panel, with a key; none where there are too many."""
    view = view_of(cube.axes)
    yield Text()
    if len(view.places) > _MOST_GRIDS:
        yield Text(
            f"{len(view.places)} grids of verdicts are too many for the screen: write a table or a picture."
        )
        return
    for place in view.places:
        if view.panels:
            yield heading(_ascii(view.title_of(place)))
        chosen = choice is not None and tuple(choice.nearest[one] for one in view.panels) == place
        yield indented(Text(_grid(cube, view, place, choice if chosen else None), no_wrap=True))
    present = [word for word in SIGNS if np.any(cube.word == word)]
    key = ", ".join(f"{SIGNS[word]} {_name(word)}" for word in present)
    yield Text(f"{key}{f', {_CHOSEN} nearest to the cleanest' if choice else ''}")


def _grid(cube: Cube, view: View, place: tuple[int, ...], choice: Choice | None) -> str:
    """Signs with the first axis across and the second up, every second or third where there are many."""
    across, up = cube.axes[view.across], cube.axes[view.up]
    signs = _signs(view.slice_of(place, cube.word))
    if choice is not None:
        signs[choice.nearest[view.up], choice.nearest[view.across]] = _CHOSEN
    labels = [number_of(up, value) for value in up.values]
    width = max(map(len, (*labels, up.unit)))
    room = max(_LEAST_COLUMNS, (shutil.get_terminal_size((80, 24)).columns - width - 6) // 2)
    step = -(-signs.shape[1] // room)
    shown_columns = range(0, signs.shape[1], step)
    lines = [f"{up.name} [{up.unit}]" if up.unit else up.name]
    for row in range(signs.shape[0] - 1, -1, -1):
        lines.append(f"{labels[row]:>{width}}  {' '.join(signs[row, column] for column in shown_columns)}")
    first, last = (number_of(across, across.values[one]) for one in (shown_columns[0], shown_columns[-1]))
    name = f"{across.name} [{across.unit}]" if across.unit else across.name
    room = 2 * len(shown_columns) - 1 - len(first)
    lines.append(f"{'':{width}}  {first}{last:>{max(room, len(last) + 1)}}  {name}")
    if step > 1:
        lines.append(f"one column in {step} is shown")
    return "\n".join(lines)


def _signs(words: NDArray[np.str_]) -> NDArray[np.str_]:
    """Sign of each word, same shape."""
    signs = np.full(words.shape, "?", dtype="U1")
    for word, sign in SIGNS.items():
        signs[words == word] = sign
    return signs


def _spans(cube: Cube) -> RenderableType:
    columns = ((title, "right") for title in _SPAN_WORDS)
    table = plain_table(("", "left"), ("verdict", "left"), ("points", "right"), *columns)
    for word, sign in SIGNS.items():
        inside = cube.word == word
        if not np.any(inside):
            continue
        spans = (_span(cube.measures[name][inside], name) for name in _SPANS)
        table.add_row(sign, _name(word), str(int(np.sum(inside))), *spans)
    return table


def _span(values: NDArray[np.float64], name: str) -> str:
    found = values[np.isfinite(values)]
    if not found.size:
        return "-"
    low, high = (shown(MEASURES[name], float(one)) for one in (found.min(), found.max()))
    return low if low == high else f"{low} to {high}"


def _name(word: str) -> str:
    return _MEANINGS.get(word, word)
