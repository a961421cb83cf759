"""Class page: a map as one HTML file with sliders, drawings and questions, that needs nothing else."""

from __future__ import annotations

import json
import os
import re
from html import escape
from importlib.resources import files
from pathlib import Path

import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.output.maps.cube import Cube
from spotdwell.output.pages.data import page_data
from spotdwell.output.whole_file import whole_file

MOST_POINTS = 5000
"""Settings of a page: some 1 kB each, which a browser reads at once."""
_FOLDER = "files"
_SCRIPTS = ("data", "drawing", "figures", "controls", "map", "questions", "page")
"""In the order in which each uses those before it."""
_PLACE = re.compile(r"\{\{(\w+)\}\}")


def class_page(cube: Cube, path: str | os.PathLike[str]) -> None:
    """Write `cube` as one HTML page to `path`, whole or not at all.

    The page needs no server, network or other file. Raises InputError for a map of too many points or without
    a single solved one, and RunError where the file cannot be written.
    """
    check_cube(cube, str(path))
    text = page_text(cube)
    with whole_file(Path(path)) as temporary:
        temporary.write_text(text, encoding="utf-8", newline="\n")


def check_cube(cube: Cube, where: str) -> None:
    """Raise InputError where `cube`, called `where`, makes no page."""
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
    return (files("spotdwell.output.pages") / _FOLDER / name).read_text(encoding="utf-8")
