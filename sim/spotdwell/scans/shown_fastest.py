"""The fastest pattern shown and kept: what to set, what it leaves, and what stands in the way of more."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.console.text import bullets, heading, indented, microns, section, value_table
from spotdwell.scans.fastest import Fastest, Listener, fastest_scan
from spotdwell.scans.shown import plain_of as scan_plain
from spotdwell.scans.shown import text as scan_text

Find = Callable[[Listener], Fastest]


def fastest_of(material: str, one: Mapping[str, str | None], given: dict[str, Any]) -> Find:
    """How the pattern is found. Raises InputError for what belongs to one shot."""
    for name, text in one.items():
        if text is not None:
            raise InputError(name, "none beside a scan", f'"{text}"', "Leave it out.")
    return lambda listener: fastest_scan(material, listener=listener, **given)


def carry_out_fastest(find: Find, out: Path | None, picture: Path | None, as_json: bool, quiet: bool) -> bool:
    """Find the pattern, print it and write the files; returns whether there is one. Raises SpotdwellError."""
    files = Files(quiet, as_json)
    files.check("out", out, "h5")
    files.check("picture", picture, "picture")
    with files.stoppable():
        with Watch(quiet) as watch:
            found = find(Listener(watch.say, watch.see))

        def show() -> None:
            files.show(lambda: plain_of(found), lambda: line(found), lambda: text(found))

        if found.result is not None:
            files.finish(show, (out, found.result.save), (picture, found.result.plot))
        else:
            show()
            if files.expected:
                mention("Nothing saved: there is no answer.")
    return found.found


def line(found: Fastest) -> str:
    """The answer in one line: what to set."""
    if found.found:
        return f"Set {found.trial.candidate.text}: {_leaves(found)}."
    return " ".join(["No pattern that was tried keeps the limits.", f"Closest: {_closest(found)}"])


def text(found: Fastest) -> list[RenderableType]:
    """All that was found."""
    title = "Fastest pattern within the limits" if found.found else "No pattern within the limits"
    parts: list[RenderableType] = [heading(title), indented(Text(line(found)))]
    if found.obstacles:
        parts += section("What stands in the way of more", bullets(found.obstacles))
    if found.at_rest is not None:
        parts += section("Rule of thumb: a spot at rest", _thumb(found))
    tried = f"{len(found.trials)} patterns were tried as slices; speeds near the best are 17 % apart."
    parts += section("How it was found", bullets([tried, _bounds()]))
    return [*parts, Text(), *scan_text(found.result)] if found.result is not None else parts


def plain_of(found: Fastest) -> dict[str, Any]:
    """In SI, of types that JSON knows."""
    wanted = asdict(found.wanted)
    if wanted["most_speed"] == float("inf"):
        wanted["most_speed"] = None
    return {
        "found": found.found,
        "wanted": wanted,
        "setting": asdict(found.trial.candidate) if found.found else None,
        "nearest": asdict(found.trial),
        "obstacles": list(found.obstacles),
        "trials": [asdict(one) for one in found.trials],
        "at_rest": None if found.at_rest is None else dict(found.at_rest.measures),
        "result": None if found.result is None else scan_plain(found.result),
    }


def _leaves(found: Fastest) -> str:
    assert found.result is not None
    measures = {name: value or 0.0 for name, value in found.result.measures.items()}
    burnt = max(measures["coagulation_worst"], measures["coagulation_edge"])
    char = max(measures["char_worst"], measures["char_edge"])
    time = display(measures["total_time"], "s", "s")
    return (
        f"{microns(measures['depth_mean'])} deep in {time}, at most {microns(burnt)} coagulated and "
        f"{microns(char)} charred"
    )


def _closest(found: Fastest) -> str:
    trial = found.trial
    return f"{trial.candidate.text}: {trial.says} ({'; '.join(trial.broken)})."


def _thumb(found: Fastest) -> Table:
    """What a spot at rest says, and its error against the pattern."""
    assert found.at_rest is not None and found.result is not None
    rest, scan = found.at_rest.measures, found.result.measures
    rows = []
    for title, one, other in (
        ("depth", "crater_depth", "depth_mean"),
        ("coagulated below the floor", "coagulation_thickness_floor", "coagulation_mean"),
        ("charred below the floor", "char_thickness_floor", "char_mean"),
    ):
        said, true = (
            rest[one] or 0.0,
            (scan[other] or 0.0) / (found.trial.candidate.passes if other == "depth_mean" else 1),
        )
        error = f"{100.0 * (said / true - 1.0):+.0f} %" if true > 0.0 else "-"
        rows.append((title, microns(said), f"the pattern, a pass: {microns(true)}; error {error}"))
    return value_table(rows)


def _bounds() -> str:
    return (
        "Lines go back and forth at an even speed, with the beam on over the area alone: how a scanner's "
        "mirrors speed up and turn is not computed."
    )
