"""Settings of a shot: the options that make it, in one table for every verb that fires shots."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

from spotdwell.terminal import options as o

SETTINGS: dict[str, Any] = {
    "power": o.Power,
    "spot": o.Spot,
    "dwell": o.Dwell,
    "laser": o.Laser,
    "dial": o.Dial,
    "definition": o.Definition,
    "profile": o.Profile,
    "order": o.Order,
    "inner_ratio": o.InnerRatio,
    "wavelength": o.Wavelength,
    "plume_transmittance": o.Plume,
    "count": o.Count,
    "pause": o.Pause,
    "pulse_duration": o.PulseDuration,
    "repetition_rate": o.RepetitionRate,
    "peak_power": o.PeakPower,
    "end_time": o.EndTime,
    "end_temperature": o.EndTemperature,
    "save_times": o.SaveTimes,
    "thickness": o.Thickness,
    "film": o.Film,
    "backing": o.Backing,
    "backing_temperature": o.BackingTemperature,
    "initial_temperature": o.InitialTemperature,
    "ambient_temperature": o.AmbientTemperature,
    "geometry": o.Geometry,
    "cell_depth": o.CellDepth,
    "cell_width": o.CellWidth,
    "refinement": o.Refinement,
    "char_limit": o.CharLimit,
    "depth_limit": o.DepthLimit,
    "title": o.Title,
}
"""By name, in the order of the help; each is None if left out."""

_OUTPUT = ("out", "picture", "table")
"""The first of these in a verb is what the settings come before."""

Verb = Callable[..., None]


def with_settings(*left_out: str) -> Callable[[Verb], Verb]:
    """Decorator: the verb takes all settings but those `left_out`, and gets them as its keywords."""

    def taking(verb: Verb) -> Verb:
        own = list(inspect.signature(verb, eval_str=True).parameters.values())[:-1]
        kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
        added = [
            inspect.Parameter(name, kind, default=None, annotation=option)
            for name, option in SETTINGS.items()
            if name not in (*left_out, *(one.name for one in own))
        ]
        place = next((number for number, one in enumerate(own) if one.name in _OUTPUT), len(own))
        parameters = [*own[:place], *added, *own[place:]]
        verb.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        verb.__annotations__ = {one.name: one.annotation for one in parameters}
        return verb

    return taking
