"""What heat does to tissue in a step: boiling, steam, char, damage, blood, removal (eq. 7-14, 19, 21)."""

from __future__ import annotations

import math

from numba import njit

GAS_CONSTANT = 8.314462618
COLDEST_DAMAGE = 313.15
DOSE_REFERENCE = 316.15
SLIVER = 0.5
"""Share of a cell's height below which the rest of it goes too: a thinner one stiffens the march."""


@njit(cache=True)
def _convert(x, rise, step, initial, factor, activation, heat, solid, loss):
    """Conversion after a step with the temperature drop that it causes (eq. 10, 11), and the rise then.

    The root of x1 - 1 + (1 - x0) exp(-k(T(x1)) dt) is bracketed by [x0, 1]: the left side grows with x1.
    """
    rate = factor * math.exp(-activation / (initial + rise))
    if rate * step * (1.0 - x) < 1e-9:
        return x, rise
    low, high = x, 1.0
    x1 = 1.0 - (1.0 - x) * math.exp(-rate * step)
    for _ in range(60):
        drop = heat / (solid * (1.0 - loss * x1))
        warm = max(initial + rise - drop * (x1 - x), 1.0)
        rate = factor * math.exp(-activation / warm)
        decay = (1.0 - x) * math.exp(-rate * step)
        miss = x1 - 1.0 + decay
        if miss > 0.0:
            high = x1
        else:
            low = x1
        if abs(miss) < 1e-10 or high - low < 1e-12:
            break
        # Newton on the dominant term, kept inside the bracket.
        x1 -= miss / (1.0 + decay * step * rate * activation / (warm * warm) * drop)
        if x1 <= low or x1 >= high:
            x1 = 0.5 * (low + high)
    return x1, rise - heat * (x1 - x) / (solid * (1.0 - loss * x1))


@njit(cache=True)
def _mean_rate(log_factor, activation, before, after):
    """Mean of an Arrhenius rate over a step in which its logarithm runs straight (eq. 12)."""
    a = log_factor - activation / before
    b = log_factor - activation / after
    half = 0.5 * (b - a)
    if abs(half) > 0.3:
        return (math.exp(b) - math.exp(a)) / (b - a)
    # sinh(half) / half to 2e-10, at half the price.
    square = half * half
    return math.exp(0.5 * (a + b)) * (1.0 + square / 6.0 * (1.0 + square / 20.0 * (1.0 + square / 42.0)))


@njit(cache=True)
def _injure(omega, log_factor, activation, start, inverse, rise, initial, step):
    """Add a step's damage by one process down a column (eq. 12)."""
    for k in range(omega.size):
        before, after = initial + start[k] * inverse[k], initial + rise[k]
        if (before > COLDEST_DAMAGE or after > COLDEST_DAMAGE) and log_factor[k] > -math.inf:
            omega[k] += step * _mean_rate(log_factor[k], activation[k], before, after)


@njit(cache=True)
def _dose(dose, start, inverse, rise, initial, step):
    """Add a step's CEM43 down a column (eq. 12b)."""
    for k in range(dose.size):
        warm = initial + 0.5 * (start[k] * inverse[k] + rise[k]) - DOSE_REFERENCE
        base = 0.5 if warm >= 0.0 else 0.25
        # 60 K above the reference is far beyond the dose's range: more would only overflow.
        dose[k] += step * base ** (-min(warm, 60.0))


@njit(cache=True)
def _crossing(limit, before, after):
    """Share of the step after which a quantity that grew straight from `before` to `after` met `limit`."""
    if after <= before:
        return 1.0
    return min(max((limit - before) / (after - before), 0.0), 1.0)


@njit(cache=True)
def _settle(temperature, steam, current, inverse, held):
    """Bring cells that do not boil to the rise of their enthalpy, and let steam leak (eq. 8)."""
    for k in range(temperature.size):
        temperature[k] = current[k] * inverse[k]
    for k in range(steam.size):
        steam[k] *= held[k]


