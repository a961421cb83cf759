"""Writes scenarios and materials as TOML that reads back as the same."""

from __future__ import annotations

from typing import Any

import tomli_w

from spotdwell.inputs.material import Material
from spotdwell.inputs.read import materials_of
from spotdwell.inputs.schema import Scenario


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
    return {name: material_text(material) for name, material in materials_of(scenario).items()}


def _without_nothing(value: Any) -> Any:
    """`value` without the empty texts, lists and tables inside it, all of which are defaults."""
    if isinstance(value, list):
        return [_without_nothing(one) for one in value]
    if not isinstance(value, dict):
        return value
    slim = {key: _without_nothing(one) for key, one in value.items()}
    return {key: one for key, one in slim.items() if one not in ("", [], {})}
