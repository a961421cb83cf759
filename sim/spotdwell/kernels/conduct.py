"""Heat conduction on columns: the RKL2 super step (eq. 1, 17)."""

from __future__ import annotations

import math

import numpy as np

from spotdwell.kernels.compiled import FUSED, ONE, flat, inner

MOST_STAGES = 401
"""Most RKL2 stages in a step; odd, as eq. 17 asks. Cooling over stiff char takes some 300."""
EULER = 0.05
"""Under a moving beam a step of at most this share of the explicit limit takes one stage, Euler's [-]: a wave
that is twelve cells long decays 0.3 % too fast."""


@inner
def stages_for(step, explicit):
    """Least odd number of RKL2 stages that is stable over `step` with an `explicit` limit [s] (eq. 17)."""
    stages = math.ceil(0.5 * (math.sqrt(9.0 + 16.0 * step / explicit) - 1.0))
    return max(3, stages + 1 - stages % 2)


@inner
def longest_super_step(explicit):
    """Longest step that the largest number of stages can take [s], with an `explicit` limit [s]."""
    return explicit * (MOST_STAGES * MOST_STAGES + MOST_STAGES - 2) / 4.0


@inner
def weigh_stages(weights, step, stages):
    """Write RKL2 weights of an odd number of `stages` over `step` [s] (eq. 17), one row of `weights` a stage.

    A row weighs the last stage, the one before it, the start, the rates now and the rates at the start. The
    first two stages have the start in place of what came before.
    """
    w1 = 4.0 / (stages * stages + stages - 2.0) if stages > 1 else 3.0
    # Number by number: to assign a tuple to a row would compile the text of an error about its length.
    weights[0, :] = 0.0
    weights[0, 2], weights[0, 3] = 1.0, w1 / 3.0 * step
    beta_old, beta = 1.0 / 3.0, 1.0 / 3.0
    for j in range(2, stages + 1):
        beta_new = (j * j + j - 2.0) / (2.0 * j * (j + 1.0))
        mu = (2.0 * j - 1.0) / j * beta_new / beta
        nu = -(j - 1.0) / j * beta_new / beta_old
        scaled = mu * w1 * step
        row = weights[j - 1]
        row[0], row[1], row[2], row[3], row[4] = mu, nu, 1.0 - mu - nu, scaled, -(1.0 - beta) * scaled
        beta_old, beta = beta, beta_new
    if stages > 1:
        weights[1, 2] += weights[1, 1]
        weights[1, 1] = 0.0


@inner
def _sum_stages(weights, stages, lost):
    """What the stages make of a loss that starts at 0 and has rate `lost[j]` in stage j (eq. 17)."""
    older, newer = 0.0, 0.0
    for j in range(stages):
        row = weights[j]
        older, newer = newer, row[0] * newer + row[1] * older + row[3] * lost[j] + row[4] * lost[0]
    return newer


# In what follows arrays are flat, and an `o...` is where the column's cell 0 stands in one of them.


@inner(fastmath=FUSED, forceinline=True)
def _flow_down(row, vertical, o, here, oh, inverse_height, begin, end):
    """Write the heating by vertical flux of cells from `begin` to `end` into `row` [W/m3]."""
    up, down, above, below = o, o + ONE, oh - ONE, oh + ONE
    for k in range(begin, end):
        flow = vertical[up + k] * (here[above + k] - here[oh + k])
        flow += vertical[down + k] * (here[below + k] - here[oh + k])
        row[k] = flow * inverse_height[k]


@inner(fastmath=FUSED, forceinline=True)
def _flow_across(row, conductance, o, scale, here, oh, there, ot, begin, end):
    """Add the flux through one column's faces to another into `row`."""
    for k in range(begin, end):
        row[k] += conductance[o + k] * scale * (there[ot + k] - here[oh + k])


@inner(fastmath=FUSED, forceinline=True)
def _add(row, source, o, begin, end):
    for k in range(begin, end):
        row[k] += source[o + k]


@inner(fastmath=FUSED, forceinline=True)
def _copy(slope, o, row, begin, end):
    for k in range(begin, end):
        slope[o + k] = row[k]


@inner(fastmath=FUSED, forceinline=True)
def _stage(into, newer, start, slope, o, row, a, b, c, d, e, there, ot, inverse, oi, begin, end):
    """Combine one RKL2 stage of cells into `into`, which holds the stage before `newer`."""
    for k in range(begin, end):
        n = o + k
        fresh = a * newer[n] + b * into[n] + c * start[n] + d * row[k] + e * slope[n]
        into[n] = fresh
        there[ot + k] = fresh * inverse[oi + k]


