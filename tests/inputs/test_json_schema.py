"""The JSON Schema says what the models read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from spotdwell.catalogue.json_schema import scenario_schema
from spotdwell.inputs.schema import Scenario

SCHEMA = scenario_schema()


def parts(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
        value = list(value.values())
    if isinstance(value, list):
        for one in value:
            yield from parts(one)


def test_every_quantity_is_a_text_with_an_example_that_fits_its_pattern() -> None:
    quantities = [part for part in parts(SCHEMA) if "x-si-unit" in part]
    assert len(quantities) > 40
    for part in quantities:
        assert part["type"] == "string"
        assert all(re.search(part["pattern"], example) for example in part["examples"])
        assert not re.search(part["pattern"], "25")
        assert not re.search(part["pattern"], "wide")


def test_defaults_are_written_as_a_file_would_say_them() -> None:
    definitions = SCHEMA["$defs"]
    assert definitions["RunTable"]["properties"]["end_temperature"]["default"] == "45 degC"
    assert definitions["SurfaceTable"]["properties"]["heat_transfer_coefficient"]["default"] == "10 W/m2/K"
    assert definitions["BeamTable"]["properties"]["centre"]["default"] == ["0 mm", "0 mm"]
    assert definitions["LimitsTable"]["properties"]["char_thickness"]["default"] == "52 um"


def test_every_reference_leads_somewhere_and_nothing_is_null() -> None:
    for part in parts(SCHEMA):
        if "$ref" in part:
            assert part["$ref"].removeprefix("#/$defs/") in SCHEMA["$defs"]
        assert part.get("type") != "null"


def test_tables_allow_no_other_key() -> None:
    assert SCHEMA["additionalProperties"] is False
    assert set(SCHEMA["properties"]) == set(Scenario.model_fields)


def test_a_property_may_be_its_bare_value() -> None:
    bare, full = SCHEMA["$defs"]["Property_density"]["anyOf"]
    assert bare["x-si-unit"] == "kg/m3"
    assert set(full["properties"]) == {"value", "range", "basis", "source"}
