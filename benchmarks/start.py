"""Start: a shot from the shell beside the import of its two largest libraries, and the first shot of all."""

from __future__ import annotations

import os
import statistics
import sys
import tempfile

from process import ended
from rows import Row, at_most, written

TITLE = "Start"
ABOUT = (
    "The first command of the README, from the shell to its exit, by turns with an empty Python that imports "
    "numba and numpy. The draws of its interval take all cores. The first shot of all finds no compiled "
    "kernels."
)
SHOT = ("shot", "--on", "oral_mucosa", "--power", "25 W", "--spot", "1.6 mm", "--dwell", "80 ms")
COMMAND = (sys.executable, "-m", "spotdwell", *SHOT)
IMPORTS = (sys.executable, "-c", "import numba, numpy")
OVER_IMPORTS, FIRST_OVER_LATER = 2.5, 10.0
"""Bars: times the import, times a later shot."""


def rows(quick: bool) -> list[Row]:
    """The first shot, then later ones and imports by turns."""
    repeats = 3 if quick else 11
    # Byte code is kept, as an installation keeps it.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    with tempfile.TemporaryDirectory() as cache:
        environment["NUMBA_CACHE_DIR"] = cache
        ended(IMPORTS, environment)
        ended((*COMMAND[:3], "--help"), environment)
        first = ended(COMMAND, environment)
        seconds: dict[str, list[float]] = {"shot": [], "imports": []}
        later = ended(COMMAND, environment)
        for _ in range(repeats):
            seconds["imports"].append(ended(IMPORTS, environment).seconds)
            seconds["shot"].append(ended(COMMAND, environment).seconds)
    shot, imports = (statistics.median(seconds[name]) for name in ("shot", "imports"))
    said, quiet = "Compiling" in first.errors, "Compiling" not in later.errors
    return [
        Row(f"a shot from the shell, median of {repeats}", written(shot, "s")),
        Row(f"import numba, numpy, median of {repeats}", written(imports, "s")),
        at_most("a shot over that import", shot / imports, OVER_IMPORTS, "times"),
        Row("the first shot of all", written(first.seconds, "s")),
        at_most("the first shot over a later one", first.seconds / shot, FIRST_OVER_LATER, "times"),
        Row(
            "compiling is said of the first alone",
            "yes" if said and quiet else "no",
            "",
            "it is",
            said and quiet,
        ),
    ]
