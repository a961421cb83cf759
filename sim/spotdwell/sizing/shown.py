"""A size found, shown and kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.errors import InputError, lone
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.console.text import bullets, heading, indented, microns, plain_table, section, value_table
from spotdwell.inputs.shot import nothing
from spotdwell.output.tables import Plain, plain
from spotdwell.shots.run import imbalance
from spotdwell.sizing.chance import Chance, chance_of
from spotdwell.sizing.clean import CleanRange, range_text, size_clean
from spotdwell.sizing.run import Sized, size
from spotdwell.sizing.trials import Limits as Kept
from spotdwell.sizing.trials import Listener, Trial

if TYPE_CHECKING:
    from spotdwell.output.result import Result


def text(found: Sized, chance: Chance | None = None) -> list[RenderableType]:
    """All that was found, to be printed."""
    parts: list[RenderableType] = [heading(_title(found)), indented(Text(_setting(found.result)))]
    parts += [Text(), indented(_measures(found.trial, found.limits, found.depth))]
    if found.result is not None:
        word = ", ".join(filter(None, (found.result.verdict.word, found.result.odds)))
        parts += section(f"Verdict: {word}", bullets(found.result.verdict.reasons))
    if chance is not None:
        parts += section("Chance", bullets(chance.sentences))
    for title, sentences in ((_obstacle_title(found), found.obstacles), ("Nearest to it", found.advice)):
        if sentences:
            parts += section(title, bullets(sentences))
    return parts


def line(found: Sized) -> str:
    """The answer, or why there is none, in one line."""
    if found.found:
        return f"{found.unknown} {found.trial.text}: {found.trial.says}"
    return " ".join([f"no {found.unknown} found.", *found.obstacles, *found.advice])


def plain_of(found: Sized, chance: Chance | None = None) -> Plain:
    """The answer in SI, of types that JSON knows; `result` is that of `setting` or of the nearest to it."""
    return {
        "depth": found.depth,
        "sought": str(found.unknown),
        "found": found.found,
        "setting": found.trial.value if found.found else None,
        "nearest": asdict(found.trial),
        "bounds": list(found.bounds),
        "limits": asdict(found.limits),
        "obstacles": list(found.obstacles),
        "advice": list(found.advice),
        "trials": [asdict(trial) for trial in found.trials],
        "result": None if found.result is None else _result(found.result),
        "chance": None if chance is None else asdict(chance),
    }


def _result(result: Result) -> Plain:
    return plain(result) | {"ledger_imbalance": imbalance(result.ledger)}


def _title(found: Sized) -> str:
    wanted = microns(found.depth)
    if found.found:
        return f"{str(found.unknown).capitalize()} for {wanted}: {found.trial.text}"
    if found.reached:
        return f"No {found.unknown} for {wanted} keeps the limits; without them: {found.trial.text}"
    return f"No {found.unknown} for {wanted} found; closest to it: {found.trial.text}"


def _obstacle_title(found: Sized) -> str:
    return "To know" if found.found else "What stands in the way"


def _setting(result: Result | None) -> str:
    if result is None:
        return "Its run was stopped: it got too deep."
    return ", ".join(f"{name} {value}" for name, value in result.setting.items())


def _measures(trial: Trial, limits: Kept, wanted: float) -> Table:
    said = f"over {microns(trial.depth)}" if trial.stopped else microns(trial.depth)
    note = "" if trial.stopped else f", {100.0 * (trial.depth / wanted - 1.0):+.2f} %"
    rows = [("depth", said, f"wanted {microns(wanted)}{note}")]
    if not trial.stopped:
        zones = (("char", trial.char, limits.char), ("coagulated", trial.coagulation, limits.coagulation))
        rows += [(f"{name}, at most, at floor and wall", microns(v), _limit(most)) for name, v, most in zones]
    return value_table(rows)


def _limit(limit: float | None) -> str:
    return "" if limit is None else f"limit {microns(limit)}"


Find = Callable[[Listener], Sized]


def clean_text(found: CleanRange) -> list[RenderableType]:
    """Ranges, the cleanest, and all that was tried."""
    name = str(found.unknown)
    parts: list[RenderableType] = [heading(f"Where the {name} is clean"), bullets(range_text(found))]
    if found.cleanest is not None:
        parts += section(f"Cleanest: {found.cleanest.text}", bullets([found.cleanest.says]))
    table = plain_table((name, "right"), ("depth [um]", "right"), ("char [um]", "right"), ("verdict", "left"))
    for one in found.trials:
        said = "stopped as too deep" if one.stopped else one.word
        char = "-" if one.stopped else microns(one.char).removesuffix(" um")
        table.add_row(one.text, microns(one.depth).removesuffix(" um"), char, said)
    return [*parts, *section("Tried", table)]


def clean_plain(found: CleanRange) -> Plain:
    """The same in SI, of types that JSON knows."""
    return {
        "sought": str(found.unknown),
        "found": found.found,
        "bounds": list(found.bounds),
        "clean": [list(span) for span in found.spans],
        "cleanest": None if found.cleanest is None else asdict(found.cleanest),
        "trials": [asdict(one) for one in found.trials],
        "result": None if found.result is None else _result(found.result),
    }


def carry_out_clean(
    find: Callable[..., CleanRange], out: Path | None, picture: Path | None, as_json: bool, quiet: bool
) -> bool:
    """Find where a shot is clean, print it and write the files; returns whether it is anywhere."""
    files = Files(quiet, as_json)
    files.check("out", out, "h5")
    files.check("picture", picture, "picture")
    with files.stoppable():
        with Watch(quiet, "tries") as watch:
            answer = find(progress=watch.count)
        show = partial(
            files.show,
            lambda: clean_plain(answer),
            lambda: " ".join(range_text(answer)),
            lambda: clean_text(answer),
        )
        if answer.result is None:
            show()
        else:
            files.finish(show, (out, answer.result.save), (picture, answer.result.plot))
    return answer.found


def size_of(material: str, depth: str | None, given: dict[str, Any]) -> Find:
    """How the power, spot or dwell for `depth` is found. Raises InputError without a depth."""
    if depth is None:
        raise nothing("depth", "300 um")
    return lambda listener: size(material, depth, listener=listener, **given)


def clean_of(material: str, others: Mapping[str, object], given: dict[str, Any]) -> Callable[..., CleanRange]:
    """How the clean range is found. Raises InputError for `others`, which belong to other questions."""
    given.pop("coagulation_limit")
    for name, value in others.items():
        if value is not None:
            raise InputError(name, "none beside --clean", str(value), "Leave one of the two out.")
    return partial(size_clean, material, **given)


def check_alone(area: Mapping[str, object]) -> None:
    """Raise InputError for what belongs to a scan."""
    for name, value in area.items():
        if value is not None:
            raise lone(name, "--scan", "Add --scan, or leave it out.")


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
            answer, chance = chance_of(answer)
        show = partial(
            files.show,
            lambda: plain_of(answer, chance),
            lambda: line(answer),
            lambda: text(answer, chance),
        )
        result = answer.result if answer.found else None
        if result is not None:
            files.finish(show, (out, result.save), (picture, result.plot))
        else:
            show()
            if files.expected:
                mention("Nothing saved: there is no answer.")
    return answer.found
