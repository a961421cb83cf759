"""Roofline: the conduction kernel in and out of cache against the machine, and a shot's time by part."""

from __future__ import annotations

import statistics
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from clocked import clocked
from rows import Row
from shot import DWELL, MATERIAL, POWER, SPOT
from timing import keep_to_one_core

if TYPE_CHECKING:
    from spotdwell.model.problem import Problem

TITLE = "The conduction kernel against the machine"
OPERATIONS = 24
"""Floating-point operations of one cell in one stage, far from boiling: fluxes 14, weights 9, rise 1."""
L1_BYTES = 200
"""Moved between registers and the first cache for it: 20 loads and 5 stores."""
FAR_BYTES = 56
"""The same of what differs from cell to cell: four enthalpies and a rise read, one of each written."""
STEP_BYTES = 80
"""Moved for one cell in a whole step, if all its stages find it in cache: 10 values."""
STAGES = 9
ABOUT = (
    f"An update is one cell in one stage. It takes {OPERATIONS} floating-point operations, {L1_BYTES} B "
    f"between registers and the first cache, and {FAR_BYTES} B of what differs from cell to cell. A step of "
    f"{STAGES} stages moves {STEP_BYTES} B a cell from memory at least: stages follow one another through "
    "the columns as a wave. Ceilings are measured by loops in the same run: triad, and multiply-adds "
    "in registers."
)
COLUMN = 6.25e-6
"""Cell height of the single column [m]."""
COLUMN_STAGES = 201
CASES = {
    "in the second cache": 40e-6,
    "in the third cache": 5e-6,
    "in memory": 1.25e-6,
}
"""Cell size of the block of the first table [m], so that the kernel's arrays fit where the name says."""
TRIADS = {"first cache": 24_000, "second cache": 768_000, "third cache": 24_000_000, "memory": 1_500_000_000}
"""Bytes of three arrays."""


def rows(quick: bool) -> list[Row]:
    """Ceilings, the kernel's rates, and the parts of a shot."""
    keep_to_one_core()
    ceilings = _ceilings()
    return [
        *_ceiling_rows(ceilings),
        _column_row(3 if quick else 9),
        *(_kernel_row(name, cell, ceilings, 3 if quick else 9) for name, cell in CASES.items()),
        *_parts(3 if quick else 9),
    ]


def _ceilings() -> dict[str, float]:
    """Operations, and bytes by where they come from, each second."""
    import ceilings

    return {"arithmetic": ceilings.fused_peak()} | {
        name: ceilings.triad_bandwidth(size) for name, size in TRIADS.items()
    }


def _ceiling_rows(found: dict[str, float]) -> list[Row]:
    limits = {
        "arithmetic": OPERATIONS,
        "first cache": L1_BYTES,
        "second cache": FAR_BYTES,
        "third cache": FAR_BYTES,
        "memory": STEP_BYTES / STAGES,
    }
    rows = []
    for name, each in limits.items():
        unit = "GFLOP/s" if name == "arithmetic" else "GB/s"
        what = "ceiling: multiply-adds" if name == "arithmetic" else f"ceiling: triad in {name}"
        reach = f"{found[name] / each / 1e6:,.0f} million updates a second"
        rows.append(Row(what, f"{found[name] / 1e9:.3g} {unit}, {reach}"))
    return rows


def _column_row(repeats: int) -> Row:
    """Rate on a column without neighbours, all in the first cache: long steps show what a call costs."""
    import peer
    from spotdwell.model.columns import slab

    problem = peer.problem_of(COLUMN)
    one = replace(problem, grid=replace(problem.grid, columns=slab(1e-6)))
    few, cells = kernel_rate(one, repeats)
    many, _ = kernel_rate(one, repeats, COLUMN_STAGES)
    rates = f"{many / 1e6:,.0f} million updates a second in steps of {COLUMN_STAGES} stages"
    return Row(f"kernel on one column of {cells} cells", f"{rates}, {few / 1e6:,.0f} of {STAGES}")


def _kernel_row(name: str, cell: float, ceilings: dict[str, float], repeats: int) -> Row:
    """Rate on the block with cells of `cell` [m], and how near the ceilings that is."""
    import peer

    rate, cells = kernel_rate(peer.problem_of(cell), repeats)
    share = f"{100.0 * rate * L1_BYTES / ceilings['first cache']:.0f} % of the first cache's ceiling"
    share += f", {100.0 * rate * OPERATIONS / ceilings['arithmetic']:.0f} % of that of arithmetic"
    return Row(f"kernel {name}: {cells:,} cells", f"{rate / 1e6:,.0f} million updates a second; {share}")


def kernel_rate(problem: Problem, repeats: int, stages: int = STAGES) -> tuple[float, int]:
    """Updates a second of `conduct.super_step` as a march calls it, all cells marching; and the cells."""
    from spotdwell.kernels.conduct import stages_for, super_step
    from spotdwell.kernels.entry import called
    from spotdwell.kernels.ready import make_ready
    from spotdwell.solve.march import _Run

    run, conduct, ready = _Run(problem), called(super_step), called(make_ready)
    run.advance()
    cells = run.state.temperature.size
    run.last[:] = run.mesh.cell.size
    arrays = (run.mesh, run.media, run.still, run.surround, run.state, run.lit, run.last, run.work)
    explicit = 1.0 / ready(*arrays, 0)
    step = explicit * (stages * stages + stages - 2) / 4.0 * (1.0 - 1e-9)
    if (taken := stages_for(step, explicit)) != stages:
        raise ValueError(f"{taken} stages instead of {stages}, for which the table counts bytes")
    args = (run.mesh, run.still, run.state.floor, run.last, run.lit, run.work, step, stages)
    calls, seconds = max(1, 1_000_000 // cells), []
    for _ in range(repeats + 1):
        ready(*arrays, 0)
        began = time.perf_counter()
        for _ in range(calls):
            conduct(*args)
        seconds.append((time.perf_counter() - began) / calls)
    # The first has compiled.
    return cells * stages / statistics.median(seconds[1:]), cells


def _parts(repeats: int) -> list[Row]:
    """Share of each kernel in the time of the shot, by calls that are clocked."""
    import spotdwell

    named = {
        "conduct": "super_step",
        "evaporate, char, damage and remove": "change_tissue",
        "get ready": "make_ready",
        "absorb": "absorb_beam",
    }
    with clocked(*named.values()) as seconds:
        spotdwell.shot(MATERIAL, POWER, SPOT, DWELL)
        for take in seconds.values():
            take()
        began = time.perf_counter()
        for _ in range(repeats):
            updates = spotdwell.shot(MATERIAL, POWER, SPOT, DWELL).cost["cell_updates"]
        whole = time.perf_counter() - began
        spent = {name: seconds[kernel]() for name, kernel in named.items()}
    shares = ", ".join(f"{name} {100.0 * seconds / whole:.0f} %" for name, seconds in spent.items())
    rest = 100.0 * (1.0 - sum(spent.values()) / whole)
    rate = updates * repeats / spent["conduct"] / 1e6
    return [
        Row("a shot's time", f"{shares}, all else {rest:.0f} %"),
        Row("kernel within the shot", f"{rate:,.0f} million updates a second"),
    ]
