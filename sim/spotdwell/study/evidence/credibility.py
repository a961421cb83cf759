"""Evidence for the numbers, gathered by running it: closed forms, grids, ledgers, measurements, intervals."""

from __future__ import annotations

import platform
import time
from collections.abc import Callable
from dataclasses import dataclass

from spotdwell import library, pipeline
from spotdwell.base.errors import RunError
from spotdwell.console.workers import cores
from spotdwell.inputs.read import shipped_scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.study.evidence.check import Check
from spotdwell.study.evidence.credibility_grid import Convergence, converge
from spotdwell.study.evidence.published import Row, evaluate, rows
from spotdwell.study.evidence.selfcheck import run_checks
from spotdwell.study.spread.uncertainty import Uncertainty, uncertainty

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
