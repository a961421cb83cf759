"""From a scenario to the problem that the solver marches."""

from __future__ import annotations

import math
from dataclasses import replace

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs import medium as media
from spotdwell.inputs.extent import checked_extent
from spotdwell.inputs.laser_file import laser_note
from spotdwell.inputs.light import BeamTable
from spotdwell.inputs.medium import medium_of
from spotdwell.inputs.read import materials_of
from spotdwell.inputs.schema import GridTable, Scenario
from spotdwell.model.beam import Beam, Profile, beam_radius, focused_radius
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import Exposure, carried, gated
from spotdwell.model.grid import GridRequest, choose_grid
from spotdwell.model.problem import Ending, Problem, Stepping
from spotdwell.model.target import Layer, Surface, Target

__all__ = [
    "beam_of",
    "beam_on",
    "cautions_of",
    "exposure_of",
    "medium_of",
    "problem_of",
    "request_of",
    "target_of",
]


def problem_of(scenario: Scenario) -> Problem:
    """Problem of `scenario`, with a grid chosen for it.

    Raises InputError for what only shows once all is known: a wavelength that a material does not know
    or scatters, a beam wider than the grid, a layer thinner than a cell.
    """
    if scenario.scan is not None:
        where = scenario.origin.where("scan")
        advice = "Solve it with the verb scan, or leave the table [scan] out."
        raise InputError(where, "a beam that rests", "one that scans", advice)
    target, beam, exposure = target_of(scenario), beam_of(scenario), exposure_of(scenario)
    _check_cooling(scenario, target)
    try:
        extent = checked_extent(scenario, target, beam, exposure, request_of(scenario))
        grid = choose_grid(target, beam, exposure, request_of(scenario))
    except InputError as error:
        raise error.renamed(scenario.origin.where) from None
    if extent.note:
        grid = replace(grid, reasons=(*grid.reasons, extent.note))
    return Problem(
        target,
        grid,
        beam,
        exposure,
        Surface(**dict(scenario.surface)),
        Ending(scenario.run.end_time, scenario.run.end_temperature, scenario.run.longest_time),
        save_times_of(scenario, exposure),
        Stepping(**scenario.steps.model_dump(exclude_none=True)),
        scenario.run.thermal_dose,
    )


def save_times_of(scenario: Scenario, exposure: Exposure) -> tuple[float, ...]:
    """When fields are kept besides the end [s]: as asked, else as the beam goes off, the hottest moment."""
    if asked := scenario.run.save_times:
        return tuple(sorted(asked))
    end = scenario.run.end_time
    return (exposure.end,) if 0.0 < exposure.end < (end or exposure.end + 1.0) else ()


def _check_cooling(scenario: Scenario, target: Target) -> None:
    """Raise InputError for a run that could never cool to its end."""
    warmest, run = max(target.initial_temperature, scenario.target.backing_temperature or 0.0), scenario.run
    if run.end_time is None and run.end_temperature <= warmest:
        raise InputError(
            scenario.origin.where("run.end_temperature"),
            f"more than {units.written(warmest, 'K')}, from which the target cannot cool by itself",
            units.written(run.end_temperature, "K"),
            "Raise end_temperature, or set run.end_time.",
        )


def target_of(scenario: Scenario) -> Target:
    """Layers and backing at the beam's wavelength."""
    materials, table = materials_of(scenario), scenario.target
    where = scenario.origin.where("beam.wavelength")
    layers = tuple(
        Layer(
            medium_of(materials[layer.material], scenario.beam.wavelength, layer.material, where),
            math.inf if layer.thickness is None else layer.thickness,
        )
        for layer in table.layers
    )
    initial = table.initial_temperature or materials[table.layers[-1].material].initial_temperature
    held_at = initial if table.backing_temperature is None else table.backing_temperature
    return Target(layers, initial, table.backing, held_at)


def beam_of(scenario: Scenario) -> Beam:
    """Beam on the target; over a slab an even one, as wide as the slab's area."""
    return beam_on(scenario.beam, scenario.grid)


def beam_on(table: BeamTable, grid: GridTable) -> Beam:
    """The same of the two tables of a scenario that it comes from."""
    if grid.geometry is Geometry.SLAB:
        radius = math.sqrt((grid.area or 0.0) / math.pi)
        return Beam(table.wavelength, radius, Profile.FLAT_TOP, plume_transmittance=table.plume_transmittance)
    order, inner_ratio = table.order or 2.0, table.inner_ratio or 0.0
    if table.optics is not None:
        lens = table.optics
        radius = focused_radius(
            lens.focal_length, lens.input_diameter, lens.beam_quality, table.wavelength, lens.defocus
        )
    else:
        radius = beam_radius(table.diameter or 0.0, table.definition, table.profile, order, inner_ratio)
    return Beam(
        table.wavelength,
        radius,
        table.profile,
        order,
        inner_ratio,
        table.plume_transmittance,
        table.centre,
        table.scan_speed,
    )


def exposure_of(scenario: Scenario) -> Exposure:
    """Power on the target against time."""
    gates = gated(scenario.arriving_power, *scenario.exposure.gate)
    carrier = scenario.exposure.carrier
    if carrier is None:
        return gates
    return carried(gates, scenario.arriving_power, carrier.pulse_duration, carrier.repetition_rate)


def request_of(scenario: Scenario) -> GridRequest:
    """What the scenario asks of the grid; the symmetry of a lattice is the most that its beam allows."""
    table = scenario.grid
    return GridRequest(**{**dict(table), "symmetry": table.symmetry or _symmetry(scenario)})


def _symmetry(scenario: Scenario) -> int:
    """Copies of the columns that make the whole lattice."""
    beam = scenario.beam
    if scenario.grid.geometry is not Geometry.LATTICE or beam.centre[1] != 0.0:
        return 1
    return 2 if beam.scan_speed != 0.0 or beam.centre[0] != 0.0 else 4


def cautions_of(scenario: Scenario) -> tuple[str, ...]:
    """Sentences about what the model leaves out in this scenario."""
    notes = laser_note(scenario)
    notes += [
        note
        for name, material in materials_of(scenario).items()
        for note in media.cautions(material, scenario.beam.wavelength, name)
    ]
    if scenario.grid.geometry is Geometry.SLAB and scenario.beam.has_spot:
        notes.append("A slab is lit evenly over grid.area: the beam's diameter and profile are not used.")
    end = scenario.run.end_time
    if end is not None and end < exposure_of(scenario).end:
        notes.append("The run ends before the exposure does: what the beam sends later is left out.")
    return tuple(dict.fromkeys(notes))
