"""The march itself, as one compiled loop: absorb, choose a step, get ready, conduct, change, book, record."""

from __future__ import annotations

import math

import numpy as np

from spotdwell.kernels.absorb import absorb_beam, darken, falling, rest
from spotdwell.kernels.change import change_tissue
from spotdwell.kernels.compiled import inner
from spotdwell.kernels.conduct import EULER, longest_super_step, stages_for, super_step
from spotdwell.kernels.entry import outer
from spotdwell.kernels.implicit import SWEEPS
from spotdwell.kernels.ready import make_ready
from spotdwell.kernels.slots import LEDGER, TERMS, Row, Tally, Term

LEAST_LIMIT = 0.8
"""A step under a moving beam stands if what falls in it allows at least this share of it [-]."""
SLOWEST_RATE = 1e-3
"""Rate at which a cell relaxes where nothing conducts [1/s]: the explicit step is long, but finite."""


@inner
def longest_step(rules, heating, crossing, step, moved):
    """Longest step that heating and the front allow [s] (eq. 18).

    `heating` and `crossing` are those of `absorb_beam`; in the last `step` [s] a front `moved` over so many
    cells.
    """
    limit = rules.largest_rise / heating if heating > 0.0 else math.inf
    if crossing > 0.0:
        # Burning fronts are slower than the energy allows: how far the last step took them counts too.
        # Steam that escapes far sooner than the front moves is as good as boiled off in any step.
        escape = max(rules.escape, rules.escape_least / crossing)
        seen = step / moved if moved > 0.0 else math.inf
        limit = min(limit, rules.front_share * min(rules.ahead / crossing, min(escape, seen)))
    return min(limit, rules.scanning)


@inner
def even_step(time, edge, event, limit, smallest, growth, largest):
    """Length of the next step [s]: at most `limit`, and even with those that follow until the next `event`.

    `smallest` is the length with which steps begin after an `edge` [s].
    """
    longest = min(limit, min(smallest + growth * (time - edge), largest))
    left = event - time
    return left / max(1.0, np.ceil(left / longest * (1.0 - 1e-9)))


@inner
def meets(time, step, event):
    """Whether a `step` leads from `time` onto the `event` [s]."""
    return time + step >= event - 1e-9 * step


@inner(apart=1)
def _shine(mesh, media, still, state, work, rules, span, power, lit, budget, tally):
    """Absorb the beam; returns the longest step that it allows [s]."""
    if span.power == 0.0:
        darken(mesh, work, state.floor, lit, budget)
        return math.inf
    heating, crossing = absorb_beam(
        mesh,
        media,
        still,
        state,
        power,
        rules.transmittance,
        tally[Tally.STEP],
        rules.clearing,
        work,
        lit,
        budget,
    )
    return longest_step(rules, heating, crossing, tally[Tally.STEP], tally[Tally.MOVED])


@inner
def _damage_due(rules, met, step, tally):
    """Time since damage was last added up [s], if this step is to do so; else 0."""
    tally[Tally.UNHURT] += step
    tally[Tally.WAITED] += 1.0
    if tally[Tally.WAITED] < rules.damage_steps and not met:
        return 0.0
    elapsed = tally[Tally.UNHURT]
    tally[Tally.UNHURT] = tally[Tally.WAITED] = 0.0
    return elapsed


@inner
def _book(mesh, rules, span, power, sent, budget, step, lost, below, stored, booked):
    """Add a step's energies to the ledger [J], but what changes of tissue already have booked."""
    if span.power > 0.0:
        sent *= step / rules.copies
        booked[Term.INCIDENT] += sent
        on_columns = 0.0
        for i in mesh.marching:
            on_columns += power[i]
        booked[Term.OUTSIDE] += sent - on_columns * step
        for term in (Term.REFLECTED, Term.PLUME, Term.TRANSMITTED):
            booked[term] += budget[term] * step
    booked[Term.SURFACE] += lost
    booked[Term.BACKING] += below
    booked[Term.STORED] = stored


@inner
def _resting(state, work, last):
    """Heat that columns which rest hold [J], their highest rise [K] and their deepest front [m]."""
    stored, peak, deepest = 0.0, 0.0, 0.0
    for i in range(last.size):
        if last[i] < 0:
            stored += work.stored[i]
            peak = max(peak, work.warmest[i])
            deepest = max(deepest, state.front[i])
    return stored, peak, deepest


