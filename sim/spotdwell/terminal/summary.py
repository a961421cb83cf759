"""Summary of a result: setting, verdict, crater, layers, heat and light, energies, grid, cautions, cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.names import LEDGER, MEASURES
from spotdwell.base.units import display, significant
from spotdwell.console.text import bullets, heading, microns, plain_table, section, shown, value_table
from spotdwell.measure.verdict import Limits
from spotdwell.output.result import Result
from spotdwell.output.tables import measure_rows

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
_LEFT = ("trusted_wall", "char_volume", "char_per_removed_volume")
_BLOCK = {zone: tuple(f"{zone}_thickness_{place}" for place in _PLACES) for zone in _ZONES}
_ELSEWHERE = {*_CRATER, *_LEFT, *(name for names in _BLOCK.values() for name in names)}
_LIGHT = tuple(name for name in MEASURES if name not in _ELSEWHERE)
_ZONE_WORDS = {"char": "charred", "dried": "dried", "coagulation": "coagulated"}


def summary(result: Result, grid_reasons: Sequence[str]) -> list[RenderableType]:
    """All that a run found, to be printed; notes other than `grid_reasons` are its cautions."""
    cautions = [note for note in result.notes if note not in grid_reasons]
    return [
        *_opening(result),
        *section("Verdict: " + result.verdict.word, _verdict_lines(result)),
        *section("Crater", _measures(result, _CRATER)),
        *section("Layers that are left [um]", _layers(result), _measures(result, _LEFT)),
        *section("Heat and light", _measures(result, _LIGHT)),
        *section("Where the energy went", _energies(result.ledger)),
        *section("Grid", bullets(grid_reasons)),
        *(section("Cautions", bullets(cautions)) if cautions else []),
        *section("Run", Text(_cost_text(result))),
    ]


def verdict_line(result: Result) -> str:
    """The verdict with its reasons in one line."""
    return f"{result.verdict.word}: {' '.join(result.verdict.reasons)}"


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
    rows = measure_rows({name: result.measures.get(name) for name in names})
    return value_table(((row.meaning, row.value, row.unit) for row in rows), wraps=0)


def _layers(result: Result) -> Table:
    table = plain_table(("", "left"), *((place, "right") for place in _PLACES))
    for zone, names in _BLOCK.items():
        values = (shown(MEASURES[name], result.measures.get(name)) for name in names)
        table.add_row(_ZONE_WORDS[zone], *values)
    return table


def _energies(ledger: Mapping[str, float]) -> Table:
    table = plain_table(("", "left"), ("J", "right"), ("%", "right"))
    rows = [(LEDGER[name].meaning, value) for name, value in ledger.items() if value != 0.0]
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
