"""Beer-Lambert absorption down each column from its exposed cell (eq. 4, 5, 6)."""

from __future__ import annotations

import math

from numba import njit


@njit(cache=True)
def absorb_beam(mesh, media, power, transmittance, water, temperature, work, floor, remains, lit, budget):
    """Write absorbed power per volume into `work.source` and each column's deepest lit cell + 1 into `lit`.

    `power` is the beam's power on each column [W], `remains` the share of each floor cell that has not burned
    off, both (n,). Adds [W] to `budget`: reflected, plume, transmitted.
    Returns the fastest heating of a cell that does not boil, over a tolerance of one kelvin for wet and
    1 + rise / 300 for hot cells [1/s].
    """
    cells = mesh.cell.size
    fastest = 0.0
    for i in range(mesh.area.size):
        source = work.source[i]
        for k in range(floor[i], lit[i]):
            source[k] = 0.0
        lit[i] = floor[i]
        if power[i] <= 0.0:
            continue
        through = power[i] * transmittance
        budget[1] += power[i] - through
        if floor[i] >= cells:
            budget[2] += through
            continue
        reflected = through * media.reflectance[floor[i]]
        budget[0] += reflected
        left = through - reflected
        # The last millionth goes to the cell in which it would fall short: deeper ones may stay at rest.
        faint = 1e-6 * left
        for k in range(floor[i], cells):
            mu = media.absorption_water[k] * water[i, k] + media.absorption_solid[k]
            height = mesh.cell[k] if k > floor[i] else mesh.cell[k] * remains[i]
            taken = left * -math.expm1(-mu * height)
            left -= taken
            if left < faint:
                taken += left
                left = 0.0
            source[k] = taken / (mesh.area[i] * mesh.cell[k])
            # A cell at the boiling point but for round-off boils: it does not bound the step.
            if temperature[i, k] < media.boiling_rise[k] - 1e-6 or water[i, k] == 0.0:
                heating = source[k] * work.inverse_capacity[i, k]
                fastest = max(fastest, heating / (1.0 + max(temperature[i, k], 0.0) / 300.0))
            lit[i] = k + 1
            if left == 0.0:
                break
        budget[2] += left
    return fastest


@njit(cache=True)
def darken(work, floor, lit):
    """Clear the absorbed power: the beam is off."""
    for i in range(lit.size):
        for k in range(floor[i], lit[i]):
            work.source[i, k] = 0.0
        lit[i] = floor[i]