@njit(cache=True)
def _boil(
    cell, held, share, latent, water_heat, boiling, liquid, critical, initial_water, solid, loss,
    top, end, current, inverse, boil, temperature, water, steam, conversion, area_heat,
):  # fmt: skip
    """Evaporate what each cell's enthalpy pays for, hold the steam, find what is thrown out (eq. 7, 8, 13).

    Writes the column's rises, water and steam, adds latent heat and vented heat per area to `area_heat`
    [J/m2], and returns the index below the deepest cell that leaves. A cell that crosses its limit within the
    step leaves as it was at the crossing; the next cell gets what it gained after that.
    """
    _settle(temperature[top:end], steam[top:end], current[top:], inverse[top:], held[top:])
    through, surplus = top, 0.0
    for k in range(top, end):
        if surplus == 0.0 and (current[k] <= boil[k] or water[k] == 0.0):
            continue
        enthalpy = current[k] + surplus / cell[k]
        surplus = 0.0
        if enthalpy <= boil[k] or water[k] == 0.0:
            temperature[k] = enthalpy * inverse[k]
            continue
        made = (enthalpy - boil[k]) / latent[k]
        mass = min(water[k], made)
        kept = steam[k]
        steam[k] = kept + mass * share[k]
        # A liquid goes with its last trace, which is dropped below.
        dried = water[k] - mass < 1e-9 * initial_water[k]
        leaves = dried if liquid[k] > 0.0 else steam[k] >= critical[k]
        if leaves:
            through = k + 1
            if k + 1 < end:
                # Steam that its enthalpy would pay for beyond its water counts: the crossing lies earlier.
                if liquid[k] == 0.0:
                    whole = kept + made * share[k]
                    mass = min(mass, made * _crossing(critical[k], kept / held[k], whole))
                surplus = (enthalpy - boil[k] - mass * latent[k]) * cell[k]
                enthalpy = boil[k] + mass * latent[k]
        left = water[k] - mass
        if left < 1e-9 * initial_water[k]:
            # A trace too small to matter would keep the cell from counting as dry; it leaves as steam.
            left = 0.0
        mass = water[k] - left
        water[k] = left
        area_heat[0] += cell[k] * mass * latent[k]
        area_heat[1] += cell[k] * mass * water_heat[k] * boiling[k]
        enthalpy -= mass * (latent[k] + water_heat[k] * boiling[k])
        dry = solid[k] * (1.0 - loss[k] * conversion[k]) + liquid[k]
        temperature[k] = enthalpy / (dry + left * water_heat[k])
    return through


@njit(cache=True)
def _char(
    cell, factor, activation, heat, solid, loss,
    top, end, left, temperature, water, conversion, step, initial, area_heat,
):  # fmt: skip
    """Convert dry, hot solids down a column; adds vented heat and heat of reaction per area (eq. 10, 11)."""
    for k in range(top, end):
        if water[k] > 0.0 or conversion[k] >= 1.0 or factor[k] == 0.0 or initial + temperature[k] < 400.0:
            continue
        x, rise = conversion[k], temperature[k]
        x1, after = _convert(x, rise, step, initial, factor[k], activation[k], heat[k], solid[k], loss[k])
        height = cell[k] if k > top else left * cell[k]
        area_heat[1] += height * solid[k] * loss[k] * (x1 - x) * rise
        area_heat[2] += height * heat[k] * (x1 - x)
        conversion[k] = x1
        temperature[k] = after


@njit(cache=True)
def _perfuse(
    cell, blood, solid, loss, liquid, water_heat, top, end, temperature, water, x, omega, step, area_heat
):
    """Bring cells that blood still reaches towards its temperature, which is the initial one (eq. 21)."""
    for k in range(top, end):
        if blood[k] > 0.0 and omega[k] < 1.0:
            capacity = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k]
            cooled = temperature[k] * math.exp(-blood[k] * step / capacity)
            area_heat[4] += cell[k] * capacity * (temperature[k] - cooled)
            temperature[k] = cooled


