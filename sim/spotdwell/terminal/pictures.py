"""Pictures of a kept result."""

from __future__ import annotations

from pathlib import Path

from spotdwell.output import plots
from spotdwell.output.store import load
from spotdwell.output.style import format_of
from spotdwell.output.whole_file import check_writable
from spotdwell.terminal.console import Interrupted, say


def draw(kept: Path, section: Path | None, history: Path | None) -> None:
    """Draw the result in the file `kept`; where no file is named, both pictures beside it.

    Raises InputError for a file that is no result, and for a picture's suffix, and RunError where a picture
    cannot be written.
    """
    if section is None and history is None:
        section = kept.with_name(f"{kept.stem}_section.png")
        history = kept.with_name(f"{kept.stem}_history.png")
    wanted = [
        (path, painter)
        for path, painter in ((section, plots.cross_section), (history, plots.history))
        if path is not None
    ]
    result = load(kept)
    for path, _ in wanted:
        format_of(path)
        check_writable(path)
    for path, painter in wanted:
        try:
            painter(result, path)
        except KeyboardInterrupt:
            raise Interrupted(f"Stopped: {path} was not drawn.") from None
        say(f"Saved {path}")
