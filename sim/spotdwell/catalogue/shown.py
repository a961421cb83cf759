"""Catalogue: the shipped materials and scenarios as tables, and one material with its sources."""

from __future__ import annotations

import inspect
import math
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any, get_args

from rich.console import RenderableType
from rich.text import Text

from spotdwell import library
from spotdwell.console.text import heading, plain_table
from spotdwell.inputs.material import Material
from spotdwell.inputs.material_view import origin_of, rows_of
from spotdwell.inputs.quantities import QuantityType, Table
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
    texts = [found.about, origin_of(found)]
    opening = [heading(found.title or name), *(Text(one) for one in texts if one)]
    return [*opening, Text(), table, Text(), heading("Sources"), _numbered(sources)]


def materials_plain() -> dict[str, Any]:
    """The shipped materials in SI, of types that JSON knows."""
    found = {name: shipped_material(name) for name in library.names(Shelf.MATERIALS)}
    return {
        "materials": [
            {
                "name": name,
                "title": one.title,
                "water_mass_fraction": one.water_mass_fraction.value,
                "values": dict(Counter(row.basis for row in rows_of(one))),
            }
            for name, one in found.items()
        ]
    }


def material_plain(name: str) -> dict[str, Any]:
    """A material's fields with value, range, basis and source, in SI, of types that JSON knows."""
    found = read_material(name) if name.endswith(library.SUFFIX) else _shipped(name)
    values = _finite(found.model_dump(mode="python", exclude_none=True))
    return {"name": name, **values, "units": dict(_units_of(Material))}


def _units_of(model: type[Table], within: str = "") -> Iterator[tuple[str, str]]:
    """SI unit of each quantity of a table, by its keys joined with dots."""
    for name, field in model.model_fields.items():
        if unit := _unit_in(field.metadata):
            yield f"{within}{name}", unit
        for kind in (field.annotation, *get_args(field.annotation)):
            if not (inspect.isclass(kind) and issubclass(kind, Table)):
                continue
            if unit := _unit_in(kind.model_fields["value"].metadata if "value" in kind.model_fields else ()):
                yield f"{within}{name}", unit
            else:
                yield from _units_of(kind, f"{within}{name}.")


def _unit_in(metadata: Iterable[Any]) -> str:
    return next((one.unit for one in metadata if isinstance(one, QuantityType)), "")


def scenarios_plain(name: str | None) -> dict[str, Any]:
    """The shipped scenarios with their titles; or one as its file has it, of types that JSON knows."""
    if name is not None:
        return {"name": name, **tomllib.loads(library.text(Shelf.SCENARIOS, name))}
    texts = {one: library.text(Shelf.SCENARIOS, one) for one in _scenario_names()}
    return {
        "scenarios": [
            {"name": one, "title": tomllib.loads(text).get("title", "")} for one, text in texts.items()
        ]
    }


def _finite(value: Any) -> Any:
    """`value` with "inf" where a number is infinite, which JSON cannot say."""
    if isinstance(value, dict):
        return {str(key): _finite(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(one) for one in value]
    return str(value) if isinstance(value, float) and not math.isfinite(value) else value


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
