"""Beer-Lambert absorption down each column from its exposed cell, film and debris (eq. 4, 5, 6, 9)."""

from __future__ import annotations

import math

from spotdwell.kernels.compiled import FUSED, SUMMED, inner
from spotdwell.kernels.slots import Term

FAINT = 1e-5
"""Share of a column's light that need not be followed further down."""
BLOCK = 32
"""Cells whose shares of the light are found together."""
MOST_SHADE = 0.9
"""Most of the beam that debris takes at any time [-]."""
LEAST_ABSORPTION = 0.3
"""Share of water's cold absorption below which heat does not bring it (eq. 4)."""


@inner
def _film(thickness, growth, thrown):
    """Thickness of the liquefied film [m] once a depth has been thrown out (eq. 9)."""
    if thickness <= 0.0 or thrown <= 0.0:
        return 0.0
    return -thickness * math.expm1(-growth * thrown / thickness)


@inner(fastmath=FUSED)
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


@inner
def _steepness(mesh, front, i):
    """Length of the front's normal over its vertical part at column `i` [-]: 1 where it is level (eq. 9)."""
    square = 0.0
    for m in range(mesh.first[i], mesh.first[i + 1]):
        f = mesh.face[m]
        drop = (front[i] - front[mesh.other[m]]) * mesh.ratio[f] / mesh.width[f]
        square += drop * drop
    return math.sqrt(1.0 + 0.5 * square)


@inner
def _dim(shares, left, faint, source):
    """Write the power per area that each cell takes of what is `left` [W/m2].

    Returns how many cells it reaches and what is left; the last part goes to the cell in which it would fall
    short of `faint`: deeper ones may stay at rest.
    """
    for k in range(source.size):
        taken = left * shares[k]
        left -= taken
        if left < faint:
            source[k] = taken + left
            return k + 1, 0.0
        source[k] = taken
    return source.size, left


@inner(fastmath=SUMMED)
def _heat(source, inverse_height, inverse_capacity, temperature):
    """Turn power per area into power per volume [W/m3]; returns the fastest heating of a tolerance [1/s]."""
    fastest = 0.0
    for k in range(source.size):
        power = source[k] * inverse_height[k]
        source[k] = power
        heating = power * inverse_capacity[k] / (1.0 + max(temperature[k], 0.0) * (1.0 / 300.0))
        fastest = max(fastest, heating)
    return fastest


@inner
def absorb_beam(mesh, media, still, state, power, transmittance, step, clearing, work, lit, budget):
    """Write absorbed power per volume into `work.source` and each column's deepest lit cell + 1 into `lit`.

    `power` is the beam's power on each column [W], (n,); `step` is the last step [s], over which debris is
    taken to claim what it is still owed. Writes reflected, plume (debris too) and transmitted power [W] into
    their terms of `budget`. Returns two rates [1/s]: the fastest heating of a cell, over a tolerance of one
    kelvin for cold and 1 + rise / 300 for hot cells; and the fastest at which the beam could remove floors.
    """
    cells, cell, inverse_height = mesh.cell.size, mesh.cell, mesh.inverse_height
    wet, solid = media.absorption_water, media.absorption_solid
    slope, cool, inverse_removal = media.absorption_slope, media.cool_rise, media.inverse_removal
    fastest, crossing, shares = 0.0, 0.0, work.shares
    lost_plume, lost_through, lost_reflected = 0.0, 0.0, 0.0
    for i in mesh.marching:
        top, before = state.floor[i], lit[i]
        source, water, temperature = work.source[i], state.water[i], state.temperature[i]
        lit[i] = top
        state.paid[i] = 0.0
        if power[i] <= 0.0:
            source[top:before] = 0.0
            continue
        through = power[i] * transmittance
        lost_plume += power[i] - through
        if top >= cells:
            lost_through += through
            continue
        area = mesh.area[i]
        if state.debris[i] > 0.0:
            # Cells leave one at a time; what they owe is taken over the time in which the next one follows.
            heat = 1.0 / inverse_removal[top] if inverse_removal[top] > 0.0 else 0.0
            follows = cell[top] * (heat + media.debris_heat[top]) * area / through
            due = -state.debris[i] * math.expm1(-step / max(clearing, follows)) / step
            shade = min(MOST_SHADE, due * area / through)
            state.paid[i] = shade * through / area
            lost_plume += shade * through
            through *= 1.0 - shade
        crossing = max(crossing, through / area * inverse_height[top] * inverse_removal[top])
        reflected = through * media.reflectance[top]
        lost_reflected += reflected
        left = (through - reflected) / area
        faint = FAINT * left
        film = _film(media.film_thickness[top], media.film_growth[top], state.thrown[i])
        if film > 0.0:
            film *= _steepness(mesh, state.front, i)
        begin = top
        while begin < cells and left > 0.0:
            stop = min(begin + BLOCK, cells)
            if film > 0.0 or begin < state.changed[i] or slope[begin] != 0.0 or slope[stop - 1] != 0.0:
                _shares(
                    cell[begin:stop], wet[begin:stop], solid[begin:stop], slope[begin:stop],
                    cool[begin:stop], water[begin:stop], temperature[begin:stop], film, shares,
                )  # fmt: skip
                if begin == top and state.left[i] != 1.0:
                    shares[0] = -math.expm1(state.left[i] * math.log1p(-shares[0]))
                reached, left = _dim(shares, left, faint, source[begin:stop])
            else:
                reached, left = _dim(still.absorbed[begin:stop], left, faint, source[begin:stop])
            begin += reached
        lit[i] = begin
        heating = _heat(
            source[top:begin],
            inverse_height[top:begin],
            work.inverse_capacity[i, top:begin],
            temperature[top:begin],
        )
        fastest = max(fastest, heating)
        lost_through += left * area
        if before > begin:
            source[begin:before] = 0.0
    budget[Term.PLUME], budget[Term.TRANSMITTED], budget[Term.REFLECTED] = (
        lost_plume,
        lost_through,
        lost_reflected,
    )
    return fastest, crossing


@inner
def darken(mesh, work, floor, lit, budget):
    """Clear the absorbed power and what became of the rest: the beam is off."""
    for i in mesh.marching:
        for k in range(floor[i], lit[i]):
            work.source[i, k] = 0.0
        lit[i] = floor[i]
    budget[Term.PLUME] = budget[Term.TRANSMITTED] = budget[Term.REFLECTED] = 0.0


@inner
def falling(mesh, light, time, step, out):
    """Write the mean power that falls on columns from `time` on over a `step` [W]; returns that sent."""
    spell, last = light.spell, light.sent.size - 1
    k = min(max(int((time - light.begin) / spell), 0), last)
    sent, now, end = 0.0, time, time + step
    for i in mesh.marching:
        out[i] = 0.0
    while now < end:
        until = end if k == last else min(end, light.begin + (k + 1) * spell)
        share = (until - now) / step
        if share > 0.0:
            sent += share * light.sent[k]
            for i in mesh.marching:
                out[i] += share * light.power[k, i]
            now = until
        k += 1
    return sent


@inner
def rest(mesh, media, state, power, step, clearing):
    """Let the film set and debris clear, in `clearing` [s], over a `step` [s] where no beam falls."""
    kept = math.exp(-step / clearing)
    for i in mesh.marching:
        if power[i] > 0.0:
            continue
        state.paid[i] = 0.0
        state.debris[i] = max(state.debris[i], 0.0) * kept
        if state.thrown[i] > 0.0:
            k = min(state.floor[i], media.film_rate.size - 1)
            state.thrown[i] *= math.exp(-step * media.film_rate[k])
