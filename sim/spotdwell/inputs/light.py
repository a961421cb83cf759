"""The scenario's [beam] and [exposure]: what light arrives, and when."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from spotdwell.base import units
from spotdwell.inputs import quantities as q
from spotdwell.inputs.quantities import Table, wrong
from spotdwell.model.beam import Definition, Profile

MOST_PULSES = 1_000_000
"""More edges than this take longer to walk than anybody waits."""


class OpticsTable(Table):
    """A lens instead of a diameter (gaussian optics, ISO 11146)."""

    focal_length: q.Length
    input_diameter: q.Length
    """1/e2 diameter of the beam on the lens."""
    beam_quality: Annotated[float, Field(strict=True, ge=1.0, le=1000.0, allow_inf_nan=False)] = 1.0
    """M2; 1 is the diffraction limit."""
    defocus: q.Position = 0.0
    """Distance of the surface from the waist."""


class BeamTable(Table):
    """The beam as it arrives at the target."""

    wavelength: q.Wavelength
    power: q.Power | None = None
    """While on; with a carrier that states no peak power, the power that is chopped."""
    diameter: q.Length | None = None
    definition: Definition = Definition.E2
    """How the diameter is meant."""
    optics: OpticsTable | None = None
    """Instead of a diameter."""
    profile: Profile = Profile.GAUSSIAN
    order: Annotated[float, Field(strict=True, ge=1.0, le=100.0)] | None = None
    """n of a super-gaussian, exp(-2 (r / radius)^n)."""
    inner_ratio: Annotated[float, Field(strict=True, ge=0.0, lt=1.0)] | None = None
    """Inner over outer radius of an annular beam."""
    plume_transmittance: q.Share = 1.0
    """Share of the beam that gets through the plume."""
    centre: tuple[q.Position, q.Position] = (0.0, 0.0)
    """Where the beam starts, x and y; on a lattice only."""
    scan_speed: q.Speed = 0.0
    """Along x; on a lattice only."""

    @property
    def has_spot(self) -> bool:
        """Whether the spot's size is given."""
        return self.diameter is not None or self.optics is not None

    @model_validator(mode="after")
    def _one_spot(self) -> Self:
        if self.diameter is not None and self.optics is not None:
            raise wrong("a diameter or [beam.optics]", "both", "Leave one of them out.", key="diameter")
        if self.optics is not None and self.profile is not Profile.GAUSSIAN:
            expected, advice = 'profile = "gaussian" with [beam.optics]', "Give a diameter instead."
            raise wrong(expected, f'"{self.profile}"', advice, key="profile")
        return self

    @model_validator(mode="after")
    def _shape_is_known(self) -> Self:
        for key, profile in (("order", Profile.SUPER_GAUSSIAN), ("inner_ratio", Profile.ANNULAR)):
            given = getattr(self, key) is not None
            if given and self.profile is not profile:
                raise wrong(f'no {key} unless profile = "{profile}"', f'profile = "{self.profile}"', key=key)
            if not given and self.profile is profile:
                raise wrong(f'{key}, as profile = "{profile}"', "nothing", key=key)
        return self


class CarrierTable(Table):
    """Pulses inside each gate: chopped, or superpulsed if their peak power is given."""

    pulse_duration: q.Duration
    repetition_rate: q.Rate
    peak_power: q.Power | None = None

    @model_validator(mode="after")
    def _pulses_do_not_overlap(self) -> Self:
        if self.pulse_duration * self.repetition_rate > 1.0 + 1e-9:
            period = units.display(1.0 / self.repetition_rate, "s", "ms")
            raise wrong(
                f"pulses that end before the next begins, after {period}",
                units.written(self.pulse_duration, "s"),
                "Pulses overlap: shorten pulse_duration, or lower repetition_rate.",
                key="pulse_duration",
            )
        return self


class ExposureTable(Table):
    """When the beam is on: one dwell time, or a train of gates."""

    dwell_time: q.Duration | None = None
    on_time: q.Duration | None = None
    off_time: q.Pause | None = None
    count: q.Count | None = None
    carrier: CarrierTable | None = None

    @property
    def gate(self) -> tuple[float, float, int]:
        """On time [s], off time [s] and number of gates."""
        if self.dwell_time is not None:
            return self.dwell_time, 0.0, 1
        return self.on_time or 0.0, self.off_time or 0.0, self.count or 0

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        train = {"on_time": self.on_time, "off_time": self.off_time, "count": self.count}
        given = [key for key, value in train.items() if value is not None]
        expected = "dwell_time, or on_time, off_time and count"
        if self.dwell_time is not None and given:
            raise wrong(expected, "both", "Leave one out.", key="dwell_time")
        if self.dwell_time is None and not given:
            raise wrong(expected, "neither", 'For example dwell_time = "80 ms".', key="dwell_time")
        missing = [key for key in train if key not in given]
        if given and missing:
            raise wrong(f"{missing[0]} beside {' and '.join(given)}", "nothing", key=missing[0])
        return self

    @model_validator(mode="after")
    def _not_too_many(self) -> Self:
        on_time, _, count = self.gate
        pulses = count * (max(1.0, on_time * self.carrier.repetition_rate) if self.carrier else 1.0)
        if pulses > MOST_PULSES:
            raise wrong(f"at most {MOST_PULSES} pulses", f"{pulses:.3g}", "Shorten the exposure.")
        return self
