"""What heat does to tissue in a step: boiling, steam, char, damage, blood, removal (eq. 7-14, 19, 21).

One long file, as `change_tissue` calls all of it: kept machine code would not see an edit in another file.
"""

from __future__ import annotations

import math

from numba import njit

GAS_CONSTANT = 8.314462618
COLDEST_DAMAGE = 313.15
DOSE_REFERENCE = 316.15
MOST_DAMAGE = 1e12
"""Omega beyond which nothing is added: such tissue is as dead as can be."""
FUSED = {"contract", "nsz", "nnan"}
SUMMED = {"contract", "nsz", "nnan", "reassoc"}
"""Lets the compiler also sum in any order, several terms at a time."""
SLIVER = 0.5
"""Share of a cell's height below which the rest of it goes too: a thinner one stiffens the march."""


@njit(cache=True, error_model="numpy")
def _convert(x, rise, before, step, initial, factor, activation, heat, solid, loss):
    """Conversion after a step with the temperature drop that it causes (eq. 10, 11), and the rise then.

    The root of x1 - 1 + (1 - x0) exp(-k(T(x1)) dt) is bracketed by [x0, 1]: the left side grows with x1.
    """
    rate = factor * math.exp(-activation / (initial + rise))
    if rate * step * (1.0 - x) < 1e-9:
        return x, rise
    low, high = x, 1.0
    x1 = 1.0 - (1.0 - x) * math.exp(-rate * step)
    drop = heat / (solid * (1.0 - loss * x1))
    if drop * (x1 - x) * activation < 1e-3 * (initial + rise) * (initial + rise):
        # So little that the rate hardly falls: no need to look for the root.
        return x1, rise - drop * (x1 - x)
    # Where char forms steadily, what a step heats the reaction cools: it ends about as warm as it was before.
    x1 = min(x1, x + max(rise - before, 0.0) / drop)
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
        if abs(miss) < 1e-8 or high - low < 1e-12:
            break
        # Newton on the dominant term, kept inside the bracket.
        x1 -= miss / (1.0 + decay * step * rate * activation / (warm * warm) * drop)
        if x1 <= low or x1 >= high:
            x1 = 0.5 * (low + high)
    return x1, rise - heat * (x1 - x) / (solid * (1.0 - loss * x1))


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _exp(x):
    """exp(x) to 1e-9 for -200 < x < 200, and its end values beyond; plain arithmetic lets loops vectorise."""
    y = min(max(x, -200.0), 200.0) * (1.0 / 4096.0)
    z = 1.0 / 24.0 + y * (1.0 / 120.0 + y * (1.0 / 720.0))
    z = 1.0 + y * (1.0 + y * (0.5 + y * (1.0 / 6.0 + y * z)))
    for _ in range(12):
        z *= z
    return z


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _injure(omega, log_factor, activation, before, after, initial, step):
    """Add a step's damage by one process down a column: its rate's logarithm runs straight (eq. 12)."""
    for k in range(omega.size):
        first, last = initial + before[k], initial + after[k]
        a, b = log_factor[k] - activation[k] / first, log_factor[k] - activation[k] / last
        rate_a, rate_b, run = _exp(a), _exp(b), min(max(b, -200.0), 200.0) - min(max(a, -200.0), 200.0)
        # The mean, (rate_b - rate_a) / run; near zero half the sum times tanh(run / 2) / (run / 2), to 6e-9.
        square = 0.25 * run * run
        series = 1.0 - square * (1.0 / 3.0 - square * (2.0 / 15.0 - square * (17.0 / 315.0)))
        steep = abs(run) > 0.3
        chord = (rate_b - rate_a) / (run if steep else 1.0)
        mean = chord if steep else 0.5 * (rate_a + rate_b) * series
        omega[k] += step * mean if max(first, last) > COLDEST_DAMAGE else 0.0


