"""The verb `list`: what is shipped."""

from __future__ import annotations

from typing import Annotated

import typer

from spotdwell.console.screen import say

shelves = typer.Typer()


@shelves.callback(invoke_without_command=True)
def shelf(context: typer.Context) -> None:
    """List the shipped materials or scenarios, or show one.

    Example: spotdwell list materials skin
    """
    help_without_verb(context)


def help_without_verb(context: typer.Context) -> None:
    """Print the help of a verb that was given no word after it."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@shelves.command()
def materials(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="One of them, or a .toml file.")
    ] = None,
) -> None:
    """List the shipped materials, or show one with its sources.

    Example: spotdwell list materials soft_tissue
    """
    from spotdwell.console.screen import text_of
    from spotdwell.terminal import catalogue

    say(text_of(*(catalogue.materials() if name is None else catalogue.material(name))))


@shelves.command()
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
    from spotdwell.console.screen import text_of
    from spotdwell.terminal import catalogue

    say(text_of(*catalogue.scenarios()))
