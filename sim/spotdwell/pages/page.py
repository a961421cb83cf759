"""The class page: one HTML file that holds a map, its drawing and questions."""

from __future__ import annotations

import json
import os
import re
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from spotdwell.base import units
from spotdwell.base.cautions import SAFETY
from spotdwell.base.errors import InputError
from spotdwell.base.names import AXES, MEASURES
from spotdwell.console.saving import Files, stopped
from spotdwell.console.screen import mention, say
from spotdwell.maps.bands import BANDED
from spotdwell.maps.choice import in_unit, number_of
from spotdwell.maps.cube import FAILED, OUTLINES, Axis, Cube
from spotdwell.maps.regions import TONES as REGIONS
from spotdwell.maps.store import load_cube
from spotdwell.maps.view import view_of
from spotdwell.measure.interval import LEVEL_WORDS, varies
from spotdwell.measure.verdict import verdict_of
from spotdwell.output.pictures.style import BEAM, EDGE, FAINT, INK, TONES, typeset
from spotdwell.output.whole_file import whole_file
from spotdwell.pages.beam import beams_of
from spotdwell.pages.questions import questions_of
from spotdwell.pages.words import (
    about_of,
    cells_line,
    ground_of,
    setting_lines,
    title_of,
    warnings_of,
)

DIGITS = 6
"""Significant digits of figures in the page; it shows three."""
FINE, COARSE, SHALLOW = 0.1, 1.0, 100.0
"""Steps of outlines [um], and the depth [um] below which the fine one is taken."""

FIGURES = {
    "crater_depth": "Depth",
    "deepest": "Deepest",
    "crater_width": "Width",
    "char_thickness_floor": "Char, floor",
    "char_thickness_wall": "Char, wall",
    "char_thickness_rim": "Char, rim",
    "dried_thickness_floor": "Dried, floor",
    "dried_thickness_wall": "Dried, wall",
    "dried_thickness_rim": "Dried, rim",
    "coagulation_thickness_floor": "Coagulated, floor",
    "coagulation_thickness_wall": "Coagulated, wall",
    "coagulation_thickness_rim": "Coagulated, rim",
    "incident_energy": "Energy sent",
    "energy_per_removed_volume": "Energy per volume",
    "peak_temperature": "Highest temperature",
    "irradiance_mean": "Mean irradiance",
}
"""Measures that the page shows, and what it calls them."""

LETTERS = {
    "unmarked": "U",
    "dried": "R",
    "coagulated": "G",
    "scorched": "S",
    "clean": "C",
    "unverified": "V",
    "charred": "H",
    "too deep": "D",
    "perforated": "P",
    FAILED: "×",
    "": "?",
}
"""One for each verdict, in the map of the page."""


def page_data(cube: Cube) -> dict[str, Any]:
    """All that the page shows of `cube`, ready for JSON."""
    words = list(LETTERS)
    return {
        "title": title_of(cube),
        "setting": setting_lines(cube),
        "axes": [_axis(axis) for axis in cube.axes],
        "roles": _roles(cube.axes),
        "words": [_word(word) for word in words],
        "tones": {name: {"colour": tone.colour, "hatch": tone.hatch} for name, tone in TONES.items()},
        "inks": {"ink": INK, "faint": FAINT, "edge": EDGE, "beam": BEAM},
        "figures": [_figure(name, label) for name, label in FIGURES.items() if _is_told(cube, name)],
        "values": {name: _rounded(cube.measures[name], name) for name in FIGURES},
        **_intervals(cube, tuple(FIGURES)),
        "word": [words.index(str(word)) for word in cube.word.ravel()],
        "reasons": _reasons(cube),
        **_outlines(cube),
        "beam": beams_of(cube),
        **ground_of(cube),
        "cells": cells_line(cube),
        "warnings": warnings_of(cube),
        "questions": questions_of(cube),
        "about": about_of(cube),
    }


def _axis(axis: Axis) -> dict[str, Any]:
    is_word = isinstance(axis.values[0], str)
    unit = typeset(f" {axis.unit}").strip()
    return {
        "name": axis.name,
        "label": AXES[axis.name].meaning,
        "unit": unit,
        "is_word": is_word,
        "values": [one if isinstance(one, str) else in_unit(axis, one) for one in axis.values],
        "texts": [typeset(number_of(axis, one)) for one in axis.values],
    }


def _roles(axes: tuple[Axis, ...]) -> dict[str, int | None]:
    """Which axes the map of the page shows."""
    if len(axes) == 1:
        return {"across": 0, "up": None}
    view = view_of(axes)
    return {"across": view.across, "up": view.up}


def _word(word: str) -> dict[str, str]:
    meaning = {"": "not computed"}.get(word, word)
    colour = REGIONS[word].colour if word in REGIONS else "#ffffff"
    return {"word": word, "meaning": meaning, "letter": LETTERS[word], "colour": colour}


def _figure(name: str, label: str) -> dict[str, str]:
    unit, meaning = typeset(f" {MEASURES[name].display_unit}").strip(), MEASURES[name].meaning
    return {"name": name, "label": label, "unit": unit, "meaning": meaning}


def _is_told(cube: Cube, name: str) -> bool:
    """Whether the table has a line for a figure: the deepest point has none where all are in the middle."""
    depth, deepest = (np.nan_to_num(cube.measures[one]) for one in ("crater_depth", "deepest"))
    return name != "deepest" or bool(np.any(deepest > 1.1 * depth + 1e-6))


