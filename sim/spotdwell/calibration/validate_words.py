"""Words of a validation, the same on the screen and in its picture."""

from __future__ import annotations

from collections.abc import Iterator

from spotdwell.calibration.validate import Coverage, Validation

FAR = 3.0
"""Stated standard deviations from which a shot is named."""

NOTES = (
    "Nothing was fitted: power, spot and dwell are taken as the file and the laser say, the material as it "
    "stands. A bias may be the meter's, the spot's or the model's; shots alone do not say whose.",
    "Shots that the same material was calibrated with agree with it for that reason, and validate nothing.",
)
"""True of every validation."""


def bias_text(found: Validation) -> str:
    """By how much computed depths are too deep or too shallow, such as "Bias +12 % (...)"."""
    low, high = percent(found.bias_low), percent(found.bias_high)
    side = "too deep" if found.bias > 0.0 else "too shallow"
    sure = f"computed {side}" if found.bias_low * found.bias_high > 0.0 else "not told from none"
    return f"Bias {percent(found.bias)} ({low} to {high} with 95 % confidence): {sure}."


def spread_text(found: Validation) -> str:
    """How much computed over measured depths scatter."""
    return f"Spread {100.0 * found.spread:.2g} % (standard deviation of computed over measured depth)."


def coverage_text(one: Coverage) -> str:
    """How many computed depths lie within the stated errors."""
    size = "1 stated error" if one.deviations == 1.0 else f"{one.deviations:g} stated errors"
    return f"Within {size}: {one.within} of {one.of} shots; {100.0 * one.expected:.0f} % if errors were all."


def warnings_of(found: Validation) -> Iterator[str]:
    """Sentences on what these shots do not tell, and on which miss."""
    if through := [one.row for one in found.shots if one.perforated]:
        yield f"Not counted, as cut through: {_named(through)}."
    if none := [one.row for one in found.shots if one.depth == 0.0 and not one.perforated]:
        yield f"Without a crater, and so without a share of bias and spread: {_named(none)}."
    if far := [one.row for one in found.shots if one.off is not None and abs(one.off) > FAR]:
        yield f"More than {FAR:g} stated errors off: {_named(far)}."
    if not found.coverage:
        yield (
            'No errors are stated, so there is no coverage: add a column "depth error [um]", one standard '
            "deviation of each row's depth."
        )


def percent(share: float) -> str:
    """A signed share, such as "+12 %"."""
    return f"{100.0 * share:+.2g} %"


def _named(rows: list[int]) -> str:
    numbers = [str(row) for row in rows]
    text = numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"
    return f"row{'s' if len(numbers) > 1 else ''} {text}"
