"""Faces: conductivities, conductances between cells and to the surroundings (eq. 1, 3, 15)."""

from __future__ import annotations

from numba import njit

STEFAN_BOLTZMANN = 5.670374419e-8
FUSED = {"contract", "nsz", "nnan"}
"""Lets the compiler fuse a multiplication with an addition and turn minima into plain selects."""


@njit(cache=True, fastmath=FUSED)
def _mix(out, share, water, wet, dry, char, x):
    """Conductivity of wet, dry and charred tissue down a column (eq. 3)."""
    for k in range(out.size):
        plain = dry[k] + (wet[k] - dry[k]) * (water[k] * share[k])
        out[k] = plain + (char[k] - plain) * x[k]


@njit(cache=True)
def mix_conductivity(media, water, conversion, floor, last, out):
    """Write the conductivity of wet, dry and charred tissue into `out` (eq. 3)."""
    share = media.inverse_water
    wet, dry, char = media.conductivity_wet, media.conductivity_dry, media.conductivity_char
    for i in range(out.shape[0]):
        top, end = floor[i], last[i]
        if end > top:
            _mix(
                out[i, top:end],
                share[top:],
                water[i, top:],
                wet[top:],
                dry[top:],
                char[top:],
                conversion[i, top:],
            )


@njit(cache=True, fastmath=FUSED)
def _in_series(out, near, far):
    """Conductances of two resistances in series, `near` one cell before `far`."""
    for k in range(out.size):
        out[k] = 2.0 / (near[k] + far[k])


@njit(cache=True, fastmath=FUSED)
def _resist(out, cell, conductivity):
    """Resistance of each cell times area [m2 K/W]."""
    for k in range(out.size):
        out[k] = cell[k] / conductivity[k]


@njit(cache=True, fastmath=FUSED)
def _across(out, width, hi, hj, one, two):
    """Conductances per metre of depth of the faces between two columns of conductivities `one` and `two`."""
    for k in range(out.size):
        out[k] = width * one[k] * two[k] / (hi * two[k] + hj * one[k])


@njit(cache=True)
def join_cells(mesh, conductivity, floor, last, row, vertical, lateral):
    """Write harmonic conductances of faces between cells that are there (eq. 1); others stay as they are."""
    cells = mesh.cell.size
    for i in range(mesh.area.size):
        top, end = floor[i], min(last[i] + 1, cells)
        if end > top + 1:
            _resist(row[top:end], mesh.cell[top:], conductivity[i, top:])
            _in_series(vertical[i, top + 1 : end], row[top:], row[top + 1 :])
    for f in range(mesh.width.size):
        i, j = mesh.pair[f, 0], mesh.pair[f, 1]
        top, end = max(floor[i], floor[j]), min(last[i], last[j])
        if end > top:
            out, one, two = lateral[f, top:end], conductivity[i, top:], conductivity[j, top:]
            _across(out, mesh.width[f], mesh.half[f, 0], mesh.half[f, 1], one, two)


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
    """Write the conductances of exposed faces: floors and, unless it is insulated, the bottom.

    Walls face one another across the crater and lose nothing: what the opening loses, the floors do (eq. 15).
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
        i, j = mesh.pair[f, 0], mesh.pair[f, 1]
        for k in range(min(floor[i], floor[j]), max(floor[i], floor[j])):
            lateral[f, k] = 0.0
