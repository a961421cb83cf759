"""A comparison run, shown and kept."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.errors import RunError
from spotdwell.base.foreign import cell
from spotdwell.base.names import MEASURES, Quantity
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files, Write, write_text
from spotdwell.console.screen import mention
from spotdwell.console.text import heading, indented, plain_table, shown
from spotdwell.output.pictures.style import PAGE, Sheet, length_text, sheet_of
from spotdwell.output.tables import plain
from spotdwell.output.whole_file import check_writable
from spotdwell.regimes.picture import Panel, draw_row

if TYPE_CHECKING:
    from spotdwell.regimes.result import Comparison, Run


_PLACES = "Thicknesses under the drawings: at the floor, and at the wall."

_SETTING = (
    Quantity("peak_power", "", "W", "W", "power while on"),
    Quantity("pulse_duration", "", "s", "ms", "pulse duration"),
    Quantity("repetition_rate", "", "Hz", "Hz", "repetition rate"),
    Quantity("pulses", "", "1", "1", "pulses"),
    Quantity("average_power", "", "W", "W", "average power"),
    Quantity("pulse_energy", "", "J", "mJ", "pulse energy"),
    Quantity("pulse_radiant_exposure", "", "J/m2", "J/mm2", "radiant exposure of a pulse"),
)
"""Rows that say what each regime was."""

_FOUND = (
    ("incident_energy", "energy on the target"),
    ("crater_depth", "depth"),
    ("crater_width", "width"),
    ("char_thickness_floor", "char at the floor"),
    ("char_thickness_wall", "char at the wall"),
    ("char_thickness_rim", "char beyond the rim"),
    ("dried_thickness_floor", "dried at the floor"),
    ("dried_thickness_wall", "dried at the wall"),
    ("coagulation_thickness_floor", "coagulation at the floor"),
    ("coagulation_thickness_wall", "coagulation at the wall"),
    ("peak_temperature", "peak temperature"),
    ("energy_per_removed_volume", "energy per removed volume"),
)
"""Rows that say what each did."""


def _setting(run: Run) -> dict[str, float | None]:
    """Values of `_SETTING` [SI]; None where a continuous beam has none."""
    train = run.train
    return {
        "peak_power": train.power,
        "pulse_duration": train.on,
        "repetition_rate": train.rate or None,
        "pulses": float(train.count),
        "average_power": train.average_power,
        "pulse_energy": train.pulse_energy,
        "pulse_radiant_exposure": run.pulse_radiant_exposure,
    }


def _rows(found: Comparison) -> Iterator[tuple[str, str, list[str]]]:
    """Meaning, unit and a value for each regime."""
    settings = [_setting(run) for run in found.runs]
    for quantity in _SETTING:
        values = [_compact(quantity, one[quantity.name]) for one in settings]
        yield quantity.meaning, quantity.display_unit, values
    for name, meaning in _FOUND:
        quantity = MEASURES[name]
        values = [shown(quantity, run.result.measures.get(name)) for run in found.runs]
        yield meaning, quantity.display_unit, values
    yield "verdict", "", [str(run.result.verdict.word) for run in found.runs]


def _compact(quantity: Quantity, value: float | None) -> str:
    """A setting without zeros that say nothing."""
    text = shown(quantity, value)
    return (
        f"{value:.0f}" if quantity.unit == "1" and value else re.sub(r"(\.\d*?)0+$", r"\1", text).rstrip(".")
    )


def title_of(found: Comparison) -> str:
    """The equal terms, spot and target in one line."""
    setting = found.runs[0].result.setting
    place = f"{setting.get('spot', setting.get('area', ''))} on {setting['target']}"
    return f"{found.terms.text[0].upper()}{found.terms.text[1:]}, {place}"


def comparison_text(found: Comparison) -> list[RenderableType]:
    """Title, table, what whole pulses left unequal, and the sentence, to be printed."""
    table: Table = plain_table(("", "left"), ("", "left"), *((run.name, "right") for run in found.runs))
    for meaning, unit, values in _rows(found):
        table.add_row(meaning, "" if unit == "1" else unit, *values)
    notes = [Text(f"{run.name}: {note}.") for run in found.runs for note in run.notes]
    notes += [Text(text) for text in _cautions(found)]
    return [
        heading(title_of(found)),
        indented(table),
        *map(indented, notes),
        Text(),
        Text(found.sentence),
    ]


def _cautions(found: Comparison) -> list[str]:
    """Each caution once, with the regimes that it is about unless it is about all."""
    about: dict[str, list[str]] = {}
    for run in found.runs:
        for caution in run.cautions:
            about.setdefault(caution, []).append(run.name)
    return [
        caution if len(names) == len(found.runs) else f"{', '.join(names)}: {caution}"
        for caution, names in about.items()
    ]


def comparison_plain(found: Comparison) -> dict[str, Any]:
    """Everything but fields and histories in SI, of types that JSON knows."""
    terms = found.terms
    return {
        "equal": str(terms.equal),
        "average_power": terms.average_power,
        "time": terms.time,
        "energy": terms.energy,
        "depth": terms.depth,
        "sentence": found.sentence,
        "setting_units": {quantity.name: quantity.unit for quantity in _SETTING},
        "regimes": [
            {
                "regime": run.name,
                "text": run.train.regime.text,
                "setting": _setting(run),
                "notes": [*run.notes, *run.cautions],
                "result": plain(run.result),
            }
            for run in found.runs
        ],
    }


def comma_separated(found: Comparison) -> str:
    """A line a regime in SI: setting, verdict and all measures, units in the header, empty where None."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    quantities = [*_SETTING, *MEASURES.values()]
    writer.writerow(["regime", "verdict", *(f"{one.name} [{one.unit}]" for one in quantities)])
    for run in found.runs:
        values = _setting(run) | run.result.measures
        numbers = (values.get(one.name) for one in quantities)
        word = str(run.result.verdict.word)
        writer.writerow(
            [cell(run.train.regime.text), word, *("" if v is None else repr(float(v)) for v in numbers)]
        )
    return text.getvalue()


