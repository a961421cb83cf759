"""Goals of the credibility report: each with what was found and whether that meets it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from spotdwell.base.names import MEASURES
from spotdwell.study.evidence.check import LEAST_ORDER, Check
from spotdwell.study.evidence.credibility import CLOSES, Evidence
from spotdwell.study.evidence.credibility_grid import Convergence

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
        _published(evidence),
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


def _published(evidence: Evidence) -> Goal:
    held = sum(one.holds for one in evidence.comparisons)
    goal = "each published measurement lies within its own scatter"
    found = f"{held} of {len(evidence.comparisons)}"
    return Goal("validation", goal, found, held == len(evidence.comparisons))
