"""Settings of a shot: the one table that Python, command line, scenarios, maps and cards read."""

from __future__ import annotations

import difflib
import inspect
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from spotdwell.base.errors import UnknownSetting

BEAM, TIME, TARGET, LIMITS, OUTPUT = "Beam", "Exposure and end", "Target and grid", "Limits", "Output"
"""Panels under which the help lists the settings."""


@dataclass(frozen=True)
class Mapped:
    """How a map varies a setting and says so."""

    ranges: str
    """Example of its values."""
    display_unit: str
    """On the axis."""
    meaning: str
    """What the axis says."""
    may_vanish: bool = False
    """Whether 0 is a value of it."""


@dataclass(frozen=True)
class Setting:
    """A setting of a shot; a value of None is the same as leaving it out."""

    name: str
    """Keyword in Python; on the command line with dashes."""
    key: str
    """Dotted key of the scenario that it sets; empty for what makes the layers."""
    example: str
    """Of a value, such as "25 W"; a word in capitals where many will do."""
    panel: str
    help: str
    unit: str = ""
    """SI unit of a quantity; "1" for a number, empty for words."""
    kind: type = str
    """Type of a value; quantities are texts with their unit."""

    @property
    def mapped(self) -> Mapped | None:
        """How a map varies it; None if it may not."""
        return MAPPED.get(self.name)

    @property
    def is_whole(self) -> bool:
        """Whether its values are whole numbers."""
        return self.kind is int


_CARRIER = "exposure.carrier"
_LASER = "Laser file: spot, wavelength, share of the power that arrives."
_RING = "Inner over outer radius of an annular beam."
_PLUME = "Of the beam that gets through the plume."
_PULSES = "Of pulses inside each exposure."
_SUPERPULSED = "Of superpulses; else the power is chopped."
_BODY, _ROOM = "37 degC if left out, 22 for bench materials.", "Of the room; 22 degC if left out."
_SMALLER = "Cells are this many times smaller."

MAPPED = {
    "power": Mapped("5 W to 40 W, 20", "W", "power"),
    "spot": Mapped("0.2 mm to 2 mm, 10", "mm", "spot"),
    "dwell": Mapped("1 ms to 1 s, 20, log", "ms", "dwell time"),
    "pulse_duration": Mapped("50 us to 5 ms, 10, log", "ms", "pulse duration"),
    "repetition_rate": Mapped("50 Hz to 500 Hz, 10", "Hz", "repetition rate"),
    "peak_power": Mapped("40 W to 120 W, 5", "W", "peak power"),
    "wavelength": Mapped("9.3 um, 10.6 um", "um", "wavelength"),
    "count": Mapped("1, 2, 5, 10", "1", "exposures"),
    "pause": Mapped("10 ms to 1 s, 10, log", "ms", "pause between exposures", may_vanish=True),
    "material": Mapped("skin, liver", "", "material"),
    "speed": Mapped("200 mm/s to 800 mm/s, 5", "mm/s", "speed of the beam"),
    "spacing": Mapped("40 um to 140 um, 6", "um", "spacing of the lines"),
    "passes": Mapped("1, 2, 3", "1", "passes"),
    "line_pause": Mapped("0 ms to 40 ms, 5", "ms", "pause between lines", may_vanish=True),
}
"""By the setting's name."""

