"""Getting ready for a step: which cells march, their conductances, enthalpies, stable step (eq. 1-3, 15).

What has changed is laid out cell by cell down to a column's `edge`; below it tissue is as it was, and every
column reads the same values per depth from `still`.
"""

from __future__ import annotations

from spotdwell.kernels.compiled import FUSED, SUMMED, inner

STEFAN_BOLTZMANN = 5.670374419e-8
AT_REST = 1e-2
"""Rise below which a cell need not march [K]."""
INSULATED, HELD, OPEN = 0.0, 1.0, 2.0
"""Kinds of backing."""


@inner
def activate(mesh, temperature, floor, lit, margin, passes, last, scratch):
    """Grow each column's active region `last` to reach `margin` cells below what is warm or lit.

    A column also reaches as deep as its neighbours do within `passes` columns, so that heat that crosses a
    face arrives in cells that march. `scratch` is (2, n) integers.
    """
    cells, first, other = mesh.cell.size, mesh.first, mesh.other
    for i in mesh.marching:
        k = last[i]
        while k > floor[i] and abs(temperature[i, k - 1]) < AT_REST:
            k -= 1
        scratch[0, i] = max(k, lit[i])
        if scratch[0, i] <= floor[i]:
            scratch[0, i] = 0
    for _ in range(passes):
        for i in mesh.marching:
            scratch[1, i] = scratch[0, i]
            for m in range(first[i], first[i + 1]):
                if last[other[m]] >= 0:
                    scratch[1, i] = max(scratch[1, i], scratch[0, other[m]])
        for i in mesh.marching:
            scratch[0, i] = scratch[1, i]
    for i in mesh.marching:
        if scratch[0, i] > 0 or last[i] > floor[i]:
            last[i] = max(last[i], min(cells, max(scratch[0, i], floor[i]) + margin))


@inner(fastmath=FUSED)
def _mix(wet, dry, char, water, share, x, out):
    """Write a column's conductivity, from wet, dry and charred tissue (eq. 3)."""
    for k in range(out.size):
        plain = dry[k] + (wet[k] - dry[k]) * (water[k] * share[k])
        out[k] = plain + (char[k] - plain) * x[k]


@inner(fastmath=FUSED)
def _join_down(cell, conductivity, vertical):
    """Write harmonic conductances of the faces between a column's cells (eq. 1)."""
    for k in range(vertical.size):
        one, two = conductivity[k], conductivity[k + 1]
        vertical[k] = 2.0 * one * two / (cell[k] * two + cell[k + 1] * one)


@inner(fastmath=FUSED)
def join_across(near, far, width, half, half_far, lateral):
    """Write harmonic conductances of the faces between two columns per metre of depth (eq. 1)."""
    for k in range(lateral.size):
        one, two = near[k], far[k]
        lateral[k] = width * one * two / (half * two + half_far * one)


@inner
def _join_column(mesh, i, conductivity, floor, edge, last, lateral):
    """Write conductances of the faces that name a column first where one of both has changed (eq. 1)."""
    for m in range(mesh.first[i], mesh.first[i + 1]):
        f, j = mesh.face[m], mesh.other[m]
        if mesh.pair[f, 0] != i or last[j] < 0:
            continue
        top, end = max(floor[i], floor[j]), max(edge[i], edge[j])
        if end > top:
            join_across(
                conductivity[i, top:end], conductivity[j, top:end],
                mesh.width[f], mesh.half[f, 0], mesh.half[f, 1], lateral[f, top:end],
            )  # fmt: skip


@inner
def _exchange(h, emissivity, radiates, warm, ambient, resistance):
    """Conductance per area from a cell centre to the surroundings, linearised at its temperature (eq. 15)."""
    film = h
    if radiates:
        film += emissivity * STEFAN_BOLTZMANN * (warm * warm + ambient * ambient) * (warm + ambient)
    if film <= 0.0:
        return 0.0
    return 1.0 / (1.0 / film + resistance)


@inner(forceinline=True)
def expose_faces(
    cell, emissivity, surround, i, top, left, temperature, conductivity, vertical, rise, rise_next
):
    """Write the conductances of a column's exposed faces: its floor and, unless it is insulated, its bottom.

    Walls face one another across the crater and lose nothing: what the opening loses, the floors do (eq. 15).
    A floor cell of which only the share `left` has not burned off is thinner by as much on either side.
    """
    cells, radiates, initial, ambient = cell.size, surround.radiates > 0.0, surround.initial, surround.ambient
    warm = initial + temperature[i, top]
    half = 0.5 * left * cell[top] / conductivity[i, top]
    if top + 1 < cells:
        vertical[i, top + 1] = 1.0 / (half + 0.5 * cell[top + 1] / conductivity[i, top + 1])
    vertical[i, top] = _exchange(surround.exchange, emissivity[top], radiates, warm, ambient, half)
    rise[i, cells + 1] = rise_next[i, cells + 1] = surround.backing_rise
    if surround.backing == INSULATED:
        return
    half = 0.5 * cell[cells - 1] / conductivity[i, cells - 1]
    if surround.backing == HELD:
        vertical[i, cells] = 1.0 / half
    else:
        warm = initial + temperature[i, cells - 1]
        vertical[i, cells] = _exchange(
            surround.exchange, emissivity[cells - 1], radiates, warm, ambient, half
        )