@njit(cache=True)
def _burn(cell, solid, loss, mass, limit, hot, through, end, left, temperature, conversion, area_heat):
    """Burn off converted tissue down to where the burn-off temperature lies (eq. 14).

    The temperature runs straight from each exposed cell to the next, so that part of a cell may go. Adds heat
    carried off and mass per area; returns the index of the exposed cell and the share of it that is left.
    """
    while through < end and conversion[through] >= limit[through]:
        k = through
        height, slope = left * cell[k], 0.0
        if k + 1 < end:
            slope = (temperature[k] - temperature[k + 1]) / (0.5 * (height + cell[k + 1]))
        excess = temperature[k] + 0.5 * max(slope, 0.0) * height - hot[k]
        if excess <= 0.0:
            break
        gone = height if excess >= slope * height else excess / slope
        if height - gone < SLIVER * cell[k]:
            gone = height
        capacity = solid[k] * (1.0 - loss[k] * conversion[k])
        area_heat[3] += gone * capacity * (temperature[k] + 0.5 * slope * (height - gone))
        area_heat[5] += gone * mass[k]
        if gone < height:
            temperature[k] -= 0.5 * slope * gone
            left -= gone / cell[k]
            break
        through, left = k + 1, 1.0
    return through, left


@njit(cache=True)
def _locate(cell, liquid, critical, inverse_water, layer, edges, k, left, water, steam):
    """Depth of a column's front (eq. 19).

    Where a cell burns off, the height that has gone. Otherwise between the last removed cell's centre and the
    floor's, where trapped steam, or for a liquid the water gone, extrapolates to its limit.
    """
    edge = edges[k]
    if left < 1.0:
        return edge + (1.0 - left) * cell[k]
    if k == 0 or k + 1 >= cell.size or layer[k] != layer[k - 1]:
        return edge
    if liquid[k] > 0.0:
        here, below = 1.0 - water[k] * inverse_water[k], 1.0 - water[k + 1] * inverse_water[k + 1]
    else:
        here, below = steam[k] / critical[k], steam[k + 1] / critical[k + 1]
    if here <= 0.0 or below <= 0.0 or below >= here:
        return edge
    spacing = 0.5 * (cell[k] + cell[k + 1])
    front = edge + 0.5 * cell[k] + spacing * math.log(min(here, 1.0)) / math.log(here / below)
    return max(front, edge - 0.5 * cell[k - 1])


@njit(cache=True)
def _expel(cell, solid, loss, liquid, water_heat, mass, top, through, left, temperature, water, x, area_heat):
    """Book the heat and mass of cells thrown out or dried up, down to but not including `through`."""
    for k in range(top, through):
        height = cell[k] if k > top else left * cell[k]
        capacity = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k]
        area_heat[3] += height * capacity * temperature[k]
        area_heat[5] += height * mass[k]


@njit(cache=True)
def _clear(rise, rise_next, source, top, through, ambient_rise):
    """Give gone cells of a column the rise of the surroundings, for the faces of what is left."""
    for k in range(top, through):
        rise[k + 1] = ambient_rise
        rise_next[k + 1] = ambient_rise
        source[k] = 0.0


@njit(cache=True)
def _prepare_step(escape, step, held, share, solid_density, initial_water, mass):
    """Write the shares of old and new steam that a step leaves, and the mass of whole cells [kg/m3]."""
    for k in range(escape.size):
        decay = escape[k] * step
        held[k] = math.exp(-decay)
        share[k] = -math.expm1(-decay) / decay if decay > 0.0 else 1.0
        mass[k] = solid_density[k] + initial_water[k]


