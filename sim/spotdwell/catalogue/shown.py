"""Catalogue: the shipped materials and scenarios as tables, and one material with its sources."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from spotdwell import library
from spotdwell.console.text import heading, plain_table
from spotdwell.inputs.material import Material
from spotdwell.inputs.material_view import origin_of, rows_of
from spotdwell.inputs.read import read_material, shipped_material
from spotdwell.library import Shelf


def materials() -> list[RenderableType]:
    """Table of the shipped materials: name, title, water, and on what their values rest."""
    table = plain_table(("name", "left"), ("water", "right"), ("what it is", "left"), ("values", "left"))
    for name in library.names(Shelf.MATERIALS):
        material = shipped_material(name)
        water = f"{100.0 * material.water_mass_fraction.value:.3g} %"
        table.add_row(name, water, material.title or "", _bases(material))
    return [table, Text(), Text("Water is by mass. Values and sources: spotdwell list materials NAME")]


def material(name: str) -> list[RenderableType]:
    """A material's values with range, basis and source; `name` is a shipped one or the path of a file."""
    found = read_material(name) if name.endswith(library.SUFFIX) else _shipped(name)
    rows = rows_of(found)
    sources = list(dict.fromkeys(row.source for row in rows if row.source))
    left = ("property", "value", "range", "basis")
    table = plain_table(*((column, "left") for column in left), ("source", "right"))
    for row in rows:
        number = f"[{sources.index(row.source) + 1}]" if row.source else "-"
        table.add_row(row.property, row.value, _short(row.range) or "-", row.basis, number)
    told = [found.about, origin_of(found)]
    opening = [heading(found.title or name), *(Text(one) for one in told if one)]
    return [*opening, Text(), table, Text(), heading("Sources"), _numbered(sources)]


def scenarios() -> list[RenderableType]:
    """Table of the shipped scenarios; those in folders, as verification/absorption, come last."""
    table = plain_table(("name", "left"), ("what it is", "left"))
    for name in _scenario_names():
        table.add_row(name, str(tomllib.loads(library.text(Shelf.SCENARIOS, name)).get("title", "")))
    advice = "A copy to start from: spotdwell list scenarios NAME > my_shot.toml"
    return [table, Text(), Text(advice)]


def _shipped(name: str) -> Material:
    library.find(Shelf.MATERIALS, name)
    return shipped_material(name)


def _scenario_names() -> Iterator[str]:
    yield from library.names(Shelf.SCENARIOS)
    folder = library.folder(Shelf.SCENARIOS)
    for path in sorted(folder.glob(f"*/*{library.SUFFIX}")):
        yield path.relative_to(folder).with_suffix("").as_posix()


def _bases(found: Material) -> str:
    """How many values rest on what, such as "9 measured, 3 assumed"."""
    counts = Counter(row.basis for row in rows_of(found))
    return ", ".join(f"{count} {basis}" for basis, count in counts.most_common())


def _short(span: str) -> str:
    """A range such as "4 mm to 5 mm" with its unit once, if both ends have the same."""
    low, _, high = span.partition(" to ")
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if unit and high.endswith(f" {unit}") else span


def _numbered(sources: list[str]) -> RenderableType:
    table = plain_table(("", "right"), ("", "left"))
    table.show_header = False
    for number, source in enumerate(sources, 1):
        table.add_row(f"[{number}]", Text(source))
    return table
