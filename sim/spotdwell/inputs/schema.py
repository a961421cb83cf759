"""Schema of a scenario file: its tables, their defaults, and the checks across them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal, Self

from pydantic import Field, PrivateAttr, model_validator

from spotdwell.base import constants, units
from spotdwell.inputs import quantities as q
from spotdwell.inputs.light import BeamTable, ExposureTable
from spotdwell.inputs.material import Material
from spotdwell.inputs.quantities import Table, wrong
from spotdwell.model.columns import Geometry
from spotdwell.model.target import Backing


class LayerTable(Table):
    """One layer; the first is at the surface."""

    material: q.Text
    """Name in [materials], path of a material file (from the scenario's folder), or name of a shipped one."""
    thickness: q.Length | None = None
    """Only the last layer may leave it out: it is then thick."""


class TargetTable(Table):
    """Layers over a backing."""

    initial_temperature: q.Temperature | None = None
    """Absent: that of the last layer's material, 37 degC in tissue and 22 degC on the bench."""
    backing: Backing = Backing.INSULATED
    """What lies under the last layer."""
    backing_temperature: q.Temperature | None = None
    """Of a held backing; absent: the initial temperature."""
    layers: Annotated[tuple[LayerTable, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _only_the_last_is_thick(self) -> Self:
        for index, layer in enumerate(self.layers[:-1]):
            if layer.thickness is None:
                key = f"layers[{index}].thickness"
                raise wrong("a thickness: only the last layer may be thick", "nothing", key=key)
        return self

    @model_validator(mode="after")
    def _backing_fits(self) -> Self:
        if self.backing_temperature is not None and self.backing is not Backing.HELD:
            raise wrong(
                "no backing_temperature unless the backing is held",
                f'backing = "{self.backing}"',
                'Leave it out, or set backing = "held".',
                key="backing_temperature",
            )
        if self.backing is not Backing.INSULATED and self.layers[-1].thickness is None:
            raise wrong(
                f'a thickness of the last layer, as backing = "{self.backing}"',
                "nothing",
                'For example thickness = "2 mm".',
                key=f"layers[{len(self.layers) - 1}].thickness",
            )
        return self


class SurfaceTable(Table):
    """Cooling of exposed faces."""

    heat_transfer_coefficient: q.HeatTransfer = 10.0
    """To the air; "inf W/m2/K" holds exposed faces at the ambient temperature."""
    ambient_temperature: q.Temperature = 295.15
    radiates: q.Switch = True
    """Whether exposed faces lose heat by radiation."""


class RunTable(Table):
    """When the run ends and what it keeps."""

    end_time: q.Duration | None = None
    """Absent: until the target has cooled."""
    end_temperature: q.Temperature = constants.HARMLESS_TEMPERATURE
    """The run ends once all is colder than this after the last pulse."""
    longest_time: q.Duration = 600.0
    """A target that has not cooled by then ends here."""
    save_times: tuple[q.Duration, ...] = ()
    """Times at which the fields are kept; the last state always is."""
    thermal_dose: q.Switch = False
    """Whether to sum CEM43."""

    @model_validator(mode="after")
    def _saves_before_the_end(self) -> Self:
        end = self.longest_time if self.end_time is None else self.end_time
        if late := [time for time in self.save_times if time > end]:
            text = units.written(late[0], "s")
            raise wrong(f"times up to the end of the run, {units.written(end, 's')}", text, key="save_times")
        return self


class GridTable(Table):
    """Columns and cells; what is absent is chosen by the tool."""

    geometry: Geometry = Geometry.AXISYMMETRIC
    cell_depth: q.Length | None = None
    """Height of the fine cells."""
    cell_width: q.Length | None = None
    """Width of the columns under the beam."""
    depth: q.Length | None = None
    """Depth of the grid, if the last layer is thick."""
    half_width: q.Length | None = None
    """Radius of the grid, or half the side of a lattice."""
    stretch: q.Switch = True
    """Whether cells widen away from the crater."""
    refinement: q.PositiveNumber = 1.0
    """Every cell is this many times smaller."""
    area: q.Area | None = None
    """Of a slab, which the beam lights evenly."""
    symmetry: Literal[1, 2, 4] | None = None
    """Copies that make a lattice: 4 a quarter, 2 a half, 1 the whole; absent: the most possible."""

    @model_validator(mode="after")
    def _keys_fit_the_geometry(self) -> Self:
        slab = self.geometry is Geometry.SLAB
        if slab and self.area is None:
            raise wrong("the area of the slab", "nothing", 'For example area = "1 mm2".', key="area")
        unfit = ("cell_width", "half_width") if slab else ("area",)
        for key in (*unfit, *(() if self.geometry is Geometry.LATTICE else ("symmetry",))):
            if getattr(self, key) is not None:
                raise wrong(f'no {key}, as geometry = "{self.geometry}"', "one", "Leave it out.", key=key)
        return self


class StepsTable(Table):
    """Limits on the length of a step, for experts; what is absent is the solver's own choice."""

    growth: q.OpenShare | None = None
    """Most step over the time since the last edge of the exposure."""
    front_share: q.OpenShare | None = None
    """Most step over the time in which the front crosses a cell."""
    largest_rise: q.TemperatureRise | None = None
    """Most heating of a cell by the beam in a step."""
    largest: q.Duration | None = None
    """Longest step."""


class LimitsTable(Table):
    """What the user still accepts: the verdict compares with it."""

    char_thickness: Annotated[float, q.QuantityType("thickness", "m", "52 um", least=0.0)] = 52e-6
    """Most char at the floor or the wall; at the rim a quarter more."""
    depth: q.Length | None = None
    """Deepest wanted crater."""
    aspect_ratio: q.PositiveNumber = 2.0
    """Most depth over width."""


class LaserTable(Table):
    """The laser file that the beam was taken from: a record, but for the share of the power."""

    file: q.Text
    dial: q.Text | None = None
    """Position whose spot was taken."""
    delivered_share: q.OpenShare | None = None
    """Share of the set power that reaches the target; absent: not measured, and all of it is taken to."""
    text: str = ""
    """The laser as TOML."""


@dataclass(frozen=True)
class Origin:
    """Where a scenario came from. No part of what it says: all origins compare equal."""

    name: str = field(default="scenario", compare=False)
    """What errors call it: the file's path; empty for a shot given by settings."""
    folder: str = field(default=".", compare=False)
    """From which the paths of material files start."""
    text: str | None = field(default=None, compare=False)
    """The file as it was read."""
    settings: Mapping[str, str] = field(default_factory=dict, compare=False)
    """Name of the setting that set a key, such as "beam.power": "power"."""

    def where(self, key: str) -> str:
        """What an error calls `key`, such as "shot.toml: beam.power"."""
        for one in (key, key.partition("[")[0]):
            if one in self.settings:
                return self.settings[one]
        return ": ".join(part for part in (self.name, key) if part)


class Scenario(Table):
    """One shot: beam, exposure and target, with everything else that a run needs. All numbers are SI."""

    title: q.Text | None = None
    about: str = ""
    """What the shot stands for."""
    beam: BeamTable
    exposure: ExposureTable
    target: TargetTable
    surface: SurfaceTable = SurfaceTable()
    run: RunTable = RunTable()
    grid: GridTable = GridTable()
    steps: StepsTable = StepsTable()
    limits: LimitsTable = LimitsTable()
    laser: LaserTable | None = None
    """Where the beam was taken from, and how much of the power arrives; absent: all of it."""
    materials: dict[str, Material] = {}  # noqa: RUF012 - pydantic copies it
    """Materials of this scenario's own; they go before files and shipped ones."""

    _origin: Origin = PrivateAttr(default_factory=Origin)

    @property
    def origin(self) -> Origin:
        """Where it came from."""
        return self._origin

    @property
    def peak_power(self) -> float:
        """Power while the beam is on [W]."""
        carrier = self.exposure.carrier
        peak = None if carrier is None else carrier.peak_power
        return float(peak if peak is not None else self.beam.power or 0.0)

    @property
    def arriving_power(self) -> float:
        """Of the peak power, what reaches the target [W]."""
        share = None if self.laser is None else self.laser.delivered_share
        return self.peak_power * (1.0 if share is None else share)

    @model_validator(mode="after")
    def _power_is_known_once(self) -> Self:
        carrier = self.exposure.carrier
        if carrier is None or carrier.peak_power is None:
            if self.beam.power is None:
                raise wrong("a power", "nothing", 'For example power = "25 W".', key="beam.power")
            return self
        mean = carrier.peak_power * carrier.pulse_duration * carrier.repetition_rate
        if self.beam.power is not None and not math.isclose(self.beam.power, mean, rel_tol=0.01):
            raise wrong(
                f"{units.display(mean, 'W', 'W', 4)}, which is peak_power * pulse_duration * repetition_rate",
                units.written(self.beam.power, "W"),
                "Leave beam.power out, or correct one of the four.",
                key="beam.power",
            )
        return self

    @model_validator(mode="after")
    def _beam_fits_the_grid(self) -> Self:
        """A slab needs no spot; only a lattice takes a beam that stands off the axis or moves."""
        if self.grid.geometry is not Geometry.SLAB and not self.beam.has_spot:
            advice = 'For example diameter = "1.6 mm".'
            raise wrong("a diameter, or [beam.optics]", "neither", advice, key="beam.diameter")
        if self.grid.geometry is Geometry.LATTICE:
            return self
        for key in ("centre", "scan_speed"):
            if getattr(self.beam, key) not in ((0.0, 0.0), 0.0):
                got = f'one that does not, with geometry = "{self.grid.geometry}"'
                advice = 'Set grid.geometry = "lattice".'
                raise wrong("a beam that rests on the axis", got, advice, key=f"beam.{key}")
        return self
