"""Checks of conduction around a spot, on rings and on a lattice, at rest and moving (eq. C, D, H)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spotdwell import exact
from spotdwell.evidence.check import (
    Case,
    Changes,
    Finding,
    Half,
    field,
    half_of,
    largest_error,
    number,
    observed_order,
    refined,
    solved,
)

Array = NDArray[np.float64]

SECOND_ORDER = "Second order in space and time: errors fall fourfold when cells and steps are halved."
LATTICE: dict[str, str | float] = {"grid.geometry": "lattice", "grid.symmetry": 4}


def opaque_spot() -> list[Finding]:
    """Gaussian spot on an opaque surface, on rings."""
    half = half_of(solved("opaque_spot"))
    P, w = _power(half), _radius(half)
    findings = []
    for snapshot, text in zip(half.outcome.snapshots, ("1 ms", "10 ms"), strict=True):
        claimed = exact.spot_centre_rise(snapshot.time, P, w, half.k, half.C)
        computed = half.rise(snapshot)[0, 0] + half.q * half.cell / (2.0 * half.k)
        reason = "Columns of a twentieth of the spot's radius, and half a cell's heat."
        findings.append(number(f"surface at the centre, {text}", claimed, computed, "K", 3e-3, reason))
    r, time = half.outcome.problem.grid.columns.x, half.outcome.final.time
    near = r < 3.0 * w
    claimed_row = exact.spot_rise(r[near], 0.0, half.depth[0], time, P, w, half.k, half.C)
    reason = "Columns that widen by 12 % each beyond 1.6 spot radii."
    findings.append(field("along the surface, 10 ms", claimed_row, half.rise()[near, 0], "K", 3e-3, reason))
    return findings


def absorbing_spot() -> list[Finding]:
    """Gaussian spot absorbed in depth, on rings, with the observed order."""
    half, errors = _spot_errors((1.0, 2.0, 4.0), {})
    claimed, computed = _sampled(half, 4)
    order = observed_order(errors)
    quantity = "all depths and radii, 5 ms, quarter cells"
    return [field(quantity, claimed, computed, "K", 3e-4, SECOND_ORDER, order)]


def absorbing_spot_on_lattice() -> list[Finding]:
    """The same spot on a quarter lattice, with the observed order."""
    half, errors = _spot_errors((0.5, 1.0, 2.0), LATTICE)
    claimed, computed = _sampled(half, 4)
    order = observed_order(errors)
    return [field("whole block, 5 ms, half cells", claimed, computed, "K", 1e-3, SECOND_ORDER, order)]


def _spot_errors(refinements: tuple[float, ...], changes: Changes) -> tuple[Half, list[float]]:
    """The finest solution, and the largest error of each."""
    errors = []
    for refinement in refinements:
        # A tenth as growth would leave the first, coarsest step as the larger error.
        half = half_of(solved("absorbing_spot", {**refined(refinement, 0.05), **changes}))
        claimed, computed = _sampled(half, round(refinement / refinements[0]))
        errors.append(largest_error(claimed, computed))
    return half, errors


def _sampled(half: Half, stride: int) -> tuple[Array, Array]:
    """Claimed and computed rise in every `stride`-th cell along each direction."""
    columns, rise = half.outcome.problem.grid.columns, half.rise()
    z, x = half.depth[::stride], columns.x[::stride]
    args = (half.outcome.final.time, _power(half), _radius(half), half.k, half.C, half.mu)
    if columns.y_edges.size == 2:
        return exact.spot_rise(x[:, None], 0.0, z, *args, tolerance=1e-8), rise[::stride, ::stride]
    block = rise.reshape(columns.x.size, columns.y.size, -1)[::stride, ::stride, ::stride]
    y = columns.y[::stride]
    # The field depends on distance: one table over radius and depth serves the whole block.
    r, back = np.unique(np.hypot(x[:, None], y).round(15), return_inverse=True)
    table = exact.spot_rise(r[:, None], 0.0, z, *args, tolerance=1e-8)
    return table[back.reshape(x.size, y.size)], block


def late_spot() -> list[Finding]:
    """What absorption in depth takes off the steady centre temperature of an opaque target."""
    wide: dict[str, str | float] = {
        "exposure.dwell_time": "0.5 s",
        "run.end_time": "0.5 s",
        "grid.stretch": True,
        "grid.half_width": "8 mm",
        "grid.depth": "8 mm",
        "grid.cell_depth": "4 um",
        "grid.cell_width": "4 um",
    }
    opaque = "materials.absorber.absorption.0.value"
    deep, shallow = (
        half_of(solved("absorbing_spot", wide)),
        half_of(solved("absorbing_spot", wide | {opaque: "1e9 1/m"})),
    )
    P, w = _power(deep), _radius(deep)
    limit = float(exact.spot_centre_rise(np.inf, P, w, deep.k, deep.C))
    claimed = limit * (1.0 - exact.finite_absorption_ratio(deep.mu * w / np.sqrt(2.0)))
    first, second = deep.rise()[0, :2]
    under = first + (first - second) / 8.0
    over = shallow.rise()[0, 0] + shallow.q * shallow.cell / (2.0 * shallow.k)
    reason = (
        "After 0.5 s the difference of the two is within 1e-3 of steady, though neither is; cells of 4 um."
    )
    return [number("opaque minus absorbing, centre", claimed, over - under, "K", 5e-3, reason)]


def moving_spot() -> list[Finding]:
    """Gaussian spot that moves over an opaque surface, on a half lattice."""
    half = half_of(solved("moving_spot"))
    columns, beam, end = half.outcome.problem.grid.columns, half.outcome.problem.beam, half.outcome.final.time
    behind = columns.x - (beam.centre[0] + beam.scan_speed * end)
    row = half.rise().reshape(columns.x.size, columns.y.size, -1)[:, 0]
    args = (end, _power(half), _radius(half), half.k, half.C, np.inf, beam.scan_speed)
    y = float(columns.y[0])
    inside = np.abs(columns.x) < 1.7e-3
    claimed = exact.spot_rise(behind[inside, None], y, half.depth[:10], *args)
    reason = (
        "The beam moves a fiftieth of its diameter in a step, and columns are a quarter of its radius wide."
    )
    findings = [field("along the trail, to 150 um", claimed, row[inside, :10], "K", 1e-2, reason)]
    far = int(np.argmin(np.abs(behind + 1e-3)))
    point = exact.moving_point_rise(
        behind[far], y, half.depth[0], _power(half), half.k, half.C, beam.scan_speed
    )
    # By eq. H2 the spot's width takes 0.8 % off here, and its start 1 s ago another 1.7 %.
    reason = (
        "A steady point source lies 2.5 % above a spot of this width after 1 s (H2); 1 % for the lattice."
    )
    findings.append(number("1 mm behind, against a point source", point, row[far, 0], "K", 3.5e-2, reason))
    return findings


def _power(half: Half) -> float:
    """Absorbed power [W]."""
    return half.outcome.problem.exposure.peak_power * (1.0 - half.medium.reflectance)


def _radius(half: Half) -> float:
    """1/e2 radius of the beam [m]."""
    return half.outcome.problem.beam.radius


CASES = (
    Case("opaque-spot", "Gaussian spot on an opaque surface (C1, C3)", opaque_spot),
    Case("deep-spot", "Gaussian spot absorbed in depth, rings (D2)", absorbing_spot),
    Case("deep-spot-lattice", "Gaussian spot absorbed in depth, lattice (D2)", absorbing_spot_on_lattice),
    Case("late-spot", "Finite absorption at late times (D1)", late_spot),
    Case("moving-spot", "Moving spot, lattice (H1, H2)", moving_spot),
)
