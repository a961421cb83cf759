"""Knobs of the page, and the scenario that they and the files of the chosen folder make."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from spotdwell import library
from spotdwell.base.errors import InputError, SpotdwellError
from spotdwell.base.settings import check_known
from spotdwell.inputs.laser_file import read_laser
from spotdwell.inputs.read import read_material, shipped_material
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import FILM, scenario_of_shot

Settings = Mapping[str, str]
"""What the page sends: a text for each setting of a shot that it has."""

LONGEST = 80
"""Letters of a setting: longer ones are no quantity and no name of a file that the page offers."""
_NAME = re.compile(r"[\w][\w .+-]*\.toml")
"""Names of files that a command line and a page can carry without quoting."""
_MOST_FILES, _MOST_BYTES = 200, 1_000_000
"""Files of the folder that are looked at, and the size of the largest."""


@dataclass(frozen=True)
class Knob:
    """A number with its unit and a slider that moves in round steps."""

    name: str
    """Of the setting, `base.settings.SETTINGS`."""
    label: str
    units: tuple[str, ...]
    """In which it can be written; the first is shown at first."""
    low: float
    """Where the slider begins, in the first unit."""
    high: float
    start: str
    """Value at first."""
    part: str = "shot"
    """What it belongs to: shot, repeat or carrier."""


KNOBS = (
    Knob("power", "Power", ("W",), 0.5, 100.0, "25 W"),
    Knob("spot", "Spot", ("mm", "um"), 0.1, 6.0, "1.6 mm"),
    Knob("dwell", "Dwell", ("ms", "us", "s"), 0.05, 2000.0, "80 ms"),
    Knob("count", "Exposures", ("",), 2, 50, "3", "repeat"),
    Knob("pause", "Pause between", ("ms", "us", "s"), 0.1, 2000.0, "500 ms", "repeat"),
    Knob("pulse_duration", "Pulse", ("us", "ms"), 20.0, 10000.0, "400 us", "carrier"),
    Knob("repetition_rate", "Rate", ("Hz",), 10.0, 2000.0, "140 Hz", "carrier"),
)
"""In the order of the page."""
NAMES = ("material", "laser", "dial", *(one.name for one in KNOBS))
"""Settings that the page may send."""


def kwargs_of(settings: Settings, folder: Path) -> dict[str, Any]:
    """Keywords of `spotdwell.shot` for what the page sent; files only those that `folder` offers.

    Raises InputError that names the setting.
    """
    check_known(settings, NAMES)
    for name, text in settings.items():
        if not isinstance(text, str) or len(text) > LONGEST:
            raise InputError(name, f"a text of at most {LONGEST} letters", "something else", "Shorten it.")
    found: dict[str, Any] = {name: text for name, text in settings.items() if text.strip()}
    if "material" not in found:
        raise InputError("material", "a material", "nothing", "Choose one.")
    if found["material"] not in library.names(library.Shelf.MATERIALS):
        found["material"] = _offered(found["material"], folder, "material")
    if "laser" in found:
        found["laser"] = _offered(found["laser"], folder, "laser")
    if "count" in found:
        found["count"] = _count(found["count"])
    return found


def scenario_of(settings: Settings, folder: Path) -> Scenario:
    """Scenario of what the page sent. Raises InputError that names the setting."""
    return scenario_of_shot(**kwargs_of(settings, folder))


def materials_in(folder: Path) -> list[dict[str, str]]:
    """Shipped materials, then those of the `folder`: name and title."""
    shipped = [name for name in library.names(library.Shelf.MATERIALS) if name != FILM]
    found = [{"name": name, "title": shipped_material(name).title or name} for name in shipped]
    return found + [{"name": name, "title": name} for name in _those_that(read_material, folder)]


def lasers_in(folder: Path) -> list[dict[str, Any]]:
    """Laser files of the `folder`: name, dial positions and the spot that each makes."""
    found = []
    for name in _those_that(read_laser, folder):
        laser = read_laser(folder / name)
        dials = [{"dial": one.dial, "spot": f"{1e3 * one.value:.3g} mm"} for one in laser.diameter]
        found.append({"name": name, "title": laser.title or name, "dials": dials})
    return found


def _those_that(read: Any, folder: Path) -> list[str]:
    """Names of files in the `folder` that `read` takes, none of them a link that leads out of it."""
    return [name for name in _candidates(folder) if _goes(partial(read, folder / name))]


def _candidates(folder: Path) -> list[str]:
    names = sorted(path.name for path in folder.glob("*.toml"))[:_MOST_FILES]
    return [name for name in names if _NAME.fullmatch(name) and _is_inside(folder / name, folder)]


def _is_inside(path: Path, folder: Path) -> bool:
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
        return inside and path.is_file() and path.stat().st_size <= _MOST_BYTES
    except OSError:
        return False


def _goes(read: Any) -> bool:
    try:
        read()
    except SpotdwellError:
        return False
    return True


def _offered(name: str, folder: Path, where: str) -> str:
    """Path of the file `name` as a command from the working folder takes it."""
    if not _NAME.fullmatch(name) or not _is_inside(folder / name, folder):
        raise InputError(where, f"one of those that are offered, or a file in {folder}", f'"{name}"')
    return str(folder / name)


def _count(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,4}", text.strip()):
        raise InputError("count", "a whole number of exposures, 2 or more", f'"{text}"', "Such as 3.")
    return int(text)
