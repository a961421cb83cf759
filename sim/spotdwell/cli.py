"""The command line: its verbs in order, and exit codes."""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from importlib import import_module
from itertools import pairwise
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from spotdwell.base.cautions import SAFETY
from spotdwell.base.errors import InputError, RunError, SpotdwellError
from spotdwell.console.options import help_without_verb, with_force, with_units
from spotdwell.console.screen import (
    Interrupted,
    complain,
    flush,
    mention,
    say,
    tolerate_any_encoding,
)
from spotdwell.console.stopping import stopping
from spotdwell.library import suggestion

VERBS = {
    "run": "shots",
    "shot": "shots",
    "scan": "scans",
    "size": "sizing",
    "spot": "spots",
    "craters": "craters",
    "calibrate": "calibration",
    "validate": "calibration",
    "compare": "regimes",
    "map": "maps",
    "live": "live_page",
    "list": "catalogue",
    "card": "cards",
    "page": "pages",
    "plot": "shots",
    "report": "reports",
    "film": "films",
    "selfcheck": "evidence",
    "schema": "catalogue",
}
"""Verbs and their rooms, in whose file `verb` each is the function `<verb>_verb` or a group of typer's."""

TABLES = ("run", "shot", "size", "spot", "craters", "calibrate", "validate", "compare", "map")
"""Verbs that print quantities, and take units for them."""

_UsageError: type[Exception] = next(
    kind for kind in typer.BadParameter.__mro__ if kind.__name__ == "ClickException"
)
"""Base of what typer raises for a wrong command line; newer versions carry their own copy of it."""

_SETTINGS = {"help_option_names": ["-h", "--help"]}
_PLAIN: dict[str, Any] = {
    "add_completion": False,
    "pretty_exceptions_enable": False,
    "rich_markup_mode": "rich",
}


