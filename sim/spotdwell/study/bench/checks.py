"""What keeps bench shots from telling the values that are asked of them, and what helps."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.inputs.bench_shots import BenchShots
from spotdwell.study.bench.values import DELIVERED, EJECTED, SPOT, Values, spot_key

Array = NDArray[np.float64]

MORE_ROWS = 2
"""Rows beyond the number of values that a fit needs."""
FEWEST_AT_DIAL = 2
MOST_CONDITION = 30.0
"""Condition number of the scaled slopes beyond which no fit is made: intervals are some 15 times wider there
than if all else were known."""
LEAST_SLOPE = 0.05
"""A value of which even all rows together depend less, relative change over relative change."""

_EXAMPLE = {DELIVERED: f"{DELIVERED}=0.9", EJECTED: f"{EJECTED}=0.8", SPOT: "{key}=0.5 mm"}
_SHOTS = {
    frozenset({DELIVERED, EJECTED}): "shots that dry and burn their way down, where the ejected share hardly "
    "counts (a tenth of the power for ten times the dwell), beside ones that throw tissue out",
    frozenset({DELIVERED, SPOT}): "widths of the craters, or shallow shots near the threshold",
    frozenset(
        {EJECTED, SPOT}
    ): "widths of the craters, or shots that dry and burn their way down (a tenth of the "
    "power for ten times the dwell)",
    frozenset({SPOT}): "shots at each dial position over several powers and dwells",
}


def check_shots(shots: BenchShots, values: Values, dials: list[str]) -> None:
    """Raise InputError for shots that are too few for the values; `dials` has the position of each."""
    used = ~shots.perforated
    if not used.any():
        advice = "Use a thicker target or less power, so that craters end inside it."
        raise InputError(shots.file, "craters that end inside the target", "all rows perforated", advice)
    need = len(values.free) + MORE_ROWS
    if int(used.sum()) < need:
        names = " and ".join(one.key for one in values.free)
        expected = f"at least {need} rows that are not perforated, to fit {len(values.free)} values ({names})"
        raise InputError(shots.file, expected, str(int(used.sum())), f"Add shots, or {_fix(values)}.")
    if not np.any(shots.depth[used] > 0.0):
        raise InputError(
            shots.file, "craters", "a depth of 0 in all rows", "Add shots that remove something."
        )
    counts = Counter(dial for dial, one in zip(dials, used, strict=True) if one)
    for dial in dict.fromkeys(dials):
        key = spot_key(dial)
        if any(one.key == key for one in values.free) and counts[dial] < FEWEST_AT_DIAL:
            expected = f"at least {FEWEST_AT_DIAL} shots at dial {dial}, to find its spot"
            advice = f'Add one of another power or dwell, or fix "{key}=0.5 mm" with the spot that you know.'
            place = shots.where(dials.index(dial), "dial")
            raise InputError(place, expected, f"{counts[dial]} that is not perforated", advice)


def check_told_apart(slopes: Array, values: Values, source: str) -> None:
    """Raise InputError where the rows do not tell the values, or not one from another.

    `slopes` are those of the rows at the optimum, shape (rows, values).
    """
    sizes = np.linalg.norm(slopes, axis=0)
    for one, size in zip(values.free, sizes, strict=True):
        if size < LEAST_SLOPE:
            expected, got = f"shots that depend on {one.key}", "none"
            raise InputError(
                source, expected, got, f"Fix it (fix {_example(one.key)}), or add {_other(one.key)}."
            )
    if len(values.free) < 2:
        return
    _, strengths, axes = np.linalg.svd(slopes / sizes)
    condition = strengths[0] / max(strengths[-1], 1e-300)
    if condition > MOST_CONDITION:
        mixed = [one.key for one, part in zip(values.free, axes[-1], strict=True) if abs(part) > 0.3]
        raise InputError(
            source,
            f"shots that tell {' from '.join(mixed)}",
            "shots in which the effect of one is that of the other (condition number "
            f"{min(condition, 1e6):.2g}, over {MOST_CONDITION:g})",
            f"Fix one of them, as fix {_example(mixed[0])}, or add {advice_for(mixed)}.",
        )


def advice_for(keys: list[str]) -> str:
    """Shots that tell the values `keys` apart."""
    kinds = frozenset(key.partition(":")[0] for key in keys)
    return _SHOTS.get(kinds, "shots that dry and burn their way down, and widths of the craters")


def _fix(values: Values) -> str:
    return f"fix a value that you know, as fix {_example(values.free[0].key)}"


def _example(key: str) -> str:
    kind = key.partition(":")[0]
    text = _EXAMPLE[kind].format(key=key)
    return f'"{text}"' if " " in text else text


def _other(key: str) -> str:
    if key == EJECTED:
        return "shots that throw tissue out: more power, a shorter dwell"
    return "shots that remove something"