@njit(cache=True, error_model="numpy")
def _dose(dose, before, after, initial, step):
    """Add a step's CEM43 down a column (eq. 12b)."""
    for k in range(dose.size):
        warm = initial + 0.5 * (before[k] + after[k]) - DOSE_REFERENCE
        base = 0.5 if warm >= 0.0 else 0.25
        # 60 K above the reference is far beyond the dose's range: more would only overflow.
        dose[k] += step * base ** (-min(warm, 60.0))


@njit(cache=True, error_model="numpy")
def _crossing(limit, before, after):
    """Share of the step after which a quantity that grew straight from `before` to `after` met `limit`."""
    if after <= before:
        return 1.0
    return min(max((limit - before) / (after - before), 0.0), 1.0)


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _settle(temperature, before, current, inverse):
    """Bring cells to the rise of their enthalpy as if none boiled, keeping what they had `before`."""
    for k in range(temperature.size):
        before[k] = temperature[k]
        temperature[k] = current[k] * inverse[k]


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _leak(steam, held):
    for k in range(steam.size):
        steam[k] *= held[k]


@njit(cache=True, error_model="numpy")
def _deepest(top, end, temperature, limit):
    """Index below the deepest cell whose rise is at least its limit."""
    k = end
    while k > top and temperature[k - 1] < limit[k - 1]:
        k -= 1
    return k


@njit(cache=True, error_model="numpy")
def _first_below(top, end, values, limit):
    """Index of the first cell whose value is below the limit."""
    k = top
    while k < end and values[k] >= limit:
        k += 1
    return k


@njit(cache=True, error_model="numpy")
def _deepest_warm(top, end, before, after, rise):
    """Index below the deepest cell that was or is warmer than `rise` [K]."""
    k = end
    while k > top and before[k - 1] <= rise and after[k - 1] <= rise:
        k -= 1
    return k


@njit(cache=True, error_model="numpy")
def _boil(
    cell, held, share, latent, water_heat, boiling, liquid, critical, initial_water, solid, loss,
    top, hot, end, current, inverse, boil, temperature, water, steam, conversion, area_heat,
):  # fmt: skip
    """Evaporate what each cell's enthalpy pays for, hold the steam, find what is thrown out (eq. 7, 8, 13).

    Below `hot` no cell boils of itself; what a leaving cell hands on may reach it. Writes the column's rises,
    water and steam, adds latent heat and vented heat per area to `area_heat`
    [J/m2], and returns the index below the deepest cell that leaves. A cell that crosses its limit within the
    step leaves as it was at the crossing; the next cell gets what it gained after that.
    """
    through, surplus = top, 0.0
    for k in range(top, end):
        if surplus == 0.0:
            if k >= hot:
                break
            if current[k] <= boil[k] or water[k] == 0.0:
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


@njit(cache=True, error_model="numpy")
def _char(
    cell, factor, activation, heat, solid, loss,
    top, end, left, temperature, before, water, conversion, charring, step, initial, area_heat,
):  # fmt: skip
    """Convert dry, hot solids down a column; adds vented heat and heat of reaction per area (eq. 10, 11)."""
    for k in range(top, end):
        if water[k] > 0.0 or conversion[k] >= 1.0 or temperature[k] < charring[k]:
            continue
        x, rise = conversion[k], temperature[k]
        x1, after = _convert(
            x, rise, before[k], step, initial, factor[k], activation[k], heat[k], solid[k], loss[k]
        )
        height = cell[k] if k > top else left * cell[k]
        area_heat[1] += height * solid[k] * loss[k] * (x1 - x) * rise
        area_heat[2] += height * heat[k] * (x1 - x)
        conversion[k] = x1
        temperature[k] = after


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
def _expel(cell, solid, loss, liquid, water_heat, mass, top, through, left, temperature, water, x, area_heat):
    """Book the heat and mass of cells thrown out or dried up, down to but not including `through`."""
    for k in range(top, through):
        height = cell[k] if k > top else left * cell[k]
        capacity = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k]
        area_heat[3] += height * capacity * temperature[k]
        area_heat[5] += height * mass[k]


