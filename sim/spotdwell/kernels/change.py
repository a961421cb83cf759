"""What heat does to tissue in a step: steam, rupture, char, damage, blood, burn-off (eq. 7-14, 19, 21)."""

from __future__ import annotations

from spotdwell.kernels.books import held_above, held_still, highest
from spotdwell.kernels.char import burn, char
from spotdwell.kernels.compiled import SUMMED, inner
from spotdwell.kernels.damage import hurt, perfuse
from spotdwell.kernels.front import clear, expel, locate
from spotdwell.kernels.slots import BOOKED
from spotdwell.kernels.steam import escape, prepare_step


@inner(fastmath=SUMMED)
def _settle(temperature, before, current, inverse):
    """Bring cells to the rise of their enthalpy, keeping what they had `before`; returns their highest."""
    peak = 0.0
    for k in range(temperature.size):
        old, new = temperature[k], current[k] * inverse[k]
        before[k], temperature[k] = old, new
        peak = max(peak, max(old, new))
    return peak


@inner(fastmath=SUMMED)
def _settle_still(temperature, before, current, inverse, cell, capacity):
    """The same for untouched cells; returns also their highest now and the heat per area held [J/m2]."""
    warmest, peak, heat = 0.0, 0.0, 0.0
    for k in range(temperature.size):
        old, new = temperature[k], current[k] * inverse[k]
        before[k], temperature[k] = old, new
        warmest, peak = max(warmest, max(old, new)), max(peak, new)
        heat += cell[k] * capacity[k] * new
    return warmest, peak, heat


@inner
def _deepest(top, end, before, temperature, limit):
    """Index below the deepest cell whose rise is, or was, at least its limit."""
    k = end
    while k > top and temperature[k - 1] < limit[k - 1] and before[k - 1] < limit[k - 1]:
        k -= 1
    return k


