"""Summary of a result: setting, verdict, crater, layers, heat and light, energies, grid, cautions, cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spotdwell.base.names import LEDGER, MEASURES, Quantity
from spotdwell.base.units import convert, display, significant
from spotdwell.measure.verdict import Limits
from spotdwell.output.result import Result
from spotdwell.output.tables import measure_rows

_CRATER = (
    "crater_depth",
    "deepest",
    "crater_width",
    "crater_width_half_depth",
    "crater_volume",
    "crater_mass",
    "perforation_time",
)
_ZONES = ("char", "dried", "coagulation")
_PLACES = ("floor", "wall", "rim")
_LEFT = ("char_volume", "char_per_removed_volume")
_BLOCK = {zone: tuple(f"{zone}_thickness_{place}" for place in _PLACES) for zone in _ZONES}
_ELSEWHERE = {*_CRATER, *_LEFT, *(name for names in _BLOCK.values() for name in names)}
_LIGHT = tuple(name for name in MEASURES if name not in _ELSEWHERE)
_ZONE_WORDS = {"char": "charred", "dried": "dried", "coagulation": "coagulated"}


def summary(result: Result, grid_reasons: Sequence[str]) -> list[RenderableType]:
    """All that a run found, to be printed; notes other than `grid_reasons` are its cautions."""
    cautions = [note for note in result.notes if note not in grid_reasons]
    return [
        *_opening(result),
        *_section("Verdict: " + result.verdict.word, _verdict_lines(result)),
        *_section("Crater", _measures(result, _CRATER)),
        *_section("Layers that are left [um]", _layers(result), _measures(result, _LEFT)),
        *_section("Heat and light", _measures(result, _LIGHT)),
        *_section("Where the energy went", _energies(result.ledger)),
        *_section("Grid", _bullets(grid_reasons)),
        *(_section("Cautions", _bullets(cautions)) if cautions else []),
        *_section("Run", Text(_cost_text(result))),
    ]


def verdict_line(result: Result) -> str:
    """The verdict with its reasons in one line."""
    return f"{result.verdict.word}: {' '.join(result.verdict.reasons)}"


def imbalance(ledger: Mapping[str, float]) -> float:
    """Incident energy less all that is accounted for [J] (eq. 16)."""
    return ledger["incident"] - sum(value for name, value in ledger.items() if name != "incident")


def heading(text: str) -> Text:
    """Heading of a section."""
    return Text(text, style="bold")


def plain_table(*columns: tuple[str, str]) -> Table:
    """Table without lines, from (heading, "left" or "right") columns: it stays readable in a file."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="")
    for title, side in columns:
        table.add_column(title, justify="right" if side == "right" else "left")
    return table


def _section(title: str, *bodies: RenderableType) -> list[RenderableType]:
    return [Text(), heading(title), *(Padding(body, (0, 0, 0, 2)) for body in bodies)]


def _bullets(lines: Iterable[str]) -> Table:
    """Lines with a dash before each, whose rest stays indented where they wrap."""
    table = Table.grid(padding=(0, 1, 0, 0))
    for line in lines:
        table.add_row("-", Text(line))
    return table


def _opening(result: Result) -> list[RenderableType]:
    setting = ", ".join(f"{name} {value}" for name, value in result.setting.items() if name != "title")
    return [heading(result.setting.get("title") or "A shot"), Text(setting)]


def _verdict_lines(result: Result) -> Table:
    return _bullets([*result.verdict.reasons, f"Limits: {_limits_text(result.verdict.limits)}."])


def _limits_text(limits: Limits) -> str:
    char = display(limits.char_thickness, "m", "um")
    depth = "any depth" if limits.depth is None else f"depth {display(limits.depth, 'm', 'um')}"
    return f"char {char} at floor and wall, {depth}, depth over width {limits.aspect_ratio:g}"


def _measures(result: Result, names: Iterable[str]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column()
    table.add_column(justify="right", no_wrap=True)
    table.add_column(no_wrap=True)
    for row in measure_rows({name: result.measures.get(name) for name in names}):
        table.add_row(row.meaning, row.value, row.unit)
    return table


def _layers(result: Result) -> Table:
    table = plain_table(("", "left"), *((place, "right") for place in _PLACES))
    for zone, names in _BLOCK.items():
        values = (shown(MEASURES[name], result.measures.get(name)) for name in names)
        table.add_row(_ZONE_WORDS[zone], *values)
    return table


def shown(quantity: Quantity, value: float | None) -> str:
    """`value` [SI] in the quantity's display unit, without the unit; a dash where there is none."""
    if value is None:
        return "-"
    return significant(float(convert(value, quantity.unit, quantity.display_unit)))


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
