"""Damage, thermal dose and blood: what warmth does to tissue without moving it (eq. 12, 21)."""

from __future__ import annotations

import math

from spotdwell.kernels.compiled import FUSED, inner
from spotdwell.kernels.slots import Term

COLDEST_DAMAGE = 313.15
"""Temperature below which no damage is summed [K]."""
DOSE_REFERENCE = 316.15
"""Temperature to which CEM43 is referred [K]."""
MOST_DAMAGE = 1e12
"""Omega beyond which nothing is added: such tissue is as dead as can be."""


@inner(fastmath=FUSED)
def _exp(x):
    """exp(x) to 1e-9 for -200 < x < 200, and its end values beyond; plain arithmetic lets loops vectorise."""
    y = min(max(x, -200.0), 200.0) * (1.0 / 4096.0)
    z = 1.0 / 24.0 + y * (1.0 / 120.0 + y * (1.0 / 720.0))
    z = 1.0 + y * (1.0 + y * (0.5 + y * (1.0 / 6.0 + y * z)))
    for _ in range(12):
        z *= z
    return z


@inner(fastmath=FUSED)
def injure(omega, log_factor, activation, before, after, initial, step, coldest):
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


@inner
def add_dose(dose, before, after, initial, step):
    """Add a step's CEM43 down a column (eq. 12b)."""
    for k in range(dose.size):
        warm = initial + 0.5 * (before[k] + after[k]) - DOSE_REFERENCE
        base = 0.5 if warm >= 0.0 else 0.25
        # 60 K above the reference is far beyond the dose's range: more would only overflow.
        dose[k] += step * base ** (-min(warm, 60.0))


@inner
def _first_below(top, end, values, limit):
    """Index of the first cell whose value is below the limit."""
    k = top
    while k < end and values[k] >= limit:
        k += 1
    return k


@inner
def _deepest_warm(top, end, before, after, rise):
    """Index below the deepest cell that was or is warmer than `rise` [K]."""
    k = end
    while k > top and before[k - 1] <= rise and after[k - 1] <= rise:
        k -= 1
    return k


@inner(forceinline=True)
def hurt(factor, activation, coldest, i, top, end, old, temperature, damage, dose, initial, elapsed):
    """Add up damage and dose of column `i` since its rises were `old`, and write those of now there."""
    for p in range(damage.shape[0]):
        warm = _deepest_warm(top, end, old, temperature, coldest[p] - initial)
        omega = damage[p, i]
        alive = _first_below(top, warm, omega, MOST_DAMAGE)
        if warm > alive:
            injure(
                omega[alive:warm], factor[p, alive:], activation[p, alive:],
                old[alive:], temperature[alive:], initial, elapsed, coldest[p],
            )  # fmt: skip
    if dose.size > 0:
        add_dose(dose[i, top:end], old[top:], temperature[top:], initial, elapsed)
    for k in range(top, end):
        old[k] = temperature[k]


@inner(forceinline=True)
def perfuse(
    cell, blood, solid, loss, liquid, water_heat, top, end, temperature, water, x, omega, step, per_area
):
    """Bring cells that blood still reaches towards its temperature, which is the initial one (eq. 21)."""
    for k in range(top, end):
        if blood[k] > 0.0 and omega[k] < 1.0:
            capacity = solid[k] * (1.0 - loss[k] * x[k]) + liquid[k] + water[k] * water_heat[k]
            cooled = temperature[k] * math.exp(-blood[k] * step / capacity)
            per_area[Term.BLOOD] += cell[k] * capacity * (temperature[k] - cooled)
            temperature[k] = cooled