@njit(cache=True, error_model="numpy")
def _clear(rise, rise_next, source, top, through, ambient_rise):
    """Give gone cells of a column the rise of the surroundings, for the faces of what is left."""
    for k in range(top, through):
        rise[k + 1] = ambient_rise
        rise_next[k + 1] = ambient_rise
        source[k] = 0.0


@njit(cache=True, error_model="numpy")
def _prepare_step(
    escape, step, held, share, solid_density, initial_water, mass,
    boiling, factor, activation, initial, charring, reactive, layer, end,
):  # fmt: skip
    """Write the shares of old and new steam that a step leaves, the mass of whole cells [kg/m3], and the
    rises from which cells pyrolyse by more than 1e-9 in the step, and from which they do or boil [K]."""
    for k in range(end):
        if k > 0 and layer[k] == layer[k - 1]:
            held[k], share[k], mass[k] = held[k - 1], share[k - 1], mass[k - 1]
            charring[k], reactive[k] = charring[k - 1], reactive[k - 1]
            continue
        often = factor[k] * step / 1e-9
        charring[k] = activation[k] / math.log(often) - initial if often > 1.0 else math.inf
        # But for round-off.
        reactive[k] = min(boiling[k], charring[k]) - 1e-6
        decay = escape[k] * step
        held[k] = math.exp(-decay)
        share[k] = -math.expm1(-decay) / decay if decay > 0.0 else 1.0
        mass[k] = solid_density[k] + initial_water[k]


@njit(cache=True, error_model="numpy", fastmath=SUMMED)
def _held_still(cell, capacity, temperature):
    """Heat per area of untouched cells [J/m2]."""
    heat = 0.0
    for k in range(temperature.size):
        heat += cell[k] * capacity[k] * temperature[k]
    return heat


@njit(cache=True, error_model="numpy")
def _held_changed(cell, solid, loss, liquid, water_heat, top, end, left, temperature, water, x):
    """Heat per area of changed cells [J/m2]."""
    heat = 0.0
    for k in range(top, end):
        height = cell[k] if k > top else left * cell[k]
        heat += (
            height
            * (solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k])
            * temperature[k]
        )
    return heat


@njit(cache=True, error_model="numpy")
def held_heat(mesh, media, still, state, last):
    """Heat that the cells which march hold above their initial state [J]."""
    cell, solid, loss, liquid = mesh.cell, media.solid_capacity, media.capacity_loss, media.liquid_capacity
    total = 0.0
    for i in range(last.size):
        top, end = state.floor[i], last[i]
        split = min(max(state.changed[i], top), end)
        temperature = state.temperature[i]
        heat = _held_changed(
            cell, solid, loss, liquid, media.water_heat, top, split, state.left[i],
            temperature, state.water[i], state.conversion[i],
        )  # fmt: skip
        if end > split:
            heat += _held_still(cell[split:], still.capacity[split:], temperature[split:end])
        total += mesh.area[i] * heat
    return total


@njit(cache=True, error_model="numpy", fastmath=SUMMED)
def _highest(rise):
    """Highest of a column's rises, at least 0."""
    peak = 0.0
    for k in range(rise.size):
        peak = max(peak, rise[k])
    return peak


@njit(cache=True, error_model="numpy")
def hottest(temperature, floor, last):
    """Highest rise among the cells that march [K]; 0 if none does."""
    peak = 0.0
    for i in range(floor.size):
        if last[i] > floor[i]:
            peak = max(peak, _highest(temperature[i, floor[i] : last[i]]))
    return peak