@inner(apart=3)
def change_tissue(mesh, media, still, state, work, last, step, elapsed, initial, ambient_rise, booked):
    """Change every column after conduction (eq. 7 to 14, 21), take away what leaves and move the fronts.

    Damage is added up for the `elapsed` time since it last was [s]; 0 leaves it to a later step. Adds latent,
    vented, reaction, carried and blood heat [J] and removed mass [kg] to `booked`. Returns the heat that what
    is left of columns that march holds [J], its highest rise [K], and most cells that a front moved over.
    """
    # Arrays are taken out of their tuples once: to hand a tuple of thirty on costs more than a column's work.
    cell, layer, edges, inverse_height = mesh.cell, mesh.layer, mesh.edges, mesh.inverse_height
    solid, loss, liquid, density = (
        media.solid_capacity,
        media.capacity_loss,
        media.liquid_capacity,
        media.density,
    )
    water_heat, boiling, rupture, flash = (
        media.water_heat,
        media.boiling_rise,
        media.rupture_rise,
        media.flash_water,
    )
    initial_water, factor, activation = (
        media.initial_water,
        media.pyrolysis_factor,
        media.pyrolysis_temperature,
    )
    debris_heat, blood = media.debris_heat, media.blood_heat
    damage, dose, changed, fronts = state.damage, state.dose, state.changed, state.front
    before, per_area = work.before, work.per_area
    decay, held, share, charring, reactive = work.decay, work.held, work.share, work.charring, work.reactive
    deepest, bottom = 0, cell.size - 1
    for i in mesh.marching:
        deepest = max(deepest, last[i])
    coolest = prepare_step(
        media.steam_escape_rate, step, decay, held, share, initial_water,
        boiling, factor, activation, initial, charring, reactive, layer, min(deepest + 1, cell.size),
    )  # fmt: skip
    stored, warmest_of, moved = work.stored, work.warmest, 0.0
    for i in mesh.marching:
        top, end, left, area = state.floor[i], last[i], state.left[i], mesh.area[i]
        if end <= top:
            continue
        for m in range(BOOKED):
            per_area[m] = 0.0
        temperature, water, x = state.temperature[i], state.water[i], state.conversion[i]
        current, inverse = work.current[i], work.inverse_capacity[i]
        still_from = min(max(changed[i], top + 1), end)
        warmest = _settle(temperature[top:still_from], before[top:], current[top:], inverse[top:])
        warmest_still, peak_still, heat_still = _settle_still(
            temperature[still_from:end], before[still_from:], current[still_from:], inverse[still_from:],
            cell[still_from:], still.capacity[still_from:],
        )  # fmt: skip
        through, bled = top, False
        hot = top
        if max(warmest, warmest_still) >= coolest:
            lowest = end if warmest_still >= coolest else still_from
            hot = _deepest(top, lowest, before, temperature, reactive)
        if hot > top:
            through = escape(
                cell, decay, held, share, media.latent_heat, water_heat, boiling, liquid, rupture, flash,
                initial_water, solid, loss, top, hot, end, left, before, temperature, water, x, per_area,
            )  # fmt: skip
            # What a cell that left handed on may have made the next one hot.
            hot = max(hot, min(through + 1, end))
            char(
                cell, factor, activation, media.pyrolysis_heat, solid, loss, water_heat,
                top, hot, left, temperature, before, water, x, charring, step, initial, per_area,
            )  # fmt: skip
            changed[i] = max(changed[i], hot)
        if blood[top] > 0.0 and damage.shape[0] > 0:
            bled = True
            perfuse(
                cell, blood, solid, loss, liquid, water_heat,
                top, end, temperature, water, x, damage[0, i], step, per_area,
            )  # fmt: skip
        if elapsed > 0.0:
            hurt(
                media.damage_factor, media.damage_temperature, media.damage_coldest, i, top, end,
                state.damage_rise[i], temperature, damage, dose, initial, elapsed,
            )  # fmt: skip
        if through > top:
            expel(
                cell, solid, loss, liquid, water_heat, density,
                top, through, left, temperature, water, x, per_area,
            )  # fmt: skip
            left = 1.0
        exposed = min(through, bottom)
        through, left, burnt = burn(
            cell, solid, loss, water_heat, density, media.burn_conversion, media.burn_rise,
            media.burn_temperature, layer, through, end, left, temperature, water, x, step, initial, per_area,
        )  # fmt: skip
        if through > top:
            clear(work.rise[i], work.rise_next[i], work.source[i], top, through, ambient_rise)
            end = max(end, through)
            last[i] = end
        state.floor[i], state.left[i] = through, left
        for m in range(BOOKED):
            booked[m] += area * per_area[m]
        state.debris[i] -= state.paid[i] * step
        if through > 0 or left != 1.0:
            front = max(fronts[i], locate(
                cell, liquid, rupture, flash, media.inverse_water, layer, edges, through, left, temperature,
                water,
            ))  # fmt: skip
            gone = front - fronts[i]
            moved = max(moved, gone * inverse_height[min(through, bottom)])
            gone -= burnt
            fronts[i] = front
            if gone > 0.0 and liquid[exposed] == 0.0:
                state.thrown[i] += gone
                state.debris[i] += gone * debris_heat[exposed]
        if end <= through:
            stored[i] = warmest_of[i] = 0.0
            continue
        split = min(max(changed[i], through + 1), end)
        if bled or split != still_from:
            heat_still = held_still(cell[split:], still.capacity[split:], temperature[split:end])
            peak_still = highest(temperature[split:end])
        heat_above = held_above(
            cell, solid, loss, liquid, water_heat, split, through, left, temperature, water, x
        )  # fmt: skip
        stored[i] = area * (heat_above + heat_still)
        warmest_of[i] = max(peak_still, highest(temperature[through:split]))
    total, peak = 0.0, 0.0
    for i in mesh.marching:
        total += stored[i]
        peak = max(peak, warmest_of[i])
    return total, peak, moved
