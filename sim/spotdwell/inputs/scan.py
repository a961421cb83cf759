"""The scenario's [scan]: how the beam goes over an area."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from spotdwell.inputs import quantities as q
from spotdwell.inputs.quantities import Table, wrong

MOST_STROKES = 20_000
"""Lines, points or chords of a spiral, all passes together: more take longer than anybody waits."""


class Way(StrEnum):
    """How the beam goes over the area."""

    ONE_WAY = "one way"
    BACK_AND_FORTH = "back and forth"
    POINTS = "points"
    SPIRAL = "spiral"


class Model(StrEnum):
    """What is solved."""

    SLICE = "slice"
    """A plane across the lines."""
    BLOCK = "block"
    """The whole area."""


Speed = Annotated[float, q.QuantityType("speed", "m/s", "400 mm/s", above=0.0)]


class ScanTable(Table):
    """A pattern around the middle of the target; lines run along x and lie side by side along y."""

    way: Way = Way.BACK_AND_FORTH
    length: q.Length
    """Of the area along x, and of a line; the diameter of a spiral."""
    width: q.Length | None = None
    """Of the area along y, across the lines; absent: as the length."""
    spacing: q.Length
    """Between neighbouring lines, points or turns."""
    speed: Speed | None = None
    """Of the beam on its way; not for points."""
    dwell: q.Duration | None = None
    """At each point; for points alone."""
    passes: Annotated[int, Field(strict=True, ge=1, le=1000)] = 1
    turned: q.Switch = False
    """Whether every second pass is turned by 90 degrees."""
    line_pause: q.Pause = 0.0
    """Beam off between two lines or points."""
    pass_pause: q.Pause = 0.0
    """Beam off between two passes."""
    model: Model | None = None
    """slice or block; absent: a slice where it holds, else a block."""
    coagulation_limit: q.Length | None = None
    """Most that may be coagulated below the floor."""

    @property
    def across(self) -> float:
        """Extent of the area along y [m]."""
        return self.length if self.width is None else self.width

    @model_validator(mode="after")
    def _moves_or_rests(self) -> Self:
        key, other = ("dwell", "speed") if self.way is Way.POINTS else ("speed", "dwell")
        if getattr(self, key) is None:
            example = 'dwell = "1 ms"' if key == "dwell" else 'speed = "400 mm/s"'
            raise wrong(f'a {key}, as way = "{self.way}"', "nothing", f"For example {example}.", key=key)
        if getattr(self, other) is not None:
            raise wrong(f'no {other}, as way = "{self.way}"', "one", "Leave it out.", key=other)
        if self.way is Way.SPIRAL and (self.turned or not math.isclose(self.across, self.length)):
            expected = "no other width than the length, and no turn, of a spiral"
            raise wrong(expected, "one", "Leave width and turned out.", key="width")
        return self

    @model_validator(mode="after")
    def _not_too_many(self) -> Self:
        if self.spacing > max(self.length, self.across) * (1.0 + 1e-9):
            raise wrong(
                "a spacing within the area",
                "a wider one",
                "Narrow it, or widen the area.",
                key="spacing",
            )
        rows = self.across / self.spacing
        strokes = self.passes * rows * (self.length / self.spacing if self.way is Way.POINTS else 1.0)
        if strokes > MOST_STROKES:
            got = f"{strokes:.3g}"
            advice = "Space them wider, or scan a smaller area."
            raise wrong(f"at most {MOST_STROKES} lines or points in all passes", got, advice, key="spacing")
        return self
