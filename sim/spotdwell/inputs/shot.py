"""A scenario from a few strings, for the command line and for Python; and a scenario with a few changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from os import PathLike
from typing import Any, TypedDict, Unpack

from spotdwell.base.errors import InputError
from spotdwell.inputs.complaints import key_text, shown
from spotdwell.inputs.laser_use import take_laser
from spotdwell.inputs.read import scenario_from_dict
from spotdwell.inputs.schema import Origin, Scenario
from spotdwell.inputs.text import scenario_data

Value = str | float | int | bool

FILM = "water_film"
"""Shipped material of which the option `film` makes a first layer."""


class ShotOptions(TypedDict, total=False):
    """Options of a shot beyond its material, power, spot and dwell; None is the same as leaving one out."""

    laser: str | PathLike[str] | None
    dial: str | None
    wavelength: str | None
    profile: str | None
    definition: str | None
    order: float | None
    inner_ratio: float | None
    plume_transmittance: float | None
    on: str | None
    off: str | None
    count: int | None
    peak_power: str | None
    pulse_duration: str | None
    repetition_rate: str | None
    film: str | None
    thickness: str | None
    initial_temperature: str | None
    backing: str | None
    backing_temperature: str | None
    ambient_temperature: str | None
    end_time: str | None
    end_temperature: str | None
    save_times: Sequence[str] | None
    geometry: str | None
    refinement: float | None
    cell_depth: str | None
    cell_width: str | None
    char_limit: str | None
    depth_limit: str | None
    title: str | None


OPTION_KEYS = {
    "power": "beam.power",
    "spot": "beam.diameter",
    "dwell": "exposure.dwell_time",
    "laser": "laser.file",
    "dial": "laser.dial",
    "wavelength": "beam.wavelength",
    "profile": "beam.profile",
    "definition": "beam.definition",
    "order": "beam.order",
    "inner_ratio": "beam.inner_ratio",
    "plume_transmittance": "beam.plume_transmittance",
    "on": "exposure.on_time",
    "off": "exposure.off_time",
    "count": "exposure.count",
    "peak_power": "exposure.carrier.peak_power",
    "pulse_duration": "exposure.carrier.pulse_duration",
    "repetition_rate": "exposure.carrier.repetition_rate",
    "initial_temperature": "target.initial_temperature",
    "backing": "target.backing",
    "backing_temperature": "target.backing_temperature",
    "ambient_temperature": "surface.ambient_temperature",
    "end_time": "run.end_time",
    "end_temperature": "run.end_temperature",
    "save_times": "run.save_times",
    "geometry": "grid.geometry",
    "refinement": "grid.refinement",
    "cell_depth": "grid.cell_depth",
    "cell_width": "grid.cell_width",
    "char_limit": "limits.char_thickness",
    "depth_limit": "limits.depth",
    "title": "title",
}
"""Key of the scenario that each option sets; `material`, `thickness` and `film` make the layers."""


def scenario_of_shot(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    dwell: str | None = None,
    **options: Unpack[ShotOptions],
) -> Scenario:
    """Scenario of one shot into `material`, a shipped name or a path from the working folder.

    All quantities are strings: power "25 W", spot "1.6 mm", dwell "80 ms"; the wavelength is 10.6 um
    unless said. A `laser` file, with its `dial` position, gives the spot, its definition and the wavelength
    where they are not given, and the share of `power` that reaches the target. Errors name the option, such
    as "--spot". Raises InputError.
    """
    given: dict[str, Any] = {"power": power, "spot": spot, "dwell": dwell, **options}
    given = {name: value for name, value in given.items() if value is not None}
    laser = take_laser(given)
    given.setdefault("wavelength", "10.6 um")
    film, thickness = given.pop("film", None), given.pop("thickness", None)
    data: dict[str, Any] = {}
    for name, value in given.items():
        put(data, OPTION_KEYS[name], value)
    layers = [{"material": FILM, "thickness": film}] if film else []
    layers.append({"material": material} | ({"thickness": thickness} if thickness else {}))
    put(data, "target.layers", layers)
    data.setdefault("exposure", {})
    if laser is not None:
        data["laser"] = laser.model_dump(mode="json", exclude_none=True)
    return scenario_from_dict(data, Origin(name="", options=_option_names(len(layers))))


def _option_names(layers: int) -> dict[str, str]:
    """What errors call each key that an option sets."""
    names = {key: f"--{name.replace('_', '-')}" for name, key in OPTION_KEYS.items()}
    last = f"target.layers[{layers - 1}]"
    if layers > 1:
        names["target.layers[0].thickness"] = "--film"
    return names | {f"{last}.material": "material", f"{last}.thickness": "--thickness"}


def scenario_with(scenario: Scenario, changes: Mapping[str, Value]) -> Scenario:
    """The scenario with other values at dotted keys, such as {"beam.power": "30 W"}.

    A layer counts from 0, as in "target.layers.0.thickness". Raises InputError as for a file.
    """
    data = scenario_data(scenario)
    for key, value in changes.items():
        put(data, key, value)
    origin = scenario.origin
    return scenario_from_dict(data, Origin(origin.name, origin.folder, None, origin.options))


def put(data: dict[str, Any], key: str, value: Any) -> None:
    """Set `value` at a dotted `key` of nested tables, making the tables on the way."""
    *path, last = key.split(".")
    place: Any = data
    for step in path:
        place = place[_index(place, step, key)] if isinstance(place, list) else place.setdefault(step, {})
    if isinstance(place, list):
        place[_index(place, last, key)] = value
    elif isinstance(place, dict):
        place[last] = value
    else:
        raise InputError(key_text(path), "a table", shown(place), f"{last} lies in no table.")


def _index(entries: list[Any], step: str, key: str) -> int:
    if step.isdecimal() and int(step) < len(entries):
        return int(step)
    raise InputError(key, f"a number of an entry, 0 to {len(entries) - 1}", f'"{step}"')
