"""What heat does to tissue in a step: steam, rupture, char, damage, blood, burn-off (eq. 7-14, 19, 21).

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
"""Share of a cell's height below which the rest of it joins the next: a thinner one stiffens the march."""
TRACE = 1e-3
"""Share of its first water below which a cell gives up the rest: else the last would take for ever."""
BURN_OFF_SPEED = 1e-3


@njit(cache=True, error_model="numpy")
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
def _injure(omega, log_factor, activation, before, after, initial, step, coldest):
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
        omega[k] += step * mean if max(first, last) > coldest else 0.0


@njit(cache=True, error_model="numpy")
def _dose(dose, before, after, initial, step):
    """Add a step's CEM43 down a column (eq. 12b)."""
    for k in range(dose.size):
        warm = initial + 0.5 * (before[k] + after[k]) - DOSE_REFERENCE
        base = 0.5 if warm >= 0.0 else 0.25
        # 60 K above the reference is far beyond the dose's range: more would only overflow.
        dose[k] += step * base ** (-min(warm, 60.0))


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _settle(temperature, before, current, inverse):
    """Bring cells to the rise of their enthalpy, keeping what they had `before`."""
    for k in range(temperature.size):
        before[k] = temperature[k]
        temperature[k] = current[k] * inverse[k]


@njit(cache=True, error_model="numpy")
def _deepest(top, end, before, temperature, limit):
    """Index below the deepest cell whose rise is, or was, at least its limit."""
    k = end
    while k > top and temperature[k - 1] < limit[k - 1] and before[k - 1] < limit[k - 1]:
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


@njit(cache=True, error_model="numpy")
def _escape(
    cell, decay, held, share, latent, water_heat, boiling, liquid, rupture, flash, initial_water, solid, loss,
    top, hot, end, left, before, temperature, water, conversion, area_heat,
):  # fmt: skip
    """Let steam escape from superheated cells, and find what ruptures (eq. 7, 8, 13).

    Below `hot` no cell is superheated of itself; what a leaving cell hands on may reach it. Writes the
    column's rises and water, adds latent heat and vented heat per area to `area_heat` [J/m2], and returns
    the index below the deepest cell that leaves. A cell that passes its limit within the step leaves as it
    was at the limit; the next cell gets what it gained after that.
    """
    through, surplus, bare = top, 0.0, True
    for k in range(top, end):
        if surplus == 0.0 and k >= hot:
            break
        # A liquid holds nothing back; solid that stays does.
        exposed = bare
        bare = bare and liquid[k] > 0.0
        wet = water[k]
        capacity = solid[k] * (1.0 - loss[k] * conversion[k]) + liquid[k] + wet * water_heat[k]
        height = left * cell[k] if k == top else cell[k]
        rise = temperature[k] + surplus / (height * capacity)
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
        area_heat[0] += height * mass * latent[k]
        area_heat[1] += height * mass * water_heat[k] * boiling[k]
        heat = capacity * rise - mass * (latent[k] + water_heat[k] * boiling[k])
        capacity -= mass * water_heat[k]
        temperature[k] = heat / capacity
        if liquid[k] > 0.0:
            if left_water < 1e-9 * initial_water[k]:
                through = k + 1
                if k + 1 < end:
                    surplus = max(heat - capacity * boiling[k], 0.0) * height
                    temperature[k] -= surplus / (height * capacity)
        elif exposed and temperature[k] >= rupture[k] and left_water >= flash[k]:
            through, bare = k + 1, True
            if k + 1 < end:
                surplus = (heat - capacity * rupture[k]) * height
                temperature[k] = rupture[k]
    return through


