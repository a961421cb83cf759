"""Console: text to standard output, messages to standard error, and how both survive a closed pipe."""

from __future__ import annotations

import io
import os
import shutil
import sys
from contextlib import suppress
from typing import TYPE_CHECKING

from spotdwell.base.errors import RunError, SpotdwellError
from spotdwell.base.foreign import shown

if TYPE_CHECKING:
    from rich.console import RenderableType


class Interrupted(SpotdwellError):
    """The user stopped the command; the text says what was kept (exit code 130)."""

    exit_code = 130


class Painted(str):
    """Text whose colours are ours, and whose foreign parts were made harmless before they were painted."""

    __slots__ = ()


def say(text: str) -> None:
    """Print `text` to standard output. A reader who has left, as in "| head", is no error.

    Raises RunError where the output is a file that cannot be written.
    """
    try:
        print(text if isinstance(text, Painted) else shown(text), flush=True)
    except BrokenPipeError:
        _drop_output()
    except OSError as error:
        _drop_output()
        raise RunError(f"standard output: cannot be written: {error.strerror}. Free some space") from None


def mention(text: str) -> None:
    """Print a message to standard error, where it does not mix with results."""
    with suppress(OSError):
        print(shown(text), file=sys.stderr, flush=True)


def complain(error: SpotdwellError) -> None:
    """Print what went wrong to standard error, or that the user stopped it."""
    mention(str(error) if isinstance(error, Interrupted) else f"Error: {error}")


def tolerate_any_encoding() -> None:
    """Let signs that the terminal cannot show become "?" instead of an error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def flush() -> None:
    """Send what is still held back, so that a closed pipe shows here and not as Python ends."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError:
        _drop_output()


def text_of(*parts: RenderableType) -> Painted:
    """Tables and texts as they are printed: in colour on a terminal only, as wide as it, else 80 columns."""
    from rich.console import Console
    from rich.segment import Segment, Segments

    console = Console(
        file=io.StringIO(),
        width=shutil.get_terminal_size((80, 24)).columns,
        force_terminal=sys.stdout.isatty(),
        highlight=False,
        markup=False,
        emoji=False,
    )
    with console.capture() as captured:
        for part in parts:
            drawn = (one for one in console.render(part, console.options) if not one.control)
            console.print(Segments(Segment(shown(one.text), one.style) for one in drawn), end="")
    return Painted("\n".join(line.rstrip() for line in captured.get().rstrip("\n").split("\n")))


def _drop_output() -> None:
    """Send the rest of standard output nowhere; Python would fail on it again when it ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
