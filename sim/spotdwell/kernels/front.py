"""Fronts: cells that are gone, and how deep a column's front lies (eq. 19)."""

from __future__ import annotations

import math

from spotdwell.kernels.compiled import inner
from spotdwell.kernels.slots import MASS, Term


@inner(forceinline=True)
def locate(cell, liquid, rupture, flash, inverse_water, layer, edges, k, left, temperature, water):
    """Depth of a column's front (eq. 19).

    Where a cell burns off, the height that has gone. Otherwise between the last removed cell's centre and the
    floor's, where the rise, or for a liquid the water gone, extrapolates to its limit.
    """
    edge = edges[k]
    if left != 1.0:
        return edge + (1.0 - left) * cell[k]
    if k == 0 or k + 1 >= cell.size or layer[k] != layer[k - 1]:
        return edge
    if liquid[k] > 0.0:
        here, below = 1.0 - water[k] * inverse_water[k], 1.0 - water[k + 1] * inverse_water[k + 1]
    elif water[k] >= flash[k]:
        here, below = temperature[k] / rupture[k], temperature[k + 1] / rupture[k]
    else:
        return edge
    if here <= 0.0 or below <= 0.0 or below >= here:
        return edge
    spacing = 0.5 * (cell[k] + cell[k + 1])
    front = edge + 0.5 * cell[k] + spacing * math.log(min(here, 1.0)) / math.log(here / below)
    return max(front, edge - 0.5 * cell[k - 1])


@inner(forceinline=True)
def expel(cell, solid, loss, liquid, water_heat, mass, top, through, left, temperature, water, x, per_area):
    """Book the heat and mass of cells thrown out or boiled away, down to but not including `through`."""
    for k in range(top, through):
        height = cell[k] if k > top else left * cell[k]
        capacity = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k]
        per_area[Term.CARRIED] += height * capacity * temperature[k]
        per_area[MASS] += height * mass[k]


@inner
def clear(rise, rise_next, source, top, through, ambient_rise):
    """Give gone cells of a column the rise of the surroundings, for the faces of what is left."""
    for k in range(top, through):
        rise[k + 1] = ambient_rise
        rise_next[k + 1] = ambient_rise
        source[k] = 0.0
