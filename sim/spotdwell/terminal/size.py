"""The verb `size`: what it refuses, how it waits, and where its answer goes."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from spotdwell.base.errors import InputError, lone
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.inputs.shot import nothing
from spotdwell.study.size.scanner import Scan, size_scan
from spotdwell.study.size.sizing import Sized, size
from spotdwell.study.size.trials import Listener
from spotdwell.terminal import sizing_shown

Find = Callable[[Listener], Sized | Scan]


def size_of(material: str, depth: str | None, ripple: float | None, given: dict[str, Any]) -> Find:
    """How the power, spot or dwell for `depth` is found. Raises InputError for what belongs to a scan."""
    if ripple is not None:
        raise lone("ripple", "--scan", "Add --scan, or leave it out.")
    if depth is None:
        raise nothing("depth", "300 um")
    return lambda listener: size(material, depth, listener=listener, **given)


def scan_of(material: str, depth: str | None, ripple: float | None, given: dict[str, Any]) -> Find:
    """How the longest dwell of a scan is found. Raises InputError for what belongs to one shot."""
    for name, text, advice in (
        ("dwell", given.pop("dwell"), "Leave it out: it is what --scan finds."),
        ("depth", depth, "Leave it out, or give --depth-limit."),
    ):
        if text is not None:
            raise InputError(name, "none beside --scan", f'"{text}"', advice)
    return lambda listener: size_scan(material, ripple=ripple, listener=listener, **given)


def carry_out(find: Find, out: Path | None, picture: Path | None, as_json: bool, quiet: bool) -> bool:
    """Find what is asked, print it and write the files; returns whether there is an answer.

    Raises SpotdwellError.
    """
    files = Files(quiet, as_json)
    files.check("out", out, "h5")
    files.check("picture", picture, "picture")
    with files.stoppable():
        with Watch(quiet) as watch:
            answer = find(Listener(watch.say, watch.see))
        show = partial(
            files.show,
            lambda: sizing_shown.plain_of(answer),
            lambda: sizing_shown.line(answer),
            lambda: sizing_shown.text(answer),
        )
        result = answer.result if answer.found else None
        if result is not None:
            files.finish(show, (out, result.save), (picture, result.plot))
        else:
            show()
            if files.expected:
                mention("Nothing saved: there is no answer.")
    return answer.found
