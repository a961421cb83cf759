"""Beer-Lambert absorption down each column from its exposed cell (eq. 4, 5, 6)."""

from __future__ import annotations

import math

from numba import njit

FAINT = 1e-5
"""Share of a column's light that need not be followed further down."""
BLOCK = 32
"""Cells whose shares of the light are found together."""
MOST_SHADE = 0.9
"""Most of the beam that debris takes at any time [-]."""
LEAST_ABSORPTION = 0.3
"""Share of water's cold absorption below which heat does not bring it (eq. 4)."""


@njit(cache=True, error_model="numpy")
def _film(thickness, growth, thrown):
    """Thickness of the liquefied film [m] once a depth has been thrown out (eq. 9)."""
    if thickness <= 0.0 or thrown <= 0.0:
        return 0.0
    return -thickness * math.expm1(-growth * thrown / thickness)


@njit(cache=True, error_model="numpy", fastmath={"contract", "nsz", "nnan"})
def _shares(cell, wet, solid, slope, cool, water, temperature, film, out):
    """Write the share of the light reaching each cell that it takes (eq. 4, 5, 9)."""
    for k in range(cell.size):
        mu = wet[k] * water[k] * max(1.0 - slope[k] * (temperature[k] - cool[k]), LEAST_ABSORPTION) + solid[k]
        mu /= 1.0 + mu * film if water[k] > 0.0 else 1.0
        y = min(mu * cell[k], 200.0) * (1.0 / 4096.0)
        # 1 - exp(-x) by doubling 1 - exp(-x / 4096), which plain arithmetic gives to 1e-16.
        share = y * (1.0 - y * (0.5 - y * (1.0 / 6.0 - y * (1.0 / 24.0))))
        for _ in range(12):
            share *= 2.0 - share
        out[k] = share


@njit(cache=True, error_model="numpy")
def _steepness(mesh, front, i):
    """Length of the front's normal over its vertical part at column `i` [-]: 1 where it is level (eq. 9)."""
    square = 0.0
    for m in range(mesh.first[i], mesh.first[i + 1]):
        f = mesh.face[m]
        drop = (front[i] - front[mesh.other[m]]) * mesh.ratio[f] / mesh.width[f]
        square += drop * drop
    return math.sqrt(1.0 + 0.5 * square)


@njit(cache=True, error_model="numpy")
def absorb_beam(mesh, media, still, state, power, transmittance, step, clearing, work, lit, budget, pace):
    """Write absorbed power per volume into `work.source` and each column's deepest lit cell + 1 into `lit`.

    `power` is the beam's power on each column [W], (n,); `step` is the last step [s], over which debris is
    taken to claim what it is still owed. Adds [W] to `budget`: reflected, plume (debris too), transmitted.
    Writes into `pace` [1/s]: the fastest heating of a cell, over a tolerance of one kelvin for cold and
    1 + rise / 300 for hot cells; and the fastest rate at which the beam could remove floor cells.
    """
    cells = mesh.cell.size
    floor, water, temperature = state.floor, state.water, state.temperature
    wet, solid = media.absorption_water, media.absorption_solid
    slope, cool, inverse_capacity = media.absorption_slope, media.cool_rise, work.inverse_capacity
    inverse_removal, fastest, crossing, shares = media.inverse_removal, 0.0, 0.0, work.shares
    for i in range(mesh.area.size):
        for k in range(floor[i], lit[i]):
            work.source[i, k] = 0.0
        top = floor[i]
        lit[i] = top
        state.paid[i] = 0.0
        if power[i] <= 0.0:
            continue
        through = power[i] * transmittance
        budget[1] += power[i] - through
        if top >= cells:
            budget[2] += through
            continue
        if state.debris[i] > 0.0:
            # Cells leave one at a time; what they owe is taken over the time in which the next one follows.
            heat = 1.0 / inverse_removal[top] if inverse_removal[top] > 0.0 else 0.0
            follows = mesh.cell[top] * (heat + media.debris_heat[top]) * mesh.area[i] / through
            due = -state.debris[i] * math.expm1(-step / max(clearing, follows)) / step
            shade = min(MOST_SHADE, due * mesh.area[i] / through)
            state.paid[i] = shade * through / mesh.area[i]
            budget[1] += shade * through
            through *= 1.0 - shade
        reach = through / mesh.area[i] * mesh.inverse_height[top] * inverse_removal[top]
        crossing = max(crossing, reach)
        reflected = through * media.reflectance[top]
        budget[0] += reflected
        left = through - reflected
        # The last part goes to the cell in which it would fall short: deeper ones may stay at rest.
        faint = FAINT * left
        film = _film(media.film_thickness[top], media.film_growth[top], state.thrown[i])
        if film > 0.0:
            film *= _steepness(mesh, state.front, i)
        changed, begin, stop = state.changed[i], top, top
        for k in range(top, cells):
            if k == stop:
                begin, stop = k, min(k + BLOCK, cells)
                if film > 0.0 or k < changed or slope[k] != 0.0:
                    _shares(
                        mesh.cell[begin:stop], wet[begin:stop], solid[begin:stop], slope[begin:stop],
                        cool[begin:stop], water[i, begin:stop], temperature[i, begin:stop], film, shares,
                    )  # fmt: skip
                    if k == top and state.left[i] != 1.0:
                        shares[0] = -math.expm1(state.left[i] * math.log1p(-shares[0]))
                else:
                    for m in range(stop - begin):
                        shares[m] = still.absorbed[begin + m]
            taken = left * shares[k - begin]
            left -= taken
            if left < faint:
                taken += left
                left = 0.0
            source = taken / mesh.area[i] * mesh.inverse_height[k]
            work.source[i, k] = source
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
