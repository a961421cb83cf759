"""Pyrolysis, and char that burns off (eq. 10, 11, 14)."""

from __future__ import annotations

import math

import numpy as np

from spotdwell.kernels.compiled import inner
from spotdwell.kernels.slots import MASS, Term

SLIVER = 0.5
"""Share of a cell's height below which the rest of it joins the next: a thinner one stiffens the march."""
FAINT = 1e-7
"""Share of a cell that may convert in a step and is not followed: a shot has some hundred steps that hot."""
BURN_OFF_SPEED = 1e-3
"""Speed at which a face burns back at its burn-off temperature [m/s]."""


@inner
def _convert(x, rise, before, step, initial, factor, activation, heat, solid, loss, wet):
    """Conversion after a step with the temperature drop that it causes (eq. 10, 11), and the rise then.

    `wet` is the heat capacity of water in the cell [J/m3/K]. What is gained, x1 - x0, is the root of
    gain - (1 - x0) (1 - exp(-k(T(gain)) dt)), which grows with it, between 0 and the gain without a drop.
    """
    hot, room = initial + rise, 1.0 - x
    often = factor * math.exp(-activation / hot) * step
    if often * room < FAINT:
        return x, rise
    high = -room * math.expm1(-often)
    drop = heat / (solid * (1.0 - loss * (x + high)) + wet)
    curb = drop * activation / (hot * hot)
    if curb * high < 0.02:
        # So little that the rate hardly falls: one step of Newton's is good to 2e-4.
        gain = high / (1.0 + curb * often * (room - high))
    else:
        # Where char forms steadily, what a step heats the reaction cools: it ends about as warm as before.
        gain = _root(
            min(high, max(rise - before, 0.0) / drop),
            high,
            x,
            step,
            hot,
            factor,
            activation,
            heat,
            solid,
            loss,
            wet,
        )
    return x + gain, rise - heat * gain / (solid * (1.0 - loss * (x + gain)) + wet)


@inner
def _root(gain, high, x, step, hot, factor, activation, heat, solid, loss, wet):
    """The `gain` in conversion from a first guess, up to `high`; `hot` is the temperature before [K]."""
    low, room = 0.0, 1.0 - x
    for _ in range(60):
        drop = heat / (solid * (1.0 - loss * (x + gain)) + wet)
        warm = max(hot - drop * gain, 1.0)
        often = factor * math.exp(-activation / warm) * step
        stays = room * math.exp(-often)
        miss = gain - room + stays
        if miss > 0.0:
            high = gain
        else:
            low = gain
        # Newton on the dominant term, kept inside the bracket; so near the root its next step is below 1e-8.
        change = miss / (1.0 + stays * often * activation / (warm * warm) * drop)
        gain -= change
        if gain <= low or gain >= high:
            gain = 0.5 * (low + high)
            if high - low < 1e-12:
                break
        elif abs(change) < 1e-4 * gain:
            break
    return gain


@inner(forceinline=True)
def char(
    cell, factor, activation, heat, solid, loss, water_heat,
    top, end, left, temperature, before, water, conversion, charring, step, initial, per_area,
):  # fmt: skip
    """Convert hot solids down a column; adds vented heat and heat of reaction per area (eq. 10, 11)."""
    vented, reaction = 0.0, 0.0
    for k in range(np.uint64(top), np.uint64(end)):
        if conversion[k] >= 1.0 or temperature[k] < charring[k]:
            continue
        x, rise = conversion[k], temperature[k]
        x1, after = _convert(
            x, rise, before[k], step, initial, factor[k], activation[k], heat[k], solid[k], loss[k],
            water[k] * water_heat[k],
        )  # fmt: skip
        height = cell[k] if k > top else left * cell[k]
        vented += height * solid[k] * loss[k] * (x1 - x) * rise
        reaction += height * heat[k] * (x1 - x)
        conversion[k] = x1
        temperature[k] = after
    per_area[Term.VENTED] += vented
    per_area[Term.REACTION] += reaction


@inner
def _merge(cell, solid, loss, k, left, temperature, x):
    """Join what is left of cell `k` to the dry one below; returns the height of both over that cell's own."""
    above, below = left * cell[k], cell[k + 1]
    one = above * solid[k] * (1.0 - loss[k] * x[k])
    two = below * solid[k + 1] * (1.0 - loss[k + 1] * x[k + 1])
    temperature[k + 1] = (one * temperature[k] + two * temperature[k + 1]) / (one + two)
    x[k + 1] = (above * x[k] + below * x[k + 1]) / (above + below)
    return (above + below) / below


@inner(forceinline=True)
def burn(
    cell, solid, loss, water_heat, mass, limit, hot, activation, layer,
    through, end, left, temperature, water, conversion, step, initial, per_area,
):  # fmt: skip
    """Burn converted tissue back at the speed that its face's temperature asks for (eq. 14).

    The temperature runs straight from each exposed cell to the next. Adds heat carried off and mass per area;
    returns the index of the exposed cell, its height over the grid's, and the depth burnt [m].
    """
    burnt, time = 0.0, step
    while through < end and conversion[through] >= limit[through] and time > 0.0:
        k = through
        height, slope = left * cell[k], 0.0
        if k + 1 < end:
            slope = max((temperature[k] - temperature[k + 1]) / (0.5 * (height + cell[k + 1])), 0.0)
        face = initial + temperature[k] + 0.5 * slope * height
        speed = BURN_OFF_SPEED * math.exp(activation[k] / (initial + hot[k]) - activation[k] / face)
        gone = min(speed * time, height)
        if gone < 1e-9 * cell[k]:
            break
        time = time - gone / speed if gone == height else 0.0
        burnt += gone
        dry = k + 1 < end and water[k] == 0.0 and water[k + 1] == 0.0 and layer[k] == layer[k + 1]
        if height - gone < SLIVER * cell[k] and not dry:
            burnt += height - gone
            gone = height
        capacity = solid[k] * (1.0 - loss[k] * conversion[k]) + water[k] * water_heat[k]
        per_area[Term.CARRIED] += gone * capacity * (temperature[k] + 0.5 * slope * (height - gone))
        per_area[MASS] += gone * mass[k]
        if gone == height:
            through, left = k + 1, 1.0
            continue
        temperature[k] -= 0.5 * slope * gone
        left -= gone / cell[k]
        if left < SLIVER:
            left = _merge(cell, solid, loss, k, left, temperature, conversion)
            through = k + 1
    return through, left, burnt