def draw_picture(found: Comparison, path: Path, sheet: Sheet = PAGE) -> None:
    """Draw the sections of all regimes side by side, each under its power in time."""
    draw_row(
        panels_of(found), path, title_of(found), f"{found.sentence} {_PLACES}", sheet, enlarge_floor=True
    )


def panels_of(found: Comparison) -> list[Panel]:
    """A panel a regime: what it was above, what it did below."""
    return [Panel(run.result, _caption(run), _findings(run), run.exposure) for run in found.runs]


def _caption(run: Run) -> tuple[str, ...]:
    train, kind = run.train, run.train.regime.title
    power = _figure("peak_power", run)
    if train.is_continuous:
        return kind, f"{power} for {_duration(train.on)}", f"{_figure('pulse_energy', run)} in all"
    pulses = f"{train.count} × {_duration(train.on)}, {_figure('repetition_rate', run)}"
    return kind, pulses, f"{power}, {_figure('pulse_energy', run)} each"


def _figure(name: str, run: Run) -> str:
    """A setting with its unit."""
    quantity = next(one for one in _SETTING if one.name == name)
    value = _setting(run)[name]
    if name == "pulse_energy" and value is not None and value >= 1.0:
        quantity = Quantity(name, "", "J", "J", quantity.meaning)
    return f"{_compact(quantity, value)} {quantity.display_unit}"


def _duration(value: float) -> str:
    unit = "s" if value >= 1.0 else "ms" if value >= 1e-3 else "us"
    return f"{_compact(Quantity('', '', 's', unit, ''), value)} {unit}"


def _findings(run: Run) -> tuple[str, ...]:
    """Verdict, depth, and char and coagulation at floor and wall."""

    def microns(name: str) -> str:
        value = run.result.measures.get(name)
        return "-" if value is None else f"{1e6 * value:.0f}"

    lines = [str(run.result.verdict.word), f"depth {length_text(run.measure('crater_depth'))}"]
    for word, name in (("char", "char"), ("coagulated", "coagulation")):
        floor, wall = microns(f"{name}_thickness_floor"), microns(f"{name}_thickness_wall")
        lines.append(f"{word} {floor}, {wall} um")
    return tuple(lines)


@dataclass(frozen=True)
class Outputs:
    """What the user wants of a comparison."""

    picture: Path | None = None
    table: Path | None = None
    """CSV file."""
    out: Path | None = None
    """Folder for the results."""
    size: str = "page"
    """Sheet of the picture."""
    as_json: bool = False
    quiet: bool = False


def carry_out(solve: Callable[..., Comparison], outputs: Outputs) -> None:
    """Solve all regimes, print what differs and write the files; `solve` takes a `progress`.

    Raises SpotdwellError; a file that could not be written is told of before anything is solved.
    """
    sheet = sheet_of(outputs.size)
    files = Files(outputs.quiet, outputs.as_json)
    files.check("picture", outputs.picture, "picture")
    files.check("table", outputs.table, "csv")
    if outputs.out is not None:
        _make_folder(outputs.out)
    with files.stoppable():
        with Watch(outputs.quiet, "regimes") as watch:
            if not outputs.quiet:
                mention("Solving the regimes ...")
            found = solve(progress=watch.count)
        results: list[tuple[Path | None, Write]] = []
        if outputs.out is not None:
            names = [f"{number}_{_file_stem(run.name)}.h5" for number, run in enumerate(found.runs, 1)]
            results = [
                (outputs.out / name, run.result.save) for name, run in zip(names, found.runs, strict=True)
            ]
        files.finish(
            lambda: files.show(
                lambda: comparison_plain(found), lambda: found.sentence, lambda: comparison_text(found)
            ),
            (outputs.picture, lambda path: draw_picture(found, path, sheet)),
            (outputs.table, lambda path: write_text(path, comma_separated(found))),
            *results,
        )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        advice = "Choose another, or create the folder above it"
        raise RunError(f"{folder}: cannot be used as a folder: {error.strerror}. {advice}") from error
    check_writable(folder / "1.h5")


def _file_stem(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
