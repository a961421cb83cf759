"""Heat conduction on columns: enthalpies, the stable step, and the RKL2 super step (eq. 1, 2, 7, 17)."""

from __future__ import annotations

from numba import njit

BOILING = 1.0 - 1e-9
"""A cell boils from this share of its boiling enthalpy: round-off must not change the number of stages."""
FUSED = {"contract", "nsz", "nnan"}
"""Lets the compiler fuse a multiplication with an addition and turn minima into plain selects."""


@njit(cache=True, fastmath=FUSED)
def _dry_capacity(out, solid, loss, x, liquid):
    """Volumetric heat capacity without water down a column (eq. 2)."""
    for k in range(out.size):
        out[k] = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k]


@njit(cache=True, fastmath=FUSED)
def _invert(out, values):
    for k in range(out.size):
        out[k] = 1.0 / values[k]


@njit(cache=True, fastmath=FUSED)
def _add_product(out, one, two):
    for k in range(out.size):
        out[k] += one[k] * two[k]


@njit(cache=True, fastmath=FUSED)
def _multiply(out, one, two):
    for k in range(out.size):
        out[k] = one[k] * two[k]


@njit(cache=True)
def open_enthalpy(media, temperature, water, conversion, floor, left, last, rise, work):
    """Write start enthalpies, capacities and the bounds of the boiling plateau (eq. 2, 7)."""
    solid, loss, liquid = media.solid_capacity, media.capacity_loss, media.liquid_capacity
    heat, boiling, latent = media.water_heat, media.boiling_rise, media.latent_heat
    for i in range(temperature.shape[0]):
        top, end = floor[i], last[i]
        if end <= top:
            continue
        capacity = work.row[top:end]
        _dry_capacity(capacity, solid[top:], loss[top:], conversion[i, top:], liquid[top:])
        capacity[0] = liquid[top] + left[i] * (capacity[0] - liquid[top])
        _invert(work.inverse_dry[i, top:end], capacity)
        _add_product(capacity, water[i, top:], heat[top:])
        _invert(work.inverse_capacity[i, top:end], capacity)
        _multiply(work.start[i, top:end], capacity, temperature[i, top:])
        boil = work.boil[i, top:end]
        _multiply(boil, capacity, boiling[top:])
        work.dry[i, top:end] = boil
        _add_product(work.dry[i, top:end], water[i, top:], latent[top:])
        rise[i, top + 1 : end + 1] = temperature[i, top:end]


@njit(cache=True, fastmath=FUSED)
def _sum_vertical(row, vertical, inverse_height):
    for k in range(row.size):
        row[k] = (vertical[k] + vertical[k + 1]) * inverse_height[k]


@njit(cache=True, fastmath=FUSED)
def _add_scaled(row, values, scale):
    for k in range(row.size):
        row[k] += values[k] * scale


@njit(cache=True, fastmath=FUSED)
def _fastest(row, start, boil, inverse, inverse_dry):
    """Highest of rate times slope of the rise; a boiling cell may dry in the step and then warms faster."""
    fastest = 0.0
    for k in range(row.size):
        slope = inverse[k] if start[k] < boil[k] * BOILING else inverse_dry[k]
        fastest = max(fastest, row[k] * slope)
    return fastest


@njit(cache=True)
def fastest_rate(mesh, floor, last, work):
    """Highest rate at which a cell relaxes to its neighbours [1/s]: one over the explicit step limit."""
    fastest = 0.0
    inverse, inverse_dry, start, boil = work.inverse_capacity, work.inverse_dry, work.start, work.boil
    for i in range(mesh.area.size):
        top, end = floor[i], last[i]
        if end <= top:
            continue
        row = work.row[top:end]
        _sum_vertical(row, work.vertical[i, top:], mesh.inverse_height[top:])
        for m in range(mesh.first[i], mesh.first[i + 1]):
            _add_scaled(row, work.lateral[mesh.face[m], top:], 1.0 / mesh.area[i])
        here = _fastest(row, start[i, top:], boil[i, top:], inverse[i, top:], inverse_dry[i, top:])
        fastest = max(fastest, here)
    return fastest


@njit(cache=True, fastmath=FUSED)
def _add_vertical(row, source, vertical, here, inverse_height):
    """Write source and vertical flux into `row`; `vertical` is longer by one, `here` by one at each end."""
    for k in range(row.size):
        flow = vertical[k] * (here[k] - here[k + 1]) + vertical[k + 1] * (here[k + 2] - here[k + 1])
        row[k] = source[k] + flow * inverse_height[k]


@njit(cache=True, fastmath=FUSED)
def _add_lateral(row, lateral, scale, here, there):
    """Add the flux through one column's faces to another into `row`."""
    for k in range(row.size):
        row[k] += lateral[k] * scale * (there[k] - here[k])


@njit(cache=True, fastmath=FUSED)
def _stage(into, newer, start, row, slope, a, b, c, d, e):
    """Combine one RKL2 stage into `into`, which holds the stage before `newer` (eq. 17)."""
    for k in range(into.size):
        into[k] = a * newer[k] + b * into[k] + c * start[k] + d * row[k] + e * slope[k]


