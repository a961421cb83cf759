"""Writes scenarios and materials as TOML that reads back as the same."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from spotdwell.inputs.material import Material
from spotdwell.inputs.read import materials_of
from spotdwell.inputs.schema import Scenario

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def scenario_text(scenario: Scenario) -> str:
    """TOML text of a scenario with every default written out; reads back as an equal scenario."""
    return toml_text(scenario_data(scenario))


def scenario_data(scenario: Scenario) -> dict[str, Any]:
    """A scenario as nested tables with quantity strings, as `scenario_from_dict` takes them."""
    data: dict[str, Any] = _without_nothing(scenario.model_dump(mode="json", exclude_none=True))
    return data


def material_text(material: Material) -> str:
    """TOML text of a material; reads back as an equal one."""
    return toml_text(_without_nothing(material.model_dump(mode="json", exclude_none=True)))


def material_texts(scenario: Scenario) -> dict[str, str]:
    """TOML text of each material that a scenario uses, by its name there."""
    return {name: material_text(material) for name, material in materials_of(scenario).items()}


def toml_text(table: Mapping[str, Any]) -> str:
    """TOML text of nested tables, lists, texts, numbers and truth values."""
    return "\n".join(_lines(table, ())).strip("\n") + "\n"


def _lines(table: Mapping[str, Any], path: tuple[str, ...]) -> list[str]:
    lines = [f"{_key(key)} = {_value(value)}" for key, value in table.items() if not _is_nested(value)]
    for key, value in table.items():
        name = (*path, key)
        heading = ".".join(map(_key, name))
        if isinstance(value, Mapping):
            inner = _lines(value, name)
            # A table of tables only needs no heading of its own.
            headless = value and all(_is_nested(one) for one in value.values())
            lines += inner if headless else ["", f"[{heading}]", *inner]
        elif _is_nested(value):
            for one in value:
                lines += ["", f"[[{heading}]]", *_lines(one, name)]
    return lines


def _is_nested(value: Any) -> bool:
    """Whether a value is a table or a list of tables."""
    return isinstance(value, Mapping) or (
        isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)
    )


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else _value(key)


def _value(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, str):
        # TOML's basic strings are JSON's, but for DEL, which TOML wants escaped.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return json.dumps(value)


def _without_nothing(value: Any) -> Any:
    """`value` without the empty texts, lists and tables inside it, all of which are defaults."""
    if isinstance(value, list):
        return [_without_nothing(one) for one in value]
    if not isinstance(value, dict):
        return value
    slim = {key: _without_nothing(one) for key, one in value.items()}
    return {key: one for key, one in slim.items() if one not in ("", [], {})}
