"""Regimes compared: what they have in common, each with what it did."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from spotdwell.base import units
from spotdwell.model.exposure import Exposure, gated
from spotdwell.model.material import Medium
from spotdwell.output.result import Result
from spotdwell.regimes.request import Train


class Equal(StrEnum):
    """What all regimes have in common."""

    AVERAGE_POWER = "average-power"
    ENERGY = "energy"
    DEPTH = "depth"


@dataclass(frozen=True)
class Terms:
    """What is equal, and how much of it."""

    equal: Equal
    average_power: float
    """[W]."""
    time: float
    """[s]."""
    energy: float
    """Sent by every regime, if that is equal [J]."""
    depth: float | None = None
    """Reached by every regime, if that is equal [m]; None: what the first reaches in the time."""

    @property
    def text(self) -> str:
        """In words, such as "equal average power (10 W for 1 s)"."""
        power, time = units.written(self.average_power, "W"), units.written(self.time, "s")
        if self.equal is Equal.AVERAGE_POWER:
            return f"equal average power ({power} for {time})"
        if self.equal is Equal.ENERGY:
            return f"equal energy ({units.display(self.energy, 'J', 'J')})"
        return f"equal depth ({units.display(self.depth or 0.0, 'm', 'um')})"


@dataclass(frozen=True, eq=False)
class Run:
    """One regime and what it did."""

    train: Train
    name: str
    """Its word, or its whole text where two regimes share the word."""
    result: Result
    notes: tuple[str, ...] = ()
    """What whole pulses left unequal."""
    cautions: tuple[str, ...] = ()
    """Where the model should be doubted."""

    def measure(self, name: str) -> float:
        """A measure [SI]; 0 where it does not apply."""
        return self.result.measures[name] or 0.0

    @property
    def pulse_radiant_exposure(self) -> float:
        """Of one pulse over the area of the spot [J/m2]."""
        return self.train.pulse_energy * self.measure("irradiance_mean") / self.train.power

    @property
    def exposure(self) -> Exposure:
        """Power against time."""
        return gated(self.train.power, self.train.on, self.train.off, self.train.count)


@dataclass(frozen=True, eq=False)
class Comparison:
    """Regimes side by side."""

    terms: Terms
    runs: tuple[Run, ...]
    medium: Medium
    """The first layer with solids."""
    sentence: str = ""
    """What differs and why, from the computed numbers."""

    def __repr__(self) -> str:
        words = ", ".join(f"{one.name}: {one.result.verdict.text}" for one in self.runs)
        return f"<Comparison at {self.terms.text}: {words}>"

    @property
    def results(self) -> tuple[Result, ...]:
        """Results of the runs, in the order of the regimes."""
        return tuple(one.result for one in self.runs)
