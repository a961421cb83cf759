"""Record of a scan: measures, verdict, fields over the area, and the run's own result."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.measure.verdict import Verdict
from spotdwell.output.layout import Labelled
from spotdwell.output.result import Result
from spotdwell.scans.measures import Surface
from spotdwell.scans.words import LAYERS, SCAN_MEASURES

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ScanRecord:
    """What a pattern leaves, with all that is needed to show and keep it."""

    record: Result
    """Fields, ledger and provenance as of any run."""
    model: str
    """slice or block."""
    measures: dict[str, float | None]
    """By `words.SCAN_MEASURES`, SI."""
    surface: Surface
    extent: tuple[float, float]
    """Length and width of the area [m]."""
    places: Array
    """Of the lines, or points: y of their middles [m], shape (strokes,)."""
    times: Array
    """When the beam comes to the middle of each line, or to each point [s], shape (strokes,)."""
    meets: Array
    """Surface temperature that it meets there [K], shape (strokes,)."""
    within: bool
    """Whether all limits are kept."""
    coagulation_limit: float | None
    """Most that may be coagulated below the floor [m]."""

    @property
    def verdict(self) -> Verdict:
        """The word with its reasons."""
        return self.record.verdict

    @property
    def ledger_error(self) -> float:
        """What is missing in the energy ledger over the energy sent [-]."""
        ledger = self.record.ledger
        total = sum(value for name, value in ledger.items() if name != "incident")
        return abs(ledger["incident"] - total) / (ledger["incident"] or 1.0)

    def labelled(self) -> list[Labelled]:
        """Arrays of the group `scan`."""
        top = self.surface
        over = ("column_x", "column_y")
        lines = ("line",)
        found = [
            Labelled(f"scan_{name}", self.measures[name], (), one.unit, one.meaning)
            for name, one in SCAN_MEASURES.items()
        ]
        return [
            *found,
            Labelled("column_x", top.x, ("column_x",), "m", "position along the lines"),
            Labelled("column_y", top.y, ("column_y",), "m", "position across the lines"),
            Labelled("depth_below_surface", top.depth, over, "m", "depth of the crater"),
            *(
                Labelled(f"{name}_below_floor", one, over, "m", f"{LAYERS[name]} below the floor")
                for name, one in top.layers.items()
            ),
            Labelled("inside", top.inside.astype("i1"), over, "1", "1 inside the area, away from its edge"),
            Labelled("edge", top.edge.astype("i1"), over, "1", "1 along the area's edge, in and out"),
            Labelled("line", np.arange(self.times.size), lines, "1", "number of the line or point"),
            Labelled("line_y", self.places, lines, "m", "position across the lines"),
            Labelled("line_time", self.times, lines, "s", "when the beam comes to its middle"),
            Labelled("line_meets", self.meets, lines, "K", "surface temperature that it meets"),
            Labelled("model", self.model, (), "", "slice across the lines, or block"),
            Labelled("length", self.extent[0], (), "m", "of the area along the lines"),
            Labelled("width", self.extent[1], (), "m", "of the area across the lines"),
            Labelled("within", float(self.within), (), "1", "1 if all limits are kept"),
            Labelled("coagulation_limit", self.coagulation_limit, (), "m", "most below floor and edge"),
        ]
