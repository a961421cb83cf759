"""What a column's cells hold, and how hot they are."""

from __future__ import annotations

from spotdwell.kernels.compiled import SUMMED, inner


@inner(fastmath=SUMMED)
def held_still(cell, capacity, temperature):
    """Heat per area of untouched cells [J/m2]."""
    heat = 0.0
    for k in range(temperature.size):
        heat += cell[k] * capacity[k] * temperature[k]
    return heat


@inner(fastmath=SUMMED)
def _held_changed(cell, solid, loss, liquid, water_heat, temperature, water, x):
    """Heat per area of changed cells of full height [J/m2]."""
    heat = 0.0
    for k in range(temperature.size):
        heat += (
            cell[k]
            * (solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k])
            * temperature[k]
        )
    return heat


@inner(forceinline=True)
def held_heat(
    cell, solid, loss, liquid, water_heat, capacity, changed, top, end, left, temperature, water, conversion
):
    """Heat per area that a column's cells which march hold above their initial state [J/m2]."""
    split = min(max(changed, top + 1), end)
    heat = held_above(cell, solid, loss, liquid, water_heat, split, top, left, temperature, water, conversion)
    return heat + held_still(cell[split:], capacity[split:], temperature[split:end])


@inner(forceinline=True)
def held_above(cell, solid, loss, liquid, water_heat, split, top, left, temperature, water, conversion):
    """Heat per area of a column's cells above `split`, those that have changed and the exposed one [J/m2]."""
    # Of the exposed cell only a part may be left.
    heat = _held_changed(
        cell[top:], solid[top:], loss[top:], liquid[top:], water_heat[top:],
        temperature[top:split], water[top:], conversion[top:],
    )  # fmt: skip
    if left != 1.0 and split > top:
        exposed = (
            solid[top] * (1.0 - loss[top] * conversion[top]) + liquid[top] + water[top] * water_heat[top]
        )
        heat += (left - 1.0) * cell[top] * exposed * temperature[top]
    return heat


@inner(fastmath=SUMMED)
def highest(rise):
    """Highest of some rises [K], at least 0."""
    peak = 0.0
    for k in range(rise.size):
        peak = max(peak, rise[k])
    return peak
