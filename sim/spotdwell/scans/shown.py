"""A scan shown: what it leaves and how long it takes, printed, drawn and kept."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.units import display, parse, significant
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.text import bullets, heading, plain_table, section, shown, unit_text, value_table
from spotdwell.inputs.schema import Scenario
from spotdwell.output.tables import plain
from spotdwell.scans.request import corner_plan, plan_of
from spotdwell.scans.result import ScanResult
from spotdwell.scans.run import solved
from spotdwell.scans.words import LAYERS, SCAN_MEASURES

_DEPTH = ("depth_mean", "depth_least", "depth_greatest", "ripple")
_PACE = ("total_time", "duty", "volume", "volume_rate", "energy", "energy_per_volume")
_HEAT = ("meets_first", "meets_greatest", "peak_temperature", "peclet")
_PLACES = {"mean": "inside, mean", "worst": "inside, most", "edge": "edge, most"}


def carry_out(
    scenario: Scenario,
    out: Path | None,
    picture: Path | None,
    as_json: bool,
    quiet: bool,
    corner: str | None = None,
) -> None:
    """Solve the scan, and its `corner` as a block beside it; print and write the files.

    Raises SpotdwellError.
    """
    files = Files(quiet, as_json)
    files.check("out", out, "h5")
    files.check("picture", picture, "picture")
    plan = plan_of(scenario)
    square = None
    if corner is not None:
        square = corner_plan(plan, parse(corner, "m", where="corner", example="1 mm"))
        square.problem()
    with files.stoppable():
        with Watch(quiet) as watch:
            result = solved(plan, watch.see)
            block = solved(square, watch.see) if square else None
        beside = _corner_plain(block) if block else {}
        said = _corner_text(result, block) if block else []
        files.finish(
            lambda: files.show(
                lambda: plain_of(result) | beside, lambda: line(result), lambda: [*text(result), *said]
            ),
            (out, result.save),
            (picture, result.plot),
        )


def text(result: ScanResult) -> list[RenderableType]:
    """All that is to be said of a scan."""
    record = result.record
    setting = ", ".join(f"{name} {value}" for name, value in record.setting.items() if name != "title")
    cost = record.cost
    kept = "" if result.within else " (over a limit)"
    return [
        heading(record.setting.get("title") or "A scan"),
        Text(setting),
        *section(f"Verdict: {result.verdict.text}{kept}", bullets(result.verdict.reasons)),
        *section("Depth", _values(result, _DEPTH)),
        *section("Layers that are left below the floor [um]", _layers(result)),
        *section("Time and energy", _values(result, _PACE)),
        *section("Heat", _values(result, _HEAT)),
        *section("How it was computed", bullets(record.notes)),
        *section(
            "Run",
            Text(
                f"{cost['steps']:.0f} steps, {cost['cell_updates'] / 1e6:.3g} million cell updates, "
                f"{cost['wall_time']:.3g} s; it ended with: {record.status}"
            ),
        ),
    ]


def line(result: ScanResult) -> str:
    """The verdict with its reasons in one line."""
    return f"{result.verdict.text}: {' '.join(result.verdict.reasons)}"


def plain_of(result: ScanResult) -> dict[str, Any]:
    """In SI, of types that JSON knows: a run's fields, and those of the scan."""
    return plain(result.record) | {
        "scan": {
            "model": result.model,
            "within_limits": result.within,
            "coagulation_limit": result.coagulation_limit,
            "measures": dict(result.measures),
            "units": {name: one.unit for name, one in SCAN_MEASURES.items()},
            "lines": {
                "y": result.places.tolist(),
                "time": result.times.tolist(),
                "meets": result.meets.tolist(),
            },
            "ledger_error": result.ledger_error,
        }
    }


def _corner_plain(block: ScanResult) -> dict[str, Any]:
    return {"corner": {"side": block.extent[0], "measures": dict(block.measures)}}


def _corner_text(result: ScanResult, block: ScanResult) -> list[RenderableType]:
    """The whole area's measures beside those of its corner as a block."""
    layers = tuple(f"{layer}_{place}" for layer in LAYERS for place in _PLACES)
    names = ("depth_mean", "depth_least", "depth_greatest", *layers)
    table = plain_table(("[um]", "left"), (f"as a {result.model}", "right"), ("corner, block", "right"))
    for name in names:
        one = SCAN_MEASURES[name]
        table.add_row(one.meaning, shown(one, result.measures[name]), shown(one, block.measures[name]))
    return section(f"The corner of {display(block.extent[0], 'm', 'mm')} as a block", table)


def _values(result: ScanResult, names: Iterable[str]) -> Table:
    rows = []
    for name in names:
        one, value = SCAN_MEASURES[name], result.measures[name]
        if value is not None and one.display_unit == "%":
            rows.append((one.meaning, significant(100.0 * value), "%"))
        elif value is not None:
            rows.append((one.meaning, shown(one, value), unit_text(one)))
    return value_table(rows, wraps=0)


def _layers(result: ScanResult) -> Table:
    table = plain_table(("", "left"), *((title, "right") for title in _PLACES.values()))
    for layer, word in LAYERS.items():
        names = (f"{layer}_{place}" for place in _PLACES)
        table.add_row(word, *(shown(SCAN_MEASURES[name], result.measures[name]) for name in names))
    return table
