"""Steam that escapes from superheated cells, and cells that rupture (eq. 7, 8, 13)."""

from __future__ import annotations

import math

import numpy as np

from spotdwell.kernels.char import FAINT
from spotdwell.kernels.compiled import ONE, inner
from spotdwell.kernels.slots import Term

TRACE = 1e-3
"""Share of its first water below which a cell gives up the rest: else the last would take for ever."""


@inner
def prepare_step(
    escape_rate, step, decay, held, share, initial_water,
    boiling, factor, activation, initial, charring, reactive, layer, end,
):  # fmt: skip
    """Write what a step asks of each cell: how steam escapes, from which rises on something happens.

    Of steam: how many times over it escapes, and the shares that are left of superheat there was and of what
    comes. Of rises [K]: from which cells pyrolyse by more than `FAINT` in the step, and from which they do or
    are superheated. Returns the lowest of the last.
    """
    coolest = math.inf
    for k in range(end):
        if k > 0 and layer[k] == layer[k - 1]:
            decay[k], held[k], share[k] = decay[k - 1], held[k - 1], share[k - 1]
            charring[k], reactive[k] = charring[k - 1], reactive[k - 1]
            continue
        often = factor[k] * step / FAINT
        charring[k] = activation[k] / math.log(often) - initial if often > 1.0 else math.inf
        # But for round-off.
        reactive[k] = min(boiling[k] if initial_water[k] > 0.0 else math.inf, charring[k]) - 1e-6
        coolest = min(coolest, reactive[k])
        times = escape_rate[k] * step
        decay[k], held[k] = times, math.exp(-times)
        share[k] = -math.expm1(-times) / times if times > 0.0 else 1.0
    return coolest


@inner
def _spent(before, after, decay, held, share):
    """Superheat that steam takes with it in a step [J/m3] (eq. 8).

    The heat above boiling was `before`, and would be `after` if no steam escaped; between the two it grows
    straight, and a share of it escapes at a constant rate, `decay` times over in the step.
    """
    if decay == 0.0 or max(before, after) <= 0.0:
        return 0.0
    if math.isinf(decay):
        return max(before, after)
    if before <= 0.0:
        late = decay * after / (after - before)
        return after * (1.0 + math.expm1(-late) / late) if late > 0.0 else 0.0
    if after < before:
        # It cools without steam too, and may fall to boiling within the step: none escapes from then on.
        until = math.log1p(decay * before / (before - after)) / decay
        if until < 1.0:
            return before - (before - after) * until
    return after - before * held - (after - before) * share


@inner(forceinline=True)
def escape(
    cell, decay, held, share, latent, water_heat, boiling, liquid, rupture, flash, initial_water, solid, loss,
    top, hot, end, left, before, temperature, water, conversion, per_area,
):  # fmt: skip
    """Let steam escape from superheated cells, and find what ruptures (eq. 7, 8, 13).

    Below `hot` no cell is superheated of itself; what a leaving cell hands on may reach it. Writes the
    column's rises and water, adds latent heat and vented heat per area to `per_area` [J/m2], and returns
    the index below the deepest cell that leaves. A cell that passes its limit within the step leaves as it
    was at the limit; the next cell gets what it gained after that.
    """
    through, surplus, bare, latent_heat, vented = top, 0.0, True, 0.0, 0.0
    for k in range(np.uint64(top), np.uint64(end)):
        if surplus == 0.0 and k >= hot:
            break
        # A liquid holds nothing back; solid that stays does.
        exposed = bare
        bare = bare and liquid[k] > 0.0
        wet = water[k]
        capacity = solid[k] * (1.0 - loss[k] * conversion[k]) + liquid[k] + wet * water_heat[k]
        height = left * cell[k] if k == top else cell[k]
        rise = temperature[k]
        if surplus != 0.0:
            rise += surplus / (height * capacity)
            surplus = 0.0
            temperature[k] = rise
        if wet == 0.0:
            continue
        first, last = capacity * (before[k] - boiling[k]), capacity * (rise - boiling[k])
        spent = _spent(first, last, decay[k], held[k], share[k])
        if spent <= 0.0 and rise < rupture[k]:
            continue
        mass = min(spent / latent[k], wet * (1.0 - held[k]))
        if wet - mass < TRACE * initial_water[k] and last >= wet * latent[k]:
            mass = wet
        left_water = wet - mass
        water[k] = left_water
        latent_heat += height * mass * latent[k]
        vented += height * mass * water_heat[k] * boiling[k]
        heat = capacity * rise - mass * (latent[k] + water_heat[k] * boiling[k])
        capacity -= mass * water_heat[k]
        temperature[k] = heat / capacity
        if liquid[k] > 0.0:
            if left_water < 1e-9 * initial_water[k]:
                through = np.int64(k + ONE)
                if through < end:
                    surplus = max(heat - capacity * boiling[k], 0.0) * height
                    temperature[k] -= surplus / (height * capacity)
        elif exposed and temperature[k] >= rupture[k] and left_water >= flash[k]:
            through, bare = np.int64(k + ONE), True
            if through < end:
                surplus = (heat - capacity * rupture[k]) * height
                temperature[k] = rupture[k]
    per_area[Term.LATENT] += latent_heat
    per_area[Term.VENTED] += vented
    return through
