"""The credibility study: closed forms, grids, published rows and intervals."""

from __future__ import annotations

import math
import platform
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from spotdwell import library, pipeline
from spotdwell.base.errors import RunError
from spotdwell.console.workers import cores
from spotdwell.evidence.check import Check
from spotdwell.evidence.published import Row, evaluate, rows
from spotdwell.evidence.published_scans import scanned_rows
from spotdwell.evidence.selfcheck import run_checks
from spotdwell.inputs.build import target_of
from spotdwell.inputs.read import shipped_scenario
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.model.problem import Stepping
from spotdwell.spread.run import Uncertainty, uncertainty

REFINEMENTS = (0.5, 1.0, 2.0)
"""Of the grids: twice the tool's own cells, its own, and half of them, with steps alike."""

RISE = "peak_temperature"
"""The measure that is taken as a rise [K]."""

FORMAL_ORDER = 2.0
"""Of the scheme on smooth problems; an observed order above it earns no smaller band."""
LEAST_ORDER, MOST_ORDER = 0.5, 3.0
"""Outside of these the coarsest grid is too coarse, or the values settle too slowly, to trust an order."""
TRUSTED, DISTRUSTED = 1.25, 3.0
"""Safety factors on the estimated error: with an observed order from three grids, and without."""


@dataclass(frozen=True)
class Convergence:
    """One quantity on three grids, each with `ratio` times smaller cells and steps than the last."""

    name: str
    values: tuple[float, float, float]
    """From the coarsest grid to the finest [SI]."""
    ratio: float
    order: float | None
    """Observed order; None where the values do not settle from one side at a believable rate."""
    index: float | None
    """Grid convergence index of the finest grid, relative to its value; None where that is 0."""

    @property
    def change(self) -> float | None:
        """What the tool's own grid lacks: the last change over the finest value."""
        return _over(self.values[2] - self.values[1], self.values[2])


def grid_convergence(name: str, values: Sequence[float], ratio: float = 2.0) -> Convergence:
    """Observed order and grid convergence index of `values` on three grids, the coarsest first."""
    coarse, middle, fine = values
    order = _observed_order(middle - coarse, fine - middle, ratio)
    if order is None:
        # Nothing says how fast the error falls: three times the last change, as for first order.
        error = DISTRUSTED * abs(fine - middle)
    else:
        error = TRUSTED * abs(fine - middle) / (ratio ** min(order, FORMAL_ORDER) - 1.0)
    return Convergence(name, (coarse, middle, fine), ratio, order, _over(error, abs(fine)))


def _observed_order(first: float, second: float, ratio: float) -> float | None:
    if first * second <= 0.0:
        return None
    order = math.log(first / second) / math.log(ratio)
    return order if LEAST_ORDER <= order <= MOST_ORDER else None


def _over(part: float, whole: float) -> float | None:
    return part / whole if whole else None


def converge(
    scenario: Scenario, names: Sequence[str], progress: Callable[[str], None] | None = None
) -> list[Convergence]:
    """Measures `names` of `scenario` on the grids of `REFINEMENTS`; those that are absent are left out.

    The peak temperature counts from the initial one: relative to an absolute one its error would look small.
    """
    found: list[Mapping[str, float | None]] = []
    for refinement in REFINEMENTS:
        if progress is not None:
            progress(f"cells and steps divided by {refinement:g}")
        found.append(pipeline.run(scenario_with(scenario, _on_grid(refinement))).measures)
    table = []
    for name in names:
        start = target_of(scenario).initial_temperature if name == RISE else 0.0
        values = [value - start for measures in found if (value := measures[name]) is not None]
        if len(values) == len(REFINEMENTS):
            table.append(grid_convergence(name, values))
    return table


def _on_grid(refinement: float) -> dict[str, str | float]:
    own = Stepping()
    return {
        "grid.refinement": refinement,
        "steps.growth": own.growth / refinement,
        "steps.front_share": own.front_share / refinement,
        "steps.largest_rise": f"{own.largest_rise / refinement!r} K",
    }


Report = Callable[[str], None]

SHOT = "spot"
"""Shipped scenario of the grid study and the intervals."""
GENTLE = "0.2 W"
"""Power with which the same spot boils nothing: the smooth problem, on which the order can be seen."""
SHOT_MEASURES = (
    "crater_depth",
    "crater_volume",
    "crater_width_half_depth",
    "energy_per_removed_volume",
    "char_thickness_floor",
    "char_thickness_wall",
    "coagulation_thickness_floor",
    "coagulation_thickness_wall",
    "peak_temperature",
)
GENTLE_MEASURES = ("peak_temperature",)
CLOSES = 1e-10
"""Most of the incident energy that a ledger may leave unaccounted for."""


