"""Pyrolysis, and char that burns off (eq. 10, 11, 14)."""

from __future__ import annotations

import math

import numpy as np

from spotdwell.kernels.compiled import inner
from spotdwell.kernels.slots import MASS, Term

SLIVER = 0.5
"""Share of a cell's height below which the rest of it joins the next: a thinner one stiffens the march."""
BURN_OFF_SPEED = 1e-3
"""Speed at which a face burns back at its burn-off temperature [m/s]."""


@inner
def _convert(x, rise, before, step, initial, factor, activation, heat, solid, loss, wet):
    """Conversion after a step with the temperature drop that it causes (eq. 10, 11), and the rise then.

    `wet` is the heat capacity of water in the cell [J/m3/K]. The root of x1 - 1 + (1 - x0) exp(-k(T(x1)) dt)
    is bracketed by [x0, 1]: the left side grows with x1.
    """
    rate = factor * math.exp(-activation / (initial + rise))
    if rate * step * (1.0 - x) < 1e-9:
        return x, rise
    low, high = x, 1.0
    x1 = 1.0 - (1.0 - x) * math.exp(-rate * step)
    drop = heat / (solid * (1.0 - loss * x1) + wet)
    if drop * (x1 - x) * activation < 1e-3 * (initial + rise) * (initial + rise):
        # So little that the rate hardly falls: no need to look for the root.
        return x1, rise - drop * (x1 - x)
    # Where char forms steadily, what a step heats the reaction cools: it ends about as warm as it was before.
    x1 = min(x1, x + max(rise - before, 0.0) / drop)
    for _ in range(60):
        drop = heat / (solid * (1.0 - loss * x1) + wet)
        warm = max(initial + rise - drop * (x1 - x), 1.0)
        rate = factor * math.exp(-activation / warm)
        decay = (1.0 - x) * math.exp(-rate * step)
        miss = x1 - 1.0 + decay
        if miss > 0.0:
            high = x1
        else:
            low = x1
        if abs(miss) < 1e-8 or high - low < 1e-12:
            break
        # Newton on the dominant term, kept inside the bracket.
        x1 -= miss / (1.0 + decay * step * rate * activation / (warm * warm) * drop)
        if x1 <= low or x1 >= high:
            x1 = 0.5 * (low + high)
    return x1, rise - heat * (x1 - x) / (solid * (1.0 - loss * x1) + wet)


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
