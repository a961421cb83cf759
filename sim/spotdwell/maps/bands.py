"""Bands: 90 % intervals of the measures and shares of the verdicts at every point of a map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.foreign import is_clean
from spotdwell.base.names import MEASURES
from spotdwell.measure.interval import OF_THE_RUN, Ends, Interval
from spotdwell.measure.verdict import Word
from spotdwell.output.layout import Labelled

Array = NDArray[np.float64]

BANDED = tuple(name for name in MEASURES if name not in OF_THE_RUN)
"""Measures that have an interval."""
WORDS = tuple(map(str, Word))
"""Verdicts, in the order of their shares."""
LOW, HIGH = "{}_low", "{}_high"
SHARES, WORD = "verdict_share", "word"
"""Name of the shares, and of the dimension along which they lie."""
NOTHING = Interval({}, {}, 0, "")
"""At a point where there is none."""
_SUM = 1e-9
"""By which the shares of a point may miss 1."""


@dataclass(frozen=True, eq=False)
class Bands:
    """Intervals over the axes of a map."""

    low: dict[str, Array]
    """By `BANDED`, SI: 5 % of the draws lie below; NaN where there is none, shape of the axes."""
    high: dict[str, Array]
    """5 % of the draws lie above."""
    shares: Array
    """Share of the draws with each of `WORDS`; NaN where there is none, shape of the axes + (words,)."""
    draws: int
    """Sets of material values at each point."""
    covers: str
    """What the intervals hold and what they do not, in a sentence."""

    def fill(self, index: tuple[int, ...], found: Interval | None) -> None:
        """Enter the interval of the point at `index`; None where there is none."""
        low, high, shares = numbers_of(found or NOTHING)
        for place, name in enumerate(BANDED):
            self.low[name][index] = low[place]
            self.high[name][index] = high[place]
        self.shares[index] = shares

    def at(self, index: tuple[int, ...]) -> Interval:
        """The interval of the point at `index`; `NOTHING` where there is none."""
        shares = self.shares[index]
        if np.all(np.isnan(shares)):
            return NOTHING
        ends = {name: (float(self.low[name][index]), float(self.high[name][index])) for name in BANDED}
        found = sorted(zip(WORDS, shares.tolist(), strict=True), key=lambda one: -one[1])
        words = {word: share for word, share in found if share > 0.0}
        apt: dict[str, Ends] = {name: None if np.isnan(one[0]) else one for name, one in ends.items()}
        return Interval(apt, words, self.draws, self.covers)

    def share_of(self, words: NDArray[np.str_]) -> Array:
        """Share of the draws that have the verdict of each point, one of `words`; shape of the axes."""
        found = np.full(words.shape, np.nan)
        for place, word in enumerate(WORDS):
            found = np.where(words == word, self.shares[..., place], found)
        return found

    def arrays(self, dims: tuple[str, ...]) -> list[Labelled]:
        """All arrays over the axes `dims`."""
        ends = [
            Labelled(title.format(name), found[name], dims, MEASURES[name].unit, f"{share} quantile")
            for title, found, share in ((LOW, self.low, "5 %"), (HIGH, self.high, "95 %"))
            for name in BANDED
        ]
        return [*ends, Labelled(SHARES, self.shares, (*dims, WORD), "1", "share of the draws with a verdict")]


def blank_bands(shape: tuple[int, ...], draws: int, covers: str) -> Bands:
    """Bands without an interval."""
    low, high = ({name: np.full(shape, np.nan) for name in BANDED} for _ in range(2))
    return Bands(low, high, np.full((*shape, len(WORDS)), np.nan), draws, covers)


def bands_from(arrays: Mapping[str, Array], draws: Any, covers: Any) -> Bands:
    """Bands with `arrays` by name; see `check_bands`."""
    low, high = ({name: arrays[title.format(name)] for name in BANDED} for title in (LOW, HIGH))
    return Bands(low, high, arrays[SHARES], draws, covers)


def names_of_bands() -> tuple[str, ...]:
    """Names of all their arrays."""
    return (*(title.format(name) for title in (LOW, HIGH) for name in BANDED), SHARES)


def words_along() -> Labelled:
    """Labels of the dimension of the shares."""
    return Labelled(WORD, np.array(WORDS), (WORD,), "", "verdict of a draw")


def numbers_of(found: Interval) -> tuple[Array, Array, Array]:
    """Lower and upper ends, and shares of the verdicts; NaN for what there is not."""
    ends = np.array([found.measures.get(name) or (np.nan, np.nan) for name in BANDED])
    shares = np.array([found.words.get(word, 0.0) for word in WORDS])
    return ends[:, 0], ends[:, 1], shares if found.words else np.full(len(WORDS), np.nan)


def bytes_of_band(found: Interval) -> dict[str, Any]:
    """What a point has in each array."""
    low, high, shares = numbers_of(found)
    return dict(zip(names_of_bands(), [*low, *high, shares], strict=True))


def is_sound_band(found: Interval) -> bool:
    """Whether an interval is one that a run can have left: ends that ascend, shares that sum to 1."""
    low, high, shares = numbers_of(found)
    known = ~np.isnan(low)
    if np.any(np.isinf([*low, *high])) or np.any(known != ~np.isnan(high)):
        return False
    if np.any(high[known] < low[known]):
        return False
    if np.all(np.isnan(shares)):
        return not np.any(known)
    return bool(np.all(shares >= 0.0) and abs(float(np.sum(shares)) - 1.0) <= _SUM)


def check_bands(bands: Bands, shape: tuple[int, ...], axis: Any) -> None:
    """Raise ValueError that names what is of another kind or shape; `axis` labels the shares."""
    for name, values in [*bands.low.items(), *bands.high.items()]:
        if not isinstance(values, np.ndarray) or values.dtype != np.float64 or values.shape != shape:
            raise ValueError(f"the interval of {name} has another kind or shape")
    if tuple(axis) != WORDS or bands.shares.dtype != np.float64 or bands.shares.shape != (*shape, len(WORDS)):
        raise ValueError("the shares of the verdicts have another kind or shape")
    if not isinstance(bands.draws, int) or bands.draws < 1:
        raise ValueError("the number of draws is none")
    if not isinstance(bands.covers, str) or not is_clean(bands.covers):
        raise ValueError("what the intervals cover is no text")
