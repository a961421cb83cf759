"""Sensitivity: what a few per cent of spot, power and dwell do to depth and char."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.names import MEASURES
from spotdwell.console.text import heading, plain_table, shown
from spotdwell.console.workers import Progress, run_all
from spotdwell.inputs.read import scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import Value, put
from spotdwell.output.tables import Plain
from spotdwell.pipeline import run

SHARE = 0.05
"""By which each setting is changed, down and up [-]."""
OUTSTANDING = 3.0
"""Change of depth over that of the setting from which it is called steep [-]; twice is usual for the spot."""
_JUMPS = {"deepest": 2e-6, "char_thickness_floor": 1e-5, "char_thickness_wall": 1e-5}
"""Measures that are watched, and how far each may move besides [m]."""
_SHOWN = ("deepest", "char_thickness_floor", "char_thickness_wall", "coagulation_thickness_wall")
_HEADS = ("deepest", "char, floor", "char, wall", "coagulated, wall")

Measures = Mapping[str, float | None]


@dataclass(frozen=True)
class Neighbour:
    """The same shot with one setting changed."""

    setting: str
    """power, spot or dwell."""
    share: float
    """By which it was changed [-], below 0 down."""
    measures: Measures
    """By `base.names.MEASURES`, SI."""
    word: str
    """The verdict in words."""


@dataclass(frozen=True)
class Sensitivity:
    """A shot among its neighbours."""

    measures: Measures
    word: str
    neighbours: tuple[Neighbour, ...]

    @property
    def steep(self) -> tuple[str, ...]:
        """Settings that a few per cent of turn the word, or depth or char by more than on smooth ground."""
        return tuple(dict.fromkeys(one.setting for one in self.neighbours if self._jumps(one)))

    def _jumps(self, other: Neighbour) -> bool:
        smooth = OUTSTANDING * abs(other.share)
        for name, least in _JUMPS.items():
            before, after = self.measures.get(name) or 0.0, other.measures.get(name) or 0.0
            if abs(after - before) > smooth * before + least:
                return True
        return other.word != self.word


def sensitivity(
    scenario: Scenario, share: float = SHARE, workers: int | None = None, progress: Progress | None = None
) -> Sensitivity:
    """`scenario` with power, spot and dwell each a `share` less and more: seven runs, in `workers` processes.

    A setting that the scenario does not state, such as a spot behind optics, stays. Raises as `pipeline.run`.
    """
    changes = [(name, sign * share) for name in _keys(scenario) for sign in (-1.0, 1.0)]
    tasks = [_changed(scenario, *change) for change in [("", 0.0), *changes]]
    own, *found = run_all(_measured, tasks, workers, progress)
    return Sensitivity(
        *own, tuple(Neighbour(*change, *one) for change, one in zip(changes, found, strict=True))
    )


def _keys(scenario: Scenario) -> dict[str, tuple[str, float]]:
    """Dotted key and value [SI] of each setting that can be changed."""
    dwell = "dwell_time" if scenario.exposure.dwell_time is not None else "on_time"
    carrier = scenario.exposure.carrier
    power = (
        ("exposure.carrier.peak_power", carrier.peak_power)
        if carrier
        else ("beam.power", scenario.beam.power)
    )
    keys = {
        "power": power,
        "spot": ("beam.diameter", scenario.beam.diameter),
        "dwell": (f"exposure.{dwell}", scenario.exposure.gate[0]),
    }
    return {name: (key, value) for name, (key, value) in keys.items() if value is not None}


def _changed(scenario: Scenario, name: str, share: float) -> dict[str, Value]:
    data = scenario_data(with_own_materials(scenario))
    if name:
        key, value = _keys(scenario)[name]
        unit = {"power": "W", "spot": "m", "dwell": "s"}[name]
        put(data, key, f"{value * (1.0 + share)!r} {unit}")
        if key == "exposure.carrier.peak_power" and scenario.beam.power is not None:
            put(data, "beam.power", f"{scenario.beam.power * (1.0 + share)!r} W")
    return data


def _measured(data: dict[str, Value]) -> tuple[Measures, str]:
    result = run(scenario_from_dict(data, "shot"))
    return result.measures, result.verdict.text


def sensitivity_text(found: Sensitivity) -> list[RenderableType]:
    """Depth and layers of the shot and of its neighbours, and which setting is steep."""
    table = plain_table(("", "left"), *((f"{head} [um]", "right") for head in _HEADS), ("verdict", "left"))
    table.add_row("as set", *_cells(found.measures), found.word)
    for one in found.neighbours:
        table.add_row(f"{one.setting} {100.0 * one.share:+.0f} %", *_cells(one.measures), one.word)
    said = "Nothing jumps: the shot lies on smooth ground."
    if found.steep:
        said = f"Steep: {', '.join(found.steep)}. Keep to what you can hold within less than that."
    return [Text(), heading("What a few per cent do"), table, Text(said)]


def _cells(measures: Measures) -> list[str]:
    return [shown(MEASURES[name], measures[name], measures.get("cell_depth")) for name in _SHOWN]


def sensitivity_plain(found: Sensitivity) -> Plain:
    """The same in SI, of types that JSON knows."""
    rows = [
        {"setting": one.setting, "change": one.share, "verdict": one.word, "measures": dict(one.measures)}
        for one in found.neighbours
    ]
    return {"neighbours": rows, "steep": list(found.steep)}