@njit(cache=True, error_model="numpy")
def _char(
    cell, factor, activation, heat, solid, loss, water_heat,
    top, end, left, temperature, before, water, conversion, charring, step, initial, area_heat,
):  # fmt: skip
    """Convert hot solids down a column; adds vented heat and heat of reaction per area (eq. 10, 11)."""
    for k in range(top, end):
        if conversion[k] >= 1.0 or temperature[k] < charring[k]:
            continue
        x, rise = conversion[k], temperature[k]
        x1, after = _convert(
            x, rise, before[k], step, initial, factor[k], activation[k], heat[k], solid[k], loss[k],
            water[k] * water_heat[k],
        )  # fmt: skip
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
def _merge(cell, solid, loss, k, left, temperature, x):
    """Join what is left of cell `k` to the dry one below; returns the height of both over that cell's own."""
    above, below = left * cell[k], cell[k + 1]
    one = above * solid[k] * (1.0 - loss[k] * x[k])
    two = below * solid[k + 1] * (1.0 - loss[k + 1] * x[k + 1])
    temperature[k + 1] = (one * temperature[k] + two * temperature[k + 1]) / (one + two)
    x[k + 1] = (above * x[k] + below * x[k + 1]) / (above + below)
    return (above + below) / below


@njit(cache=True, error_model="numpy")
def _burn(
    cell, solid, loss, water_heat, mass, limit, hot, activation, layer,
    through, end, left, temperature, water, conversion, step, initial, area_heat,
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
        area_heat[3] += gone * capacity * (temperature[k] + 0.5 * slope * (height - gone))
        area_heat[5] += gone * mass[k]
        if gone == height:
            through, left = k + 1, 1.0
            continue
        temperature[k] -= 0.5 * slope * gone
        left -= gone / cell[k]
        if left < SLIVER:
            left = _merge(cell, solid, loss, k, left, temperature, conversion)
            through = k + 1
    return through, left, burnt


@njit(cache=True, error_model="numpy")
def _locate(cell, liquid, rupture, flash, inverse_water, layer, edges, k, left, temperature, water):
    """Depth of a column's front (eq. 19).

    Where a cell burns off, the height that has gone. Otherwise between the last removed cell's centre and the
    floor's, where the rise, or for a liquid the water gone, extrapolates to its limit.
    """
    edge = edges[k]
    if left != 1.0:
        return edge + (1.0 - left) * cell[k]
    if k == 0 or k + 1 >= cell.size or layer[k] != layer[k - 1]:
        return edge
    if liquid[k] > 0.0:
        here, below = 1.0 - water[k] * inverse_water[k], 1.0 - water[k + 1] * inverse_water[k + 1]
    elif water[k] >= flash[k]:
        here, below = temperature[k] / rupture[k], temperature[k + 1] / rupture[k]
    else:
        return edge
    if here <= 0.0 or below <= 0.0 or below >= here:
        return edge
    spacing = 0.5 * (cell[k] + cell[k + 1])
    front = edge + 0.5 * cell[k] + spacing * math.log(min(here, 1.0)) / math.log(here / below)
    return max(front, edge - 0.5 * cell[k - 1])


@njit(cache=True, error_model="numpy")
def _expel(cell, solid, loss, liquid, water_heat, mass, top, through, left, temperature, water, x, area_heat):
    """Book the heat and mass of cells thrown out or boiled away, down to but not including `through`."""
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
    escape, step, decay, held, share, solid_density, initial_water, mass,
    boiling, factor, activation, initial, charring, reactive, layer, end,
):  # fmt: skip
    """Write how steam escapes in the step: how many times over, the shares of superheat there was and of
    what comes that are left; the mass of whole cells [kg/m3]; and the rises from which cells pyrolyse by more
    than 1e-9 in the step, and from which they do or are superheated [K]."""
    for k in range(end):
        if k > 0 and layer[k] == layer[k - 1]:
            decay[k], held[k], share[k], mass[k] = decay[k - 1], held[k - 1], share[k - 1], mass[k - 1]
            charring[k], reactive[k] = charring[k - 1], reactive[k - 1]
            continue
        often = factor[k] * step / 1e-9
        charring[k] = activation[k] / math.log(often) - initial if often > 1.0 else math.inf
        # But for round-off.
        reactive[k] = min(boiling[k] if initial_water[k] > 0.0 else math.inf, charring[k]) - 1e-6
        times = escape[k] * step
        decay[k], held[k] = times, math.exp(-times)
        share[k] = -math.expm1(-times) / times if times > 0.0 else 1.0
        mass[k] = solid_density[k] + initial_water[k]


