"""A calibration shown: values with intervals, each shot against its measurement, what may mislead."""

from __future__ import annotations

from typing import Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spotdwell.base.units import display, written
from spotdwell.measure.calibration import BenchRow, Calibration, shown_value, unit_of
from spotdwell.terminal.summary import heading, plain_table

_SHOOTING = (
    "Shoot test craters with eye protection for the wavelength, behind barriers, with the plume extracted "
    "and nothing flammable near, under IEC 60825-1, ANSI Z136.3 and your local rules."
)


def lines(found: Calibration) -> list[RenderableType]:
    """All that is to be said of a calibration."""
    from spotdwell.study.bench.warnings import NOTES

    return [
        heading(f"Fitted to {len(found.used)} shots of {found.source} in {found.material}"),
        Padding(_values(found), (0, 0, 0, 2)),
        Text(),
        heading("Shots"),
        Padding(_shots(found), (0, 0, 0, 2)),
        *([Text(_char(found))] if _char(found) else []),
        Text(),
        heading("How"),
        Padding(_bullets(_method(found)), (0, 0, 0, 2)),
        Text(),
        heading("Mind"),
        Padding(_bullets([*found.warnings, *NOTES, _SHOOTING]), (0, 0, 0, 2)),
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
        cells += [_length(row.depth), _length(row.computed_depth), off]
        if widths:
            cells += ["" if row.width is None else _length(row.width), _length(row.computed_width)]
        table.add_row(*cells, *([_char_cell(row)] if char else []))
    return table


def _spot(row: BenchRow) -> str:
    return f"dial {row.dial}" if row.dial else _length(row.spot)


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
    least = display(found.least_depth, "m", "um")
    error = 100.0 * found.error
    return [
        f"Least squares over the logarithms of the values on the solver, {found.runs} runs. The error of a "
        f"depth is taken as {error:.2g} % of it, at least as that of {least}: the scatter of "
        f"{'repeated shots' if found.error_from == 'repeats' else 'the residuals'} with {found.freedom} "
        "degrees of freedom. Intervals are by the slopes at the answer and Student's t.",
    ]


def _bullets(texts: list[str]) -> Table:
    table = Table.grid(padding=(0, 1, 0, 0))
    for text in texts:
        table.add_row("-", Text(text))
    return table


def _length(value: float) -> str:
    return display(value, "m", "um" if value < 1e-3 else "mm")
