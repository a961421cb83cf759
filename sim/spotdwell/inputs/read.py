"""Scenarios read from files, with their materials, and written back as text."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import tomli_w
from pydantic import ValidationError

from spotdwell import library
from spotdwell.base.errors import InputError, together
from spotdwell.inputs.light import BeamTable
from spotdwell.inputs.material import KEY as BASED_ON
from spotdwell.inputs.material import Material
from spotdwell.inputs.schema import GridTable, Origin, Scenario
from spotdwell.inputs.toml import check_foreign, schema_complaint, table_of, text_in


def read_scenario(path: str | Path) -> Scenario:
    """Scenario in the TOML file at `path`. Raises InputError for a file that is missing or wrong."""
    path = Path(path)
    return scenario_from_text(text_in(path, "a scenario file"), Origin(str(path), str(path.parent)))


def scenario_named(name: str) -> Scenario:
    """Scenario at a path, or the shipped one of that name. Raises InputError if it is neither."""
    if Path(name).is_file():
        return read_scenario(name)
    with suppress(InputError):
        return read_scenario(library.find(library.Shelf.SCENARIOS, name))
    known = library.names(library.Shelf.SCENARIOS)
    expected = "the path of a scenario file or the name of a shipped one"
    raise InputError("scenario", expected, f'"{name}"', library.suggestion(Path(name).stem, known))


def shipped_scenario(name: str) -> Scenario:
    """Shipped scenario `name`."""
    return read_scenario(library.find(library.Shelf.SCENARIOS, name))


def scenario_from_text(text: str, origin: Origin | str = "scenario") -> Scenario:
    """Scenario in TOML `text`; `origin` is what errors call it, or also where its material files lie."""
    origin = Origin(origin) if isinstance(origin, str) else origin
    return scenario_from_dict(table_of(text, origin.name or "scenario"), replace(origin, text=text))


def scenario_from_dict(data: Mapping[str, Any], origin: Origin | str = "scenario") -> Scenario:
    """Scenario from nested tables as TOML gives them: quantities are strings with units."""
    origin = Origin(origin) if isinstance(origin, str) else origin
    check_foreign(data, origin.where)
    try:
        scenario = Scenario.model_validate(dict(data))
    except ValidationError as error:
        raise schema_complaint(error, Scenario, origin.where) from None
    scenario._origin = origin
    materials_of(scenario)
    return scenario


def beam_tables(text: str, name: str = "scenario") -> tuple[BeamTable, GridTable]:
    """Tables [beam] and [grid] of the scenario in TOML `text`, which may lack all others.

    No file is opened for them. Raises InputError for a text that is not TOML and for wrong tables.
    """
    data, where = table_of(text, name), Origin(name).where
    light, grid = data.get("beam", {}), data.get("grid", {})
    check_foreign({"beam": light, "grid": grid}, where)
    try:
        return BeamTable.model_validate(light), GridTable.model_validate(grid)
    except ValidationError as error:
        raise schema_complaint(error, Scenario, where) from None


def materials_of(scenario: Scenario) -> dict[str, Material]:
    """The materials that a scenario's layers name, by that name. Raises InputError for those not found."""
    found: dict[str, Material] = {}
    problems: list[InputError] = []
    for index, layer in enumerate(scenario.target.layers):
        where = scenario.origin.where(f"target.layers[{index}].material")
        try:
            found[layer.material] = found.get(layer.material) or _material(layer.material, scenario, where)
        except InputError as error:
            problems.append(error)
    if problems:
        raise together(problems, scenario.origin.name)
    return found


def with_own_materials(scenario: Scenario) -> Scenario:
    """The same scenario with the materials that it uses inside it, so that it needs no other file."""
    copy = scenario.model_copy(update={"materials": materials_of(scenario)})
    copy._origin = scenario.origin
    return copy


def with_values(scenario: Scenario, values: Mapping[str, str | float]) -> Scenario:
    """The same scenario with other values of its materials, such as {"skin.water_mass_fraction": 0.7}.

    A value set so is "assumed", without a range. Raises InputError for a material that the scenario does not
    use, a property that it does not have, and a value that cannot be.
    """
    if not values:
        return scenario
    data = {name: tomllib.loads(text) for name, text in material_texts(scenario).items()}
    for key, value in values.items():
        name, _, path = key.partition(".") if key.split(".")[0] in data else key.rpartition(".")
        if name not in data:
            advice = library.suggestion(name or key, tuple(data))
            raise InputError(
                f'set "{key}"', "a material of this shot, a dot and a property", f'"{key}"', advice
            )
        *tables, last = path.split(".")
        place: Any = data[name]
        for step in tables:
            place = place.get(step) if isinstance(place, dict) else None
        if not isinstance(place, dict) or not isinstance(place.get(last), dict) or "value" not in place[last]:
            known = tuple(_properties(data[name]))
            advice = library.suggestion(path, known)
            raise InputError(f'set "{key}"', f"a property of {name}", f'"{path}"', advice)
        place[last] = {"value": _number_or_text(value), "basis": "assumed", "source": "set for this run"}
    texts = {name: tomli_w.dumps(table) for name, table in data.items()}
    return with_materials(scenario, texts)


