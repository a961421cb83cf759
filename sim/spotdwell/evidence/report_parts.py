"""Parts of the credibility report: goals, intervals and the picture of the rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from spotdwell.base.names import MEASURES
from spotdwell.document.model import Block, Drawing, Text, table
from spotdwell.document.quantities import measure_text, unit_text
from spotdwell.evidence import words
from spotdwell.evidence.check import LEAST_ORDER, Check
from spotdwell.evidence.credibility import CLOSES, SHOT_MEASURES, Comparison, Convergence, Evidence
from spotdwell.output.pictures.canvas import INCH, Place
from spotdwell.output.pictures.style import BEAM, FAINT, INK, typeset
from spotdwell.spread.run import Sensitivity, Uncertainty
from spotdwell.spread.shown import words_text

DEPTH_CHANGE, LAYER_CHANGE, LAYER_LENGTH = 0.02, 0.05, 2e-6
"""Most that half the cells and steps may change: a depth; a layer; or else a layer by this length [m]."""


@dataclass(frozen=True)
class Goal:
    """What a part of the evidence should show, and what it shows."""

    part: str
    goal: str
    found: str
    met: bool


def goals_of(evidence: Evidence) -> list[Goal]:
    """The goals in the order of the report."""
    return [
        _closed_forms(evidence.checks),
        _orders(evidence.checks),
        *_grid_goals(evidence.grids),
        _ledgers(evidence),
        _published("each published measurement lies within its own scatter", evidence.comparisons),
        _published("so does each beside a beam that moves", evidence.scanned),
    ]


def _closed_forms(checks: Sequence[Check]) -> Goal:
    passed = sum(check.passed for check in checks)
    goal = "every closed form is met within its stated tolerance"
    return Goal("code verification", goal, f"{passed} of {len(checks)}", passed == len(checks))


def _orders(checks: Sequence[Check]) -> Goal:
    orders = [check.order for check in checks if check.order is not None]
    goal = f"observed order of at least {LEAST_ORDER:g} on smooth problems"
    if not orders:
        return Goal("code verification", goal, "not measured", False)
    found = f"{min(orders):.2f} to {max(orders):.2f} in {len(orders)} studies"
    return Goal("code verification", goal, found, min(orders) >= LEAST_ORDER)


def _grid_goals(grids: Sequence[Convergence]) -> list[Goal]:
    part = "solution verification"
    goals = []
    for one in grids:
        change = one.change
        if one.name == "crater_depth" and change is not None:
            goal = f"half the cells and steps change the depth by less than {100 * DEPTH_CHANGE:.0f} %"
            goals.append(Goal(part, goal, f"{100.0 * abs(change):.2g} %", abs(change) < DEPTH_CHANGE))
    layers = [one for one in grids if "thickness" in one.name and one.change is not None]
    if layers:
        goals.append(_layer_goal(part, layers))
    return goals


def _layer_goal(part: str, layers: Sequence[Convergence]) -> Goal:
    """Goal of all layers at once: the one nearest to its limits, or farthest beyond them, is named."""
    worst = max(layers, key=_unsettled)
    length = 1e6 * abs(worst.values[2] - worst.values[1])
    goal = f"and each layer by less than {100 * LAYER_CHANGE:.0f} % or {1e6 * LAYER_LENGTH:.0f} um"
    found = (
        f"worst: {MEASURES[worst.name].meaning}, {100.0 * abs(worst.change or 0.0):.2g} %, {length:.2g} um"
    )
    return Goal(part, goal, found, _unsettled(worst) < 1.0)


def _unsettled(one: Convergence) -> float:
    """Last change over the wider of its two limits [-]."""
    length = abs(one.values[2] - one.values[1]) / LAYER_LENGTH
    return length if one.change is None else min(length, abs(one.change) / LAYER_CHANGE)


def _ledgers(evidence: Evidence) -> Goal:
    worst = max(abs(one.imbalance) for one in evidence.ledgers)
    goal = f"energies add up to {CLOSES:.0e} of what was sent"
    found = f"at worst {worst:.0e} in {len(evidence.ledgers)} scenarios"
    return Goal("solution verification", goal, found, worst <= CLOSES)


def _published(goal: str, comparisons: Sequence[Comparison]) -> Goal:
    held = sum(one.holds for one in comparisons)
    return Goal("validation", goal, f"{held} of {len(comparisons)}", held == len(comparisons))


MOST = 6
"""Values listed for each measure."""


def intervals_of(found: Uncertainty) -> tuple[Block, ...]:
    """Tables of intervals and influences, with the words around them."""
    count, unknowns = len(found.samples), len(found.unknowns)
    verdicts = words_text(found.words)
    setup = words.INTERVALS.format(count=count, unknowns=unknowns, seed=found.seed)
    failed = f" {len(found.failures)} samples failed." if found.failures else ""
    rows = tuple(_interval_row(found, name) for name in SHOT_MEASURES)
    influences = tuple(_influence_row(one) for one in found.sensitivities)
    return (
        Text(f"{setup} {found.covers}{failed}"),
        table(words.INTERVAL_HEADINGS, rows, (2, 3, 4, 5, 6)),
        Text(f"Verdicts of the samples: {verdicts}."),
        Text(words.INFLUENCES),
        table(words.INFLUENCE_HEADINGS, influences, (1, 2)),
    )


def _interval_row(found: Uncertainty, name: str) -> tuple[str, ...]:
    quantity, spread = MEASURES[name], found.spreads[name]
    values = (spread.nominal, spread.median, spread.low, spread.high)
    shown = (measure_text(quantity, value) for value in values)
    return (quantity.meaning, unit_text(quantity.display_unit), *shown, str(spread.applied))


def _influence_row(one: Sensitivity) -> tuple[str, ...]:
    listed = ", ".join(f"{each.title} ({each.correlation:+.2f})" for each in one.clear[:MOST])
    return (
        MEASURES[one.measure].meaning,
        str(one.count),
        f"{one.threshold:.2f}",
        listed or "none above chance",
    )


_ROW, _REST, _WIDTH = 0.3, 0.85, 7.4
"""Heights of a row and of all else, and width [in]."""
_BAND = "#c9d9e6"
_COLUMNS = (1.17, 1.38)
"""Right edges of the columns of values, over the width of the axes."""
_TICKS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


@dataclass(frozen=True)
class Pair:
    """A measured value with the band around it, and the computed one, in the same unit."""

    label: str
    measured: float
    low: float
    high: float
    computed: float
    unit: str


def pairs_drawing(pairs: Sequence[Pair]) -> Drawing:
    """One row for each pair: everything over the measured value, on a logarithmic axis."""
    height = (_REST + _ROW * len(pairs)) * INCH
    return Drawing(_WIDTH * INCH, height, lambda figure, place: _paint(figure, place, pairs))


def _paint(figure: Any, place: Place, pairs: Sequence[Pair]) -> None:
    left, bottom, width, height = place
    total = figure.get_size_inches()
    box = left + 0.29 * width, bottom + 0.5, 0.44 * width, height - _REST
    axes = figure.add_axes((box[0] / total[0], box[1] / total[1], box[2] / total[0], box[3] / total[1]))
    for row, pair in enumerate(pairs):
        _draw_row(axes, row, pair)
    axes.axvline(1.0, color=INK, linewidth=0.8, zorder=1)
    _scale(axes, pairs)
    axes.set_yticks(range(len(pairs)), [_signs(pair.label) for pair in pairs], fontsize=8)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(pairs) - 0.4, -0.6)
    axes.set_xlabel("over the measured value")
    for side in ("top", "left", "right"):
        axes.spines[side].set_visible(False)
    _headings(axes)


def _draw_row(axes: Any, row: int, pair: Pair) -> None:
    low, high, computed = (value / pair.measured for value in (pair.low, pair.high, pair.computed))
    axes.fill_betweenx((row - 0.32, row + 0.32), low, high, color=_BAND, linewidth=0, zorder=0)
    axes.plot([1.0, computed], [row, row], color=FAINT, linewidth=0.8, zorder=2)
    axes.plot([1.0], [row], marker="|", color=INK, markersize=10, linestyle="none", zorder=3)
    inside = pair.low <= pair.computed <= pair.high
    face, edge = (INK, INK) if inside else ("white", BEAM)
    axes.plot([computed], [row], "o", markersize=5.5, markerfacecolor=face, markeredgecolor=edge, zorder=4)
    unit = "" if pair.unit == "1" else _signs(f" {pair.unit}").strip()
    beside = axes.get_yaxis_transform()
    axes.text(_COLUMNS[0], row, f"{pair.measured:.3g}", transform=beside, ha="right", va="center", fontsize=8)
    axes.text(_COLUMNS[1], row, f"{pair.computed:.3g}", transform=beside, ha="right", va="center", fontsize=8)
    axes.text(_COLUMNS[1] + 0.015, row, unit, transform=beside, ha="left", va="center", fontsize=8)


def _signs(text: str) -> str:
    """`text` with the signs of the units that rows have."""
    for plain, signs in ((" us", " µs"), (" ug", " µg"), ("cm2", "cm²"), ("cm3", "cm³")):
        text = text.replace(plain, signs)
    return typeset(text)


def _scale(axes: Any, pairs: Sequence[Pair]) -> None:
    """Logarithmic, wide enough for every row and at least from a third to three times."""
    shares = [value / pair.measured for pair in pairs for value in (pair.low, pair.high, pair.computed)]
    shown = [share for share in shares if share > 0.0]
    left, right = 0.8 * min([0.4, *shown]), 1.25 * max([2.5, *shown])
    axes.set_xscale("log")
    axes.set_xlim(left, right)
    ticks = [tick for tick in _TICKS if left <= tick <= right]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.set_xticks([], minor=True)
    axes.grid(axis="x", color="#e6e6e6", linewidth=0.6)
    axes.set_axisbelow(True)


def _headings(axes: Any) -> None:
    style = {"transform": axes.transAxes, "va": "bottom", "fontsize": 8, "color": "#4a4a4a"}
    axes.text(_COLUMNS[0], 1.01, "measured", ha="right", **style)
    axes.text(_COLUMNS[1], 1.01, "computed", ha="right", **style)
