"""What a calibration must be warned of: shots that cannot tell, values at their bounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.calibration.parameters import DEBRIS, DELIVERED, RUPTURE, SPOT, Values, example_of, spot_key
from spotdwell.calibration.request import BenchShots
from spotdwell.calibration.result import BenchRow, Calibration

Array = NDArray[np.float64]

MORE_ROWS = 2
"""Rows beyond the number of values that a fit needs."""
FEWEST_AT_DIAL = 2
MOST_CONDITION = 30.0
"""Condition number of the scaled slopes beyond which no fit is made: intervals are some 15 times wider there
than if all else were known."""
LEAST_SLOPE = 0.05
"""A value of which even all rows together depend less, relative change over relative change."""
LEAST_CLEAR = 2.0
"""Size of the rows' slopes, in the direction told least, over their standard error from rough computed
depths, below which roughness may have made them up. Shots of one kind give about 1, of two 4 to 8."""
FEWEST_WIDTHS = 4
"""Widths that tell the rupture temperature from the debris heat: depths do not."""

_BURNING = "shots that dry and burn their way down (a tenth of the power for ten times the dwell)"
_WIDTHS = "widths of the craters"
_SHOTS = {
    frozenset({DELIVERED, DEBRIS}): f"{_BURNING}, in which debris counts for nothing, beside ones that throw "
    "tissue out",
    frozenset(
        {DELIVERED, RUPTURE}
    ): f"{_BURNING}, in which nothing ruptures, beside ones that throw tissue out",
    frozenset({DELIVERED, SPOT}): f"{_WIDTHS}, or shallow shots near the threshold",
    frozenset({DEBRIS, RUPTURE}): f"{_WIDTHS}, as rims lie where tissue just ruptures",
    frozenset({DEBRIS, SPOT}): f"{_WIDTHS}, or {_BURNING}",
    frozenset({RUPTURE, SPOT}): f"{_WIDTHS}, or {_BURNING}",
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
    _check_widths(shots, values)
    counts = Counter(dial for dial, one in zip(dials, used, strict=True) if one)
    for dial in dict.fromkeys(dials):
        key = spot_key(dial)
        if any(one.key == key for one in values.free) and counts[dial] < FEWEST_AT_DIAL:
            expected = f"at least {FEWEST_AT_DIAL} shots at dial {dial}, to find its spot"
            advice = (
                f"Add one of another power or dwell, or fix {example_of(key)} with the spot that you know."
            )
            place = shots.where(dials.index(dial), "dial")
            raise InputError(place, expected, f"{counts[dial]} that is not perforated", advice)


def _check_widths(shots: BenchShots, values: Values) -> None:
    """Raise InputError where debris heat and rupture temperature are asked of depths alone."""
    if not {DEBRIS, RUPTURE} <= {one.key for one in values.free}:
        return
    count = int(np.isfinite(shots.width[~shots.perforated]).sum())
    if count < FEWEST_WIDTHS:
        raise InputError(
            shots.file,
            f"widths of at least {FEWEST_WIDTHS} craters, to tell {DEBRIS} from {RUPTURE}",
            f"{count}: depths change alike with either",
            f"Add a column width, or fix one of them, as fix {example_of(RUPTURE)}.",
        )


def check_told_apart(slopes: Array, rough: Array, values: Values, source: str) -> None:
    """Raise InputError where the rows do not tell the values, or not one from another.

    `slopes` are those of the rows at the optimum, with the standard error `rough`, shapes (rows, values).
    """
    sizes, errors = np.linalg.norm(slopes, axis=0), np.linalg.norm(rough, axis=0)
    for one, size, error in zip(values.free, sizes, errors, strict=True):
        if size < max(LEAST_SLOPE, LEAST_CLEAR * error):
            expected, got = f"shots that depend on {one.key}", "none"
            raise InputError(
                source, expected, got, f"Fix it (fix {example_of(one.key)}), or add {_other(one.key)}."
            )
    if len(values.free) < 2:
        return
    _, strengths, axes = np.linalg.svd(slopes / sizes)
    condition = strengths[0] / max(strengths[-1], 1e-300)
    noise = float(np.linalg.norm(axes[-1] * errors / sizes))
    if condition > MOST_CONDITION or strengths[-1] < LEAST_CLEAR * noise:
        mixed = [one.key for one, part in zip(values.free, axes[-1], strict=True) if abs(part) > 0.3]
        alike = _alike(condition, strengths[-1], noise)
        finer = "" if condition > MOST_CONDITION else " A higher refinement makes depths less rough."
        raise InputError(
            source,
            f"shots that tell {' from '.join(mixed)}",
            f"shots in which the effect of one is that of the other ({alike})",
            f"Fix one of them, as fix {example_of(mixed[0])}, or add {advice_for(mixed)}.{finer}",
        )


def _alike(condition: float, strength: float, noise: float) -> str:
    """By which number effects are alike."""
    if condition > MOST_CONDITION:
        return f"condition number {min(condition, 1e6):.2g}, over {MOST_CONDITION:g}"
    return f"they differ by {strength / noise:.2g} times what rough computed depths make of it"


def advice_for(keys: list[str]) -> str:
    """Shots that tell the values `keys` apart."""
    kinds = frozenset(key.partition(":")[0] for key in keys)
    return _SHOTS.get(kinds, f"{_BURNING}, and {_WIDTHS}")


def _fix(values: Values) -> str:
    return f"fix a value that you know, as fix {example_of(values.free[0].key)}"


def _other(key: str) -> str:
    if key in (DEBRIS, RUPTURE):
        return "shots that throw tissue out: more power, a shorter dwell"
    return "shots that remove something"


CLOSE = 0.9
"""Correlation from which two values go together."""
FAR = 3.0
"""Standard deviations from which a shot misses."""
DEEP = 2.0
"""Depth over width from which walls reflect the beam."""
STILL = 0.5
"""Change that is left, over half the interval, from which it is told."""
FEW_CELLS = 30.0
"""Cells down to the median depth below which their height is told."""

NOTES = (
    "Intervals hold for what was fitted alone: what was taken as known, the material's other values and the "
    "model itself are counted as exact. A fitted share takes up whatever else scales the power, such "
    "as a wrong meter or light that the tissue reflects.",
    "The power that was set is taken as exact and the same for all shots.",
)
"""True of every calibration."""


def warnings_of(found: Calibration, lacks_fit: bool) -> tuple[str, ...]:
    """Sentences on what may be wrong with a calibration, the gravest first."""
    about_values = [*_about_bounds(found), *_about_pairs(found), *_about_fit(found, lacks_fit)]
    return (*about_values, *_about_rows(found), *_about_char(found), *_about_cells(found))


def _about_bounds(found: Calibration) -> Iterator[str]:
    for one in found.values:
        if one.at_bound:
            yield (
                f"{one.key} ended at {one.shown(one.value)}, as far as it may go: do not trust its interval. "
                "Another value that is taken as known, a measurement or the model is off."
            )


def _about_pairs(found: Calibration) -> Iterator[str]:
    keys = [one.key for one in found.values]
    for first in range(len(keys)):
        for second in range(first + 1, len(keys)):
            together = float(found.correlation[first, second])
            if abs(together) > CLOSE:
                pair = [keys[first], keys[second]]
                yield (
                    f"{pair[0]} and {pair[1]} can hardly be told apart by these shots (correlation "
                    f"{together:.3f}): what is wrong with one makes the other wrong. To tell them apart add "
                    f"{advice_for(pair)}; or fix one."
                )


def _about_fit(found: Calibration, lacks_fit: bool) -> Iterator[str]:
    if lacks_fit:
        yield (
            f"Computed depths miss by {100.0 * found.scatter:.2g} %, more than repeats scatter (F test, "
            "chance below 1 %): the model or a known value is off, which no interval covers."
        )
    for row in found.used:
        if row.outlier:
            yield (
                f"Row {row.row} is an outlier: {abs(row.off_others):.2g} times the scatter of the others "
                "from what they make of it (left out of the fit, chance below 1 % among all). Look at it "
                "again: leave it out only if you find what went wrong."
            )
    far = [row for row in found.used if abs(row.misfit) > FAR and not row.outlier]
    if far:
        yield f"More than {FAR:g} standard deviations off: {_named(far)}. Look at them again."


def _about_rows(found: Calibration) -> Iterator[str]:
    yield from about_perforated([row.row for row in found.rows if row.perforated])
    if beside := [row for row in found.used if row.near_jump]:
        yield (
            f"Beside a jump of the model, where a little more or less makes another kind of shot (thrown out "
            f"or dried): {_named(beside)}. Each may draw the values by half an interval, "
            "for which it counts with the flatter side's slope."
        )
    if deep := [row for row in found.used if row.computed_depth > DEEP * row.computed_width > 0.0]:
        yield (
            f"Deeper than {DEEP:g} times their width, where walls reflect the beam, which the model leaves "
            f"out: {_named(deep)}."
        )


def _about_char(found: Calibration) -> Iterator[str]:
    wrong = [row for row in found.rows if row.char_agrees is False]
    if wrong:
        yield (
            f"Char was seen where the verdict is not charred, or the other way round: {_named(wrong)}. Char "
            "was not fitted."
        )


def _about_cells(found: Calibration) -> Iterator[str]:
    if found.unsettled > STILL:
        yield (
            f"The fit did not settle: a value would still move by {found.unsettled:.2g} times half its "
            "interval. Take the intervals as that much wider, or fix a value."
        )


def about_cells(height: float, depth: float) -> Iterator[str]:
    """Of cells of some `height` against craters of some `depth` [m]."""
    if height * FEW_CELLS > depth:
        yield (
            f"The median crater is {depth / height:.2g} cells deep, and a computed depth ends with a cell: "
            f"give a refinement some {FEW_CELLS * height / depth:.2g} times higher."
        )


def about_perforated(rows: list[int]) -> Iterator[str]:
    """Of rows that were cut through, by their numbers."""
    if rows:
        yield f"Left out, as cut through: {_numbered(rows)}."


def _named(rows: list[BenchRow]) -> str:
    return _numbered([row.row for row in rows])


def _numbered(rows: list[int]) -> str:
    numbers = [str(row) for row in rows]
    text = numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"
    return f"row{'s' if len(numbers) > 1 else ''} {text}"
