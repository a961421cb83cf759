"""A scan shown: what it leaves and how long it takes, printed, drawn and kept."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.errors import InputError
from spotdwell.base.units import display, parse, significant
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.text import bullets, heading, plain_table, section, shown, unit_text, value_table
from spotdwell.inputs.schema import Scenario
from spotdwell.output.tables import plain
from spotdwell.scans.request import Plan, corner_plan, plan_of, rest_plan
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
    at_rest: bool = False,
) -> None:
    """Solve the scan, and its `corner` as a block beside it, `at_rest` too; print and write the files.

    Raises SpotdwellError.
    """
    files = Files(quiet, as_json)
    files.check("out", out, "h5")
    files.check("picture", picture, "picture")
    plan = plan_of(scenario)
    beside: list[Plan] = []
    if corner is not None:
        beside.append(corner_plan(plan, parse(corner, "m", where="corner", example="1 mm")))
        beside[0].problem()
    if at_rest:
        if not beside:
            raise InputError("at_rest", "a corner beside it", "none", 'Add one, such as "0.6 mm".')
        beside.append(rest_plan(beside[0]))
    with files.stoppable():
        with Watch(quiet) as watch:
            result = solved(plan, watch.see)
            blocks = [solved(one, watch.see) for one in beside]
        more = _corner_plain(blocks)
        said = _corner_text(result, blocks) if blocks else []
        files.finish(
            lambda: files.show(
                lambda: plain_of(result) | more, lambda: line(result), lambda: [*text(result), *said]
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


def _corner_plain(blocks: list[ScanResult]) -> dict[str, Any]:
    return {
        name: {"side": block.extent[0], "measures": dict(block.measures)}
        for name, block in zip(("corner", "corner_at_rest"), blocks, strict=False)
    }


def _corner_text(result: ScanResult, blocks: list[ScanResult]) -> list[RenderableType]:
    """The whole area's measures beside those of its corner as a block, and with spots at rest."""
    layers = tuple(f"{layer}_{place}" for layer in LAYERS for place in _PLACES)
    names = ("depth_mean", "depth_least", "depth_greatest", *layers)
    heads = [(text, "right") for text in ("corner, block", "spots at rest")[: len(blocks)]]
    table = plain_table(("[um]", "left"), (f"as a {result.model}", "right"), *heads)
    for name in names:
        one = SCAN_MEASURES[name]
        table.add_row(one.meaning, *(shown(one, found.measures[name]) for found in (result, *blocks)))
    notes = [Text(f"{blocks[1].record.notes[1]}.".capitalize())] if len(blocks) > 1 else []
    return section(f"The corner of {display(blocks[0].extent[0], 'm', 'mm')} as a block", table, *notes)


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