def _properties(table: Mapping[str, Any], above: str = "") -> Iterator[str]:
    for name, one in table.items():
        if isinstance(one, dict):
            yield from [f"{above}{name}"] if "value" in one else _properties(one, f"{above}{name}.")


def _number_or_text(value: str | float) -> str | float:
    try:
        return float(value)
    except ValueError:
        return value


def with_materials(scenario: Scenario, texts: Mapping[str, str]) -> Scenario:
    """The same scenario with the materials of these TOML `texts` by name, in place of others so called."""
    given = {name: material_from_text(text, name) for name, text in texts.items()}
    copy = scenario.model_copy(update={"materials": {**scenario.materials, **given}})
    copy._origin = scenario.origin
    return copy


def _material(name: str, scenario: Scenario, where: str) -> Material:
    if name in scenario.materials:
        return scenario.materials[name]
    if name.endswith(library.SUFFIX):
        return read_material(Path(scenario.origin.folder) / name, where)
    shipped = library.names(library.Shelf.MATERIALS)
    if name not in shipped:
        advice = library.suggestion(name, (*scenario.materials, *shipped))
        raise InputError(where, "a known material, or the path of a .toml file", f'"{name}"', advice)
    return shipped_material(name)


@lru_cache
def shipped_material(name: str) -> Material:
    """Shipped material `name`."""
    return read_material(library.find(library.Shelf.MATERIALS, name))


def read_material(path: str | Path, where: str = "") -> Material:
    """Material in the TOML file at `path`; `where` names the key that asked for it."""
    path = Path(path)
    text = text_in(path, f"a material file at {path}" if where else "a material file", where)
    return material_from_text(text, str(path))


def own_tables(name: str, scenario: Scenario) -> dict[str, Any]:
    """What the file of the material `name` of `scenario` itself says, without what it borrows.

    Of a shipped one, only that it is the base: what is written from these tables says no more than it must.
    """
    if name.endswith(library.SUFFIX):
        path = Path(scenario.origin.folder) / name
        return table_of(text_in(path, "a material file"), str(path))
    title = shipped_material(name).title
    return {**({"title": title} if title else {}), BASED_ON: name}


def material_from_text(text: str, name: str = "material") -> Material:
    """Material in TOML `text`; errors call it `name`."""
    data = table_of(text, name)
    check_foreign(data, Origin(name).where)
    try:
        return Material.model_validate(data)
    except ValidationError as error:
        raise schema_complaint(error, Material, Origin(name).where) from None


def scenario_text(scenario: Scenario) -> str:
    """TOML text of a scenario with every default written out; reads back as an equal scenario."""
    return tomli_w.dumps(scenario_data(scenario))


def scenario_data(scenario: Scenario) -> dict[str, Any]:
    """A scenario as nested tables with quantity strings, as `scenario_from_dict` takes them."""
    data: dict[str, Any] = _without_nothing(scenario.model_dump(mode="json", exclude_none=True))
    return data


def material_text(material: Material) -> str:
    """TOML text of a material; reads back as an equal one."""
    return tomli_w.dumps(_without_nothing(material.model_dump(mode="json", exclude_none=True)))


def material_texts(scenario: Scenario) -> dict[str, str]:
    """TOML text of each material that a scenario uses, by its name there."""
    return {
        name: material_text(one)
        if name in scenario.materials or name.endswith(library.SUFFIX)
        else _shipped_text(name)
        for name, one in materials_of(scenario).items()
    }


@lru_cache
def _shipped_text(name: str) -> str:
    return material_text(shipped_material(name))


def _without_nothing(value: Any) -> Any:
    """`value` without the empty texts, lists and tables inside it, all of which are defaults."""
    if isinstance(value, list):
        return [_without_nothing(one) for one in value]
    if not isinstance(value, dict):
        return value
    slim = {key: _without_nothing(one) for key, one in value.items()}
    return {key: one for key, one in slim.items() if one not in ("", [], {})}
