"""Getting ready for a step: which cells march, their conductances, enthalpies, stable step (eq. 1-3, 15).

What has changed is laid out cell by cell down to a column's `edge`; below it tissue is as it was, and every
column reads the same values per depth from `still`.
"""

from __future__ import annotations

from numba import njit

STEFAN_BOLTZMANN = 5.670374419e-8
AT_REST = 1e-2
"""Rise below which a cell need not march [K]."""
FUSED = {"contract", "nsz", "nnan"}
"""Lets the compiler fuse a multiplication with an addition and turn minima into plain selects."""


@njit(cache=True, error_model="numpy")
def activate(mesh, temperature, floor, lit, margin, passes, last, scratch):
    """Grow each column's active region `last` to reach `margin` cells below what is warm or lit.

    A column also reaches as deep as its neighbours do within `passes` columns, so that heat that crosses a
    face arrives in cells that march. `scratch` is (2, n) integers.
    """
    cells = mesh.cell.size
    for i in range(floor.size):
        k = last[i]
        while k > floor[i] and abs(temperature[i, k - 1]) < AT_REST:
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


@njit(cache=True, error_model="numpy")
def _mark(still, state, last, work):
    """Write down to where each column has changed."""
    cells = still.capacity.size
    for i in range(last.size):
        # One cell more: its upper face joins changed to untouched tissue.
        work.edge[i] = min(cells, max(state.changed[i], state.floor[i] + 1) + 1)


@njit(cache=True, error_model="numpy")
def mix_conductivity(media, state, edge, out):
    """Write the conductivity of what has changed, from wet, dry and charred tissue, into `out` (eq. 3)."""
    wet, dry, char = media.conductivity_wet, media.conductivity_dry, media.conductivity_char
    water, x, share = state.water, state.conversion, media.inverse_water
    for i in range(edge.size):
        for k in range(state.floor[i], edge[i]):
            plain = dry[k] + (wet[k] - dry[k]) * (water[i, k] * share[k])
            out[i, k] = plain + (char[k] - plain) * x[i, k]


@njit(cache=True, error_model="numpy")
def join_cells(mesh, conductivity, floor, edge, vertical, lateral):
    """Write harmonic conductances of the faces of what has changed (eq. 1)."""
    cells = mesh.cell.size
    for i in range(edge.size):
        for k in range(floor[i] + 1, min(edge[i] + 1, cells)):
            near, far = mesh.cell[k - 1] / conductivity[i, k - 1], mesh.cell[k] / conductivity[i, k]
            vertical[i, k] = 2.0 / (near + far)
    for f in range(mesh.width.size):
        i, j = mesh.pair[f, 0], mesh.pair[f, 1]
        hi, hj = mesh.half[f, 0], mesh.half[f, 1]
        for k in range(max(floor[i], floor[j]), max(edge[i], edge[j])):
            one, two = conductivity[i, k], conductivity[j, k]
            lateral[f, k] = mesh.width[f] * one * two / (hi * two + hj * one)


@njit(cache=True, error_model="numpy")
def _exchange(h, emissivity, radiates, warm, ambient, resistance):
    """Conductance per area from a cell centre to the surroundings, linearised at its temperature (eq. 15)."""
    film = h
    if radiates:
        film += emissivity * STEFAN_BOLTZMANN * (warm * warm + ambient * ambient) * (warm + ambient)
    if film <= 0.0:
        return 0.0
    return 1.0 / (1.0 / film + resistance)