@dataclass(frozen=True)
class Ledger:
    """How well the energies of one shipped scenario add up."""

    scenario: str
    title: str
    incident: float
    """[J]"""
    imbalance: float
    """Incident less all that is accounted for, over incident [-] (eq. 16)."""

    @property
    def closes(self) -> bool:
        """Whether what is missing is round-off."""
        return abs(self.imbalance) <= CLOSES


@dataclass(frozen=True)
class Comparison:
    """A published measurement and what the tool computes for it."""

    row: Row
    computed: float

    @property
    def ratio(self) -> float:
        """Computed over measured."""
        return self.computed / self.row.measured

    @property
    def holds(self) -> bool:
        """Whether the computed value lies within the band."""
        return self.row.holds(self.computed)


@dataclass(frozen=True)
class Evidence:
    """All that the report shows."""

    checks: tuple[Check, ...]
    shot: dict[str, str]
    """Setting of the shot of the grid study and the intervals."""
    gentle: tuple[Convergence, ...]
    grids: tuple[Convergence, ...]
    ledgers: tuple[Ledger, ...]
    comparisons: tuple[Comparison, ...]
    scanned: tuple[Comparison, ...]
    """Those on beams that move, to which nothing was fitted."""
    intervals: Uncertainty
    """Of the same shot."""
    versions: dict[str, str]
    machine: dict[str, str]
    made: str
    """Day, as 2026-01-31."""
    seconds: float
    """Wall time of it all."""

    @property
    def verified(self) -> bool:
        """Whether the tool solves its equations: every closed form met, every ledger closed."""
        return all(check.passed for check in self.checks) and all(ledger.closes for ledger in self.ledgers)


def gather(progress: Report | None = None) -> Evidence:
    """Run everything; `progress` is told what runs next. Takes two to three minutes on two cores."""
    tell = progress or _silent
    began = time.perf_counter()
    checks = run_checks(lambda title: tell(f"Closed form: {title}"))
    shot = shipped_scenario(SHOT)
    gentle = scenario_with(shot, {"beam.power": GENTLE})
    return Evidence(
        checks=tuple(checks),
        shot=pipeline.setting_of(shot),
        gentle=tuple(converge(gentle, GENTLE_MEASURES, lambda text: tell(f"Grids, {GENTLE}: {text}"))),
        grids=tuple(converge(shot, SHOT_MEASURES, lambda text: tell(f"Grids, {SHOT}: {text}"))),
        ledgers=tuple(_ledger(name, tell) for name in library.names(library.Shelf.SCENARIOS)),
        comparisons=tuple(_comparison(row, tell) for row in rows()),
        scanned=tuple(_comparison(row, tell) for row in scanned_rows()),
        intervals=uncertainty(shot, progress=lambda *state: _tell_sample(tell, *state)),
        versions=pipeline.versions(),
        machine=machine(),
        made=time.strftime("%Y-%m-%d"),
        seconds=time.perf_counter() - began,
    )


def machine() -> dict[str, str]:
    """What the evidence was gathered on; no names of hosts or users."""
    return {
        "system": f"{platform.system()} {platform.release()}",
        "processor": platform.machine(),
        "cores": str(cores()),
    }


def _ledger(name: str, tell: Report) -> Ledger:
    tell(f"Ledger: {name}")
    result = pipeline.run(shipped_scenario(name))
    incident = result.ledger["incident"]
    if not incident > 0.0:
        raise RunError(f"{name}: no energy reached the target, so its ledger shows nothing")
    spent = sum(value for term, value in result.ledger.items() if term != "incident")
    return Ledger(name, result.title, incident, (incident - spent) / incident)


def _comparison(row: Row, tell: Report) -> Comparison:
    tell(f"Published: {row.name}")
    return Comparison(row, evaluate(row))


def _tell_sample(tell: Report, done: int, total: int, seconds: float) -> None:
    """Speak of every sixteenth sample."""
    if done % 16 == 0 or done == total:
        tell(f"Uncertainty: {done} of {total} samples, {seconds:.0f} s left")


def _silent(_: str) -> None:
    """Say nothing."""
