"""Conduction down the columns and along the rows of a lattice apart, by implicit stages (eq. 28).

Long steps in the dark, as of a scan that cools, take many stages of `conduct.super_step`, each over all
cells. This takes four sweeps whatever the step. A kernel of its own, so that shots do not wait for it to be
compiled.
"""

from __future__ import annotations

import math

import numpy as np

from spotdwell.kernels.compiled import FUSED, ONE, flat, inner
from spotdwell.kernels.entry import outer
from spotdwell.kernels.slots import Tally

SWEEPS = 4
"""Times that a step goes over all cells."""
GAMMA = 1.0 - math.sqrt(0.5)
"""Share of a step that either of its two implicit stages weighs its own rates with [-]."""
_ON = (1.0 - GAMMA) / GAMMA
"""Times that what the first stage changes goes into the second [-]."""


@inner(fastmath=FUSED)
def _eliminate(cell, inverse, o, vertical, ov, weight, held, passed, pivot, factor, begin, end):
    """Go on with an elimination up a column, to which all below `end` has been: per area."""
    for k in range(begin, end):
        held[k] = cell[k] / inverse[o + k]
        passed[k] = weight * vertical[ov + k]
    for back in range(begin, end):
        k = end + begin - back - ONE
        factor[k] = passed[k + ONE] * pivot[k + ONE]
        pivot[k] = 1.0 / (held[k] + passed[k] + passed[k + ONE] * (1.0 - factor[k]))


@inner(fastmath=FUSED)
def conduct_down(mesh, still, floor, last, work, step):
    """March the enthalpy `work.start` and its rises over a `step` [s] by what flows down the columns.

    Returns the heat lost through exposed faces and through the bottom [J], by the same stages.
    """
    cell, cells, inverse_height = mesh.cell, mesh.cell.size, mesh.inverse_height
    held, passed, pivot, factor = work.held_heat[0], work.passed[0], work.pivot[0], work.factor[0]
    right, rises = work.right[0], work.solved[0]
    vertical, inverse = flat(work.vertical), flat(work.inverse_capacity)
    enthalpy, rise = flat(work.start), flat(work.rise)
    none, weight, lost, below = np.uint64(0), GAMMA * step, 0.0, 0.0
    # From the bottom up to where it has changed tissue is the same in every column of the same end: what is
    # eliminated of it stands for the next column too.
    solved, solved_through, solved_from = -1, 0.0, none
    for i in mesh.marching:
        if last[i] <= floor[i]:
            continue
        o, ov, oh = np.uint64(i * cells), np.uint64(i * (cells + 1)), np.uint64(i * (cells + 2) + 1)
        top, end = np.uint64(floor[i]), np.uint64(last[i])
        edge = np.uint64(min(work.edge[i], last[i]))
        # The active region's last cell is closed below: what lies there is still at rest.
        through = weight * vertical[ov + end] if last[i] == cells else 0.0
        if last[i] != solved or through != solved_through:
            solved, solved_through, solved_from = last[i], through, end
            passed[end], pivot[end] = through, 0.0
        if edge < solved_from:
            _eliminate(
                cell, still.inverse_capacity, none, still.vertical, none, weight,
                held, passed, pivot, factor, edge, solved_from,
            )  # fmt: skip
        solved_from = edge
        _eliminate(cell, inverse, o, vertical, ov, weight, held, passed, pivot, factor, top, edge)
        # What comes from below the last cell goes into it whole.
        factor[end - ONE] = 1.0
        air, behind = rise[oh + top - ONE], rise[oh + end]
        for k in range(top, end):
            right[k] = enthalpy[o + k] * cell[k]
        for stage in range(2):
            coming = through * behind
            for back in range(top, end):
                k = end + top - back - ONE
                coming = right[k] + factor[k] * coming
                rises[k] = coming
            coming = (coming + passed[top] * air) * pivot[top]
            rises[top] = coming
            for k in range(top + ONE, end):
                coming = rises[k] * pivot[k] + factor[k - ONE] * coming
                rises[k] = coming
            weighed = mesh.area[i] * (_ON if stage == 0 else 1.0)
            lost += weighed * passed[top] * (rises[top] - air)
            below += weighed * through * (rises[end - ONE] - behind)
            if stage == 0:
                for k in range(top, end):
                    right[k] += _ON * (held[k] * rises[k] - right[k])
        for k in range(top, end):
            rise[oh + k] = rises[k]
            enthalpy[o + k] = rises[k] * held[k] * inverse_height[k]
    return lost, below


@inner(fastmath=FUSED)
def _lay(held, right, area, inverse, enthalpy, begin, end):
    """Write the heat capacity of a column's cells [J/m/K] and their heat [J/m] per metre of depth."""
    for k in range(begin, end):
        held[k] = area / inverse[k]
        right[k] = area * enthalpy[k]


@inner(fastmath=FUSED)
def _pass(passed, conductance, weight, begin, end):
    for k in range(begin, end):
        passed[k] = weight * conductance[k]


