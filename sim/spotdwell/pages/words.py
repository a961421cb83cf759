"""Words of the class page that a cube gives rise to: title, setting, what was computed, and warnings."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np

from spotdwell.base import units
from spotdwell.base.names import AXES
from spotdwell.maps.choice import length_of, number_of, shown
from spotdwell.maps.cube import Axis, Cube
from spotdwell.maps.view import limits_text
from spotdwell.measure.interval import LEVEL_WORDS
from spotdwell.output.pictures.style import typeset

ROUNDING = (
    "Nothing is shown between computed settings, and outlines are drawn straight between stored radii. The "
    "page holds figures to 6 digits and shows 3; outlines are rounded to 1 µm, or to 0.1 µm where all zones "
    "end within 100 µm of the surface."
)
_LEFT_OUT = (
    "The model leaves out bleeding, movement, flow and tearing, and light that the walls of deep holes "
    "reflect; its figures are no better than the values of its materials."
)


def title_of(cube: Cube) -> str:
    """Title of the map, or what it goes through."""
    if title := cube.setting.get("title"):
        return title
    names = [AXES[axis.name].meaning for axis in cube.axes]
    return f"What a laser shot does: {_listed(names)}"


def setting_lines(cube: Cube) -> list[list[str]]:
    """Name and value of each input that all points share."""
    meanings = {name: quantity.meaning for name, quantity in AXES.items()}
    shared = {key: text for key, text in cube.setting.items() if key != "title"}
    return [[meanings.get(key, key), typeset(text)] for key, text in shared.items()]


def warnings_of(cube: Cube) -> list[str]:
    """What is lacking in the map, in sentences."""
    count, total = int(np.sum(cube.missing)), cube.word.size
    lines = []
    if count:
        marked = f"{count} of {total} settings {_are(count)} not computed yet and marked ? in the map."
        lines.append(f"{marked} Go on with the map and make the page again to fill them.")
    if failed := int(np.sum(cube.failed)):
        lines.append(f"{failed} of {total} settings failed, marked × in the map.")
    has_outlines = np.all(np.isfinite(cube.outlines["crater"]), axis=-1)
    if np.any(~has_outlines & ~cube.missing & ~cube.failed):
        lines.append("For some settings no outline was kept: figures are shown without a drawing.")
    return lines


def about_of(cube: Cube) -> dict[str, Any]:
    """What was computed: lines, and each material's values with basis and source."""
    scenario = tomllib.loads(cube.scenario_text)
    solved = int(np.sum(~cube.missing & ~cube.failed))
    lines = [f"spotdwell {cube.versions.get('spotdwell', 'of unknown version')}: {solved} shots solved."]
    lines += [_grid_line(axis) for axis in cube.axes]
    lines += [f"{name[:1].upper()}{name[1:]}: {text}." for name, text in setting_lines(cube)]
    lines.append(cells_line(cube))
    if cube.bands is not None:
        drawn = f"{cube.bands.draws} joint draws of material values"
        lines.append(f"{LEVEL_WORDS}s and odds from {drawn} at each setting. {cube.bands.covers}")
    lines.append(typeset(f"Limits of the verdict: {limits_text(cube.limits)}."))
    materials = [
        {"title": table.get("title", typeset(name)), "count": _counted(table), "rows": list(_sources(table))}
        for name, table in scenario.get("materials", {}).items()
    ]
    lines += [
        f"{one['title']}: {one['count']}; sources at the end of the page." for one in materials if one["rows"]
    ]
    return {"lines": [*lines, _LEFT_OUT, ROUNDING], "materials": materials}


def ground_of(cube: Cube) -> dict[str, Any]:
    """Depths [um] at which layers of the target end, and whether the last one is the end of the target."""
    layers = tomllib.loads(cube.scenario_text).get("target", {}).get("layers", [])
    thicknesses = [_micrometres(layer["thickness"]) for layer in layers if "thickness" in layer]
    ends = [float(f"{one:.5g}") for one in np.cumsum(thicknesses)] if thicknesses else []
    return {"layers": ends, "closed": bool(ends) and len(ends) == len(layers)}


def setting_text(cube: Cube, index: tuple[int, ...]) -> str:
    """The setting at a point, such as "power 20 W, dwell time 2 ms"."""
    return ", ".join(axis_text(axis, axis.values[one]) for axis, one in zip(cube.axes, index, strict=True))


def axis_text(axis: Axis, value: float | str) -> str:
    """One value of an axis with the name of the axis, such as "power 20 W"."""
    return typeset(f"{AXES[axis.name].meaning} {shown(axis, value)}")


def _listed(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]


def _are(count: int) -> str:
    return "is" if count == 1 else "are"


def _grid_line(axis: Axis) -> str:
    name, count = AXES[axis.name].meaning, len(axis.values)
    name = f"{name[:1].upper()}{name[1:]}"
    if axis.scale == "list" or count < 3:
        texts = ", ".join(number_of(axis, one) for one in axis.values)
        return typeset(f"{name}: {texts} {axis.unit}").strip() + "."
    low, high = shown(axis, axis.values[0]), shown(axis, axis.values[-1])
    how = "by equal ratios" if axis.scale == "log" else "evenly spaced"
    return typeset(f"{name}: {count} values from {low} to {high}, {how}.")


def cells_line(cube: Cube) -> str:
    """How fine the shots were computed: below a cell's size differences mean little."""
    grid = tomllib.loads(cube.scenario_text).get("grid", {})
    sizes = [
        f"{length_of(1e-6 * _micrometres(grid[key]) / grid.get('refinement', 1.0))} {word}"
        for key, word in (("cell_depth", "deep"), ("cell_width", "wide"))
        if key in grid
    ]
    if not sizes:
        return "Cells: as fine as the program chose for each shot."
    return f"Cells around the crater: {' and '.join(sizes)}. Differences smaller than a cell mean little."


def basis_counts(cube: Cube) -> tuple[int, int]:
    """How many values of the map's materials are assumed, and of how many."""
    tables = tomllib.loads(cube.scenario_text).get("materials", {}).values()
    bases = [row[2] for table in tables for row in _sources(table)]
    return bases.count("assumed"), len(bases)


def _counted(table: dict[str, Any]) -> str:
    counts = Counter(row[2] for row in _sources(table))
    return ", ".join(f"{count} values {basis}" for basis, count in counts.items())


def _sources(table: dict[str, Any], prefix: str = "") -> Iterator[list[str]]:
    """Name, value, basis and source of each value in a material's table."""
    for key, one in table.items():
        entries = one if isinstance(one, list) else [one]
        for entry in entries:
            if not isinstance(entry, dict):
                continue
            name = f"{prefix}{key}".replace("_", " ")
            if "source" in entry:
                which = entry.get("wavelength") or entry.get("name") or ""
                value = entry.get("value", "")
                yield [typeset(f"{name} {which}".strip()), typeset(f" {value}").strip(), *_basis(entry)]
            else:
                yield from _sources(entry, f"{name}: ")


def _basis(entry: dict[str, Any]) -> tuple[str, str]:
    return str(entry.get("basis", "not stated")), str(entry["source"])


def _micrometres(text: str) -> float:
    return units.parse(text, "m", where="scenario", example="1 mm") * 1e6
