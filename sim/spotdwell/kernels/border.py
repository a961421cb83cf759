"""The border of columns that marched alone: what would have flowed over it flows at once (eq. 27)."""

from __future__ import annotations

import math

from spotdwell.kernels.compiled import inner
from spotdwell.kernels.entry import outer
from spotdwell.kernels.ready import join_across


@inner
def _capacity(mesh, media, state, i, k):
    """Heat capacity of a cell of a column [J/K]."""
    capacity = media.solid_capacity[k] * (1.0 - media.capacity_loss[k] * state.conversion[i, k])
    capacity += media.liquid_capacity[k] + state.water[i, k] * media.water_heat[k]
    if k == state.floor[i]:
        capacity *= state.left[i]
    return capacity * mesh.cell[k] * mesh.area[i]


@inner
def _flow(mesh, media, state, work, i, j, face, begin, end, time):
    """Add to `work.previous` the heat that flows between two columns [J]."""
    one, two = mesh.pair[face, 0], mesh.pair[face, 1]
    lateral = work.row
    join_across(
        work.conductivity[one, begin:end], work.conductivity[two, begin:end],
        mesh.width[face], mesh.half[face, 0], mesh.half[face, 1], lateral[begin:end],
    )  # fmt: skip
    for k in range(begin, end):
        here, there = _capacity(mesh, media, state, i, k), _capacity(mesh, media, state, j, k)
        both = here * there / (here + there)
        heat = (state.temperature[j, k] - state.temperature[i, k]) * both
        heat *= -math.expm1(-lateral[k] * mesh.cell[k] * time / both)
        work.previous[i, k] += heat
        work.previous[j, k] -= heat


@inner
def _take(mesh, media, state, work, i, end):
    """Have a column take the heat that flowed to it down to a cell."""
    heat, warmest = 0.0, 0.0
    for k in range(state.floor[i], end):
        state.temperature[i, k] += work.previous[i, k] / _capacity(mesh, media, state, i, k)
        warmest = max(warmest, state.temperature[i, k])
        heat += work.previous[i, k]
    work.stored[i] += heat
    work.warmest[i] = warmest


@outer
def make_up(media, state, work, deep, mesh, inside, time):
    """Let heat flow for a `time` [s] between columns that march and their neighbours that are not `inside`.

    `inside` tells columns that march, (n,); `deep` is how deep each column is warm [index], and grows. Heat
    flows by the rises before any of it has. Returns over how many faces it did.
    """
    touched, reached, count = work.scratch[0], work.scratch[1], 0
    touched[:] = 0
    for taking in range(2):
        for i in mesh.marching:
            for m in range(mesh.first[i], mesh.first[i + 1]):
                j = mesh.other[m]
                if inside[j]:
                    continue
                for c in (i, j):
                    if taking == 0 and touched[c] == 0:
                        touched[c], reached[c] = 1, 0
                        work.previous[c, :] = 0.0
                    elif taking == 1 and touched[c] == 1:
                        touched[c] = 0
                        _take(mesh, media, state, work, c, reached[c])
                        deep[c] = max(deep[c], reached[c])
                end = max(deep[i], deep[j])
                if taking == 0 and end > 1:
                    count += 1
                    reached[i], reached[j] = max(reached[i], end), max(reached[j], end)
                    begin = max(state.floor[i], state.floor[j])
                    _flow(mesh, media, state, work, i, j, mesh.face[m], begin, end, time)
    return count
