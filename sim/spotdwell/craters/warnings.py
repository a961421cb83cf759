"""Where a beam from craters misleads: too few craters, a bent line, near the threshold, heat that spreads."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.craters.result import Craters, ThresholdFit

FEW = 5
"""Craters below which the interval rests on hardly any scatter."""
NARROW = 3.0
"""Highest over lowest energy that a line should span."""
BENT = 0.01
"""A curvature is told if it has a smaller chance."""
NEAR = 1.3
"""Energies up to this many times the threshold are near it."""
DOUBTFUL = 0.4
"""Relative half interval of the slope beyond which the delta method is rough."""
SPREAD = 0.02
"""A diameter that heat may make larger by this share is told."""
SOFT_TISSUE_DIFFUSIVITY = 1.2e-7
"""[m2/s]: of soft tissue with 70 % of water, by the formulas of Takata et al. 1977 (from memory)."""

NOTES = (
    "The threshold is that of the rim that was measured: measure the crater's edge, not the wider rim of "
    "dried, whitened or charred tissue. The beam's diameter follows from either, if always from the same.",
    "The pulse energy is taken as exact: if the meter reads 5 % high, so do the thresholds; the diameter "
    "stays.",
)
"""True of every fit."""


@dataclass(frozen=True)
class Conditions:
    """How the craters were made."""

    pulses: int | None = None
    """On each spot; None: not told."""
    pulse_duration: float | None = None
    """[s]; None: not told."""
    diffusivity: float = SOFT_TISSUE_DIFFUSIVITY
    """Of the target [m2/s]."""

    @classmethod
    def typed(cls, pulses: int | None, pulse_duration: str | None, diffusivity: str | None) -> Conditions:
        """From a number and quantity strings. Raises InputError that names the option."""
        if pulses is not None and pulses < 1:
            raise InputError("pulses", "a whole number from 1", str(pulses))
        duration = (
            None if pulse_duration is None else _above_zero("pulse_duration", pulse_duration, "s", "0.4 ms")
        )
        spread = (
            SOFT_TISSUE_DIFFUSIVITY
            if diffusivity is None
            else _above_zero("diffusivity", diffusivity, "m2/s", "1.2e-7 m2/s")
        )
        return cls(pulses, duration, spread)


def _above_zero(where: str, text: str, unit: str, example: str) -> float:
    value = units.parse(text, unit, where=where, example=example)
    if not 0.0 < value < math.inf:
        raise InputError(where, f'more than 0, such as "{example}"', f'"{text}"')
    return value


def warnings_of(fit: ThresholdFit, conditions: Conditions) -> tuple[str, ...]:
    """Sentences on what may bias the fit, the gravest first."""
    return tuple(
        text
        for part in (_about_outliers, _about_pulses, _about_line, _about_range, _about_threshold, _about_heat)
        for text in part(fit, conditions)
    )


def _about_outliers(fit: ThresholdFit, _: Conditions) -> Iterator[str]:
    rule = "studentised residual, Bonferroni at 5 %"
    if fit.outliers.count:
        yield (
            f"Left out as {_plural('outlier', fit.outliers.count)} ({rule}): {_rows(fit.outliers)}. "
            "Look at them again; keep all to fit them too."
        )
    if fit.suspects.count:
        yield (
            f"Kept, though told as {_plural('outlier', fit.suspects.count)} ({rule}): {_rows(fit.suspects)}. "
            "The intervals mean little then."
        )


def _about_pulses(fit: ThresholdFit, conditions: Conditions) -> Iterator[str]:
    counts = _counts(fit, conditions)
    if counts is None:
        yield (
            "How many pulses hit each spot is not told; one is assumed. With more, the target changes "
            "between them (incubation) and the threshold comes out too low. Say how many (pulses) or in a "
            "column pulses."
        )
    elif counts.min() != counts.max():
        yield (
            f"Spots had {counts.min():g} to {counts.max():g} pulses: the threshold differs among them, so "
            "fit one number of pulses at a time."
        )
    elif counts.max() > 1.0:
        yield (
            f"Each spot had {counts.max():g} pulses: the threshold is that of so many, lower than of one "
            "(incubation), and heat may have piled up between them."
        )


def _counts(fit: ThresholdFit, conditions: Conditions) -> NDArray[np.float64] | None:
    if fit.used.pulses is not None:
        return fit.used.pulses
    return None if conditions.pulses is None else np.array([float(conditions.pulses)])


def _about_line(fit: ThresholdFit, _: Conditions) -> Iterator[str]:
    if fit.curvature_chance >= BENT:
        return
    chance = f"chance {units.significant(max(fit.curvature_chance, 1e-9), 1)}"
    if fit.curvature < 0.0:
        yield (
            f"D^2 bends down against ln E ({chance}): the beam is flatter than a gaussian, or large craters "
            "were measured too small. The diameter is then no 1/e2 one, and the threshold is biased."
        )
    else:
        yield (
            f"D^2 bends up against ln E ({chance}): the beam has wings or rings outside a gaussian, or heat "
            "widened the large craters. The diameter is then no 1/e2 one, and the threshold is biased."
        )


def _about_range(fit: ThresholdFit, _: Conditions) -> Iterator[str]:
    if fit.used.count < FEW:
        yield (
            f"There are {fit.used.count} craters: with fewer than {FEW} an interval is wide, outliers cannot "
            "be told, and a bent line cannot be seen."
        )
    if fit.slope_doubt >= 1.0:
        yield "The slope may as well be 0: neither diameter nor threshold is bounded. Measure more craters."
    elif fit.slope_doubt > DOUBTFUL:
        yield (
            f"The slope is uncertain by {100.0 * fit.slope_doubt:.2g} %: the thresholds' intervals are "
            "rough. Measure more craters, or over more energies."
        )
    span = float(fit.used.energy.max() / fit.used.energy.min())
    if span < NARROW:
        yield (
            f"The energies span a factor {span:.2g}; below {NARROW:g} the line is short and a beam that is "
            "not gaussian goes unseen. Add higher energies."
        )


def _about_threshold(fit: ThresholdFit, _: Conditions) -> Iterator[str]:
    threshold = fit.threshold_energy
    near = fit.used.only(fit.used.energy < NEAR * threshold.value)
    if near.count:
        yield (
            f"Near the threshold, below {NEAR:g} times it: {_rows(near)}. Craters are small and ragged "
            "there, and an uneven target decides."
        )
    late = fit.unmarked.only(fit.unmarked.energy > threshold.high)
    if late.count:
        yield (
            f"No crater, though above the threshold's interval: {_rows(late)}. The line does not hold down "
            "to its threshold."
        )


def _about_heat(fit: ThresholdFit, conditions: Conditions) -> Iterator[str]:
    if conditions.pulse_duration is None:
        yield "Whether heat spreads during a pulse was not checked: give the pulse duration."
        return
    # A gaussian of radius w spread by conduction for a time t has w^2 + 8 alpha t (eq. C1).
    share = math.sqrt(1.0 + 16.0 * conditions.diffusivity * conditions.pulse_duration / fit.slope) - 1.0
    if share > SPREAD:
        yield (
            f"Heat spreads during the pulse of {units.written(conditions.pulse_duration, 's')} (diffusivity "
            f"{conditions.diffusivity:.2g} m2/s): the diameter may come out up to {100.0 * share:.2g} % "
            "too large."
        )


def _rows(craters: Craters) -> str:
    """ "row 4 (5.2 mJ, 310 um)" for each, the first dozen of them."""
    texts = [
        f"row {row} ({units.display(float(energy), 'J', 'mJ')}, {units.display(float(diameter), 'm', 'um')})"
        for row, energy, diameter in zip(craters.rows, craters.energy, craters.diameter, strict=True)
    ]
    more = f" and {len(texts) - 12} more" if len(texts) > 12 else ""
    return ", ".join(texts[:12]) + more


def _plural(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"
