"""A scenario from a few strings, for the command line and for Python; and a scenario with a few changes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from spotdwell.base.errors import InputError, together
from spotdwell.base.settings import SETTINGS, check_known, with_settings
from spotdwell.inputs.laser_file import take_laser
from spotdwell.inputs.read import scenario_data, scenario_from_dict
from spotdwell.inputs.schema import Origin, Scenario
from spotdwell.inputs.toml import key_text, shown

Value = str | float | int | bool

FILM = "water_film"
"""Shipped material of which the setting `film` makes a first layer."""

_TRAIN = {"dwell": "exposure.on_time"}
"""Keys that are other ones in a train of exposures."""


@with_settings()
def scenario_of_shot(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    dwell: str | None = None,
    **settings: Any,
) -> Scenario:
    """Scenario of one shot into `material`, a shipped name or a path from the working folder.

    Quantities are strings: power "25 W", spot "1.6 mm", dwell "80 ms"; the wavelength is 10.6 um unless
    said. With `count` and `pause` it is a train of exposures of `dwell`. A `laser` file, with its `dial`
    position, gives the spot, its definition and the wavelength where they are not given, and the share of
    `power` that reaches the target. For the other settings see `base.settings.SETTINGS`. Raises InputError
    that names the setting, such as "spot".
    """
    check_known(settings)
    all_of_them = {"power": power, "spot": spot, "dwell": dwell, **settings}
    given: dict[str, Any] = {name: value for name, value in all_of_them.items() if value is not None}
    laser = take_laser(given)
    given.setdefault("wavelength", SETTINGS["wavelength"].example)
    _check_complete(given)
    if isinstance(times := given.get("save_times"), str):
        given["save_times"] = [one.strip() for one in times.split(",")]
    film, thickness = given.pop("film", None), given.pop("thickness", None)
    train = _TRAIN if "count" in given else {}
    data: dict[str, Any] = {}
    for name, value in given.items():
        put(data, train.get(name, SETTINGS[name].key), value)
    layers = [{"material": FILM, "thickness": film}] if film else []
    layers.append({"material": material} | ({"thickness": thickness} if thickness else {}))
    put(data, "target.layers", layers)
    if laser is not None:
        data["laser"] = laser.model_dump(mode="json", exclude_none=True)
    return scenario_from_dict(data, Origin(name="", settings=_names_of_keys(len(layers))))


def _check_complete(given: Mapping[str, Any]) -> None:
    """Raise InputError for what every shot needs, which the schema would name as a file does."""
    needed = (("power", "peak_power"), ("spot",), ("dwell",))
    missing = [nothing(names[0]) for names in needed if not given.keys() & set(names)]
    if missing:
        raise together(missing, "settings")
    for name, other in (("count", "pause"), ("pause", "count")):
        if name in given and other not in given:
            raise InputError(other, "count and pause together for a train", "nothing", "Add it.")
    if given.get("geometry") == "slab":
        advice = "A slab needs an area: write a scenario file for it."
        raise InputError("geometry", "axisymmetric or lattice", '"slab"', advice)


def nothing(name: str, example: str = "") -> InputError:
    """Error for a quantity that is not given, with an example; a setting's own unless said."""
    example = example or SETTINGS[name].example
    return InputError(name, f'a quantity, such as "{example}"', "nothing", "Add it.")


def _names_of_keys(layers: int) -> dict[str, str]:
    """Name of the setting that sets each key."""
    names = {one.key: name for name, one in SETTINGS.items()} | {key: name for name, key in _TRAIN.items()}
    last = f"target.layers[{layers - 1}]"
    if layers > 1:
        names["target.layers[0].thickness"] = "film"
    return names | {f"{last}.material": "material", f"{last}.thickness": "thickness"}


def scenario_with(scenario: Scenario, changes: Mapping[str, Value]) -> Scenario:
    """The scenario with other values at dotted keys, such as {"beam.power": "30 W"}.

    A layer counts from 0, as in "target.layers.0.thickness". Raises InputError as for a file.
    """
    data = scenario_data(scenario)
    for key, value in changes.items():
        put(data, key, value)
    origin = scenario.origin
    return scenario_from_dict(data, Origin(origin.name, origin.folder, None, origin.settings))


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