@inner(fastmath=FUSED)
def _solve(held, passed, pivot, factor, right, rises, width, count, begin, end):
    """Write the rises [K] of a row of columns that solve for what was laid out; row 0 of all is empty."""
    for n in range(count):
        here = np.uint64(n + 1) * width
        before, after = here - width, here + width
        for k in range(begin, end):
            factor[here + k] = passed[here + k] * pivot[before + k]
            kept = held[here + k] + passed[here + k] * (1.0 - factor[here + k])
            pivot[here + k] = 1.0 / (kept + passed[after + k])
    for stage in range(2):
        for n in range(count):
            here = np.uint64(n + 1) * width
            before = here - width
            for k in range(begin, end):
                rises[here + k] = right[here + k] + factor[here + k] * rises[before + k]
        for n in range(count):
            here = np.uint64(count - n) * width
            after = here + width
            for k in range(begin, end):
                rises[here + k] = rises[here + k] * pivot[here + k] + factor[after + k] * rises[after + k]
        if stage == 0:
            for n in range(count):
                here = np.uint64(n + 1) * width
                for k in range(begin, end):
                    right[here + k] += _ON * (held[here + k] * rises[here + k] - right[here + k])


@inner(fastmath=FUSED)
def _conduct_row(mesh, still, floor, last, work, weight, start, apart, count):
    """March a row of `count` columns that march, `apart` from one another, from column `start` on."""
    held, passed, pivot, factor = work.held_heat, work.passed, work.pivot, work.factor
    right, rises = work.right, work.solved
    begin, end = floor[start], last[start]
    for n in range(count):
        i = start + n * apart
        begin, end = min(begin, floor[i]), max(end, last[i])
    for n in range(count):
        i = start + n * apart
        top, stop, edge, area = floor[i], last[i], min(work.edge[i], last[i]), mesh.area[i]
        # Where a column has no cells, or none that march, it holds nothing that could flow.
        held[n + 1, begin:end] = 1.0
        right[n + 1, begin:end] = 0.0
        passed[n + 1, begin:end] = 0.0
        _lay(held[n + 1], right[n + 1], area, work.inverse_capacity[i], work.start[i], top, edge)
        _lay(held[n + 1], right[n + 1], area, still.inverse_capacity, work.start[i], edge, stop)
        for m in range(mesh.first[i], mesh.first[i + 1]):
            j, face = mesh.other[m], mesh.face[m]
            if n > 0 and j == i - apart:
                through = min(stop, last[j])
                first = min(max(top, floor[j]), through)
                split = min(max(work.edge[i], work.edge[j], first), through)
                _pass(passed[n + 1], work.lateral[face], weight, first, split)
                _pass(passed[n + 1], still.conductivity, weight * mesh.ratio[face], split, through)
    pivot[0, begin:end] = 0.0
    rises[0, begin:end] = 0.0
    passed[count + 1, begin:end] = 0.0
    factor[count + 1, begin:end] = 0.0
    rises[count + 1, begin:end] = 0.0
    _solve(
        flat(held), flat(passed), flat(pivot), flat(factor), flat(right), flat(rises),
        np.uint64(held.shape[1]), count, np.uint64(begin), np.uint64(end),
    )  # fmt: skip
    for n in range(count):
        i = start + n * apart
        per_area = 1.0 / mesh.area[i]
        found, heat, rise, enthalpy = rises[n + 1], held[n + 1], work.rise[i, 1:], work.start[i]
        for k in range(floor[i], last[i]):
            rise[k] = found[k]
            enthalpy[k] = found[k] * heat[k] * per_area


@inner
def conduct_along(mesh, still, floor, last, work, step, start, apart, count):
    """March the enthalpy `work.start` and its rises over a `step` [s] by what flows along a row of a lattice.

    The row has `count` columns, `apart` from one another, from column `start` on; those at rest cut it.
    """
    since = -1
    for n in range(count + 1):
        i = start + n * apart
        marches = n < count and last[i] > floor[i]
        if marches and since < 0:
            since = n
        elif not marches and since >= 0:
            begin, size = start + since * apart, n - since
            if size > 1:
                _conduct_row(mesh, still, floor, last, work, GAMMA * step, begin, apart, size)
            since = -1


@outer
def conduct_apart(still, floor, last, work, tally, mesh):
    """March enthalpy over the step that `advance` has left: half of it down, all along the rows, half down.

    Leaves what `conduct.super_step` does in `work.current` and, of what it returns, in `tally`; returns the
    step [s] (eq. 28).
    """
    count, row, step = mesh.area.size, mesh.row, tally[Tally.PENDING]
    lost, below = conduct_down(mesh, still, floor, last, work, 0.5 * step)
    for start in range(row):
        conduct_along(mesh, still, floor, last, work, step, start, row, count // row)
    for start in range(0, count, row):
        conduct_along(mesh, still, floor, last, work, step, start, 1, row)
    more, further = conduct_down(mesh, still, floor, last, work, 0.5 * step)
    tally[Tally.LOST], tally[Tally.BELOW] = lost + more, below + further
    for i in mesh.marching:
        for k in range(floor[i], last[i]):
            work.current[i, k] = work.start[i, k]
    return step
