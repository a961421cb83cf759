"""The verbs `list` and `schema`: what is shipped and what a scenario may hold."""

from __future__ import annotations

from typing import Annotated

import typer

from spotdwell.console.options import help_without_verb
from spotdwell.console.screen import say

list_verb = typer.Typer(add_completion=False)


@list_verb.callback(invoke_without_command=True)
def shelf(context: typer.Context) -> None:
    """List the shipped materials or scenarios, or show one.

    Example: spotdwell list materials skin
    """
    help_without_verb(context)


@list_verb.command()
def materials(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="One of them, or a .toml file.")
    ] = None,
    toml: Annotated[bool, typer.Option("--toml", help="Print its file, to start one of your own.")] = False,
) -> None:
    """List the shipped materials, or show one with its sources.

    Example: spotdwell list materials soft_tissue

    A material of your own starts from its file: spotdwell list materials skin --toml > mine.toml
    """
    if toml and name is not None:
        from spotdwell.inputs.read import material_text, read_material, shipped_material

        own = name.endswith(".toml")
        say(material_text(read_material(name) if own else shipped_material(name)).rstrip("\n"))
        return
    from spotdwell.catalogue import shown as catalogue
    from spotdwell.console.screen import text_of

    say(text_of(*(catalogue.materials() if name is None else catalogue.material(name))))


@list_verb.command()
def scenarios(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="One of them.")] = None,
) -> None:
    """List the shipped scenarios, or print the text of one.

    Example: spotdwell list scenarios spot > my_shot.toml
    """
    if name is not None:
        from spotdwell import library

        say(library.text(library.Shelf.SCENARIOS, name).rstrip("\n"))
        return
    from spotdwell.catalogue import shown as catalogue
    from spotdwell.console.screen import text_of

    say(text_of(*catalogue.scenarios()))


def schema_verb() -> None:
    """Print the JSON Schema of scenario files, for editors.

    Example: spotdwell schema > scenario.schema.json
    """
    from spotdwell.catalogue.json_schema import scenario_schema_text

    say(scenario_schema_text().rstrip("\n"))