@inner(fastmath=FUSED)
def _open_still(start, rise, capacity, temperature):
    for k in range(start.size):
        start[k] = capacity[k] * temperature[k]
        rise[k] = temperature[k]


@inner(fastmath=FUSED)
def _open_changed(start, rise, inverse_capacity, solid, loss, x, liquid, water, heat, temperature):
    for k in range(start.size):
        capacity = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * heat[k]
        inverse_capacity[k] = 1.0 / capacity
        start[k] = capacity * temperature[k]
        rise[k] = temperature[k]


@inner(forceinline=True)
def open_enthalpy(media, still, i, top, edge, end, left, state, work):
    """Write a column's capacities, enthalpies and rises for a step (eq. 2)."""
    temperature, start, rise = state.temperature[i], work.start[i], work.rise[i, 1:]
    edge = min(edge, end)
    inverse = work.inverse_capacity[i]
    _open_changed(
        start[top:edge], rise[top:], inverse[top:],
        media.solid_capacity[top:], media.capacity_loss[top:], state.conversion[i, top:],
        media.liquid_capacity[top:], state.water[i, top:], media.water_heat[top:], temperature[top:],
    )  # fmt: skip
    if left != 1.0:
        # What has burned off holds nothing.
        inverse[top] /= left
        start[top] *= left
    if end > edge:
        _open_still(start[edge:end], rise[edge:], still.capacity[edge:], temperature[edge:])


@inner(fastmath=FUSED)
def _rate_down(row, vertical, below, inverse_height):
    for k in range(row.size):
        row[k] = (vertical[k] + below[k]) * inverse_height[k]


@inner(fastmath=FUSED)
def _rate_across(row, lateral, per_area):
    for k in range(row.size):
        row[k] += lateral[k] * per_area


@inner(fastmath=SUMMED)
def _highest_rate(row, inverse_capacity):
    fastest = 0.0
    for k in range(row.size):
        fastest = max(fastest, row[k] * inverse_capacity[k])
    return fastest


@inner
def _fastest_of(mesh, i, floor, last, work):
    """Highest rate at which a cell of a column that may have changed relaxes to its neighbours [1/s]."""
    top, end, row = floor[i], min(work.edge[i], last[i]), work.row
    if end <= top:
        return 0.0
    vertical = work.vertical[i]
    _rate_down(row[top:end], vertical[top:], vertical[top + 1 :], mesh.inverse_height[top:])
    per_area = 1.0 / mesh.area[i]
    for m in range(mesh.first[i], mesh.first[i + 1]):
        begin = max(top, floor[mesh.other[m]])
        if begin < end:
            _rate_across(row[begin:end], work.lateral[mesh.face[m], begin:], per_area)
    return _highest_rate(row[top:end], work.inverse_capacity[i, top:])


@inner
def _lay_out(mesh, media, still, surround, state, i, last, work):
    """Lay out a column's conductances and enthalpies."""
    cell, cells, top = mesh.cell, mesh.cell.size, state.floor[i]
    # One cell more than has changed: its upper face joins changed to untouched tissue.
    edge = min(cells, max(state.changed[i], top + 1) + 1)
    work.edge[i] = edge
    if top >= cells:
        return
    conductivity = work.conductivity[i]
    _mix(
        media.conductivity_wet[top:], media.conductivity_dry[top:], media.conductivity_char[top:],
        state.water[i, top:], media.inverse_water[top:], state.conversion[i, top:],
        conductivity[top:edge],
    )  # fmt: skip
    _join_down(cell[top:], conductivity[top:], work.vertical[i, top + 1 : min(edge + 1, cells)])
    expose_faces(
        cell, media.emissivity, surround, i, top, state.left[i], state.temperature, work.conductivity,
        work.vertical, work.rise, work.rise_next,
    )  # fmt: skip
    if last[i] > top:
        open_enthalpy(media, still, i, top, edge, last[i], state.left[i], state, work)


@inner(apart=1)
def make_ready(mesh, media, still, surround, state, lit, last, work, margin):
    """Lay out all that conduction over a step needs; returns the highest relaxation rate [1/s].

    The active region `last` reaches `margin` cells beyond what is warm or lit `lit`. A column is joined to
    its neighbours as soon as they are laid out, while all of them are in cache.
    """
    floor, marching, deepest, fastest, joined = state.floor, mesh.marching, 0, 0.0, 0
    activate(mesh, state.temperature, floor, lit, margin, 1 + margin // 4, last, work.scratch)
    for n in range(marching.size):
        i = marching[n]
        _lay_out(mesh, media, still, surround, state, i, last, work)
        deepest = max(deepest, last[i])
        while joined <= n and (marching[joined] + mesh.reach <= i or n == marching.size - 1):
            j = marching[joined]
            _join_column(mesh, j, work.conductivity, floor, work.edge, last, work.lateral)
            fastest = max(fastest, _fastest_of(mesh, j, floor, last, work))
            joined += 1
    return max(fastest, still.rate[deepest - 1]) if deepest > 0 else fastest
