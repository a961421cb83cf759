"""A calibration shown: values with intervals, each shot against its measurement, what may mislead."""

from __future__ import annotations

from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.units import written
from spotdwell.console.text import SHOOTING, bullets, heading, indented, length, microns, plain_table, section
from spotdwell.measure.calibration import BenchRow, Calibration, shown_value, unit_of


def lines(found: Calibration) -> list[RenderableType]:
    """All that is to be said of a calibration."""
    from spotdwell.study.bench.warnings import NOTES

    return [
        heading(f"Fitted to {len(found.used)} shots of {found.source} in {found.material}"),
        indented(_values(found)),
        *section("Shots", _shots(found)),
        *([Text(_char(found))] if _char(found) else []),
        *section("How", bullets(_method(found))),
        *section("Mind", bullets([*found.warnings, *NOTES, SHOOTING])),
    ]


def plain(found: Calibration) -> dict[str, Any]:
    """The same in SI, of types that JSON knows."""
    return {
        "source": found.source,
        "material": found.material,
        "confidence": 0.95,
        "values": {
            one.key: {name: value for name, value in vars(one).items() if name != "key"}
            for one in found.values
        },
        "known": dict(found.known),
        "correlation": found.correlation.tolist(),
        "relative_error": found.error,
        "error_from": found.error_from,
        "degrees_of_freedom": found.freedom,
        "residual_scatter": found.scatter,
        "unsettled": found.unsettled,
        "runs": found.runs,
        "shots": [vars(row) | {"char_agrees": row.char_agrees} for row in found.rows],
        "warnings": list(found.warnings),
    }


def _values(found: Calibration) -> Table:
    table = plain_table(("", "left"), ("value", "right"), ("95 % interval", "left"), ("start", "right"))
    for one in found.values:
        interval = f"{one.shown(one.low)} to {one.shown(one.high)}" + (
            ", at its bound" if one.at_bound else ""
        )
        table.add_row(one.key, one.shown(one.value), interval, one.shown(one.start))
    for key, value in found.known:
        table.add_row(key, shown_value(unit_of(key), value), "known", "")
    return table


def _shots(found: Calibration) -> Table:
    columns = [("row", "right"), ("power", "right"), ("dwell", "right"), ("spot", "right")]
    depths = [("measured", "right"), ("computed", "right"), ("off [sd]", "right")]
    widths = any(row.width is not None for row in found.rows)
    wide = [("width", "right"), ("computed", "right")] if widths else []
    char = [("char", "left")] if any(row.char_seen is not None for row in found.rows) else []
    table = plain_table(*columns, *depths, *wide, *char)
    for row in found.rows:
        cells = [str(row.row), written(row.power, "W"), written(row.dwell, "s"), _spot(row)]
        off = "cut through" if row.perforated else f"{row.misfit:+.1f}"
        cells += [length(row.depth), length(row.computed_depth), off]
        if widths:
            cells += ["" if row.width is None else length(row.width), length(row.computed_width)]
        table.add_row(*cells, *([_char_cell(row)] if char else []))
    return table


def _spot(row: BenchRow) -> str:
    return f"dial {row.dial}" if row.dial else length(row.spot)


def _char_cell(row: BenchRow) -> str:
    if row.char_seen is None:
        return ""
    seen = "seen" if row.char_seen else "none"
    return f"{seen}, {row.word}" + ("" if row.char_agrees is not False else " !")


def _char(found: Calibration) -> str:
    """How often char was seen as computed; empty if nobody looked."""
    told = [row.char_agrees for row in found.rows if row.char_agrees is not None]
    if not told:
        return ""
    return f"  Char: {sum(told)} of {len(told)} shots agree with the verdict (not fitted)."


def _method(found: Calibration) -> list[str]:
    least = microns(found.least_depth)
    error = 100.0 * found.error
    return [
        f"Least squares over the logarithms of the values on the solver, {found.runs} runs. The error of a "
        f"depth is taken as {error:.2g} % of it, at least as that of {least}: the scatter of "
        f"{'repeated shots' if found.error_from == 'repeats' else 'the residuals'} with {found.freedom} "
        "degrees of freedom. Intervals are by the slopes at the answer and Student's t.",
    ]
