"""Map plan: a base scenario and the settings that change from point to point of a map."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from spotdwell.base.errors import InputError, check_workers
from spotdwell.base.names import AXES
from spotdwell.inputs.mapped import check_mapped, scenario_at, text_of
from spotdwell.inputs.read import materials_of, scenario_from_dict
from spotdwell.inputs.schema import Origin, Scenario
from spotdwell.inputs.text import scenario_data
from spotdwell.model.columns import Geometry
from spotdwell.output.maps.cube import Axis
from spotdwell.pipeline import setting_of, versions

MOST = 100_000
"""Points of a map: they are kept in memory, some 4 kB each."""

Index = tuple[int, ...]


@dataclass(frozen=True)
class MapPlan:
    """A base scenario, and the settings that change from point to point."""

    base: Scenario
    axes: tuple[Axis, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        """Points along each axis."""
        return tuple(len(axis.values) for axis in self.axes)

    def scenario(self, index: Index) -> Scenario:
        """The scenario at a point. Raises InputError where its settings do not go together."""
        point = {axis.name: axis.values[place] for axis, place in zip(self.axes, index, strict=True)}
        return scenario_at(self.whole, point)

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
        return _travelled, (scenario_data(self.whole), origin, self.axes)

    @cached_property
    def identity(self) -> dict[str, str]:
        """All that the results depend on, by dotted key, for `output.maps.identity`."""
        data = scenario_data(self.scenario((0,) * len(self.axes)))
        for name in ("title", "about"):
            data.pop(name, None)
        axes = {axis.name: ", ".join(text_of(axis.name, one) for one in axis.values) for axis in self.axes}
        return {
            "axes": ", ".join(axes),
            **axes,
            **_flat(data),
            "version of spotdwell": versions()["spotdwell"],
        }


def _travelled(data: dict[str, Any], origin: Origin, axes: tuple[Axis, ...]) -> MapPlan:
    return MapPlan(scenario_from_dict(data, origin), axes)


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
    plan.scenario((0,) * len(names))


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
    shared = {name: text for name, text in setting.items() if not names & changing.get(name, set())}
    return shared if "exposure" in shared else shared | _shared_exposure(plan.base, names)


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
