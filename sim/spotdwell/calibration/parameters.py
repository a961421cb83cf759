"""Values that bench shots can tell: which are fitted and which known, where they start, and their bounds.

What separates them, by computed slopes (relative change of depth over that of the value; soft tissue, apple):

| shots | share | debris heat | rupture temperature [K] | spot |
|---|---|---|---|---|
| thrown out, 10 to 24 W on 0.4 mm | 1.1 | -0.73 | -0.7 | -2 |
| dried and burnt off, 0.8 to 1.5 W, 0.1 s | 1.3 | 0.00 | 0.0 | -2 |
| width of a crater thrown out | 0.2 | 0.0 | -0.7 | 0.7 |

Far above threshold a depth goes as share x exposure / (heat to rupture + debris heat), so that share and
debris heat are told apart by slow shots alone, from which nothing is thrown out. Debris heat and rupture
temperature act alike on depths; over their ranges (2 to 4 kJ/cm3, 180 to 305 degC) depths change by 53 and
17 %. So debris heat is fitted, and the rupture temperature, unless named, is the material's; both together
need widths.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.calibration.request import BenchShots
from spotdwell.calibration.result import shown_value, unit_of
from spotdwell.inputs.laser_file import ONLY_DIAL, Laser
from spotdwell.library import suggestion
from spotdwell.model.material import Medium

DELIVERED, DEBRIS, RUPTURE, SPOT = "delivered-share", "debris-heat", "rupture-temperature", "spot"
BOUNDS = {DELIVERED: (0.1, 1.0), DEBRIS: (1e8, 2e10), RUPTURE: (423.15, 582.15), SPOT: (30e-6, 20e-3)}
"""Least and most [SI]. Beyond 309 degC, 0.9 of its critical temperature, water cannot stay liquid."""
EXAMPLES = {DELIVERED: "0.9", DEBRIS: "3 kJ/cm3", RUPTURE: "240 degC", SPOT: "0.5 mm"}
"""Of a value that is known, as a person writes it."""
USUAL_SHARE = 0.85
"""Of the power that arrives, where nothing is known: a start, that the answer does not depend on."""
USUAL_SPOT = 0.5e-3
"""[m]; likewise, of a dial position at which nothing was removed."""


@dataclass(frozen=True)
class FreeValue:
    """A value that the fit may move."""

    key: str
    start: float
    """[SI]."""

    @property
    def kind(self) -> str:
        """What it is, such as "spot" for "spot:2"."""
        return self.key.partition(":")[0]

    @property
    def bounds(self) -> tuple[float, float]:
        """[SI]."""
        return BOUNDS[self.kind]


@dataclass(frozen=True)
class Values:
    """All values of a bench: some free, the others known."""

    free: tuple[FreeValue, ...]
    known: Mapping[str, float]
    """By key [SI]."""

    @property
    def start(self) -> dict[str, float]:
        """All values [SI] by key, before the fit."""
        return {**self.known, **{one.key: one.start for one in self.free}}


def values_of(
    shots: BenchShots,
    medium: Medium,
    initial_temperature: float,
    laser: Laser | None,
    fit: str | None = None,
    fix: Sequence[str] = (),
) -> Values:
    """Values of a bench: `fit` names some, such as "delivered-share,spot", `fix` those that are known.

    Unless named, all that neither the `laser` file nor `fix` says are fitted, and the debris heat of the
    `medium` shot at, which is at `initial_temperature` [K] first. Raises InputError for a value that is not
    there to be fitted or fixed.
    """
    keys = _keys(shots, medium, laser)
    fixed = _fixed(fix, keys, shots)
    measured = _measured(laser, keys) | _of_material(medium)
    requested = _requested(fit, keys, shots) if fit is not None else None
    if requested is None:
        free = [key for key in keys if key not in fixed and (key == DEBRIS or key not in measured)]
    else:
        free = requested
    if both := [key for key in free if key in fixed]:
        raise InputError("fix", "values that are not fitted too", both[0], "Leave it out of fit or fix.")
    if not free:
        advice = "Leave one out, or name one to fit."
        raise InputError("fix", f"one of {', '.join(keys)} left to fit", "none", advice)
    known = {key: fixed.get(key, measured.get(key)) for key in keys if key not in free}
    if missing := [key for key, value in known.items() if value is None]:
        raise _unknown(missing[0], shots)
    starts = fixed | measured
    starts.setdefault(DELIVERED, USUAL_SHARE)
    heat = medium.removal_enthalpy(initial_temperature) + starts.get(DEBRIS, 0.0)
    guessed = _guessed_spots(shots, heat, starts[DELIVERED]) | starts
    return Values(
        tuple(FreeValue(key, _inside(guessed.get(key, USUAL_SPOT), key)) for key in free),
        {key: value for key, value in known.items() if value is not None},
    )


def spot_key(dial: str) -> str:
    """Key of the spot at a `dial` position."""
    return f"{SPOT}:{dial}"


def example_of(key: str) -> str:
    """A value that is known, as it is given, such as '"spot:2=0.5 mm"'."""
    text = f"{key}={EXAMPLES[key.partition(':')[0]]}"
    return f'"{text}"' if " " in text else text


def dial_of(shots: BenchShots, index: int, laser: Laser | None) -> str:
    """Dial position of a shot; empty where its spot is given."""
    if shots.spot is not None:
        return ""
    if shots.dial is not None:
        return shots.dial[index]
    return laser.diameter[0].dial if laser is not None else ONLY_DIAL


def _keys(shots: BenchShots, medium: Medium, laser: Laser | None) -> list[str]:
    """Keys of all values that the shots depend on."""
    keys = [DELIVERED]
    if medium.ruptures:
        keys += [DEBRIS, RUPTURE]
    if shots.spot is None:
        if shots.dial is None and (laser is None or len(laser.diameter) > 1):
            where = f"{shots.file}: row 1 (the header)"
            got = "neither" if laser is None else "neither, and a laser file with several dial positions"
            raise InputError(where, "a column spot or a column dial", got, 'Add one, such as "spot [mm]".')
        dials = dict.fromkeys(dial_of(shots, index, laser) for index in range(len(shots.rows)))
        keys += [spot_key(dial) for dial in dials]
    return keys


def _measured(laser: Laser | None, keys: Sequence[str]) -> dict[str, float]:
    """What the laser file says."""
    if laser is None:
        return {}
    share = laser.delivered_share
    found = {spot_key(spot.dial): spot.value for spot in laser.diameter}
    found |= {} if share is None else {DELIVERED: share.value}
    return {key: value for key, value in found.items() if key in keys}


def _of_material(medium: Medium) -> dict[str, float]:
    """What the material says."""
    removal = medium.removal
    if removal is None or not medium.ruptures:
        return {}
    return {DEBRIS: removal.debris_heat, RUPTURE: removal.rupture_temperature}


def _unknown(key: str, shots: BenchShots) -> InputError:
    """The value is neither fitted nor known."""
    example = f"fix {example_of(key)}"
    where = "fit" if shots.dial is None or not key.startswith(SPOT) else _first_use(shots, key)
    return InputError(where, f"{key} fitted or known", "neither", f"Add it to fit, or {example}.")


def _first_use(shots: BenchShots, key: str) -> str:
    dial = key.partition(":")[2]
    index = (shots.dial or ()).index(dial)
    return shots.where(index, "dial")


def _fixed(texts: Sequence[str], keys: Sequence[str], shots: BenchShots) -> dict[str, float]:
    found: dict[str, float] = {}
    for text in texts:
        name, mark, value = text.partition("=")
        if not mark:
            advice = f"Add what {name.strip() or 'it'} is, after an equals sign."
            raise InputError("fix", 'a name and a value, such as "delivered-share=0.9"', f'"{text}"', advice)
        for key in _named("fix", name.strip(), keys, shots):
            found[key] = _fixed_value(key, value.strip())
    return found


def _fixed_value(key: str, text: str) -> float:
    where, kind = f"fix {key}", key.partition(":")[0]
    value = units.parse(text, unit_of(key), where=where, example=EXAMPLES[kind])
    low, high = BOUNDS[kind]
    if not low <= value <= high:
        span = " to ".join(shown_value(unit_of(key), one) for one in (low, high))
        advice = "Check its unit, or leave it out to have it fitted."
        raise InputError(where, span, f'"{text}"', advice)
    return value


def _requested(fit: str, keys: Sequence[str], shots: BenchShots) -> list[str]:
    names = [name.strip() for name in fit.split(",") if name.strip()]
    if not names:
        raise InputError("fit", f"names of values ({', '.join(keys)})", f'"{fit}"')
    found = {key for name in names for key in _named("fit", name, keys, shots)}
    return [key for key in keys if key in found]


def _named(where: str, name: str, keys: Sequence[str], shots: BenchShots) -> list[str]:
    """Keys that `name` means; "spot" means all spots."""
    if name == SPOT and shots.spot is None:
        return [key for key in keys if key.startswith(SPOT)]
    if name in keys:
        return [name]
    if name.startswith(SPOT) and shots.spot is not None:
        advice = "Put a column dial in place of it, to find the spots."
        raise InputError(where, "no spot, as the column spot says it", f'"{name}"', advice)
    if name.startswith(SPOT):
        dials = ", ".join(key.partition(":")[2] for key in keys if key.startswith(SPOT))
        got, advice = f'"{name}"', "No row has that dial position."
        raise InputError(where, f"{SPOT} or {SPOT}:DIAL, with a dial of {dials}", got, advice)
    if name in (DEBRIS, RUPTURE):
        advice = "Choose another material, or leave it out."
        raise InputError(where, "a material that superheated water throws out", f'"{name}"', advice)
    raise InputError(where, f"one of {', '.join(keys)}", f'"{name}"', suggestion(name, tuple(keys)))


def _guessed_spots(shots: BenchShots, heat: float, share: float) -> dict[str, float]:
    """Spot of each dial position [m] for which the closed form removes what was measured.

    A peak radiant exposure H removes H / `heat` (eq. I4 far above the threshold): no conduction, so the true
    spot is mostly smaller. It is a start only.
    """
    if shots.dial is None and shots.spot is not None:
        return {}
    deep = shots.depth > 0.0
    with np.errstate(divide="ignore"):
        spots = 2.0 * np.sqrt(2.0 * share * shots.power * shots.dwell / (math.pi * heat * shots.depth))
    dials = np.array(shots.dial if shots.dial is not None else [ONLY_DIAL] * len(spots))
    return {
        spot_key(str(dial)): float(np.median(spots[deep & (dials == dial)]))
        for dial in dict.fromkeys(dials)
        if np.any(deep & (dials == dial))
    }


def _inside(value: float, key: str) -> float:
    """`value`, off the bounds by a little, where a fit can begin."""
    low, high = BOUNDS[key.partition(":")[0]]
    room = 0.02 * math.log(high / low)
    return float(np.clip(value, low * math.exp(room), high * math.exp(-room)))
