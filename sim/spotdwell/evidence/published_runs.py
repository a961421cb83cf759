"""Runs behind the published rows: a shipped material under one exposure, on a slab or under a spot.

A slab stands for the middle of a spot that is wide against the heated layer, which is some tens of
micrometres here, and costs milliseconds. Where heat of many pulses adds up, or a hole is narrow, a spot is
run.
"""

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from spotdwell import pipeline
from spotdwell.inputs.material import with_borrowed
from spotdwell.inputs.read import scenario_from_dict
from spotdwell.inputs.shot import put
from spotdwell.library import Shelf, text
from spotdwell.output.result import Result

Changes = Mapping[str, str | float]
"""Values to use instead of shipped ones, such as {"pmma.pyrolysis.heat": "1 MJ/kg"}.

The first part names a material, or "tissue" for every material that is not acrylic. The solids' absorption
is "tissue.absorption.10.6 um"; debris and the slope of water's absorption are named likewise;
"tissue.damage.browning" is that process's frequency factor.
"""

ACRYLIC = "pmma"
SHALLOW = 0.1
"""Height of a cell times the absorption coefficient [-].

A surface cell is removed at its mean; with this height its mean is 5 % below what its upper face takes.
"""


@dataclass(frozen=True)
class Exposure:
    """Light on a flat target."""

    material: str
    irradiance: float
    """On the target, before reflection [W/m2]."""
    pulse_duration: float
    """[s]"""
    wavelength: str = "10.6 um"
    initial_temperature: str = "20 degC"
    """Excised tissue at room temperature unless said."""
    count: int = 1
    repetition_rate: float = 1.0
    """[1/s]"""
    cell_depth: float | None = None
    """[m]; None for the tool's own choice."""
    end_time: float | None = None
    """[s]; None until cool."""
    save_times: tuple[float, ...] = ()
    spot: float | None = None
    """1/e2 diameter of a gaussian spot whose peak has that irradiance [m]; None for even light on a slab."""


def solved(exposure: Exposure, changes: Changes) -> Result:
    """Result of one exposure on the product's own path: scenario, problem, march, measures."""
    return pipeline.run(scenario_from_dict(_data(exposure, changes)))


def _data(exposure: Exposure, changes: Changes) -> dict[str, Any]:
    off = 1.0 / exposure.repetition_rate - exposure.pulse_duration
    data: dict[str, Any] = {
        "beam": {"wavelength": exposure.wavelength, "power": f"{exposure.irradiance * 1e-6!r} W"},
        "exposure": {"dwell_time": f"{exposure.pulse_duration!r} s"},
        "target": {
            "initial_temperature": exposure.initial_temperature,
            "layers": [{"material": exposure.material}],
        },
        "surface": {"ambient_temperature": "20 degC"},
        "grid": {"geometry": "slab", "area": "1 mm2"},
        "run": {"save_times": [f"{time!r} s" for time in exposure.save_times]},
        "materials": {exposure.material: changed_material(exposure.material, changes)},
    }
    if exposure.spot is not None:
        power = exposure.irradiance * math.pi * exposure.spot**2 / 8.0
        data["beam"] |= {"power": f"{power!r} W", "diameter": f"{exposure.spot!r} m"}
        data["grid"] = {}
    if exposure.count > 1:
        on = f"{exposure.pulse_duration!r} s"
        data["exposure"] = {"on_time": on, "off_time": f"{off!r} s", "count": exposure.count}
    if exposure.end_time is not None:
        data["run"]["end_time"] = f"{exposure.end_time!r} s"
    if exposure.cell_depth is not None:
        data["grid"]["cell_depth"] = f"{exposure.cell_depth!r} m"
    return data


def changed_material(name: str, changes: Changes) -> dict[str, Any]:
    """Table of the shipped material `name` with those of the `changes` that concern it."""
    table: dict[str, Any] = copy.deepcopy(with_borrowed(tomllib.loads(text(Shelf.MATERIALS, name))))
    for key, value in changes.items():
        whose, _, entry = key.partition(".")
        if whose == name or (whose == "tissue" and name != ACRYLIC):
            _change(table, entry, value)
    return table


def _change(table: dict[str, Any], entry: str, value: str | float) -> None:
    first, _, rest = entry.partition(".")
    if first in ("absorption", "debris"):
        row = next(row for row in table[first] if row["wavelength"] == rest)
        row.update(value=value, range=[value, value])
        return
    if first == "damage":
        next(row for row in table["damage"] if row["name"] == rest)["frequency_factor"] = value
        return
    if first == "slope":
        next(row for row in table["absorption"] if row["wavelength"] == rest)["water_slope"] = value
        return
    put(table, f"{entry}.value", value)
    put(table, f"{entry}.range", [value, value])


def threshold(meets: Callable[[float], bool], low: float, high: float, halvings: int = 8) -> float:
    """Value at which `meets` turns true, by halving on a logarithmic scale between `low` and `high`.

    `low` if it is met there already, `high` if it is met nowhere between: an answer at an end is a miss.
    """
    bounds = [math.log(low), math.log(high)]
    if meets(low):
        return low
    for _ in range(halvings):
        middle = 0.5 * sum(bounds)
        bounds[meets(math.exp(middle))] = middle
    return math.exp(0.5 * sum(bounds))
