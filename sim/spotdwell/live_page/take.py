"""What can be taken away: files in the page's folder, and the command and Python that repeat a shot."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Mapping
from itertools import count
from pathlib import Path
from typing import Any

from spotdwell.base.errors import InputError
from spotdwell.cards.run import card
from spotdwell.console.saving import write_text
from spotdwell.output.pictures import plots
from spotdwell.output.result import Result
from spotdwell.reports.document import report

_MOST_NAMES = 1000
"""Files of one name that are counted up to."""
_ON_CARD = ("power", "spot", "laser", "dial", "dwell")
"""Settings of a shot that a card takes."""

Write = Callable[[Result, Mapping[str, Any], Path], None]


def _card(_: Result, settings: Mapping[str, Any], path: Path) -> None:
    given = dict(settings)
    material = given.pop("material")
    if other := [name for name in given if name not in _ON_CARD]:
        expected = "a single exposure of a steady beam, which a card holds"
        raise InputError("card", expected, ", ".join(other).replace("_", " "), "Switch it off for a card.")
    card(material, given.pop("power"), given.pop("dwell"), workers=1, **given).write_pdf(path)


WAYS: dict[str, tuple[str, str, Write]] = {
    "picture": ("section", ".png", lambda result, _, path: plots.cross_section(result, path)),
    "history": ("history", ".png", lambda result, _, path: plots.history(result, path)),
    "report": ("report", ".pdf", lambda result, _, path: report(result, pdf=path)),
    "card": ("card", ".pdf", _card),
    "scenario": ("scenario", ".toml", lambda result, _, path: write_text(path, result.scenario_text)),
    "result": ("result", ".h5", lambda result, _, path: result.save(path)),
}
"""What the page offers: word in the file's name, suffix, and how it is written."""

JUDGED = ("picture", "report", "result")
"""Of these, what shows or keeps the intervals."""


def taken(what: str, result: Result, settings: Mapping[str, Any], folder: Path) -> Path:
    """Write `what` of the `result` into `folder` under a new name, which replaces nothing; its path.

    Raises InputError for what is not offered and RunError where it cannot be written.
    """
    if what not in WAYS:
        raise InputError("what", f"one of {', '.join(WAYS)}", f'"{what}"')
    word, suffix, write = WAYS[what]
    path = new_path(folder, f"{stem_of(settings)}_{word}", suffix)
    write(result, settings, path)
    return path


def stem_of(settings: Mapping[str, Any]) -> str:
    """Name of a file from the settings, such as "skin_25W_1.6mm_80ms"."""
    material = Path(str(settings["material"])).stem
    parts = [material, *(str(settings[name]) for name in _ON_CARD if name in settings and name != "laser")]
    return "_".join(re.sub(r"[^\w.]", "", part) for part in parts)[:80]


def new_path(folder: Path, stem: str, suffix: str) -> Path:
    """Path in `folder` at which there is nothing. Raises InputError where a thousand are taken."""
    for number in count(1):
        name = f"{stem}{suffix}" if number == 1 else f"{stem}_{number}{suffix}"
        if not (folder / name).exists():
            return folder / name
        if number == _MOST_NAMES:
            break
    raise InputError("folder", f"a free name for {stem}{suffix}", "a thousand of that name", "Tidy it up.")


def command_of(settings: Mapping[str, Any]) -> str:
    """The command that repeats the shot."""
    given = {"on": settings["material"], **{k: one for k, one in settings.items() if k != "material"}}
    options = (f"--{name.replace('_', '-')} {_quoted(str(value))}" for name, value in given.items())
    return " ".join(("spotdwell shot", *options))


def _quoted(text: str) -> str:
    """As every usual shell takes it; what it would read as its own in the way of POSIX."""
    return shlex.quote(text) if re.search(r'["$`\\!%]', text) else f'"{text}"'


def python_of(settings: Mapping[str, Any]) -> str:
    """The five lines of Python that repeat the shot."""
    given = ", ".join(f"{name}={value!r}" for name, value in settings.items() if name != "material")
    return "\n".join(
        (
            "import spotdwell",
            f"settings = dict({given})",
            f"result = spotdwell.shot({settings['material']!r}, **settings)",
            'print(result.verdict.word, result.measures["crater_depth"])',
            'result.plot("shot.png")',
        )
    )
