"""Chance that a size does what was asked: its depth, its limits and both, over joint draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from spotdwell.measure.interval import odds_of
from spotdwell.sizing.run import Sized
from spotdwell.sizing.trials import Limits
from spotdwell.spread.brief import FEW, brief
from spotdwell.spread.run import Uncertainty

Measures = Mapping[str, float | None]

MOST_UPDATES = 3e8
"""Cell updates of a setting beyond which its chance would cost more than the search, some twenty runs."""


@dataclass(frozen=True)
class Chance:
    """What becomes of a setting over joint draws; shares from 0 to 1."""

    reached: float | None
    """It removes the wanted depth; None where none was wanted."""
    kept: float
    """It keeps the limits on char, coagulation and depth."""
    both: float
    low: float | None
    """5 % of the depths lie below [m]."""
    high: float | None
    """5 % of them lie above [m]."""
    covers: str
    """What these shares hold and what they do not."""

    @property
    def sentences(self) -> tuple[str, ...]:
        """For a reader."""
        parts = [f"Over {FEW} joint draws:"]
        if self.reached is not None:
            parts.append(f"the depth is reached or passed in {_odds(self.reached)},")
        parts.append(f"the limits are kept in {_odds(self.kept)}")
        if self.reached is not None:
            parts.append(f"and both in {_odds(self.both)}")
        return (f"{' '.join(parts)}.", self.covers)


def chance_of(found: Sized) -> tuple[Sized, Chance | None]:
    """The answer with the intervals of its result, and its chance.

    As it is and None without an answer, where that costs too much, or where no row saw its materials.
    """
    if not found.found or found.result is None:
        return found, None
    study = brief(found.result, MOST_UPDATES)
    if study is None:
        return found, None
    judged = replace(found, result=replace(found.result, interval=study.interval))
    return judged, _chance(study, found.limits, found.depth)


def _chance(study: Uncertainty, limits: Limits, depth: float | None) -> Chance:
    def reaches(measures: Measures) -> bool:
        return depth is None or (measures["crater_depth"] or 0.0) >= depth

    def keeps(measures: Measures) -> bool:
        pairs = (
            (_thickest(measures, "char"), limits.char),
            (_thickest(measures, "coagulation"), limits.coagulation),
            (measures["deepest"] or 0.0, limits.depth),
        )
        return all(limit is None or value <= limit for value, limit in pairs)

    spread = study.spreads["crater_depth"]
    return Chance(
        None if depth is None else study.share(reaches),
        study.share(keeps),
        study.share(lambda one: reaches(one) and keeps(one)),
        spread.low,
        spread.high,
        study.covers,
    )


def _thickest(measures: Measures, zone: str) -> float:
    return max(measures[f"{zone}_thickness_{place}"] or 0.0 for place in ("floor", "wall"))


def _odds(share: float) -> str:
    return odds_of(share) or "all"
