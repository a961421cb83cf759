"""Problem: everything that the march needs, and nothing that it does not."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from spotdwell.base import constants
from spotdwell.model.beam import Beam
from spotdwell.model.columns import Columns
from spotdwell.model.exposure import Exposure
from spotdwell.model.target import Surface, Target

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Grid:
    """Columns and the depths of their cells, with the reasons for the choice."""

    columns: Columns
    depth_edges: Array
    """[m], shape (cells + 1,), ascending from 0; every layer boundary is one of them."""
    layer_of_cell: NDArray[np.int64]
    """Index of each cell's layer, shape (cells,)."""
    reasons: tuple[str, ...] = ()
    """Sentences for the person who asks why the grid is so."""

    @property
    def depth(self) -> Array:
        """Cell centres [m], shape (cells,)."""
        return 0.5 * (self.depth_edges[1:] + self.depth_edges[:-1])


@dataclass(frozen=True)
class Ending:
    """When a run ends: at `time`, or once the target has cooled below `temperature` after the last pulse."""

    time: float | None = None
    """[s] from the start; None: run until cool."""
    temperature: float = constants.HARMLESS_TEMPERATURE
    """[K]."""
    longest: float = 600.0
    """[s] from the start: a target that never cools ends here, and the outcome says so."""


@dataclass(frozen=True)
class Stepping:
    """How long steps may be; the defaults are the solver's own choice (see THEORY.md, Steps)."""

    growth: float = 0.3
    """A step is at most this share of the time since the last edge of the exposure."""
    front_share: float = 0.5
    """A step is at most this share of the time in which the front crosses a cell."""
    largest_rise: float = 60.0
    """The beam heats no cell by more than this in a step [K]."""
    largest: float = np.inf
    """No step is longer [s]."""


@dataclass(frozen=True)
class Ring:
    """Columns around a moving beam that march alone for a while, before those outside follow (eq. 26)."""

    time: float
    """Longest that they do [s]."""
    reach: float
    """How far from the beam's axis they lie at most [m]; to which comes,"""
    beside: float
    """so many times, the length that heat goes meanwhile, sqrt(4 alpha t) [-]."""
    lit: bool = False
    """Whether the beam falls also outside."""


class Light(Protocol):
    """A beam that moves: what it sends in a time span, and onto which columns."""

    rings: tuple[Ring, ...]
    """From the innermost on; all other columns follow what lies in the outermost. Without any all march."""
    spreading: float
    """Time in which heat spreads over the beam's radius [s]."""
    arrivals: Array
    """When the beam of each line comes [s], shape (lines,), ascending: the march shows itself then."""

    def near(self, begin: float, end: float, beyond: float) -> NDArray[np.int64]:
        """Columns that lie within `beyond` [m] of its axis from `begin` to `end` [s]: ascending index."""

    def falling(self, edges: Array) -> tuple[Array, Array]:
        """Mean power sent between one of `edges` [s] and the next, and of it on each column [W].

        Shapes (spans,) and (spans, columns).
        """

    def longest_step(self, time: float) -> float:
        """Longest step from `time` on in which the beam stays near its columns [s]."""


@dataclass(frozen=True, eq=False)
class Problem:
    """A target on a grid under a beam, with an exposure and an ending."""

    target: Target
    grid: Grid
    beam: Beam
    exposure: Exposure
    surface: Surface = field(default_factory=Surface)
    ending: Ending = field(default_factory=Ending)
    save_times: tuple[float, ...] = ()
    """Times at which the fields are kept [s]; the last state always is."""
    stepping: Stepping = field(default_factory=Stepping)
    thermal_dose: bool = False
    """Whether to sum CEM43 beside the damage processes."""
    light: Light | None = None
    """A beam that moves; None: `beam` rests, or scans as it says itself. The exposure says when it is on."""
