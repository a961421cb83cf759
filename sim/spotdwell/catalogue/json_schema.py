"""JSON Schema of the scenario file, for editors; generated from the models, so that it cannot drift."""

from __future__ import annotations

import json
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from spotdwell.base import units
from spotdwell.inputs.quantities import RISE_KEY, SI_UNIT_KEY
from spotdwell.inputs.schema import Scenario

SHORT_FORM = "A value with its range, basis and source, or the bare value alone."
DRAFT = "https://json-schema.org/draft/2020-12/schema"


def scenario_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a scenario file."""
    schema = Scenario.model_json_schema(schema_generator=_WithQuantities)
    schema = _tidied(_renamed(schema, _plain_names(schema["$defs"])))
    schema["$defs"] = {name: _with_short_form(name, body) for name, body in schema["$defs"].items()}
    return {"$schema": DRAFT, **schema}


def scenario_schema_text() -> str:
    """The schema as the text of `scenario.schema.json`."""
    return json.dumps(scenario_schema(), indent=2, ensure_ascii=False) + "\n"


class _WithQuantities(GenerateJsonSchema):
    """Writes default values as the quantity strings that the file would hold."""

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        found = super().default_schema(schema)
        if "default" in found:
            found["default"] = _as_written(found["default"], found)
        return found

    def encode_default(self, dft: Any) -> Any:
        if hasattr(dft, "model_dump"):
            table = dft.model_dump(mode="json", exclude_none=True)
            return {key: value for key, value in table.items() if value != []}
        return super().encode_default(dft)


def _as_written(default: Any, schema: JsonSchemaValue) -> Any:
    """`default` as text if `schema` describes a quantity, or a list of them."""
    if isinstance(default, list):
        kinds = schema.get("prefixItems", [])
        return [_as_written(one, kind) for one, kind in zip(default, kinds, strict=False)]
    if SI_UNIT_KEY in schema and isinstance(default, float):
        return units.written(default, schema[SI_UNIT_KEY], schema.get(RISE_KEY, False))
    return default


def _plain_names(definitions: dict[str, Any]) -> dict[str, str]:
    """A short name for each definition: its title, as a word."""
    plain = {name: body.get("title", name) for name, body in definitions.items()}
    plain = {name: title.replace(" (", "_").replace(" ", "_").strip(")") for name, title in plain.items()}
    if len(set(plain.values())) != len(plain):
        raise ValueError(f"two definitions share a title: {sorted(plain.values())}")
    return plain


def _renamed(value: Any, names: dict[str, str]) -> Any:
    """`value` with its definitions, and all references to them, renamed."""
    if isinstance(value, list):
        return [_renamed(one, names) for one in value]
    if not isinstance(value, dict):
        return value
    renamed = {key: _renamed(one, names) for key, one in value.items()}
    if "$ref" in renamed:
        renamed["$ref"] = f"#/$defs/{names[renamed['$ref'].rsplit('/', 1)[1]]}"
    if "$defs" in renamed:
        renamed["$defs"] = dict(sorted((names[key], one) for key, one in renamed["$defs"].items()))
    return renamed


def _tidied(value: Any) -> Any:
    """`value` without null, which TOML cannot say, and without the titles that only repeat a key."""
    if isinstance(value, list):
        return [_tidied(one) for one in value]
    if not isinstance(value, dict):
        return value
    tidy = {key: _tidied(one) for key, one in value.items() if not (key == "default" and one is None)}
    choices = [one for one in tidy.get("anyOf", ()) if one != {"type": "null"}]
    if len(choices) == 1:
        tidy = choices[0] | {key: one for key, one in tidy.items() if key != "anyOf"}
    for key, one in tidy.get("properties", {}).items():
        tidy["properties"][key] = {name: part for name, part in one.items() if name != "title"}
    return tidy


def _with_short_form(name: str, body: dict[str, Any]) -> dict[str, Any]:
    """The definition `body`, which for a property also allows its bare value."""
    if not name.startswith("Property_"):
        return body
    bare = {key: part for key, part in body["properties"]["value"].items() if key != "description"}
    return {"title": body.pop("title"), "description": SHORT_FORM, "anyOf": [bare, body]}