class Verbs(TyperGroup):
    """Loads a verb when it is asked for, so that no verb waits for what only others need."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Names of the verbs, in order."""
        return list(VERBS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The verb called `cmd_name`; None if there is none."""
        if cmd_name not in VERBS:
            return None
        if cmd_name not in self.commands:
            self.commands[cmd_name] = _load(cmd_name)
        return self.commands[cmd_name]


def _load(name: str) -> Any:
    verb = getattr(import_module(f"spotdwell.{VERBS[name]}.verb"), f"{name}_verb")
    if not isinstance(verb, typer.Typer):
        alone = typer.Typer(**_PLAIN)
        if name in TABLES:
            verb = with_units(verb)
        alone.command(name, epilog=SAFETY, context_settings=_SETTINGS)(with_force(verb))
        verb = alone
    command = typer.main.get_command(verb)
    command.name = name
    return command


app = typer.Typer(cls=Verbs, **_PLAIN | {"add_completion": True})


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line with `arguments` (None: those of the process); returns the exit code.

    0: done; 1: a run or a check failed; 2: wrong input; 130: stopped by the user, 143 by the system.
    """
    tolerate_any_encoding()
    with stopping() as asked:
        try:
            code = _exit_code(arguments)
            flush()
        except KeyboardInterrupt:  # before or after a verb is at work
            mention("Stopped.")
            code = Interrupted.exit_code
    return asked.exit_code(code)


def _exit_code(arguments: Sequence[str] | None) -> int:
    command = typer.main.get_command(app)
    try:
        code = int(command.main(arguments, prog_name="spotdwell", standalone_mode=False) or 0)
    except SystemExit:
        return 0  # so typer and rich leave when nobody reads their help any more, as in "| head"
    except SpotdwellError as error:
        complain(_as_typed(error, command, sys.argv[1:] if arguments is None else arguments))
        return error.exit_code
    except _UsageError as error:
        return _refuse(error, sys.argv[1:] if arguments is None else arguments)
    except OSError as error:
        complain(RunError(f"the system refused: {error}"))
        return 1
    except MemoryError:
        complain(RunError("there is not enough memory. Use larger cells or a smaller grid"))
        return 1
    except (KeyboardInterrupt, typer.Abort) as error:
        if isinstance(error.__cause__ or error.__context__, EOFError):
            # Typer takes every early end of a file for a user who left.
            complain(RunError("a file of the installation ended too early. Install spotdwell again"))
            return 1
        code = Interrupted.exit_code
    if code == Interrupted.exit_code:
        # Typer has swallowed the interrupt; no verb had anything to lose, or it would have said so.
        mention("Stopped.")
    return code


def _as_typed(error: SpotdwellError, command: Any, arguments: Sequence[str]) -> SpotdwellError:
    """The error with the places that are options of the verb as they are typed: "--spot" for "spot"."""
    if not isinstance(error, InputError):
        return error
    verb = command.get_command(None, arguments[0])
    typed = {
        one.name: one.opts[0] if one.opts[0].startswith("-") else (one.metavar or one.name).strip("[]")
        for one in verb.params
    }

    def name(where: str) -> str:
        first, space, rest = where.partition(" ")
        return f"{typed.get(first) or first}{space}{rest}"

    return error.renamed(name)


def _refuse(error: Exception, arguments: Sequence[str]) -> int:
    """Report a command line that typer could not read."""
    context = getattr(error, "ctx", None)
    verb = next(iter(arguments), "")
    place = context.command_path if context else f"spotdwell {verb}" if verb in VERBS else "spotdwell"
    message = " ".join(str(getattr(error, "format_message", error.__str__)()).split())
    mention(f"Error: {_in_our_words(error, message, place, arguments) or message}\nHelp: {place} --help")
    return int(getattr(error, "exit_code", 2))


def _in_our_words(error: Any, message: str, place: str, arguments: Sequence[str]) -> InputError | None:
    """What typer found missing, unknown or too much, as any other wrong input; None for the rest."""
    kind, option = type(error).__name__, getattr(error, "option_name", None)
    param = getattr(error, "param", None)
    if kind == "MissingParameter" and param is not None:
        name = param.opts[0] if param.opts[0].startswith("-") else place
        meaning = (getattr(param, "help", None) or "").rstrip(".")
        expected = f"{param.metavar} ({meaning[:1].lower()}{meaning[1:]})" if meaning else param.metavar
        return InputError(name, expected, "nothing", "Add it.")
    if kind == "NoSuchOption" and option:
        near = " or ".join(getattr(error, "possibilities", None) or ())
        advice = near and f"Did you mean {near}?"
        return InputError(option, f"an option of {place}", "none of that name", advice)
    if kind == "BadOptionUsage" and option and "requires an argument" in message:
        return InputError(option, "a value after it", "nothing", "Add one, or leave the option out.")
    if param is not None and (wanted := re.search(r"should be (an? [\w ]+)", message)):
        typed = [after for one, after in pairwise(arguments) if one in param.opts]
        expected = wanted[1].replace("valid ", "").replace("a integer", "a whole number")
        return InputError(param.opts[0], expected, f'"{typed[-1]}"' if typed else "another")
    if unknown := re.search(r"No such command '(.+)'", message):
        return InputError(place, "a verb", f'"{unknown[1]}"', suggestion(unknown[1], tuple(VERBS)))
    if extra := re.search(r"unexpected extra argument\(?s?\)? \((.+)\)", message):
        advice = "Leave it out, or put a text with spaces in quotes."
        return InputError(place, "no more words than its help names", extra[1], advice)
    return None


def _say_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        say(f"spotdwell {version('spotdwell')}")
        raise typer.Exit


@app.callback(invoke_without_command=True, epilog=SAFETY, context_settings=_SETTINGS)
def spotdwell(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version.", callback=_say_version, is_eager=True)
    ] = False,
) -> None:
    """Simulate what a surgical laser does to tissue from power, spot and dwell time.

    Example: spotdwell shot --on soft_tissue --power "25 W" --spot "1.6 mm" --dwell "80 ms"
    """
    help_without_verb(context)