@njit(cache=True, error_model="numpy")
def change_tissue(
    mesh, media, still, state, work, last, layer, edges, step, initial, ambient_rise, scratch, booked
):
    """Change every column after conduction (eq. 7 to 14, 21), take away what leaves and move the fronts.

    Writes into `booked`: latent, vented, reaction, carried, blood [J], removed mass [kg], heat held by what
    is left [J], its highest rise [K]. `scratch`: (6, cells).
    """
    # Arrays are taken out of their tuples once: to hand a tuple of thirty on costs more than a column's work.
    cell, area, floor, remains, fronts = mesh.cell, mesh.area, state.floor, state.left, state.front
    solid, loss, liquid = media.solid_capacity, media.capacity_loss, media.liquid_capacity
    latent, water_heat, boiling = media.latent_heat, media.water_heat, media.boiling_rise
    critical, initial_water, inverse_water = media.critical_steam, media.initial_water, media.inverse_water
    factor, activation, heat = media.pyrolysis_factor, media.pyrolysis_temperature, media.pyrolysis_heat
    limit, hot_rise, blood = media.burn_conversion, media.burn_rise, media.blood_heat
    damage_factor, damage_temperature = media.damage_factor, media.damage_temperature
    temperatures, waters, steams, conversions = state.temperature, state.water, state.steam, state.conversion
    damage, dose, changed = state.damage, state.dose, state.changed
    currents, inverses, boils, before = work.current, work.inverse_capacity, work.boil, work.before
    rise, rise_next, source = work.rise, work.rise_next, work.source
    held, share, mass, reactive, charring = scratch[0], scratch[1], scratch[2], scratch[3], scratch[4]
    area_heat = scratch[5, :6]
    deepest = 0
    for i in range(area.size):
        deepest = max(deepest, last[i])
    _prepare_step(
        media.steam_escape_rate, step, held, share, media.solid_density, initial_water, mass,
        boiling, factor, activation, initial, charring, reactive, layer, min(deepest + 1, cell.size),
    )  # fmt: skip
    booked[:] = 0.0
    for i in range(area.size):
        top, end, left = floor[i], last[i], remains[i]
        if end <= top:
            continue
        area_heat[:] = 0.0
        temperature, water, steam, x = temperatures[i], waters[i], steams[i], conversions[i]
        _settle(temperature[top:end], before[top:], currents[i, top:], inverses[i, top:])
        if changed[i] > top:
            _leak(steam[top : changed[i]], held[top:])
        hot = _deepest(top, end, temperature, reactive)
        through = top
        if hot > top:
            through = _boil(
                cell, held, share, latent, water_heat, boiling, liquid, critical, initial_water, solid, loss,
                top, hot, end, currents[i], inverses[i], boils[i], temperature, water, steam, x, area_heat,
            )  # fmt: skip
            # What a cell that left handed on may have made the next one boil.
            hot = max(hot, min(through + 1, end))
            _char(
                cell, factor, activation, heat, solid, loss,
                top, hot, left, temperature, before, water, x, charring, step, initial, area_heat,
            )  # fmt: skip
            changed[i] = max(changed[i], hot)
        warm = _deepest_warm(top, end, before, temperature, COLDEST_DAMAGE - initial)
        for p in range(damage.shape[0]):
            omega = damage[p, i]
            alive = _first_below(top, warm, omega, MOST_DAMAGE)
            if p == 0 and blood[top] > 0.0:
                _perfuse(
                    cell, blood, solid, loss, liquid, water_heat,
                    top, end, temperature, water, x, omega, step, area_heat,
                )  # fmt: skip
            if warm > alive:
                _injure(
                    omega[alive:warm], damage_factor[p, alive:], damage_temperature[p, alive:],
                    before[alive:], temperature[alive:], initial, step,
                )  # fmt: skip
        if dose.size > 0:
            _dose(dose[i, top:end], before[top:], temperature[top:], initial, step)
        if through > top:
            _expel(
                cell, solid, loss, liquid, water_heat, mass,
                top, through, left, temperature, water, x, area_heat,
            )  # fmt: skip
            left = 1.0
        through, left = _burn(
            cell, solid, loss, mass, limit, hot_rise, through, end, left, temperature, x, area_heat
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
    booked[6] = held_heat(mesh, media, still, state, last)
    booked[7] = hottest(temperatures, floor, last)
