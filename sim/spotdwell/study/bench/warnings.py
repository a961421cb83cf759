"""Where values from bench shots mislead: bounds, values that go together, jumps, shots that miss."""

from __future__ import annotations

from collections.abc import Iterator

from spotdwell.measure.calibration import BenchRow, Calibration
from spotdwell.study.bench.checks import advice_for

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
    told = [*_about_bounds(found), *_about_pairs(found), *_about_fit(found, lacks_fit)]
    return (*told, *_about_rows(found), *_about_char(found), *_about_cells(found))


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
    far = [row for row in found.used if abs(row.misfit) > FAR]
    if far:
        yield f"More than {FAR:g} standard deviations off: {_named(far)}. Look at them again."


def _about_rows(found: Calibration) -> Iterator[str]:
    if through := [row for row in found.rows if row.perforated]:
        yield f"Left out, as cut through: {_named(through)}."
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
            f"give a refinement some {FEW_CELLS * height / depth:.1g} times higher."
        )


def _named(rows: list[BenchRow]) -> str:
    numbers = [str(row.row) for row in rows]
    text = numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"
    return f"row{'s' if len(numbers) > 1 else ''} {text}"
