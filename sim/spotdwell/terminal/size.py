"""Size: what the verb `size` is asked, how it waits, and where its answer goes."""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spotdwell.base.errors import InputError
from spotdwell.inputs.schema import Scenario
from spotdwell.terminal.console import SAFETY, Interrupted, mention, say, text_of
from spotdwell.terminal.job import Wanted, check_files, stopped_text
from spotdwell.terminal.typed_shot import scenario_of_typed
from spotdwell.terminal.watch import COMPILING, kernels_compiled, progress_text

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.solve.march import Progress
    from spotdwell.study.size.scanner import Scan
    from spotdwell.study.size.sizing import Sized
    from spotdwell.study.size.trials import Told

_PAUSE = 5.0
"""Between lines of progress within one trial [s]."""


@dataclass(frozen=True)
class Asked:
    """The options as they were typed."""

    on: str
    depth: str | None
    scan: bool
    coagulation_limit: str | None
    at_least: str | None
    at_most: str | None
    ripple: float | None
    settings: Mapping[str, Any]
    """Of the shot, by name; None if left out."""

    @property
    def char(self) -> bool:
        """Whether a char limit was asked for."""
        return self.settings.get("char_limit") is not None

    @property
    def given_spot(self) -> str | None:
        """The spot, or the laser file that says it."""
        laser = self.settings.get("laser")
        return self.settings.get("spot") if laser is None else str(laser)

    def scenario(self, unknown: str, guess: str) -> Scenario:
        """Scenario with `guess` for the `unknown`. Raises InputError that names options."""
        return scenario_of_typed(self.on, {**self.settings, unknown: guess})


def carry_out(asked: Asked, wanted: Wanted) -> bool:
    """Find what is asked, print it and write the wanted files; returns whether there is an answer.

    Raises SpotdwellError.
    """
    check_files(wanted)
    kept: list[Path] = []
    try:
        found = _scanned(asked, wanted.quiet) if asked.scan else _sized(asked, wanted.quiet)
        _show(found, wanted)
        _keep(found.result if found.found else None, wanted, kept)
    except KeyboardInterrupt:
        raise Interrupted(stopped_text(wanted.files, kept)) from None
    return found.found


def _sized(asked: Asked, quiet: bool) -> Sized:
    from spotdwell.study.size.sizing import GUESSES, request_of, sized, unknown_of

    if asked.ripple is not None:
        raise InputError("--ripple", "--scan beside it", "none", "Add --scan, or leave it out.")
    settings = asked.settings
    power = settings.get("power") or settings.get("peak_power")
    unknown = unknown_of({"--power": power, "--spot": asked.given_spot, "--dwell": settings.get("dwell")})
    if asked.depth is None:
        raise InputError("--depth", 'a quantity, such as --depth "300 um"', "nothing", "Add it, or --scan.")
    scenario = asked.scenario(unknown, GUESSES[unknown])
    request = request_of(
        scenario,
        unknown,
        asked.depth,
        asked.char,
        asked.coagulation_limit,
        asked.at_least,
        asked.at_most,
    )
    return sized(scenario, unknown, request, _told(quiet))


def _scanned(asked: Asked, quiet: bool) -> Scan:
    from spotdwell.study.size.scanner import scan_request_of, scanned
    from spotdwell.study.size.sizing import GUESSES
    from spotdwell.study.size.unknown import Unknown

    for name, text, advice in (
        ("--dwell", asked.settings.get("dwell"), "Leave it out: it is what --scan finds."),
        ("--depth", asked.depth, "Leave it out, or give --depth-limit."),
    ):
        if text is not None:
            raise InputError(name, "none beside --scan", f'"{text}"', advice)
    scenario = asked.scenario("dwell", GUESSES[Unknown.DWELL])
    request = scan_request_of(
        scenario, asked.char, asked.coagulation_limit, asked.at_least, asked.at_most, asked.ripple
    )
    return scanned(scenario, request, _told(quiet))


def _told(quiet: bool) -> Told:
    from spotdwell.study.size.trials import Told

    if quiet:
        return Told()
    if not kernels_compiled():
        mention(COMPILING)
    pace = _Pace()
    return Told(pace.trial, pace.step)


class _Pace:
    """A line for each trial, and one every few seconds within a long one."""

    def __init__(self) -> None:
        self._due = time.perf_counter() + _PAUSE

    def trial(self, text: str) -> None:
        self._due = time.perf_counter() + _PAUSE
        mention(text)

    def step(self, state: Progress) -> None:
        if time.perf_counter() >= self._due:
            self._due = time.perf_counter() + _PAUSE
            mention(f"  {progress_text(state)}")


def _show(found: Sized | Scan, wanted: Wanted) -> None:
    from spotdwell.terminal import sizing_words as words

    if wanted.as_json:
        say(json.dumps(words.plain_of(found), indent=2, allow_nan=False))
    elif wanted.quiet:
        say(words.line(found))
    else:
        say(text_of(*words.text(found), "", SAFETY))


def _keep(result: Result | None, wanted: Wanted, kept: list[Path]) -> None:
    """Write the answer's files; without one nothing is written, and that is said."""
    if result is None:
        if wanted.files:
            mention("Nothing saved: there is no answer.")
        return
    for path, write in ((wanted.out, result.save), (wanted.picture, result.plot)):
        if path is not None:
            write(path)
            kept.append(path)
            if not wanted.quiet:
                (mention if wanted.as_json else say)(f"Saved {path}")
