"""The points of a map planned and solved, and the public functions for maps."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from functools import cached_property, partial
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np

from spotdwell.base.errors import InputError, SpotdwellError, check_workers
from spotdwell.base.names import AXES, MEASURES
from spotdwell.console import cluster as clusters
from spotdwell.console.workers import Progress, stream
from spotdwell.inputs.read import materials_of, scenario_data, scenario_from_dict, scenario_text
from spotdwell.inputs.schema import Origin, Scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.maps.bands import NOTHING, blank_bands
from spotdwell.maps.cube import RADII, Axis, Cube, Point, blank_cube, failed_point
from spotdwell.maps.drawn import check_drawn, interval_of
from spotdwell.maps.equal import Equal, balanced, check_equal, equal_of
from spotdwell.maps.request import Range, check_mapped, ranges_of, scenario_at, text_of
from spotdwell.maps.store import GrowingFile, resumed_cube, save_cube
from spotdwell.measure.outlines import outlines_of
from spotdwell.measure.verdict import Limits
from spotdwell.model.columns import Geometry
from spotdwell.pipeline import setting_of, solved, versions
from spotdwell.spread.brief import FEW
from spotdwell.spread.words import COVERS

MOST = 100_000
"""Points of a map: they are kept in memory, some 4 kB each."""

Index = tuple[int, ...]


@dataclass(frozen=True)
class MapPlan:
    """A base scenario, and the settings that change from point to point."""

    base: Scenario
    axes: tuple[Axis, ...]
    equal: Equal | None = None
    """What all points share with the base, whatever the settings that are mapped."""
    intervals: bool = False
    """Whether each point gets the intervals that its shot would print."""

    @property
    def shape(self) -> tuple[int, ...]:
        """Points along each axis."""
        return tuple(len(axis.values) for axis in self.axes)

    def scenario(self, index: Index) -> Scenario:
        """The scenario at a point. Raises InputError where its settings do not go together."""
        point = {axis.name: axis.values[place] for axis, place in zip(self.axes, index, strict=True)}
        found = scenario_at(self.whole, point)
        return found if self.equal is None else balanced(found, self.equal, self.base)

    @cached_property
    def whole(self) -> Scenario:
        """The base with all materials of the map inside, so that its points need no other file."""
        materials = materials_of(self.base)
        for axis in self.axes:
            if axis.name == "material":
                for name in axis.values:
                    materials |= materials_of(scenario_at(self.base, {"material": name}))
        copy = self.base.model_copy(update={"materials": materials})
        copy._origin = self.base.origin
        return copy

    def __reduce__(self) -> tuple[Any, ...]:
        # Models of pydantic with a type as parameter do not travel between processes.
        origin = replace(self.base.origin, text=None)
        return _travelled, (scenario_data(self.whole), origin, self.axes, self.equal, self.intervals)

    @cached_property
    def identity(self) -> dict[str, str]:
        """All that the results depend on, by dotted key, for `maps.store`."""
        data = scenario_data(self.scenario((0,) * len(self.axes)))
        for name in ("title", "about"):
            data.pop(name, None)
        axes = {axis.name: ", ".join(text_of(axis.name, one) for one in axis.values) for axis in self.axes}
        return {
            "axes": ", ".join(axes),
            **axes,
            **_flat(data),
            **({} if self.equal is None else {"equal": str(self.equal)}),
            **({"intervals": f"from {FEW} draws"} if self.intervals else {}),
            "version of spotdwell": versions()["spotdwell"],
        }


def _travelled(data: dict[str, Any], origin: Origin, *others: Any) -> MapPlan:
    return MapPlan(scenario_from_dict(data, origin), *others)


def check_plan(plan: MapPlan, workers: int | None = None) -> None:
    """Raise InputError where `map_of` would for the settings alone, without running anything."""
    names = [axis.name for axis in plan.axes]
    if not names or len(set(names)) < len(names) or not set(names) <= set(AXES):
        expected = f"one or more different inputs out of {', '.join(AXES)}"
        raise InputError("axes", expected, ", ".join(names) or "none")
    if (size := int(np.prod(plan.shape, dtype=np.int64))) > MOST or size == 0:
        raise InputError("axes", f"1 to {MOST} points", str(size), "Give fewer values for some input.")
    check_workers(workers)
    if plan.base.grid.geometry is Geometry.LATTICE:
        where, expected = plan.base.origin.where("grid.geometry"), '"axisymmetric" or "slab" for a map'
        raise InputError(where, expected, '"lattice"', "Leave the geometry out.")
    check_mapped(plan.base, names)
    if plan.equal is not None:
        check_equal(plan.base, plan.equal, names)
    first = (0,) * len(names)
    plan.scenario(first)
    if plan.intervals:
        kinds = [len(axis.values) if axis.name == "material" else 1 for axis in plan.axes]
        check_drawn([plan.scenario(index) for index in np.ndindex(*kinds)])


def shared_setting(plan: MapPlan) -> dict[str, str]:
    """What a caption says of the settings that all points share."""
    names = {axis.name for axis in plan.axes}
    changing = {
        "power": {"power", "peak_power"},
        "spot": {"spot"},
        "exposure": {"dwell", "count", "pause", "pulse_duration", "repetition_rate"},
        "target": {"material"},
        "wavelength": {"wavelength"},
    }
    setting = setting_of(plan.scenario((0,) * len(plan.axes)))
    if plan.equal is Equal.ENERGY:
        changing["exposure"] = changing["exposure"] | names
    if plan.equal is Equal.AVERAGE_POWER:
        changing["power"] = changing["power"] | (names - {"dwell", "count"})
        changing["exposure"] = changing["exposure"] | names
    shared = {name: text for name, text in setting.items() if not names & changing.get(name, set())}
    if plan.equal is not None:
        shared["all points"] = f"equal {str(plan.equal).replace('-', ' ')}"
    made = {"repetition_rate", "pause"} if plan.equal is Equal.AVERAGE_POWER else set()
    made |= {"dwell"} if plan.equal is Equal.ENERGY else set()
    return shared if "exposure" in shared else shared | _shared_exposure(plan.base, names | made)


def _shared_exposure(base: Scenario, names: set[str]) -> dict[str, str]:
    """Parts of the exposure that no axis changes."""
    on, off, count = base.exposure.gate
    parts: dict[str, float] = {"dwell": on, **({"count": count, "pause": off} if count > 1 else {})}
    if (carrier := base.exposure.carrier) is not None:
        parts |= {"pulse_duration": carrier.pulse_duration, "repetition_rate": carrier.repetition_rate}
    return {name: text_of(name, value) for name, value in parts.items() if name not in names}


def weight_of(plan: MapPlan, index: Index) -> float:
    """How long a point may take, in no unit, told without building its scenario.

    The deeper the crater, the more cells and steps. Over 27 shots of 5 to 40 W on 0.2 to 2 mm for 1 to
    100 ms the time goes with the 0.7th power of the energy over the square of the spot, within a factor 3.
    """
    base, (on, _, count) = plan.base, plan.base.exposure.gate
    inputs: dict[str, Any] = {"power": base.peak_power, "dwell": on, "count": count or 1}
    inputs |= {"spot": base.beam.diameter or 1e-3, "pulse_duration": 1.0, "repetition_rate": 1.0}
    if (carrier := base.exposure.carrier) is not None:
        inputs |= {"pulse_duration": carrier.pulse_duration, "repetition_rate": carrier.repetition_rate}
    inputs |= {axis.name: axis.values[place] for axis, place in zip(plan.axes, index, strict=True)}
    power = inputs.get("peak_power", inputs["power"]) * inputs["pulse_duration"] * inputs["repetition_rate"]
    return float((power * inputs["dwell"] * inputs["count"] / inputs["spot"] ** 2) ** 0.7)


def _flat(data: Any, key: str = "") -> dict[str, str]:
    """Texts of all values in nested tables and lists, by dotted key."""
    entries = enumerate(data) if isinstance(data, list) else data.items() if isinstance(data, dict) else None
    if entries is None:
        return {key: str(data)}
    found: dict[str, str] = {}
    for name, one in entries:
        found |= _flat(one, f"{key}.{name}" if key else str(name))
    return found


__all__ = ["Index", "MapPlan", "check_plan", "longest_first", "map_of", "point_of"]

Enter = Callable[[Index, Point], None]


def map_of(
    plan: MapPlan,
    path: str | PathLike[str] | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    progress: Progress | None = None,
) -> Cube:
    """Cube of `plan`, solved by `workers` at a time (None: one a core), or by the workers of a `cluster`.

    With a `path`, each point is kept there as it comes, and what an earlier call of the same plan left
    there is not computed again. `cluster` is the address of a dask scheduler, such as
    "tcp://10.0.0.1:8786". `progress` is told how many points are there, of how many, and the seconds left.
    A point that fails is kept with its reason. Raises InputError for settings that do not go together and
    for a file of another map, RunError if workers die, the cluster is not there or the file cannot be
    written, and KeyboardInterrupt after it has stopped all workers: the file then holds what was done.
    """
    check_plan(plan, workers)
    with _growing(plan, path) as (cube, enter):
        left = longest_first(plan, [tuple(one) for one in np.argwhere(cube.missing).tolist()])
        clock = _Clock([weight for weight, _ in left], cube.word.size, progress)
        for number, point in _solved(plan, [index for _, index in left], workers, cluster):
            enter(left[number][1], point)
            clock.tick(number)
    return cube


def point_of(plan: MapPlan, index: Index) -> Point:
    """What the run at `index` finds; whatever goes wrong is its failure."""
    began = time.perf_counter()
    try:
        scenario = plan.scenario(index)
        found = solved(scenario)
        radius, outlines = outlines_of(found.outcome, RADII)
        interval = interval_of(scenario, found) if plan.intervals else None
    except (SpotdwellError, ArithmeticError, ValueError, MemoryError) as error:
        reason = str(error) or type(error).__name__
        return failed_point(reason, time.perf_counter() - began, NOTHING if plan.intervals else None)
    values = [found.measures[name] for name in MEASURES]
    numbers = np.array([np.nan if value is None else value for value in values])
    return Point(
        numbers, str(found.verdict.word), "", time.perf_counter() - began, radius, outlines, interval
    )


def _solved(
    plan: MapPlan, indices: list[Index], workers: int | None, cluster: str | None
) -> Iterator[tuple[int, Point]]:
    """Number of each index and its point, as they come. Closing it stops the workers."""
    if not indices:
        return
    function = partial(point_of, plan)
    results: Generator[tuple[int, Point]]
    if cluster is None:
        results = stream(function, indices, workers, warm_up=True)
    else:
        results = clusters.stream(function, indices, cluster)
    with closing(results):
        yield from results


@contextmanager
def _growing(plan: MapPlan, path: str | PathLike[str] | None) -> Iterator[tuple[Cube, Enter]]:
    """The cube so far, and what enters a point into it and into the file at `path`, if there is to be one."""
    if path is None:
        cube = _blank(plan)
        yield cube, cube.fill
        return
    if Path(path).exists():
        cube = resumed_cube(path, plan.identity)
    else:
        cube = _blank(plan)
        save_cube(cube, path, plan.identity)
    with GrowingFile(path, plan.shape) as file:

        def enter(index: Index, point: Point) -> None:
            file.enter(index, point)
            cube.fill(index, point)

        yield cube, enter


def _blank(plan: MapPlan) -> Cube:
    limits, text = Limits(**dict(plan.base.limits)), scenario_text(plan.whole)
    bands = blank_bands(plan.shape, FEW, COVERS) if plan.intervals else None
    return blank_cube(plan.axes, limits, shared_setting(plan), text, versions(), bands)


def longest_first(plan: MapPlan, indices: list[Index]) -> list[tuple[float, Index]]:
    """The indices with how long each may take, in no unit, longest first: no worker then ends far behind."""
    weighed = [(weight_of(plan, index), index) for index in indices]
    return sorted(weighed, key=lambda one: -one[0])


class _Clock:
    """Foresees how long the rest takes from what was done since the first came, which waits for the start."""

    def __init__(self, weights: list[float], total: int, progress: Progress | None) -> None:
        self._weights, self._total, self._progress = weights, total, progress
        self._rest, self._rest_weight = len(weights), sum(weights)
        self._first: tuple[float, float] | None = None
        self._began = time.perf_counter()

    def tick(self, number: int) -> None:
        """Tell that the run with `number` is done."""
        self._rest -= 1
        self._rest_weight -= self._weights[number]
        if self._progress is not None:
            self._progress(self._total - self._rest, self._total, self._left())

    def _left(self) -> float:
        now = time.perf_counter()
        if self._first is None:
            self._first = now, self._rest_weight
            return (now - self._began) * self._rest
        began, weight = self._first
        done = weight - self._rest_weight
        return (now - began) * max(self._rest_weight, 0.0) / done if self._rest and done else 0.0


def map_shots(
    base: Scenario | Mapping[str, Any],
    *over: str,
    workers: int | None = None,
    cluster: str | None = None,
    out: str | os.PathLike[str] | None = None,
    progress: Progress | None = None,
    equal: str | None = None,
    intervals: bool = False,
) -> Cube:
    """Cube of measures, verdicts and outlines over the ranges `over`, such as "power: 5 W to 40 W, 20".

    `base` is a scenario, or the settings of a shot by name, such as {"material": "skin", "spot": "1 mm"},
    without those that are mapped. With `out` each point is kept in that HDF5 file as it comes, and an earlier
    call of the same map there is gone on with. With `equal`, "average-power" or "energy", all points get as
    much of it as the first, by their pulses' rate, their pauses, the power or the dwell. With `intervals`
    each point gets the 90 % intervals and the odds that its shot prints, in 2 to 10 times the time. For
    the rest, and errors, see `map_of`; also InputError for a range that cannot be read or is given in `base`
    too.
    """
    plan = map_plan(base, *over, workers=workers, equal=equal, intervals=intervals)
    return map_of(plan, out, workers, cluster, progress)


def map_plan(
    base: Scenario | Mapping[str, Any],
    *over: str,
    workers: int | None = None,
    equal: str | None = None,
    intervals: bool = False,
) -> MapPlan:
    """Plan of such a map, checked: nothing is run. Raises InputError that names "over power" for a range."""
    ranges = ranges_of(over)
    names = [one.name for one in ranges]
    given = {} if isinstance(base, Scenario) else {name: one for name, one in base.items() if one is not None}
    _check_given_once(names, given)
    try:
        first = base if isinstance(base, Scenario) else _scenario_of(given, ranges)
        plan = MapPlan(first, axes_of(ranges), equal_of(equal), intervals)
        check_plan(plan, workers)
        _ = plan.whole  # reads the materials
    except InputError as error:
        raise error.renamed(lambda where: f"over {where}" if where in names else where) from None
    return plan


def axes_of(ranges: Sequence[Range]) -> tuple[Axis, ...]:
    """Axes of a cube over `ranges`."""
    return tuple(Axis(one.name, one.values, one.unit, one.scale) for one in ranges)


def first_values(ranges: Sequence[Range]) -> dict[str, str]:
    """Text of the first value of each range, by its setting."""
    return {one.name: text_of(one.name, one.values[0]) for one in ranges}


def _check_given_once(names: Sequence[str], given: Mapping[str, Any]) -> None:
    if twice := [name for name in names if name in given]:
        raise InputError(twice[0], "an input that is fixed or mapped", "both", "Leave it out, or the range.")
    powers = {"power", "peak_power"}
    if powers <= {*names, *given} and powers & set(names):
        # The schema would compare them point by point.
        raise InputError(
            "over power", "no power beside a peak power, which gives it", "both", "Leave one out."
        )


def _scenario_of(given: Mapping[str, Any], ranges: Sequence[Range]) -> Scenario:
    """The first shot of a map whose other settings are `given`."""
    settings = {**given, **first_values(ranges)}
    if "material" not in settings:
        expected = "a base: a material with the settings of a shot, or a scenario"
        raise InputError("material", expected, "neither", "Add one.")
    if "save_times" in settings:
        raise InputError("save_times", "none: a map keeps the last state", "some", "Leave it out.")
    if "count" in settings:
        settings["count"] = int(settings["count"])
    return scenario_of_shot(**settings)
