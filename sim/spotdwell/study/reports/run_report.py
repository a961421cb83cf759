"""The report of one run: gathers what the page says from a result and the texts that it keeps."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.material import Material
from spotdwell.inputs.material_view import Row, rows_of
from spotdwell.inputs.optics import WaterLine, nearest, water_lines
from spotdwell.inputs.read import material_from_text, scenario_from_dict
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.toml import table_of
from spotdwell.output.reports.run_report import Interval, Intervals, MaterialValue, MaterialValues, RunReport
from spotdwell.output.result import Result
from spotdwell.output.store import load
from spotdwell.study.evidence.report_words import CAUTIONS
from spotdwell.study.reports import run_report_words as words
from spotdwell.study.spread.uncertainty import Uncertainty

_ABSORPTION, _SCATTERING = "absorption of the solids at ", "reduced scattering at "
"""Beginnings of the rows of a material that depend on the wavelength."""

_LONG = 7
"""Digits beyond which a number is written with an exponent."""


def report(
    result: Result | str | os.PathLike[str],
    html: str | os.PathLike[str] | None = None,
    pdf: str | os.PathLike[str] | None = None,
    uncertainty: Uncertainty | None = None,
) -> None:
    """Write the report of `result`, or of the result kept at that path, to the files `html` and `pdf`.

    `uncertainty` adds intervals; they should belong to the same scenario. Raises InputError if neither file
    is named or the path holds no result, and RunError where a file cannot be written.
    """
    if html is None and pdf is None:
        raise InputError("report", "html, pdf or both", "neither", 'Name a file, such as html="spot.html"')
    found = result if isinstance(result, Result) else load(result)
    write_report(report_of(found, uncertainty), html, pdf)


def write_report(
    page: RunReport, html: str | os.PathLike[str] | None, pdf: str | os.PathLike[str] | None
) -> None:
    """Write `page` to the files that are named. Raises RunError where one cannot be written."""
    if html is not None:
        from spotdwell.output.reports.run_report_html import write_html

        write_html(page, Path(html))
    if pdf is not None:
        from spotdwell.output.reports.run_report_pdf import write_pdf

        write_pdf(page, Path(pdf))


def report_of(result: Result, uncertainty: Uncertainty | None = None) -> RunReport:
    """What the page of `result` says; `uncertainty` gives its intervals."""
    scenario = scenario_in(result)
    reasons = _grid_reasons(result, scenario)
    return RunReport(
        result=result,
        about="" if scenario is None else scenario.about,
        grid_reasons=reasons,
        cautions=tuple(note for note in result.notes if note not in reasons),
        assumptions=words.ASSUMPTIONS,
        danger=words.DANGER,
        safety=CAUTIONS,
        materials=tuple(_materials(result)),
        intervals=None if uncertainty is None else _intervals(uncertainty),
    )


def scenario_in(result: Result) -> Scenario | None:
    """The scenario that `result` keeps, with its materials; None if this version cannot read it."""
    try:
        data = table_of(result.scenario_text, "the stored scenario")
        data["materials"] = {name: table_of(text, name) for name, text in result.materials.items()}
        return scenario_from_dict(data, "the stored scenario")
    except InputError:
        return None


def _grid_reasons(result: Result, scenario: Scenario | None) -> tuple[str, ...]:
    """The notes that explain the grid: those that the scenario's own grid gives again."""
    if scenario is None:
        return ()
    try:
        given = problem_of(scenario).grid.reasons
    except InputError:
        return ()
    return tuple(note for note in result.notes if note in given)


def _materials(result: Result) -> Iterator[MaterialValues]:
    """Values of each material at the run's wavelength, then those of water."""
    wavelength = float(result.beam["wavelength"])
    has_water = False
    for name, text in result.materials.items():
        try:
            material = material_from_text(text, name)
        except InputError:
            # Of another version, or not of this tool: its text is all that can be shown.
            yield MaterialValues(name, tuple(_raw_values(text)))
            continue
        has_water = has_water or material.water_mass_fraction.value > 0.0
        title = material.title or name
        yield MaterialValues(title, tuple(map(_value, _rows_used(material, wavelength))))
    line = nearest(water_lines(), wavelength)
    if has_water and line is not None:
        yield MaterialValues("liquid water", (_water(line),))


def _rows_used(material: Material, wavelength: float) -> list[Row]:
    """Rows of `material` without its absorption at other wavelengths."""
    line = nearest(material.absorption, wavelength)
    own = "" if line is None else f"{_ABSORPTION}{units.written(line.wavelength, 'm')}"
    rows = rows_of(material)
    return [row for row in rows if not row.property.startswith(_ABSORPTION) or row.property == own]


def _value(row: Row) -> MaterialValue:
    note = ", which tells whether scattering can be left out" if row.property.startswith(_SCATTERING) else ""
    return MaterialValue(f"{row.property}{note}", _brief(row.value), _span(row.range), row.basis, row.source)


def _span(text: str) -> str:
    """A range such as "4 mm to 5 mm" with its unit once, if both ends have the same."""
    low, _, high = text.partition(" to ")
    number, _, unit = low.partition(" ")
    same = bool(unit) and high.endswith(f" {unit}")
    return f"{_brief(number)} to {_brief(high)}" if same else text


def _brief(text: str) -> str:
    """A quantity whose number has few letters: 1e11 1/s instead of eleven zeros."""
    number, _, unit = text.partition(" ")
    if len(number) > _LONG and number.replace(".", "").isdigit():
        number = f"{float(number):.4g}".replace("e+", "e")
    return f"{number} {unit}".strip()


def _raw_values(text: str) -> Iterator[MaterialValue]:
    """Every table with a value in TOML `text`, as it stands there."""
    try:
        data = table_of(text, "material")
    except InputError:
        return
    for name, table in data.items():
        if isinstance(table, Mapping) and "value" in table:
            yield _raw_value(name, table)


def _raw_value(name: str, table: Mapping[str, Any]) -> MaterialValue:
    span = " to ".join(map(str, table.get("range", ())))
    basis, source = str(table.get("basis", "")), str(table.get("source", ""))
    return MaterialValue(name.replace("_", " "), str(table["value"]), span, basis, source)


def _water(line: WaterLine) -> MaterialValue:
    low, high = (display(one, "1/m", "1/m", 4) for one in line.range)
    return MaterialValue(
        f"absorption at {units.written(line.wavelength, 'm')}, as this version ships it",
        display(line.absorption, "1/m", "1/m", 4),
        f"{low} to {high}",
        line.basis,
        line.source,
    )


def _intervals(found: Uncertainty) -> Intervals:
    spans = {name: Interval(spread.low, spread.high) for name, spread in found.spreads.items()}
    return Intervals(len(found.samples), len(found.failures), found.words, spans)
