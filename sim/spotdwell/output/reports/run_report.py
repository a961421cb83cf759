"""The report of one run: what its page says, free of any layout and file format."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from spotdwell.output.result import Result


@dataclass(frozen=True)
class Interval:
    """Where a measure lies if the material values vary over their ranges [SI]; None where it is not known."""

    low: float | None
    """5 % of the samples lie below."""
    high: float | None
    """5 % of the samples lie above."""


@dataclass(frozen=True)
class Intervals:
    """What sampled material values made of a run."""

    samples: int
    failed: int
    """Samples whose run failed."""
    words: Mapping[str, int]
    """How often each verdict fell."""
    measures: Mapping[str, Interval]
    """By `base.names.MEASURES`."""


@dataclass(frozen=True)
class MaterialValue:
    """A value of a material with its evidence, in words."""

    property: str
    value: str
    range: str
    """Such as "4 mm to 5 mm"; empty where none is stated."""
    basis: str
    source: str


@dataclass(frozen=True)
class MaterialValues:
    """The values of one material that a run used."""

    title: str
    values: tuple[MaterialValue, ...]


@dataclass(frozen=True, eq=False)
class RunReport:
    """All that the page of a run says."""

    result: Result
    about: str
    """What the scenario says of itself; may be empty."""
    grid_reasons: tuple[str, ...]
    """Why the grid is as it is; empty where that cannot be told from the other notes."""
    cautions: tuple[str, ...]
    """The run's other notes."""
    assumptions: tuple[str, ...]
    danger: str
    """The caution that stands first."""
    safety: tuple[str, ...]
    materials: tuple[MaterialValues, ...]
    intervals: Intervals | None = None
