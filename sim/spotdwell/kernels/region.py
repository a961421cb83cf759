"""The active region: which cells march, and how hot they are."""

from __future__ import annotations

from numba import njit


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