_ROWS = (
    Setting("material", "", "skin", TARGET, "Shipped material, or a .toml file."),
    Setting("power", "beam.power", "25 W", BEAM, "Power while the beam is on.", "W"),
    Setting("spot", "beam.diameter", "1.6 mm", BEAM, "Diameter of the beam.", "m"),
    Setting("dwell", "exposure.dwell_time", "80 ms", TIME, "Duration of each exposure.", "s"),
    Setting("laser", "laser.file", "FILE.toml", BEAM, _LASER),
    Setting("dial", "laser.dial", "WORD", BEAM, "Dial position of the laser's spot."),
    Setting("definition", "beam.definition", "WORD", BEAM, "Of the diameter: 1/e2, D4sigma or 86.5 %."),
    Setting("profile", "beam.profile", "WORD", BEAM, "gaussian, flat-top, super-gaussian or annular."),
    Setting("order", "beam.order", "NUMBER", BEAM, "Order of a super-gaussian.", "1", float),
    Setting("inner_ratio", "beam.inner_ratio", "SHARE", BEAM, _RING, "1", float),
    Setting("wavelength", "beam.wavelength", "10.6 um", BEAM, "Wavelength; 10.6 um if left out.", "m"),
    Setting("plume_transmittance", "beam.plume_transmittance", "SHARE", BEAM, _PLUME, "1", float),
    Setting("count", "exposure.count", "10", TIME, "Of exposures, with a pause.", "1", int),
    Setting("pause", "exposure.off_time", "100 ms", TIME, "Time between two exposures.", "s"),
    Setting("pulse_duration", f"{_CARRIER}.pulse_duration", "400 us", TIME, _PULSES, "s"),
    Setting("repetition_rate", f"{_CARRIER}.repetition_rate", "140 Hz", TIME, "Of these pulses.", "Hz"),
    Setting("peak_power", f"{_CARRIER}.peak_power", "80 W", TIME, _SUPERPULSED, "W"),
    Setting("end_time", "run.end_time", "2 s", TIME, "End of the run; else when all is cool.", "s"),
    Setting("end_temperature", "run.end_temperature", "45 degC", TIME, "Below which all is cool.", "K"),
    Setting(
        "save_times", "run.save_times", "5 ms, 9 ms", TIME, "When fields are kept, besides the end.", "s"
    ),
    Setting("thickness", "", "2 mm", TARGET, "Of the material; thick if left out.", "m"),
    Setting("film", "", "50 um", TARGET, "Thickness of a film of water on it.", "m"),
    Setting("backing", "target.backing", "WORD", TARGET, "Under it: insulated, held or open air."),
    Setting(
        "backing_temperature", "target.backing_temperature", "20 degC", TARGET, "Of a held backing.", "K"
    ),
    Setting("initial_temperature", "target.initial_temperature", "20 degC", TARGET, _BODY, "K"),
    Setting("ambient_temperature", "surface.ambient_temperature", "22 degC", TARGET, _ROOM, "K"),
    Setting("geometry", "grid.geometry", "WORD", TARGET, "axisymmetric, or lattice for 3-D."),
    Setting("cell_depth", "grid.cell_depth", "5 um", TARGET, "Height of the fine cells.", "m"),
    Setting("cell_width", "grid.cell_width", "20 um", TARGET, "Width of columns under the beam.", "m"),
    Setting("refinement", "grid.refinement", "NUMBER", TARGET, _SMALLER, "1", float),
    Setting("char_limit", "limits.char_thickness", "20 um", LIMITS, "Most char at floor and wall.", "m"),
    Setting("depth_limit", "limits.depth", "1 mm", LIMITS, "Deepest wanted crater.", "m"),
    Setting("title", "title", "TEXT", OUTPUT, "Title of the result."),
)
SETTINGS = {one.name: one for one in _ROWS}
"""By name, in the order of the help."""

SCAN_SETTINGS = {
    one.name: one
    for one in (
        Setting("speed", "scan.speed", "400 mm/s", BEAM, "Of the beam along a line.", "m/s"),
        Setting("spacing", "scan.spacing", "0.1 mm", BEAM, "Between neighbouring lines.", "m"),
        Setting("passes", "scan.passes", "2", TIME, "Over the whole area.", "1", int),
        Setting("line_pause", "scan.line_pause", "10 ms", TIME, "Beam off between lines.", "s"),
    )
}
"""Settings of a scan that a map may vary, by name."""
MAPPABLE = {name: (SETTINGS | SCAN_SETTINGS)[name] for name in MAPPED}
"""Settings that a map may vary, of shots and scans, by name."""

_OUTPUTS = ("out", "picture", "table", "save", "title")
"""Options of verbs before the first of which the settings stand."""

Function = TypeVar("Function", bound=Callable[..., Any])


def with_settings(
    *left_out: str, option: Callable[[Setting], Any] | None = None
) -> Callable[[Function], Function]:
    """Decorator: the signature names all settings but those `left_out`, which come as its last keywords.

    With `option`, which gives the type of each, it is a verb's: they come before its first output.
    """
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD if option else inspect.Parameter.KEYWORD_ONLY

    def taking(function: Function) -> Function:
        own = list(inspect.signature(function, eval_str=option is not None).parameters.values())[:-1]
        known = {"material", *left_out, *(one.name for one in own)}
        added = [
            inspect.Parameter(
                name, kind, default=None, annotation=option(one) if option else f"{one.kind.__name__} | None"
            )
            for name, one in SETTINGS.items()
            if name not in known
        ]
        outputs = (at for at, one in enumerate(own) if option and one.name in _OUTPUTS)
        place = next(outputs, len(own))
        parameters = [*own[:place], *added, *own[place:]]
        function.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        if option:
            function.__annotations__ = {one.name: one.annotation for one in parameters}
        return function

    return taking


def check_known(names: Iterable[str], known: Iterable[str] = SETTINGS) -> None:
    """Raise UnknownSetting for a name that is no setting of a shot, or none of the `known` ones."""
    known = tuple(known)
    for name in names:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            advice = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(known)}."
            raise UnknownSetting(name, "a setting of a shot", f'"{name}"', advice)
