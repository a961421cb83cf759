"""Beer-Lambert absorption down each column from its exposed cell (eq. 4, 5, 6)."""

from __future__ import annotations

import math

from numba import njit


@njit(cache=True, error_model="numpy")
def absorb_beam(mesh, media, still, state, power, transmittance, work, lit, budget, pace):
    """Write absorbed power per volume into `work.source` and each column's deepest lit cell + 1 into `lit`.

    `power` is the beam's power on each column [W], (n,). Adds [W] to `budget`: reflected, plume, transmitted.
    Writes into `pace` [1/s]: the fastest heating of a cell that does not boil, over a tolerance of one kelvin
    for wet and 1 + rise / 300 for hot cells; and the fastest rate at which the beam could remove floor cells.
    """
    cells = mesh.cell.size
    floor, water, temperature = state.floor, state.water, state.temperature
    wet, solid, boiling = media.absorption_water, media.absorption_solid, media.boiling_rise
    inverse_capacity = work.inverse_capacity
    inverse_removal, fastest, crossing = media.inverse_removal, 0.0, 0.0
    for i in range(mesh.area.size):
        for k in range(floor[i], lit[i]):
            work.source[i, k] = 0.0
        lit[i] = floor[i]
        if power[i] <= 0.0:
            continue
        through = power[i] * transmittance
        budget[1] += power[i] - through
        if floor[i] >= cells:
            budget[2] += through
            continue
        reach = power[i] / mesh.area[i] * mesh.inverse_height[floor[i]] * inverse_removal[floor[i]]
        crossing = max(crossing, reach)
        reflected = through * media.reflectance[floor[i]]
        budget[0] += reflected
        left = through - reflected
        # The last millionth goes to the cell in which it would fall short: deeper ones may stay at rest.
        faint = 1e-6 * left
        for k in range(floor[i], cells):
            share = still.absorbed[k]
            if k < state.changed[i]:
                height = mesh.cell[k] if k > floor[i] else mesh.cell[k] * state.left[i]
                share = -math.expm1(-(wet[k] * water[i, k] + solid[k]) * height)
            taken = left * share
            left -= taken
            if left < faint:
                taken += left
                left = 0.0
            source = taken / mesh.area[i] * mesh.inverse_height[k]
            work.source[i, k] = source
            # A cell at the boiling point but for round-off boils: it does not bound the step.
            if temperature[i, k] < boiling[k] - 1e-6 or water[i, k] == 0.0:
                heating = source * inverse_capacity[i, k]
                fastest = max(fastest, heating / (1.0 + max(temperature[i, k], 0.0) / 300.0))
            lit[i] = k + 1
            if left == 0.0:
                break
        budget[2] += left
    pace[0], pace[1] = fastest, crossing


@njit(cache=True, error_model="numpy")
def darken(work, floor, lit):
    """Clear the absorbed power: the beam is off."""
    for i in range(lit.size):
        for k in range(floor[i], lit[i]):
            work.source[i, k] = 0.0
        lit[i] = floor[i]
