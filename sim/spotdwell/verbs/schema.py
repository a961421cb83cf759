"""The verb `schema`: the JSON Schema of scenario files."""

from __future__ import annotations

from spotdwell.console.screen import say


def schema() -> None:
    """Print the JSON Schema of scenario files, for editors.

    Example: spotdwell schema > scenario.schema.json
    """
    from spotdwell.inputs.json_schema import scenario_schema_text

    say(scenario_schema_text().rstrip("\n"))