@inner
def _record(mesh, span, initial, state, deepest, tally, booked, row):
    """Write what is recorded of a step, with the `deepest` front of columns that rest [m].

    Returns whether a column that marches has none of its cells left.
    """
    perforated, cells = False, state.temperature.shape[1]
    for i in mesh.marching:
        deepest = max(deepest, state.front[i])
        perforated = perforated or state.floor[i] >= cells
    floor = state.floor[span.axis]
    row[Row.TIME], row[Row.POWER], row[Row.DEPTH] = tally[Tally.TIME], span.power, state.front[span.axis]
    row[Row.DEEPEST], row[Row.PEAK] = deepest, initial + tally[Tally.PEAK]
    row[Row.SURFACE] = initial + state.temperature[span.axis, floor] if floor < cells else math.nan
    for term in range(TERMS):
        row[LEDGER + term] = booked[term]
    return perforated


@outer
def advance(
    media, still, surround, state, work, last, lit, budget, tally, booked, rows, mesh, rules, span, light,
):  # fmt: skip
    """March on, at most to the next event; returns how many steps it took, or -1 if the step collapsed.

    `light` says what falls. A step under light that moves is as long as the one before allows, or if that is
    too long as what falls in it allows, and gets what falls in it on average. Comes back after so many cell
    updates as `span` says, when all is cool or a column is through, and once `rows` are full, in which it
    records each step (`slots.Row`); and in the midst of a step in the dark whose conduction would take more
    stages than `rules` allow: `tally` tells of it, and what came back from `implicit.conduct_apart` goes in.
    `tally` (`slots.Tally`) and `booked` (`slots.Term`, mass behind) go on from call to call.
    """
    taken, updates, initial, ahead = 0, 0, surround.initial, rules.scanning
    moves, sent = light.sent.size > 1, light.sent[0]
    power = work.falling if moves else light.power[0]
    held, warmest, deepest = _resting(state, work, last)
    if tally[Tally.EXPLICIT] == 0.0:
        rate = make_ready(mesh, media, still, surround, state, lit, last, work, 0)
        tally[Tally.EXPLICIT] = 1.0 / max(rate, SLOWEST_RATE)
    while taken < rows.shape[0]:
        time, explicit = tally[Tally.TIME], tally[Tally.EXPLICIT]
        if tally[Tally.PENDING] > 0.0:
            step, stages, lost, below = tally[Tally.PENDING], SWEEPS, tally[Tally.LOST], tally[Tally.BELOW]
            tally[Tally.PENDING] = 0.0
        else:
            step, guessed = 0.0, moves
            if guessed:
                step = even_step(time, span.edge, span.event, ahead, explicit, rules.growth, rules.largest)
            while True:
                if moves:
                    sent = falling(mesh, light, time, step, power)
                limit = _shine(mesh, media, still, state, work, rules, span, power, lit, budget, tally)
                if step > 0.0 and (not guessed or limit >= LEAST_LIMIT * step):
                    break
                step = even_step(time, span.edge, span.event, limit, explicit, rules.growth, rules.largest)
                if not guessed:
                    break
                guessed = False
            tally[Tally.NEXT], ahead = step, limit
            margin = stages_for(step, explicit) // 2 + 2
            explicit = 1.0 / max(
                make_ready(mesh, media, still, surround, state, lit, last, work, margin), SLOWEST_RATE
            )
            step = min(step, longest_super_step(explicit))
            if time + step <= time:
                return -1
            stages = 1 if moves and step <= EULER * explicit else stages_for(step, explicit)
            if stages > rules.most_stages and span.power == 0.0:
                tally[Tally.EXPLICIT], tally[Tally.PENDING] = explicit, step
                break
            lost, below = super_step(mesh, still, state.floor, last, lit, work, step, stages)
        marched = 0
        for i in mesh.marching:
            marched += last[i] - state.floor[i]
        met = meets(time, step, span.event)
        stored, peak, moved = change_tissue(
            mesh, media, still, state, work, last, step, _damage_due(rules, met, step, tally),
            initial, surround.ambient - initial, booked,
        )  # fmt: skip
        peak = max(peak, warmest)
        rest(mesh, media, state, power, step, rules.clearing)
        _book(mesh, rules, span, power, sent, budget, step, lost, below, held + stored, booked)
        updates += stages * marched
        tally[Tally.TIME], tally[Tally.STEP], tally[Tally.EXPLICIT] = (
            span.event if met else time + step,
            step,
            explicit,
        )
        tally[Tally.PEAK], tally[Tally.MOVED] = peak, moved
        tally[Tally.HIGHEST] = max(tally[Tally.HIGHEST], peak)
        tally[Tally.STEPS] += 1.0
        tally[Tally.STAGES] += stages
        tally[Tally.UPDATES] += stages * marched
        perforated = _record(mesh, span, initial, state, deepest, tally, booked, rows[taken])
        taken += 1
        if met or perforated or peak + initial < span.cool or updates >= span.most_updates:
            break
    return taken