@njit(cache=True, error_model="numpy")
def expose_faces(mesh, media, surround, state, conductivity, vertical, rise, rise_next):
    """Write the conductances of exposed faces: floors and, unless it is insulated, the bottom.

    Walls face one another across the crater and lose nothing: what the opening loses, the floors do (eq. 15).
    A floor cell of which only the share `left` has not burned off is thinner by as much on either side.

    `surround` is (h, radiates, initial, ambient, backing kind, backing rise), the kind being 0 insulated,
    1 held, 2 open air.
    """
    h, radiates, initial, ambient, kind, backing_rise = surround
    cells, temperature = mesh.cell.size, state.temperature
    for i in range(mesh.area.size):
        top = state.floor[i]
        if top >= cells:
            continue
        warm = initial + temperature[i, top]
        half = 0.5 * state.left[i] * mesh.cell[top] / conductivity[i, top]
        if top + 1 < cells:
            vertical[i, top + 1] = 1.0 / (half + 0.5 * mesh.cell[top + 1] / conductivity[i, top + 1])
        vertical[i, top] = _exchange(h, media.emissivity[top], radiates > 0.0, warm, ambient, half)
        half = 0.5 * mesh.cell[cells - 1] / conductivity[i, cells - 1]
        rise[i, cells + 1] = rise_next[i, cells + 1] = backing_rise
        if kind == 1.0:
            vertical[i, cells] = 1.0 / half
        elif kind == 2.0:
            warm = initial + temperature[i, cells - 1]
            emissivity = media.emissivity[cells - 1]
            vertical[i, cells] = _exchange(h, emissivity, radiates > 0.0, warm, ambient, half)


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _open_still(start, capacity, temperature):
    for k in range(start.size):
        start[k] = capacity[k] * temperature[k]


@njit(cache=True, error_model="numpy")
def open_enthalpy(media, still, state, last, work):
    """Write capacities, enthalpies and rises for a step (eq. 2)."""
    solid, loss, liquid = media.solid_capacity, media.capacity_loss, media.liquid_capacity
    heat, waters, xs, temperature = media.water_heat, state.water, state.conversion, state.temperature
    start, inverse_capacity = work.start, work.inverse_capacity
    for i in range(last.size):
        top, end, edge = state.floor[i], last[i], work.edge[i]
        if end <= top:
            continue
        for k in range(top, edge):
            capacity = solid[k] * (1.0 - loss[k] * xs[i, k]) + liquid[k] + waters[i, k] * heat[k]
            if k == top:
                capacity *= state.left[i]
            inverse_capacity[i, k] = 1.0 / capacity
            start[i, k] = capacity * temperature[i, k]
        if end > edge:
            _open_still(start[i, edge:end], still.capacity[edge:], temperature[i, edge:])
        for k in range(top, end):
            work.rise[i, k + 1] = temperature[i, k]


@njit(cache=True, error_model="numpy")
def fastest_rate(mesh, still, floor, last, work):
    """Highest rate at which a cell relaxes to its neighbours [1/s]: one over the explicit step limit."""
    fastest, deepest = 0.0, 0
    for i in range(mesh.area.size):
        top, end = floor[i], min(work.edge[i], last[i])
        deepest = max(deepest, last[i])
        for k in range(top, end):
            rate = (work.vertical[i, k] + work.vertical[i, k + 1]) * mesh.inverse_height[k]
            for m in range(mesh.first[i], mesh.first[i + 1]):
                if k >= floor[mesh.other[m]]:
                    rate += work.lateral[mesh.face[m], k] / mesh.area[i]
            fastest = max(fastest, rate * work.inverse_capacity[i, k])
    if deepest > 0:
        fastest = max(fastest, still.rate[deepest - 1])
    return fastest


@njit(cache=True, error_model="numpy")
def make_ready(mesh, media, still, surround, state, lit, last, work, margin):
    """Lay out all that conduction over a step needs; returns the highest relaxation rate [1/s].

    The active region `last` reaches `margin` cells beyond what is warm or lit `lit`.
    """
    passes = 1 + margin // 4
    activate(mesh, state.temperature, state.floor, lit, margin, passes, last, work.scratch)
    _mark(still, state, last, work)
    mix_conductivity(media, state, work.edge, work.conductivity)
    join_cells(mesh, work.conductivity, state.floor, work.edge, work.vertical, work.lateral)
    expose_faces(
        mesh, media, surround, state, work.conductivity, work.vertical, work.rise, work.rise_next
    )  # fmt: skip
    open_enthalpy(media, still, state, last, work)
    return fastest_rate(mesh, still, state.floor, last, work)