@njit(cache=True, error_model="numpy", fastmath=SUMMED)
def _held_still(cell, capacity, temperature):
    """Heat per area of untouched cells [J/m2]."""
    heat = 0.0
    for k in range(temperature.size):
        heat += cell[k] * capacity[k] * temperature[k]
    return heat


@njit(cache=True, error_model="numpy", fastmath=SUMMED)
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


@njit(cache=True, error_model="numpy")
def held_heat(mesh, media, still, state, last):
    """Heat that the cells which march hold above their initial state [J]."""
    cell, solid, loss, liquid = mesh.cell, media.solid_capacity, media.capacity_loss, media.liquid_capacity
    total = 0.0
    for i in range(last.size):
        top, end = state.floor[i], last[i]
        # Of the exposed cell only a part may be left.
        split = min(max(state.changed[i], top + 1), end)
        temperature, heat = state.temperature[i], 0.0
        if split > top:
            heat = _held_changed(
                cell[top:], solid[top:], loss[top:], liquid[top:], media.water_heat[top:],
                temperature[top:split], state.water[i, top:], state.conversion[i, top:],
            )  # fmt: skip
            if state.left[i] != 1.0:
                end_on = top + 1
                heat += (state.left[i] - 1.0) * _held_changed(
                    cell[top:], solid[top:], loss[top:], liquid[top:], media.water_heat[top:],
                    temperature[top:end_on], state.water[i, top:], state.conversion[i, top:],
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
    mesh, media, still, state, work, last, layer, edges, step, elapsed, initial, ambient_rise, scratch, booked
):
    """Change every column after conduction (eq. 7 to 14, 21), take away what leaves and move the fronts.

    Damage is added up for the `elapsed` time since it last was [s]; 0 leaves it to a later step. Writes into
    `booked`: latent, vented, reaction, carried, blood [J], removed mass [kg], heat held by what is left [J],
    its highest rise [K], most cells that a front moved over. `scratch`: (7, cells).
    """
    # Arrays are taken out of their tuples once: to hand a tuple of thirty on costs more than a column's work.
    cell, area, floor, remains, fronts = mesh.cell, mesh.area, state.floor, state.left, state.front
    solid, loss, liquid = media.solid_capacity, media.capacity_loss, media.liquid_capacity
    latent, water_heat, boiling = media.latent_heat, media.water_heat, media.boiling_rise
    rupture, flash, debris_heat = media.rupture_rise, media.flash_water, media.debris_heat
    initial_water, inverse_water = media.initial_water, media.inverse_water
    factor, activation, heat = media.pyrolysis_factor, media.pyrolysis_temperature, media.pyrolysis_heat
    limit, hot_rise, burning = media.burn_conversion, media.burn_rise, media.burn_temperature
    blood = media.blood_heat
    damage_factor, damage_temperature = media.damage_factor, media.damage_temperature
    temperatures, waters, conversions = state.temperature, state.water, state.conversion
    damage, dose, changed, coldest = state.damage, state.dose, state.changed, media.damage_coldest
    thrown, debris, paid = state.thrown, state.debris, state.paid
    currents, inverses, before = work.current, work.inverse_capacity, work.before
    rise, rise_next, source = work.rise, work.rise_next, work.source
    held, share, mass, reactive, charring = scratch[0], scratch[1], scratch[2], scratch[3], scratch[4]
    decay, area_heat = scratch[5], scratch[6, :6]
    deepest = 0
    for i in range(area.size):
        deepest = max(deepest, last[i])
    _prepare_step(
        media.steam_escape_rate, step, decay, held, share, media.solid_density, initial_water, mass,
        boiling, factor, activation, initial, charring, reactive, layer, min(deepest + 1, cell.size),
    )  # fmt: skip
    booked[:] = 0.0
    for i in range(area.size):
        top, end, left = floor[i], last[i], remains[i]
        if end <= top:
            continue
        area_heat[:] = 0.0
        temperature, water, x = temperatures[i], waters[i], conversions[i]
        _settle(temperature[top:end], before[top:], currents[i, top:], inverses[i, top:])
        hot = _deepest(top, end, before, temperature, reactive)
        through = top
        if hot > top:
            through = _escape(
                cell, decay, held, share, latent, water_heat, boiling, liquid, rupture, flash,
                initial_water, solid, loss, top, hot, end, left, before, temperature, water, x, area_heat,
            )  # fmt: skip
            # What a cell that left handed on may have made the next one hot.
            hot = max(hot, min(through + 1, end))
            _char(
                cell, factor, activation, heat, solid, loss, water_heat,
                top, hot, left, temperature, before, water, x, charring, step, initial, area_heat,
            )  # fmt: skip
            changed[i] = max(changed[i], hot)
        if blood[top] > 0.0 and damage.shape[0] > 0:
            _perfuse(
                cell, blood, solid, loss, liquid, water_heat,
                top, end, temperature, water, x, damage[0, i], step, area_heat,
            )  # fmt: skip
        if elapsed > 0.0:
            old = state.damage_rise[i]
            for p in range(damage.shape[0]):
                warm = _deepest_warm(top, end, old, temperature, coldest[p] - initial)
                omega = damage[p, i]
                alive = _first_below(top, warm, omega, MOST_DAMAGE)
                if warm > alive:
                    _injure(
                        omega[alive:warm], damage_factor[p, alive:], damage_temperature[p, alive:],
                        old[alive:], temperature[alive:], initial, elapsed, coldest[p],
                    )  # fmt: skip
            if dose.size > 0:
                _dose(dose[i, top:end], old[top:], temperature[top:], initial, elapsed)
            for k in range(top, end):
                old[k] = temperature[k]
        if through > top:
            _expel(
                cell, solid, loss, liquid, water_heat, mass,
                top, through, left, temperature, water, x, area_heat,
            )  # fmt: skip
            left = 1.0
        floored = through
        through, left, burnt = _burn(
            cell, solid, loss, water_heat, mass, limit, hot_rise, burning, layer,
            through, end, left, temperature, water, x, step, initial, area_heat,
        )  # fmt: skip
        if through > top:
            _clear(rise[i], rise_next[i], source[i], top, through, ambient_rise)
            last[i] = max(end, through)
        floor[i], remains[i] = through, left
        for m in range(6):
            booked[m] += area[i] * area_heat[m]
        debris[i] -= paid[i] * step
        if through > 0 or left != 1.0:
            front = max(
                fronts[i],
                _locate(
                    cell,
                    liquid,
                    rupture,
                    flash,
                    inverse_water,
                    layer,
                    edges,
                    through,
                    left,
                    temperature,
                    water,
                ),
            )
            gone = front - fronts[i]
            booked[8] = max(booked[8], gone * mesh.inverse_height[min(through, cell.size - 1)])
            gone -= burnt
            fronts[i] = front
            if gone > 0.0 and liquid[min(floored, cell.size - 1)] == 0.0:
                thrown[i] += gone
                debris[i] += gone * debris_heat[min(floored, cell.size - 1)]
    booked[6] = held_heat(mesh, media, still, state, last)
    booked[7] = hottest(temperatures, floor, last)


@njit(cache=True, error_model="numpy")
def rest(state, media, step, clearing):
    """Let the film set and debris clear over a `step` [s] without beam; debris clears in `clearing` [s]."""
    kept = math.exp(-step / clearing)
    for i in range(state.floor.size):
        state.paid[i] = 0.0
        state.debris[i] = max(state.debris[i], 0.0) * kept
        if state.thrown[i] > 0.0:
            k = min(state.floor[i], media.film_rate.size - 1)
            state.thrown[i] *= math.exp(-step * media.film_rate[k])
