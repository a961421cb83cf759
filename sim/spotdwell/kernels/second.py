"""Second: what the second process does that compiles pieces beside the first. It prints nothing."""

from __future__ import annotations

import os
import pickle
import signal
import sys
from importlib import import_module
from typing import Any

from spotdwell.kernels import keeping
from spotdwell.kernels.compiling import heard, telling
from spotdwell.kernels.objects import load, piece_object
from spotdwell.kernels.room import uncollected, with_room


@with_room
def main(module: str, stamp: str) -> None:
    """Answer each piece on standard input with its object file, after counts of functions, until it ends.

    Leaves at once if the sources of `module` do not have this `stamp`, as when they were edited meanwhile.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process ends this one
    with os.fdopen(os.dup(1), "wb") as answers:
        os.dup2(2, 1)

        def answer(what: Any) -> None:
            pickle.dump(what, answers)
            answers.flush()

        if keeping.stamp(str(import_module(module).__file__)) != stamp:
            return
        load()
        with heard(lambda count, kept: answer(count)), telling(kept=True), uncollected():
            while True:
                try:
                    piece = pickle.load(sys.stdin.buffer)
                except EOFError:
                    return
                answer(piece_object(piece))
