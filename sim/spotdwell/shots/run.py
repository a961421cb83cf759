"""One scenario solved, shown and kept, as the verbs `run` and `shot` both do it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.names import LEDGER, MEASURES, Quantity
from spotdwell.base.units import chosen, convert, display, significant
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.console.text import (
    bullets,
    heading,
    microns,
    plain_table,
    section,
    shown,
    unit_text,
    value_table,
)
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.schema import Scenario
from spotdwell.measure.verdict import Limits
from spotdwell.output.result import Result
from spotdwell.output.tables import measure_rows
from spotdwell.shots.sensitivity import Sensitivity, sensitivity, sensitivity_plain, sensitivity_text
from spotdwell.spread.brief import brief
from spotdwell.spread.shown import (
    brief_text,
    check_samples,
    sampled,
    short_text,
    uncertainty_plain,
    uncertainty_text,
)

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.output.tables import Plain
    from spotdwell.pipeline import GridCheck
    from spotdwell.spread.run import Uncertainty


_CRATER = (
    "crater_depth",
    "deepest",
    "crater_width",
    "crater_width_half_depth",
    "crater_volume",
    "solid_volume",
    "crater_mass",
    "perforation_time",
)
_ZONES = ("char", "dried", "coagulation")
_PLACES = ("floor", "wall", "rim")
_FROM = {"floor": "under the floor", "wall": "from the wall", "rim": "beyond the edge"}
_LEFT = ("trusted_wall", "char_volume", "char_per_removed_volume")
_BLOCK = {zone: tuple(f"{zone}_thickness_{place}" for place in _PLACES) for zone in _ZONES}
_ELSEWHERE = {*_CRATER, *_LEFT, *(name for names in _BLOCK.values() for name in names)}
_LIGHT = tuple(name for name in MEASURES if name not in {*_ELSEWHERE, "cell_depth"})
_ZONE_WORDS = {"char": "charred", "dried": "dried", "coagulation": "coagulated"}


def summary(result: Result, grid_reasons: Sequence[str]) -> list[RenderableType]:
    """All that a run found, to be printed; notes other than `grid_reasons` are its cautions."""
    cautions = [note for note in result.notes if note not in grid_reasons]
    return [
        *_opening(result),
        *section(f"Verdict: {result.verdict_text}", _verdict_lines(result)),
        *section("Crater", _measures(result, _CRATER)),
        *section(f"How far the zones reach [{chosen('m', 'um')}]", _layers(result), _measures(result, _LEFT)),
        *section("Heat and light", _measures(result, _LIGHT)),
        *section("Where the energy went", _energies(result.ledger)),
        *section("Grid", bullets(grid_reasons)),
        *(section("Cautions", bullets(cautions)) if cautions else []),
        *section("Run", Text(_cost_text(result))),
    ]


def verdict_line(result: Result) -> str:
    """The verdict with its reasons in one line."""
    return f"{result.verdict.text}: {' '.join(result.verdict.reasons)}"


def imbalance(ledger: Mapping[str, float]) -> float:
    """Incident energy less all that is accounted for [J] (eq. 16)."""
    return ledger["incident"] - sum(value for name, value in ledger.items() if name != "incident")


def _opening(result: Result) -> list[RenderableType]:
    setting = ", ".join(f"{name} {value}" for name, value in result.setting.items() if name != "title")
    return [heading(result.setting.get("title") or "A shot"), Text(setting)]


def _verdict_lines(result: Result) -> Table:
    return bullets([*result.verdict.reasons, f"Limits: {_limits_text(result.verdict.limits)}."])


def _limits_text(limits: Limits) -> str:
    char = microns(limits.char_thickness)
    depth = "any depth" if limits.depth is None else f"depth {microns(limits.depth)}"
    return f"char {char} at floor and wall, {depth}, depth over width {limits.aspect_ratio:g}"


def _measures(result: Result, names: Iterable[str]) -> Table:
    cell = result.measures.get("cell_depth")
    rows = measure_rows({name: result.measures.get(name) for name in names}, cell)
    return value_table(((row.meaning, row.value, row.unit) for row in rows), wraps=0)


def _layers(result: Result) -> Table:
    cell = result.measures.get("cell_depth")
    table = plain_table(("", "left"), *((_FROM[place], "right") for place in _PLACES))
    for zone, names in _BLOCK.items():
        values = (shown(MEASURES[name], result.measures.get(name), cell) for name in names)
        table.add_row(_ZONE_WORDS[zone], *values)
    return table


def _energies(ledger: Mapping[str, float]) -> Table:
    table = plain_table(("", "left"), ("J", "right"), ("%", "right"))
    least = 1e-12 * ledger["incident"]  # rounding is no loss
    rows = [(LEDGER[name].meaning, value) for name, value in ledger.items() if abs(value) > least]
    for meaning, value in [*rows, ("not accounted for", imbalance(ledger))]:
        share = 100.0 * value / ledger["incident"] if ledger["incident"] else 0.0
        table.add_row(meaning, significant(value), _percent(share))
    return table


def _percent(share: float) -> str:
    """Percent to a tenth; below that what size it has."""
    return f"{share:.1f}" if abs(share) >= 0.05 or share == 0.0 else f"{share:.0e}"


def _cost_text(result: Result) -> str:
    cost = result.cost
    seconds = display(cost["wall_time"], "s", "s")
    return (
        f"{cost['steps']:.0f} steps, {cost['cell_updates'] / 1e6:.3g} million cell updates, {seconds}; "
        f"it ended with: {result.status}"
    )


@dataclass(frozen=True)
class Outputs:
    """What the user wants of a run."""

    out: Path | None = None
    """File for the result."""
    picture: Path | None = None
    """File for the section through the axis."""
    as_json: bool = False
    check_grid: bool = False
    sensitivity: bool = False
    quiet: bool = False
    samples: int | None = None
    """Samples of the materials' ranges; None for no such study."""
    seed: int | None = None
    workers: int | None = None

    @property
    def want_intervals(self) -> bool:
        """Whether intervals would be shown or kept."""
        return not self.quiet or self.as_json or self.out is not None or self.picture is not None