@njit(cache=True, fastmath=FUSED)
def _thaw(there, enthalpy, inverse, inverse_dry, boil, dry):
    """Map enthalpy to rise: flat while water boils away (eq. 7)."""
    for k in range(enthalpy.size):
        there[k] = min(enthalpy[k], boil[k]) * inverse[k] + max(enthalpy[k] - dry[k], 0.0) * inverse_dry[k]


@njit(cache=True)
def weigh_stages(weights, step, stages):
    """Write RKL2 weights of an odd number of `stages` over `step` [s] (eq. 17), one row of `weights` a stage.

    A row weighs the last stage, the one before it, the start, the rates now and the rates at the start. The
    first two stages have the start in place of what came before.
    """
    w1 = 4.0 / (stages * stages + stages - 2.0)
    weights[0] = (0.0, 0.0, 1.0, w1 / 3.0 * step, 0.0)
    beta_old, beta = 1.0 / 3.0, 1.0 / 3.0
    for j in range(2, stages + 1):
        beta_new = (j * j + j - 2.0) / (2.0 * j * (j + 1.0))
        mu = (2.0 * j - 1.0) / j * beta_new / beta
        nu = -(j - 1.0) / j * beta_new / beta_old
        scaled = mu * w1 * step
        weights[j - 1] = (mu, nu, 1.0 - mu - nu, scaled, -(1.0 - beta) * scaled)
        beta_old, beta = beta, beta_new
    weights[1, 2] += weights[1, 1]
    weights[1, 1] = 0.0


@njit(cache=True)
def _sum_stages(weights, stages, lost):
    """What the stages make of a loss that starts at 0 and has rate `lost[j]` in stage j (eq. 17)."""
    older, newer = 0.0, 0.0
    for j in range(stages):
        a, b, _, d, e = weights[j]
        older, newer = newer, a * newer + b * older + d * lost[j] + e * lost[0]
    return newer


@njit(cache=True)
def super_step(mesh, floor, last, work, step, stages):
    """March enthalpy over `step` [s] with an odd number of RKL2 `stages` (eq. 17), into `work.current`.

    Returns the heat lost through exposed faces and through the bottom [J], by the same stages, so that
    the ledger closes to round-off.

    Columns march in a wave: stage j of a column runs as soon as stage j - 1 of its neighbours has, so that
    the few columns in work stay in cache. No column is more than `mesh.reach` from a neighbour.
    """
    weights, lost = work.weights, work.lost
    weigh_stages(weights, step, stages)
    lost[:, :stages] = 0.0
    cells, n, area, inverse_height = mesh.cell.size, mesh.area.size, mesh.area, mesh.inverse_height
    first, face, other = mesh.first, mesh.face, mesh.other
    row, source, vertical, lateral = work.row, work.source, work.vertical, work.lateral
    start, slope = work.start, work.slope
    inverse, inverse_dry, boil, dry = work.inverse_capacity, work.inverse_dry, work.boil, work.dry
    rise, rise_next, newer, older = work.rise, work.rise_next, work.previous, work.current
    for wave in range(n + mesh.reach * (stages - 1)):
        for stage in range(stages):
            i = wave - mesh.reach * stage
            if i < 0:
                break
            if i >= n or last[i] <= floor[i]:
                continue
            top, end = floor[i], last[i]
            if stage % 2 == 0:
                here_all, next_all, from_all, into_all = rise, rise_next, newer, older
            else:
                here_all, next_all, from_all, into_all = rise_next, rise, older, newer
            here = here_all[i]
            lost[0, stage] += area[i] * vertical[i, top] * (here[top + 1] - here[top])
            bottom = end - 1
            if end == cells:
                bottom = end
                lost[1, stage] += area[i] * vertical[i, cells] * (here[cells] - here[cells + 1])
            _add_vertical(
                row[top:bottom], source[i, top:], vertical[i, top:], here[top:], inverse_height[top:]
            )
            if bottom < end:
                # The active region's last cell is closed below: what lies there is still at rest.
                flow = vertical[i, bottom] * (here[bottom] - here[bottom + 1])
                row[bottom] = source[i, bottom] + flow * inverse_height[bottom]
            for m in range(first[i], first[i + 1]):
                j = other[m]
                there = here_all[j]
                stop = min(end, last[j])
                if stop > top:
                    _add_lateral(
                        row[top:stop],
                        lateral[face[m], top:],
                        1.0 / area[i],
                        here[top + 1 :],
                        there[top + 1 :],
                    )
            if stage == 0:
                slope[i, top:end] = row[top:end]
            fresh = into_all[i, top:end]
            a, b, c, d, e = weights[stage]
            _stage(fresh, from_all[i, top:], start[i, top:], row[top:], slope[i, top:], a, b, c, d, e)
            rises = next_all[i, top + 1 :]
            _thaw(rises, fresh, inverse[i, top:], inverse_dry[i, top:], boil[i, top:], dry[i, top:])
    return _sum_stages(weights, stages, lost[0]), _sum_stages(weights, stages, lost[1])