def _rounded(values: Any, name: str) -> list[float | None]:
    shown = units.convert(values.ravel(), MEASURES[name].unit, MEASURES[name].display_unit)
    return [None if np.isnan(one) else float(f"{one:.{DIGITS}g}") for one in shown]


def _intervals(cube: Cube, names: tuple[str, ...]) -> dict[str, Any]:
    """Both ends of the figures `names` and odds of the verdict at each point, None where there are none."""
    if cube.bands is None:
        return {}
    ends = {}
    for name in (one for one in names if one in BANDED):
        pairs = zip(*(_rounded(side[name], name) for side in (cube.bands.low, cube.bands.high)), strict=True)
        ends[name] = [None if None in pair or not varies(pair) else list(pair) for pair in pairs]
    kept = [cube.interval(index) is not None for index in np.ndindex(*cube.shape)]
    odds = [cube.odds(index) or "all draws" for index in np.ndindex(*cube.shape)]
    return {
        "intervals": ends,
        "odds": [text if one else None for text, one in zip(odds, kept, strict=True)],
        "interval_words": LEVEL_WORDS,
        "covers": cube.bands.covers,
    }


def _reasons(cube: Cube) -> list[str]:
    """Why each point has its verdict, or why it failed."""
    reasons = []
    for index in np.ndindex(*cube.shape):
        if cube.missing[index] or cube.failed[index]:
            reasons.append(str(cube.failure[index]))
            continue
        found = {name: float(values[index]) for name, values in cube.measures.items()}
        measures = {name: None if np.isnan(value) else value for name, value in found.items()}
        reasons.append(typeset(" ".join(verdict_of(measures, cube.limits).reasons)))
    return reasons


def _outlines(cube: Cube) -> dict[str, Any]:
    """Radius at which each point's outlines end [um], its step [um], and its outlines; None without any."""
    ends: list[float | None] = []
    steps: list[float | None] = []
    outlines: list[list[int] | None] = []
    for index in np.ndindex(*cube.shape):
        depths = 1e6 * np.array([cube.outlines[name][index] for name in OUTLINES])
        if not np.all(np.isfinite(depths)):
            for lacking in (ends, steps, outlines):
                lacking.append(None)
            continue
        step = FINE if depths.max() < SHALLOW else COARSE
        whole = np.rint(depths / step).astype(int)
        ends.append(float(f"{1e6 * cube.radius[index][-1]:.{DIGITS}g}"))
        steps.append(step)
        outlines.append(np.diff(whole, axis=0, prepend=0).ravel().tolist())
    return {"ends": ends, "steps": steps, "outlines": outlines}


MOST_POINTS = 5000
"""Settings of a page: some 1 kB each, which a browser reads at once."""
_FOLDER = "files"
_SCRIPTS = ("data", "profile", "drawing", "figures", "controls", "map", "questions", "page")
"""In the order in which each uses those before it."""
_PLACE = re.compile(r"\{\{(\w+)\}\}")


def class_page(cube: Cube, path: str | os.PathLike[str]) -> None:
    """Write `cube` as one HTML page to `path`, whole or not at all.

    The page needs no server, network or other file. Raises InputError for a map of scans, of too many
    points or without a single solved one, and RunError where the file cannot be written.
    """
    check_cube(cube, str(path))
    text = page_text(cube)
    with whole_file(Path(path)) as temporary:
        temporary.write_text(text, encoding="utf-8", newline="\n")


def check_cube(cube: Cube, where: str) -> None:
    """Raise InputError where `cube`, called `where`, makes no page."""
    if "scan" in cube.setting:
        advice = "Draw the map itself."
        raise InputError(where, "a map of shots at rest for a page", "one of scans", advice)
    if (count := cube.word.size) > MOST_POINTS:
        advice = "Map fewer values, or fix one of the inputs."
        raise InputError(where, f"a map of at most {MOST_POINTS} points for a page", str(count), advice)
    if np.all(cube.missing | cube.failed):
        failed = int(np.sum(cube.failed))
        got = f"none: {failed} of {count} failed, the others are missing" if failed else "none"
        raise InputError(where, "a map with a solved point", got, "Go on with the map first.")


def page_text(cube: Cube) -> str:
    """HTML of the page."""
    data = page_data(cube)
    # "<" would let a text of the data end the element that holds it.
    held = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False).replace(
        "<", "\\u003c"
    )
    script = "\n".join(_file(f"{name}.js") for name in _SCRIPTS)
    parts = {
        "title": escape(data["title"]),
        "style": _file("page.css"),
        "data": held,
        "script": f'(() => {{\n"use strict";\n{script}}})();\n',
    }
    return _PLACE.sub(lambda found: parts[found[1]], _file("template.html"))


def _file(name: str) -> str:
    return (files("spotdwell.pages") / _FOLDER / name).read_text(encoding="utf-8")


def make_page(kept: Path, out: Path, quiet: bool = False) -> None:
    """Write the map in the file `kept` as a page to `out`, and say what it lacks.

    Raises InputError for a file that is no map or makes no page and for another suffix, RunError where the
    page cannot be written.
    """
    Files().check("out", out, "html")
    cube = load_cube(kept)
    check_cube(cube, str(kept))
    with stopped(f"{out} was not written."):
        class_page(cube, out)
    if quiet:
        return
    for line in warnings_of(cube):
        mention(f"Note: {line}")
    say(
        f"Saved {out} ({out.stat().st_size / 1e3:.0f} kB): open it in a browser, no network needed.\n{SAFETY}"
    )
