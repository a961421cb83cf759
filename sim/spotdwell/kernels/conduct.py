"""Heat conduction on columns: face conductances, stable step, RKL2 super step (eq. 1, 3, 7, 15, 17)."""

from __future__ import annotations

from typing import NamedTuple

from numba import njit
from numpy.typing import NDArray

STEFAN_BOLTZMANN = 5.670374419e-8
BOILING = 1.0 - 1e-9
"""A cell boils from this share of its boiling enthalpy: round-off must not change the number of stages."""
FUSED = {"contract", "nsz", "nnan"}
"""Lets the compiler fuse a multiplication with an addition and turn minima into plain selects."""


class Mesh(NamedTuple):
    """Cells and faces. A column's neighbours are (face, other column) pairs in `first[i]:first[i + 1]`."""

    cell: NDArray
    """Cell heights dz [m], (cells,)."""
    inverse_height: NDArray
    """1 / dz [1/m], (cells,)."""
    area: NDArray
    """Column areas [m2], (n,)."""
    pair: NDArray
    """Columns of each face, (faces, 2)."""
    width: NDArray
    """Face widths [m], (faces,)."""
    half: NDArray
    """Distances from the two column centres to the face [m], (faces, 2)."""
    first: NDArray
    """Where each column's neighbours start, (n + 1,)."""
    face: NDArray
    """Faces by column, (2 faces,)."""
    other: NDArray
    """Neighbouring columns by column, (2 faces,)."""


class Work(NamedTuple):
    """Scratch of the conduction kernels; rises carry ghosts, the rest is (n, cells)."""

    conductivity: NDArray
    """k of each cell [W/m/K]."""
    vertical: NDArray
    """Conductance of each horizontal face per area [W/m2/K], (n, cells + 1)."""
    lateral: NDArray
    """Conductance of each vertical face per metre of depth [W/m/K], (faces, cells)."""
    rise: NDArray
    """Rises [K], (n, cells + 2); gone cells and ghosts hold their surroundings."""
    rise_next: NDArray
    """The same for the next stage."""
    start: NDArray
    """Enthalpy at the start of the step [J/m3]."""
    current: NDArray
    """Enthalpy of the last stage [J/m3]."""
    previous: NDArray
    """Enthalpy of the stage before [J/m3]."""
    slope: NDArray
    """Rate of the first stage [W/m3]."""
    source: NDArray
    """Absorbed power [W/m3]."""
    inverse_capacity: NDArray
    """1 / C at the start of the step [m3 K/J]."""
    inverse_dry: NDArray
    """1 / C once its water is gone [m3 K/J]."""
    boil: NDArray
    """Enthalpy at which the cell reaches boiling [J/m3]."""
    dry: NDArray
    """Enthalpy at which its water is gone [J/m3]."""
    row: NDArray
    """One column's rates [W/m3], (cells,)."""


@njit(cache=True)
def mix_conductivity(media, water, conversion, floor, last, out):
    """Write the conductivity of wet, dry and charred tissue into `out` (eq. 3)."""
    for i in range(out.shape[0]):
        for k in range(floor[i], last[i]):
            share = water[i, k] * media.inverse_water[k]
            plain = (
                media.conductivity_dry[k] + (media.conductivity_wet[k] - media.conductivity_dry[k]) * share
            )
            x = conversion[i, k]
            out[i, k] = plain * (1.0 - x) + media.conductivity_char[k] * x


@njit(cache=True)
def join_cells(mesh, conductivity, floor, last, vertical, lateral):
    """Write harmonic conductances of faces between cells that are there (eq. 1); others stay as they are."""
    cells = mesh.cell.size
    for i in range(mesh.area.size):
        for k in range(floor[i] + 1, min(last[i] + 1, cells)):
            above = mesh.cell[k - 1] / conductivity[i, k - 1]
            vertical[i, k] = 2.0 / (above + mesh.cell[k] / conductivity[i, k])
    for f in range(mesh.width.size):
        i, j = mesh.pair[f, 0], mesh.pair[f, 1]
        width, hi, hj = mesh.width[f], mesh.half[f, 0], mesh.half[f, 1]
        for k in range(max(floor[i], floor[j]), min(last[i], last[j])):
            lateral[f, k] = width / (hi / conductivity[i, k] + hj / conductivity[j, k])


@njit(cache=True)
def _exchange(h, emissivity, radiates, warm, ambient, resistance):
    """Conductance per area from a cell centre to the surroundings, linearised at its temperature (eq. 15)."""
    film = h
    if radiates:
        film += emissivity * STEFAN_BOLTZMANN * (warm * warm + ambient * ambient) * (warm + ambient)
    if film <= 0.0:
        return 0.0
    return 1.0 / (1.0 / film + resistance)


