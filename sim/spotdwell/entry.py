"""Entry: what the command `spotdwell` calls. Ctrl-C is told and ends with 130 even while modules load."""

from __future__ import annotations

import gc
import os
import signal
import sys

STOPPED = 130
_OBJECTS = 200_000
"""That are new before Python looks for rings among them: while modules load it would look every 700."""


def main() -> int:
    """Run the command line; returns the exit code. What comes after it is not interrupted any more."""
    gc.set_threshold(_OBJECTS)
    # Models are read without plugins of others, which would be looked for in every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    try:
        from spotdwell.cli import main as command

        return command()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return STOPPED
    finally:
        # Python would end by the signal itself, and not with the code.
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        # An interrupt inside code that a library runs from text, as data classes do, leaves a mark by which
        # Python ends itself by the signal though it was caught; code that runs to its end takes it back.
        exec("")
        # All of it ends with the process: to look through it once more takes as long as some shots.
        gc.freeze()