def carry_out(scenario: Scenario, outputs: Outputs) -> None:
    """Solve `scenario`, print what it found and write the files.

    Raises SpotdwellError; what can be told before the run (a wrong grid, a file that could not be written)
    is told before it.
    """
    from spotdwell import pipeline

    files = Files(outputs.quiet, outputs.as_json)
    files.check("out", outputs.out, "h5")
    files.check("picture", outputs.picture, "picture")
    check_samples(scenario, outputs.samples, outputs.seed, outputs.workers)
    reasons = problem_of(scenario).grid.reasons
    if not outputs.quiet:
        for reason in reasons:
            if "this run is large" in reason:
                mention(f"Note: {reason}.")
    check: GridCheck | None = None
    with files.stoppable():
        with Watch(outputs.quiet) as watch:
            if outputs.check_grid:
                check = pipeline.check_grid(scenario, watch.see_part)
                # The first grid is the scenario's own; its text is kept as the user wrote it.
                result = check.results[0]
                result = replace(result, scenario_text=scenario.origin.text or result.scenario_text)
            else:
                result = pipeline.run(scenario, watch.see)
        around = _around(scenario, outputs) if outputs.sensitivity else None
        study = sampled(scenario, outputs.samples, outputs.seed, outputs.workers, outputs.quiet)
        few = brief(result) if study is None and outputs.want_intervals else None
        if (judged := study or few) is not None:
            result = replace(result, interval=judged.interval)

        def show() -> None:
            files.show(
                lambda: plain_of(result, check, study, around),
                lambda: "\n".join([verdict_line(result), *([short_text(study)] if study else [])]),
                lambda: [
                    *summary(result, reasons),
                    *(brief_text(result, few.interval) if few else []),
                    *(grid_table(check) if check else []),
                    *(sensitivity_text(around) if around else []),
                    *(uncertainty_text(study) if study else []),
                ],
            )

        files.finish(show, (outputs.out, result.save), (outputs.picture, result.plot))


def _around(scenario: Scenario, outputs: Outputs) -> Sensitivity:
    with Watch(outputs.quiet, "neighbours") as watch:
        return sensitivity(scenario, workers=outputs.workers, progress=watch.count)


def plain_of(
    result: Result,
    check: GridCheck | None,
    study: Uncertainty | None = None,
    around: Sensitivity | None = None,
) -> Plain:
    """In SI, of types that JSON knows: measures, units, verdict, ledger, notes, setting, versions."""
    from spotdwell.output.tables import plain

    found = plain(result) | {"ledger_imbalance": imbalance(result.ledger)}
    found |= {"grid_check": grid_plain(check)} if check else {}
    found |= {"sensitivity": sensitivity_plain(around)} if around else {}
    return found | (uncertainty_plain(study) if study else {})


def grid_table(check: GridCheck) -> list[RenderableType]:
    """Each measure on each grid, with its change between the last two."""
    grids = [f"grid {number}" for number in range(1, len(check.refinements) + 1)]
    table = plain_table(
        ("measure", "left"), *((grid, "right") for grid in grids), ("unit", "left"), ("change [%]", "right")
    )
    for name, values, _, relative in check.rows():
        if any(value is not None for value in values):
            quantity = MEASURES[name]
            change = "-" if relative is None else f"{100.0 * relative:+.2f}"
            table.add_row(name, *(_exactly(quantity, value) for value in values), unit_text(quantity), change)
    title = "Grid check: each grid has cells and steps of half the size of those before"
    return [Text(), heading(title), table]


def _exactly(quantity: Quantity, value: float | None) -> str:
    """With more digits than the grid gives: what it does to them is the question."""
    if value is None:
        return "-"
    return significant(float(convert(value, quantity.unit, quantity.shown_unit)), 4)


def grid_plain(check: GridCheck) -> Plain:
    """The same in SI, of types that JSON knows."""
    rows = {
        name: {"values": list(values), "change": change, "relative_change": relative}
        for name, values, change, relative in check.rows()
    }
    return {"refinements": list(check.refinements), "measures": rows}