@inner(apart=2)
def super_step(mesh, still, floor, last, lit, work, step, stages):
    """March enthalpy over `step` [s] with an odd number of RKL2 `stages` (eq. 17), into `work.current`.

    Returns the heat lost through exposed faces and through the bottom [J], by the same stages, so that
    the ledger closes to round-off.

    Columns march in a wave: stage j of a column runs as soon as stage j - 1 of its neighbours has, so that
    the few columns in work stay in cache. No column is more than `mesh.reach` from a neighbour.
    """
    weights, lost = work.weights, work.lost
    weigh_stages(weights, step, stages)
    lost[:, :stages] = 0.0
    cells, area, inverse_height = mesh.cell.size, mesh.area, mesh.inverse_height
    first, face, other, ratio = mesh.first, mesh.face, mesh.other, mesh.ratio
    edges, row = work.edge, work.row
    source, slope, start = flat(work.source), flat(work.slope), flat(work.start)
    vertical, lateral = flat(work.vertical), flat(work.lateral)
    inverse = flat(work.inverse_capacity)
    rise, rise_next = flat(work.rise), flat(work.rise_next)
    even, odd = flat(work.current), flat(work.previous)
    none = np.uint64(0)
    outermost = mesh.marching[0], mesh.marching[-1]
    for wave in range(outermost[0], outermost[1] + 1 + mesh.reach * (stages - 1)):
        for stage in range(stages):
            i = wave - mesh.reach * stage
            if i < outermost[0]:
                break
            if i > outermost[1] or last[i] <= floor[i]:
                continue
            if stage % 2 == 0:
                here, there, newer, into = rise, rise_next, odd, even
            else:
                here, there, newer, into = rise_next, rise, even, odd
            a, b, c = weights[stage, 0], weights[stage, 1], weights[stage, 2]
            d, e = weights[stage, 3], weights[stage, 4]
            o, ov, oh = np.uint64(i * cells), np.uint64(i * (cells + 1)), np.uint64(i * (cells + 2) + 1)
            top, end = np.uint64(floor[i]), np.uint64(last[i])
            edge = np.uint64(min(edges[i], last[i]))
            lost[0, stage] += area[i] * vertical[ov + top] * (here[oh + top] - here[oh + top - ONE])
            bottom = end - ONE
            if last[i] == cells:
                lost[1, stage] += area[i] * vertical[ov + end] * (here[oh + bottom] - here[oh + end])
                out = vertical[ov + end] * (here[oh + end] - here[oh + bottom])
            else:
                # The active region's last cell is closed below: what lies there is still at rest.
                out = 0.0
            changed = min(edge, bottom)
            _flow_down(row, vertical, ov, here, oh, inverse_height, top, changed)
            _flow_down(row, still.vertical, none, here, oh, inverse_height, changed, bottom)
            out += vertical[ov + bottom] * (here[oh + bottom - ONE] - here[oh + bottom])
            row[bottom] = out * inverse_height[bottom]
            if lit[i] > floor[i]:
                _add(row, source, o, top, np.uint64(lit[i]))
            for m in range(first[i], first[i + 1]):
                j = other[m]
                begin, stop = max(floor[i], floor[j]), min(last[i], last[j])
                if stop <= begin:
                    continue
                split = min(max(edges[i], edges[j]), stop)
                of, ot, per = np.uint64(face[m] * cells), np.uint64(j * (cells + 2) + 1), 1.0 / area[i]
                if split > begin:
                    _flow_across(
                        row, lateral, of, per, here, oh, here, ot, np.uint64(begin), np.uint64(split)
                    )
                else:
                    split = begin
                per *= ratio[face[m]]
                _flow_across(
                    row, still.conductivity, none, per, here, oh, here, ot, np.uint64(split), np.uint64(stop)
                )
            if stage == 0:
                _copy(slope, o, row, top, end)
            _stage(
                into, newer, start, slope, o, row, a, b, c, d, e,
                there, oh, inverse, o, top, edge,
            )  # fmt: skip
            _stage(
                into, newer, start, slope, o, row, a, b, c, d, e,
                there, oh, still.inverse_capacity, none, edge, end,
            )  # fmt: skip
    return _sum_stages(weights, stages, lost[0]), _sum_stages(weights, stages, lost[1])
