"""Interval: what joint draws of the material values make of a run, as it is kept and shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LEVEL = 0.9
"""Share of the draws between the two ends of an interval."""
LEVEL_WORDS = "90 % interval"

OF_THE_RUN = ("end_time", "cell_depth")
"""Measures that say how a run was made: draws say nothing of them."""
Ends = tuple[float, float] | None
"""5 % of the draws lie below the first [SI], 5 % above the second; None where a measure rarely applied."""

_SAME = 1e-9
"""Relative width below which an interval is none: the measure does not depend on the draws."""


def varies(ends: Ends) -> bool:
    """Whether there is an interval, and the draws change the measure."""
    return ends is not None and ends[1] - ends[0] > _SAME * abs(ends[1])


ODDS = (
    (1, 20), (1, 10), (1, 5), (1, 4), (1, 3), (2, 5), (1, 2), (3, 5), (2, 3), (3, 4), (4, 5), (9, 10),
    (19, 20),
)  # fmt: skip
"""Odds that a reader knows at a glance."""


def odds_of(share: float) -> str:
    """The nearest of `ODDS` to `share`, such as "4 in 5"; "" for all."""
    if share == 1.0:
        return ""
    if not 0.035 <= share <= 0.965:
        return "less than 1 in 20" if share < 0.5 else "more than 19 in 20"
    part, whole = min(ODDS, key=lambda one: abs(one[0] / one[1] - share))
    return f"{part} in {whole}"


@dataclass(frozen=True)
class Interval:
    """90 % intervals of the measures of a run, and how often each verdict falls."""

    measures: Mapping[str, Ends]
    """By `base.names.MEASURES`."""
    words: Mapping[str, float]
    """Share of each verdict by its word, the most frequent first; empty where its limits are not known."""
    draws: int
    """Sets of material values from which it came."""
    covers: str
    """What it holds and what it does not, in a sentence."""

    def odds(self, word: str) -> str:
        """How many of the draws have the verdict `word`, such as "4 in 5"; "" for all, or if not known."""
        return odds_of(self.words.get(word, 0.0)) if self.words else ""
