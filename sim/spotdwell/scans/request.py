"""Request: from settings or a scenario to a setup, a pattern, its course and what is solved."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs.build import beam_of, request_of, target_of
from spotdwell.inputs.scan import Model, Way
from spotdwell.inputs.schema import UNUSED_DWELL, Scenario
from spotdwell.inputs.shot import nothing, scenario_of_shot, scenario_with
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Ending, Problem, Stepping
from spotdwell.model.target import Surface
from spotdwell.pipeline import scenario_at_path
from spotdwell.scans.light import BlockLight, SliceLight
from spotdwell.scans.pattern import Course, Pattern, corner_of, resting
from spotdwell.scans.problem import (
    Setup,
    block_problem,
    course_for,
    peclet,
    slice_problem,
    spreading_time,
)

LEAST_PECLET = 10.0
"""Below it a slice is more than 2.4 % too hot (eq. 25), and a block is solved."""
MOST_CELLS = 3e6
"""Of a block: with more it takes over 1 GB."""
SETTINGS = (
    "way",
    "length",
    "width",
    "spacing",
    "speed",
    "dwell",
    "passes",
    "turned",
    "line_pause",
    "pass_pause",
    "model",
    "coagulation_limit",
)
"""Keys of the table [scan], which Python and the command line call the same."""
_NEEDED = {"length": "8 mm", "spacing": "0.1 mm"}


@dataclass(frozen=True)
class Plan:
    """What is to be solved."""

    scenario: Scenario
    setup: Setup
    pattern: Pattern
    course: Course
    model: Model
    reasons: tuple[str, ...]
    """Why it is a slice or a block."""
    cautions: tuple[str, ...]

    def problem(self) -> tuple[Problem, SliceLight | BlockLight]:
        """The problem, and its light. Raises InputError for a block that is too large."""
        if self.model is Model.SLICE:
            return slice_problem(self.setup, self.pattern, self.course)
        problem, light = block_problem(self.setup, self.course)
        cells = problem.grid.columns.count * problem.grid.depth.size
        if cells > MOST_CELLS:
            raise InputError(
                self.scenario.origin.where("scan.model"),
                f"a block of at most {MOST_CELLS:.3g} cells",
                f"{cells:.3g} cells",
                "Scan a smaller patch, widen the columns with cell_width, or solve a slice.",
            )
        return problem, light


def scenario_of_scan(
    material: str, power: str | None, spot: str | None, scan: dict[str, Any], **settings: Any
) -> Scenario:
    """Scenario of a scan given by settings: those of a shot, and keys of the table [scan].

    Raises InputError that names the setting.
    """
    given = {key: value for key, value in scan.items() if value is not None}
    for name, example in _NEEDED.items():
        if name not in given:
            raise nothing(name, example)
    bare = scenario_of_shot(material, power, spot, UNUSED_DWELL, **settings)
    named = {**bare.origin.settings} | {f"scan.{key}": key for key in SETTINGS}
    object.__setattr__(bare, "_origin", type(bare.origin)(name="", settings=named))
    return scenario_with(bare, {f"scan.{key}": value for key, value in given.items()})


def plan_of(scenario: Scenario) -> Plan:
    """Plan of a scenario with a scan. Raises InputError for what cannot be scanned."""
    where, table = scenario.origin.where, scenario.scan
    if table is None:
        raise InputError(
            where("scan"), "a table [scan]", "none", "Add it, or solve the shot with the verb run."
        )
    if scenario.exposure.carrier is not None:
        advice = "Leave the pulses out, and give the mean power."
        raise InputError(where("exposure.carrier"), "a steady beam", "pulses under a scan", advice)
    if scenario.grid.geometry is Geometry.SLAB or scenario.beam.scan_speed or any(scenario.beam.centre):
        raise InputError(
            where("grid.geometry"), "a beam that only the scan moves", "another one", "Leave it out."
        )
    setup = _setup_of(scenario)
    pattern = Pattern(
        table.way,
        table.length,
        table.across,
        table.spacing,
        table.speed or 0.0,
        table.dwell or 0.0,
        table.passes,
        table.turned,
        table.line_pause,
        table.pass_pause,
    )
    _check(scenario, setup, pattern)
    course = course_for(setup, pattern)
    model, reasons, cautions = _model(scenario, setup, pattern, course)
    return Plan(scenario, setup, pattern, course, model, reasons, cautions)


def corner_plan(plan: Plan, side: float) -> Plan:
    """The corner of a plan of lines as a block: a square of `side` [m] lit at the times of the whole area.

    Raises InputError for a pattern without lines side by side, and a side that the area does not have.
    """
    pattern, least = plan.pattern, 2.0 * plan.setup.beam.radius
    if not pattern.has_lines or (pattern.turned and pattern.passes > 1):
        raise InputError("corner", "lines side by side", f"{pattern.way}", "Leave corner out.")
    most = min(pattern.length, pattern.width)
    if not least <= side <= most:
        expected = f"from the spot's {units.written(least, 'm')} to the area's {units.written(most, 'm')}"
        raise InputError("corner", expected, units.written(side, "m"))
    square = replace(pattern, length=side, width=side)
    course = corner_of(plan.course, pattern, side)
    reason = f"the corner of {units.written(side, 'm')} as a block, lit at the times of the whole area"
    return replace(plan, pattern=square, course=course, model=Model.BLOCK, reasons=(reason,), cautions=())


def rest_plan(corner: Plan) -> Plan:
    """A `corner` of lines as spots at rest in the same places: energy and time are equal."""
    pattern = corner.pattern
    dwell = pattern.spacing / pattern.speed
    spots = replace(pattern, way=Way.POINTS, speed=0.0, dwell=dwell)
    reason = (
        f"the same lines as spots at rest, one each {units.written(pattern.spacing, 'm')} for "
        f"{units.display(dwell, 's', 'us')}, with no time between them"
    )
    course = resting(corner.course, pattern.spacing)
    return replace(corner, pattern=spots, course=course, reasons=(*corner.reasons, reason))


def _setup_of(scenario: Scenario) -> Setup:
    run = scenario.run
    return Setup(
        target_of(scenario),
        beam_of(scenario),
        scenario.arriving_power,
        Surface(**dict(scenario.surface)),
        Ending(run.end_time, run.end_temperature, run.longest_time),
        Stepping(**scenario.steps.model_dump(exclude_none=True)),
        request_of(scenario),
        run.thermal_dose,
    )


def _check(scenario: Scenario, setup: Setup, pattern: Pattern) -> None:
    where, beam, diameter = scenario.origin.where, setup.beam, 2.0 * setup.beam.radius
    if pattern.spacing > diameter * (1.0 + 1e-9):
        raise InputError(
            where("scan.spacing"),
            f"at most the spot's {units.written(diameter, 'm')}",
            units.written(pattern.spacing, "m"),
            "Between lines farther apart nothing is removed.",
        )
    half = setup.cells.half_width
    if half is not None and half < beam.reach:
        raise InputError(
            where("grid.half_width"),
            f"at least {units.display(beam.reach, 'm', 'mm')} beside the area, which holds the beam",
            units.display(half, "m", "mm"),
            "Leave it out, or widen it.",
        )


def _model(
    scenario: Scenario, setup: Setup, pattern: Pattern, course: Course
) -> tuple[Model, tuple[str, ...], tuple[str, ...]]:
    """Slice or block, why, and what is to be minded."""
    wanted = scenario.scan.model if scenario.scan else None
    obstacle = _no_slice(setup, pattern)
    if wanted is Model.SLICE and obstacle:
        where = scenario.origin.where("scan.model")
        raise InputError(where, "a block", '"slice"', f"{obstacle}. Leave it out, or say block.")
    if wanted is Model.BLOCK:
        return Model.BLOCK, ("a block, as asked",), ()
    if obstacle:
        return Model.BLOCK, (f"a block: {obstacle[0].lower()}{obstacle[1:]}",), ()
    number = peclet(setup, pattern.speed)
    reason = f"a slice: speed times radius over diffusivity is {number:.3g}, at least {LEAST_PECLET:g}"
    return Model.SLICE, (reason,), _far_ends(setup, pattern, course)


def _no_slice(setup: Setup, pattern: Pattern) -> str:
    """Why a slice does not hold; empty where it does."""
    if not pattern.has_lines:
        return f"A slice needs lines, and {pattern.way} has none"
    if pattern.turned and pattern.passes > 1:
        return "A slice needs all lines side by side, and every second pass is turned"
    if pattern.length < 4.0 * setup.beam.radius:
        return "Lines shorter than two spots are all ends"
    number = peclet(setup, pattern.speed)
    if number >= LEAST_PECLET:
        return ""
    least = LEAST_PECLET / spreading_time(setup) * setup.beam.radius
    return (
        f"Speed times radius over diffusivity is {number:.2g}, below {LEAST_PECLET:g}: heat flows along the "
        f"line while the beam passes (from {units.display(least, 'm/s', 'mm/s')} on a slice holds)"
    )


def _far_ends(setup: Setup, pattern: Pattern, course: Course) -> tuple[str, ...]:
    """Caution where heat reaches the slice from the lines' ends."""
    diffusivity = setup.beam.radius**2 / spreading_time(setup)
    reach = 2.0 * math.sqrt(diffusivity * course.total_time)
    if reach <= 0.25 * pattern.length:
        return ()
    return (
        f"Heat spreads {units.display(reach, 'm', 'mm')} during the scan, more than a quarter of a line: the "
        "slice stands for the middle of endless lines and is hotter than a patch this short.",
    )


def asked_scenario(
    name: str | None, material: str | None, scan: dict[str, Any], settings: dict[str, Any]
) -> Scenario:
    """Scenario of a file, of a kept scan, or shipped `name`, or of settings: one of both.

    Raises InputError for both or neither, and as `scenario_of_scan`.
    """
    given = [key for key, value in {"material": material, **scan, **settings}.items() if value is not None]
    if name is not None and given:
        raise InputError("scenario", "a scenario alone, or settings", f"{given[0]} too", "Leave one out.")
    if name is not None:
        return scenario_at_path(name)
    if material is None:
        raise nothing("material")
    rest = dict(settings)
    return scenario_of_scan(material, rest.pop("power", None), rest.pop("spot", None), scan, **rest)