@njit(cache=True)
def change_tissue(mesh, media, state, work, last, layer, edges, step, initial, ambient_rise, scratch, booked):
    """Change every column after conduction (eq. 7 to 14, 21), take away what leaves and move the fronts.

    Adds to `booked`: latent, vented, reaction, carried, blood [J], removed mass [kg]. `scratch`: (4, cells).
    """
    # Arrays are taken out of their tuples once: to hand a tuple of thirty on costs more than a column's work.
    cell, area, floor, remains, fronts = mesh.cell, mesh.area, state.floor, state.left, state.front
    solid, loss, liquid = media.solid_capacity, media.capacity_loss, media.liquid_capacity
    latent, water_heat, boiling = media.latent_heat, media.water_heat, media.boiling_rise
    critical, initial_water, inverse_water = media.critical_steam, media.initial_water, media.inverse_water
    factor, activation, heat = media.pyrolysis_factor, media.pyrolysis_temperature, media.pyrolysis_heat
    limit, hot, blood = media.burn_conversion, media.burn_rise, media.blood_heat
    damage_factor, damage_temperature = media.damage_factor, media.damage_temperature
    temperatures, waters, steams, conversions = state.temperature, state.water, state.steam, state.conversion
    damage, dose = state.damage, state.dose
    starts, currents, inverses, boils = work.start, work.current, work.inverse_capacity, work.boil
    rise, rise_next, source = work.rise, work.rise_next, work.source
    held, share, mass, area_heat = scratch[0], scratch[1], scratch[2], scratch[3, :6]
    _prepare_step(media.steam_escape_rate, step, held, share, media.solid_density, initial_water, mass)
    for i in range(area.size):
        top, end, left = floor[i], last[i], remains[i]
        if end <= top:
            continue
        area_heat[:] = 0.0
        temperature, water, steam, x = temperatures[i], waters[i], steams[i], conversions[i]
        start, inverse = starts[i], inverses[i]
        through = _boil(
            cell, held, share, latent, water_heat, boiling, liquid, critical, initial_water, solid, loss,
            top, end, currents[i], inverse, boils[i], temperature, water, steam, x, area_heat,
        )  # fmt: skip
        _char(
            cell, factor, activation, heat, solid, loss,
            top, end, left, temperature, water, x, step, initial, area_heat,
        )  # fmt: skip
        for p in range(damage.shape[0]):
            omega = damage[p, i]
            if p == 0 and blood[top] > 0.0:
                _perfuse(
                    cell, blood, solid, loss, liquid, water_heat,
                    top, end, temperature, water, x, omega, step, area_heat,
                )  # fmt: skip
            factors, heats = damage_factor[p, top:end], damage_temperature[p, top:end]
            _injure(
                omega[top:end], factors, heats,
                start[top:end], inverse[top:end], temperature[top:end], initial, step,
            )  # fmt: skip
        if dose.size > 0:
            _dose(dose[i, top:end], start[top:end], inverse[top:end], temperature[top:end], initial, step)
        if through > top:
            _expel(
                cell, solid, loss, liquid, water_heat, mass,
                top, through, left, temperature, water, x, area_heat,
            )  # fmt: skip
            left = 1.0
        through, left = _burn(
            cell, solid, loss, mass, limit, hot, through, end, left, temperature, x, area_heat
        )
        if through > top:
            _clear(rise[i], rise_next[i], source[i], top, through, ambient_rise)
            last[i] = max(end, through)
        floor[i], remains[i] = through, left
        for m in range(6):
            booked[m] += area[i] * area_heat[m]
        if through > 0 or left < 1.0:
            front = _locate(cell, liquid, critical, inverse_water, layer, edges, through, left, water, steam)
            fronts[i] = max(fronts[i], front)


@njit(cache=True)
def held_heat(mesh, media, state, last):
    """Heat that the cells which march hold above their initial state [J]."""
    cell, solid, loss, liquid = mesh.cell, media.solid_capacity, media.capacity_loss, media.liquid_capacity
    water_heat, temperature, water, x = media.water_heat, state.temperature, state.water, state.conversion
    total = 0.0
    for i in range(mesh.area.size):
        heat = 0.0
        for k in range(state.floor[i], last[i]):
            height = cell[k] if k > state.floor[i] else state.left[i] * cell[k]
            capacity = solid[k] * (1.0 - loss[k] * x[i, k]) + liquid[k] + water[i, k] * water_heat[k]
            heat += height * capacity * temperature[i, k]
        total += mesh.area[i] * heat
    return total