@njit(cache=True)
def expose_faces(mesh, media, surround, temperature, conductivity, floor, left, vertical, lateral, rise):
    """Write the conductances of exposed faces: floors, walls and, unless it is insulated, the bottom.

    A floor cell of which only the share `left` has not burned off is thinner by as much on either side.

    `surround` is (h, radiates, initial, ambient, backing kind, backing rise), the kind being 0 insulated,
    1 held, 2 open air.
    """
    h, radiates, initial, ambient, kind, backing_rise = surround
    cells = mesh.cell.size
    for i in range(mesh.area.size):
        top = floor[i]
        if top >= cells:
            continue
        warm = initial + temperature[i, top]
        half = 0.5 * left[i] * mesh.cell[top] / conductivity[i, top]
        if top + 1 < cells:
            vertical[i, top + 1] = 1.0 / (half + 0.5 * mesh.cell[top + 1] / conductivity[i, top + 1])
        vertical[i, top] = _exchange(h, media.emissivity[top], radiates > 0.0, warm, ambient, half)
        half = 0.5 * mesh.cell[cells - 1] / conductivity[i, cells - 1]
        rise[i, cells + 1] = backing_rise
        if kind == 1.0:
            vertical[i, cells] = 1.0 / half
        elif kind == 2.0:
            warm = initial + temperature[i, cells - 1]
            emissivity = media.emissivity[cells - 1]
            vertical[i, cells] = _exchange(h, emissivity, radiates > 0.0, warm, ambient, half)
        else:
            vertical[i, cells] = 0.0
    for f in range(mesh.width.size):
        i, j, side = mesh.pair[f, 0], mesh.pair[f, 1], 0
        if floor[i] > floor[j]:
            i, j, side = j, i, 1
        for k in range(floor[i], floor[j]):
            warm = initial + temperature[i, k]
            away = mesh.half[f, side] / conductivity[i, k]
            share = _exchange(h, media.emissivity[k], radiates > 0.0, warm, ambient, away)
            lateral[f, k] = mesh.width[f] * share


@njit(cache=True)
def open_enthalpy(media, temperature, water, conversion, floor, left, last, rise, work):
    """Write start enthalpies, capacities and the bounds of the boiling plateau (eq. 2, 7)."""
    for i in range(temperature.shape[0]):
        for k in range(floor[i], last[i]):
            solid = media.solid_capacity[k] * (1.0 - media.capacity_loss[k] * conversion[i, k])
            if k == floor[i]:
                solid *= left[i]
            solid += media.liquid_capacity[k]
            capacity = solid + water[i, k] * media.water_heat[k]
            enthalpy = capacity * temperature[i, k]
            boil = capacity * media.boiling_rise[k]
            work.inverse_capacity[i, k] = 1.0 / capacity
            work.inverse_dry[i, k] = 1.0 / solid
            work.boil[i, k] = boil
            work.dry[i, k] = boil + water[i, k] * media.latent_heat[k]
            work.start[i, k] = enthalpy
            rise[i, k + 1] = temperature[i, k]


@njit(cache=True)
def fastest_rate(mesh, floor, last, work):
    """Highest rate at which a cell relaxes to its neighbours [1/s]: one over the explicit step limit."""
    fastest = 0.0
    row = work.row
    for i in range(mesh.area.size):
        top, end = floor[i], last[i]
        vertical = work.vertical[i]
        for k in range(top, end):
            row[k] = (vertical[k] + vertical[k + 1]) / mesh.cell[k]
        for m in range(mesh.first[i], mesh.first[i + 1]):
            lateral, scale = work.lateral[mesh.face[m]], 1.0 / mesh.area[i]
            for k in range(top, end):
                row[k] += lateral[k] * scale
        inverse, inverse_dry = work.inverse_capacity[i], work.inverse_dry[i]
        start, boil = work.start[i], work.boil[i]
        for k in range(top, end):
            # A cell that boils may dry within the step and then warms faster.
            slope = inverse[k] if start[k] < boil[k] * BOILING else inverse_dry[k]
            fastest = max(fastest, row[k] * slope)
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
def _lost(mesh, floor, last, vertical, lateral, rise):
    """Power lost through exposed faces and through the bottom [W]."""
    cells = mesh.cell.size
    area, cell, pair = mesh.area, mesh.cell, mesh.pair
    surface, bottom = 0.0, 0.0
    for i in range(area.size):
        top = floor[i]
        if top >= last[i]:
            continue
        surface += area[i] * vertical[i, top] * (rise[i, top + 1] - rise[i, top])
        if last[i] == cells:
            bottom += area[i] * vertical[i, cells] * (rise[i, cells] - rise[i, cells + 1])
    for f in range(pair.shape[0]):
        i, j = pair[f, 0], pair[f, 1]
        if floor[i] > floor[j]:
            i, j = j, i
        for k in range(floor[i], min(floor[j], last[i])):
            surface += lateral[f, k] * cell[k] * (rise[i, k + 1] - rise[j, k + 1])
    return surface, bottom


