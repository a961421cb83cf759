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
from spotdwell.base.units import display, significant
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.console.text import bullets, heading, indented, microns, plain_table, section, value_table
from spotdwell.inputs.shot import nothing
from spotdwell.output.tables import Plain, plain
from spotdwell.shots.run import imbalance
from spotdwell.sizing.clean import CleanRange, range_text, size_clean
from spotdwell.sizing.run import Sized, size
from spotdwell.sizing.scanner import Scan, size_scan
from spotdwell.sizing.trials import Limits as Kept
from spotdwell.sizing.trials import Listener, Trial

if TYPE_CHECKING:
    from spotdwell.output.result import Result


def text(found: Sized | Scan) -> list[RenderableType]:
    """All that was found, to be printed."""
    parts: list[RenderableType] = [heading(_title(found)), indented(Text(_setting(found.result)))]
    wanted = found.depth if isinstance(found, Sized) else None
    parts += [Text(), indented(_measures(found.trial, found.limits, wanted))]
    if found.result is not None:
        verdict = found.result.verdict
        parts += section(f"Verdict: {verdict.word}", bullets(verdict.reasons))
    if isinstance(found, Scan) and found.found:
        parts += section("Scan", _scan_table(found))
        parts += section("What this takes for granted", bullets(_assumptions(found)))
    for title, sentences in ((_obstacle_title(found), found.obstacles), ("Nearest to it", found.advice)):
        if sentences:
            parts += section(title, bullets(sentences))
    return parts


def line(found: Sized | Scan) -> str:
    """The answer, or why there is none, in one line."""
    if found.found:
        return f"{_name(found)} {found.trial.text}: {found.trial.says}{_speed(found)}"
    return " ".join([f"no {_name(found)} found.", *found.obstacles, *found.advice])


def plain_of(found: Sized | Scan) -> Plain:
    """The answer in SI, of types that JSON knows; `result` is that of `setting` or of the nearest to it."""
    common: Plain = {
        "sought": _name(found),
        "found": found.found,
        "setting": found.trial.value if found.found else None,
        "nearest": asdict(found.trial),
        "bounds": list(found.bounds),
        "limits": asdict(found.limits),
        "obstacles": list(found.obstacles),
        "advice": list(found.advice),
        "trials": [asdict(trial) for trial in found.trials],
        "result": None if found.result is None else _result(found.result),
    }
    if isinstance(found, Sized):
        return common | {"depth": found.depth}
    scan: Plain = {"diameter": found.diameter, "speed": found.speed, "cooling_time": found.cooling_time}
    scan |= asdict(found.lines) | {"one_line": asdict(found.one_line)}
    return common | {"scan": scan if found.found else None}


def _result(result: Result) -> Plain:
    return plain(result) | {"ledger_imbalance": imbalance(result.ledger)}


def _name(found: Sized | Scan) -> str:
    return str(found.unknown) if isinstance(found, Sized) else "dwell"


def _speed(found: Sized | Scan) -> str:
    if isinstance(found, Sized):
        return ""
    return f"; scan at {display(found.speed, 'm/s', 'mm/s')}, lines {microns(found.lines.spacing)} apart"


def _title(found: Sized | Scan) -> str:
    if isinstance(found, Scan):
        if found.found:
            return f"Longest dwell within the limits: {found.trial.text}"
        return f"No dwell removes anything within the limits; closest to them: {found.trial.text}"
    wanted = microns(found.depth)
    if found.found:
        return f"{str(found.unknown).capitalize()} for {wanted}: {found.trial.text}"
    if found.reached:
        return f"No {found.unknown} for {wanted} keeps the limits; without them: {found.trial.text}"
    return f"No {found.unknown} for {wanted} found; closest to it: {found.trial.text}"


def _obstacle_title(found: Sized | Scan) -> str:
    if not found.found:
        return "What stands in the way"
    return "What stands in the way of more" if isinstance(found, Scan) else "To know"


def _setting(result: Result | None) -> str:
    if result is None:
        return "Its run was stopped: it got too deep."
    return ", ".join(f"{name} {value}" for name, value in result.setting.items())


def _measures(trial: Trial, limits: Kept, wanted: float | None) -> Table:
    said = f"over {microns(trial.depth)}" if trial.stopped else microns(trial.depth)
    if wanted is None:
        rows = [("depth", said, _limit(limits.depth))]
    else:
        note = "" if trial.stopped else f", {100.0 * (trial.depth / wanted - 1.0):+.2f} %"
        rows = [("depth", said, f"wanted {microns(wanted)}{note}")]
    if not trial.stopped:
        zones = (("char", trial.char, limits.char), ("coagulated", trial.coagulation, limits.coagulation))
        rows += [(f"{name}, at most, at floor and wall", microns(v), _limit(most)) for name, v, most in zones]
    return value_table(rows)


def _limit(limit: float | None) -> str:
    return "" if limit is None else f"limit {microns(limit)}"


def _scan_table(found: Scan) -> Table:
    lines = found.lines
    share = significant(lines.spacing / found.diameter)
    longer = display(found.speed * found.cooling_time, "m", "mm")
    return value_table(
        [
            (
                "scan speed",
                display(found.speed, "m/s", "mm/s"),
                f"the spot's {microns(found.diameter)} over the dwell",
            ),
            (
                "line spacing",
                microns(lines.spacing),
                f"{share} of the diameter: ripple {100.0 * lines.ripple:.2g} %",
            ),
            (
                "depth of one line alone",
                microns(found.one_line.depth),
                f"as of a spot at rest for {found.one_line.text}: {found.one_line.layers}",
            ),
            (
                "time between lines",
                f"at least {display(found.cooling_time, 's', 'ms')}",
                f"lines of {longer} one way take it",
            ),
        ]
    )


def _assumptions(found: Scan) -> list[str]:
    lines = found.lines
    cool = "so that what one line heats has cooled before the next"
    sums = (
        "The lines together give more than the spot at rest: the floor gets deeper than stated."
        if lines.all_passes > 1.0
        else "Depth and layers are stated for the spot at rest, the most that a place gets."
    )
    return [
        "Each place counts as one exposure of a spot at rest, for the time in which the moving spot crosses "
        "its own 1/e2 diameter (the outer edge of an even one).",
        f"Neighbouring lines wait for the time above, {cool}.",
        f"The middle of a line has {lines.one_pass:.2f} of the exposure under the axis of the spot at rest, "
        f"all lines give {lines.all_passes:.2f} of it on average, in several passes. {sums}",
        "Ripple is highest less lowest over mean exposure across the lines, summed from the beam's profile.",
    ]


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


Find = Callable[[Listener], Sized | Scan]


def size_of(material: str, depth: str | None, ripple: float | None, given: dict[str, Any]) -> Find:
    """How the power, spot or dwell for `depth` is found. Raises InputError for what belongs to a scan."""
    if ripple is not None:
        raise lone("ripple", "--scan", "Add --scan, or leave it out.")
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
            lambda: plain_of(answer),
            lambda: line(answer),
            lambda: text(answer),
        )
        result = answer.result if answer.found else None
        if result is not None:
            files.finish(show, (out, result.save), (picture, result.plot))
        else:
            show()
            if files.expected:
                mention("Nothing saved: there is no answer.")
    return answer.found
