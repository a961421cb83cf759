"""What a map computes: a base scenario, the settings that vary, and how long each point may take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from spotdwell.base.errors import InputError, check_workers
from spotdwell.base.names import AXES
from spotdwell.base.settings import SCAN_SETTINGS
from spotdwell.inputs.read import materials_of, scenario_data, scenario_from_dict
from spotdwell.inputs.schema import Origin, Scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.maps.cube import Axis
from spotdwell.maps.drawn import check_drawn
from spotdwell.maps.equal import Equal, balanced, check_equal, equal_of
from spotdwell.maps.request import Range, check_mapped, ranges_of, scenario_at, text_of
from spotdwell.maps.scanned import check_scans
from spotdwell.model.columns import Geometry
from spotdwell.pipeline import setting_of, versions
from spotdwell.scans.request import SETTINGS as SCAN_TABLE
from spotdwell.scans.request import scenario_of_scan
from spotdwell.scans.run import scan_setting
from spotdwell.spread.brief import FEW

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
    if plan.base.scan is None:
        plan.scenario(first)
    else:
        if plan.equal is not None or plan.intervals:
            wanted = "equal" if plan.equal is not None else "intervals"
            raise InputError(wanted, "shots at rest", "scans", "Leave it out.")
        last = tuple(size - 1 for size in plan.shape)
        check_scans(plan.base, [plan.scenario(first), plan.scenario(last)])
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
    first = plan.scenario((0,) * len(plan.axes))
    setting = setting_of(first) if first.scan is None else scan_setting(first, names)
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
    if "exposure" in shared or plan.base.scan is not None:
        return shared
    return shared | _shared_exposure(plan.base, names | made)


def _shared_exposure(base: Scenario, names: set[str]) -> dict[str, str]:
    """Parts of the exposure that no axis changes."""
    on, off, count = base.exposure.gate
    parts: dict[str, float] = {"dwell": on, **({"count": count, "pause": off} if count > 1 else {})}
    if (carrier := base.exposure.carrier) is not None:
        parts |= {"pulse_duration": carrier.pulse_duration, "repetition_rate": carrier.repetition_rate}
    return {name: text_of(name, value) for name, value in parts.items() if name not in names}


def _flat(data: Any, key: str = "") -> dict[str, str]:
    """Texts of all values in nested tables and lists, by dotted key."""
    entries = enumerate(data) if isinstance(data, list) else data.items() if isinstance(data, dict) else None
    if entries is None:
        return {key: str(data)}
    found: dict[str, str] = {}
    for name, one in entries:
        found |= _flat(one, f"{key}.{name}" if key else str(name))
    return found


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
    if base.scan is not None:
        # Each line takes its own steps.
        return float(inputs.get("passes", base.scan.passes) / inputs.get("spacing", base.scan.spacing))
    power = inputs.get("peak_power", inputs["power"]) * inputs["pulse_duration"] * inputs["repetition_rate"]
    return float((power * inputs["dwell"] * inputs["count"] / inputs["spot"] ** 2) ** 0.7)


def longest_first(plan: MapPlan, indices: list[Index]) -> list[tuple[float, Index]]:
    """The indices with how long each may take, in no unit, longest first: no worker then ends far behind."""
    weighed = [(weight_of(plan, index), index) for index in indices]
    return sorted(weighed, key=lambda one: -one[0])


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
    for name in {"count", "passes"} & settings.keys():
        settings[name] = int(settings[name])
    if SCAN_SETTINGS.keys() & settings.keys():
        table = {name: settings.pop(name, None) for name in SCAN_TABLE}
        material, power, spot = (settings.pop(name, None) for name in ("material", "power", "spot"))
        return scenario_of_scan(material, power, spot, table, **settings)
    return scenario_of_shot(**settings)