@njit(cache=True)
def _run_stage(mesh, floor, last, work, rise, rise_next, newer, into, weights, opening):
    """Run one RKL2 stage on every column: rates at `rise`, then `into` and `rise_next` (eq. 1, 7, 17).

    The `opening` stage also keeps its rates as the slope of the step.
    """
    a, b, c, d, e = weights
    cells, area, inverse_height = mesh.cell.size, mesh.area, mesh.inverse_height
    first, face, other = mesh.first, mesh.face, mesh.other
    row, source, vertical, lateral = work.row, work.source, work.vertical, work.lateral
    start, slope = work.start, work.slope
    inverse, inverse_dry, boil, dry = work.inverse_capacity, work.inverse_dry, work.boil, work.dry
    for i in range(area.size):
        top, end = floor[i], last[i]
        if end <= top:
            continue
        here = rise[i]
        bottom = end if end == cells else end - 1
        _add_vertical(row[top:bottom], source[i, top:], vertical[i, top:], here[top:], inverse_height[top:])
        if bottom < end:
            # The active region's last cell is closed below: what lies there is still at rest.
            flow = vertical[i, bottom] * (here[bottom] - here[bottom + 1])
            row[bottom] = source[i, bottom] + flow * inverse_height[bottom]
        for m in range(first[i], first[i + 1]):
            j = other[m]
            stop = min(end, last[j])
            if stop > top:
                _add_lateral(
                    row[top:stop], lateral[face[m], top:], 1.0 / area[i], here[top + 1 :], rise[j, top + 1 :]
                )
        if opening:
            slope[i, top:end] = row[top:end]
        fresh = into[i, top:end]
        _stage(fresh, newer[i, top:], start[i, top:], row[top:], slope[i, top:], a, b, c, d, e)
        there = rise_next[i, top + 1 :]
        _thaw(there, fresh, inverse[i, top:], inverse_dry[i, top:], boil[i, top:], dry[i, top:])


@njit(cache=True)
def super_step(mesh, floor, last, work, step, stages):
    """March enthalpy over `step` [s] with an odd number of RKL2 `stages` (eq. 17), into `work.current`.

    Returns the heat lost through exposed faces and through the bottom [J], by the same stages, so that
    the ledger closes to round-off.
    """
    w1 = 4.0 / (stages * stages + stages - 2.0)
    rise, rise_next, newer, older = work.rise, work.rise_next, work.current, work.previous
    for i in range(mesh.area.size):
        top, end = floor[i], max(floor[i], last[i])
        older[i, top:end] = work.start[i, top:end]
        newer[i, top:end] = work.start[i, top:end]
    first = w1 / 3.0 * step
    rate_s, rate_b = _lost(mesh, floor, last, work.vertical, work.lateral, rise)
    _run_stage(mesh, floor, last, work, rise, rise_next, older, newer, (0.0, 1.0, 0.0, first, 0.0), True)
    s_old, s_new, b_old, b_new = 0.0, first * rate_s, 0.0, first * rate_b
    beta_old, beta = 1.0 / 3.0, 1.0 / 3.0
    for j in range(2, stages + 1):
        beta_new = (j * j + j - 2.0) / (2.0 * j * (j + 1.0))
        mu = (2.0 * j - 1.0) / j * beta_new / beta
        nu = -(j - 1.0) / j * beta_new / beta_old
        scaled = mu * w1 * step
        again = -(1.0 - beta) * scaled
        rise, rise_next = rise_next, rise
        now_s, now_b = _lost(mesh, floor, last, work.vertical, work.lateral, rise)
        weights = (mu, nu, 1.0 - mu - nu, scaled, again)
        _run_stage(mesh, floor, last, work, rise, rise_next, newer, older, weights, False)
        newer, older = older, newer
        s_old, s_new = s_new, mu * s_new + nu * s_old + scaled * now_s + again * rate_s
        b_old, b_new = b_new, mu * b_new + nu * b_old + scaled * now_b + again * rate_b
        beta_old, beta = beta, beta_new
    return s_new, b_new


@njit(cache=True)
def activate(mesh, temperature, floor, lit, margin, passes, last, scratch):
    """Grow each column's active region `last` to reach `margin` cells below what is warm or lit.

    A column also reaches as deep as its neighbours do within `passes` columns, so that heat that crosses a
    face arrives in cells that march. `scratch` is (2, n) integers.
    """
    cells = mesh.cell.size
    for i in range(floor.size):
        k = last[i]
        while k > floor[i] and abs(temperature[i, k - 1]) < 1e-3:
            k -= 1
        scratch[0, i] = max(k, lit[i])
        if scratch[0, i] <= floor[i]:
            scratch[0, i] = 0
    for _ in range(passes):
        for i in range(floor.size):
            scratch[1, i] = scratch[0, i]
            for m in range(mesh.first[i], mesh.first[i + 1]):
                scratch[1, i] = max(scratch[1, i], scratch[0, mesh.other[m]])
        for i in range(floor.size):
            scratch[0, i] = scratch[1, i]
    for i in range(floor.size):
        if scratch[0, i] > 0 or last[i] > floor[i]:
            last[i] = max(last[i], min(cells, max(scratch[0, i], floor[i]) + margin))


@njit(cache=True)
def hottest(temperature, floor, last):
    """Highest rise among the cells that march [K]; 0 if none does."""
    peak = 0.0
    for i in range(floor.size):
        for k in range(floor[i], last[i]):
            peak = max(peak, temperature[i, k])
    return peak
