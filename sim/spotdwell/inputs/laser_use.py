"""A laser file in a scenario: spot and wavelength of a dial position, and the share of power that arrives."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError, lone
from spotdwell.inputs.laser_file import Laser, laser_text, read_laser
from spotdwell.inputs.schema import LaserTable, Scenario


def take_laser(given: dict[str, Any]) -> LaserTable | None:
    """Take "laser" and "dial" out of the settings `given`, and fill in what the laser file says.

    Spot, definition and wavelength that are given already stay. Returns the record for the scenario, None
    without a laser. Raises InputError for a dial without a laser, a position that the file lacks, and a spot
    beside dial positions.
    """
    path, dial = given.pop("laser", None), given.pop("dial", None)
    if path is None:
        if dial is not None:
            raise lone("dial", "a laser file", "Name it: laser.toml.")
        return None
    laser = _laser_at(path)
    if "spot" in given:
        _check_spot(laser, dial, str(given["spot"]))
    else:
        spot = laser.spot(dial)
        given["spot"] = units.written(spot.value, "m")
        given.setdefault("definition", str(spot.definition))
        dial = spot.dial
    given.setdefault("wavelength", units.written(laser.wavelength.value, "m"))
    share = laser.delivered_share
    return LaserTable(
        file=str(path),
        dial=dial,
        delivered_share=None if share is None else share.value,
        text=laser_text(laser),
    )


def laser_caption(table: LaserTable) -> str:
    """What a caption says of the laser, such as "laser.toml, dial 2, 90 % of the power arrives"."""
    dial = f", dial {table.dial}" if table.dial else ""
    share = table.delivered_share
    arrives = "" if share is None else f", {100.0 * share:.3g} % of the power arrives"
    return f"{Path(table.file).name}{dial}{arrives}"


def laser_note(scenario: Scenario) -> list[str]:
    """Sentence on the power that arrives at the target, if a laser file is used."""
    table = scenario.laser
    if table is None:
        return []
    share = table.delivered_share
    if share is None:
        return [f"{table.file} says no delivered share: all of the set power is taken to reach the target."]
    sent, arrives = (units.display(one, "W", "W") for one in (scenario.peak_power, scenario.arriving_power))
    return [
        f"By {table.file}, {100.0 * share:.3g} % of the power that is set reaches the target: {arrives} of "
        f"{sent}. Energies and irradiances are those on the target."
    ]


def _laser_at(path: str | os.PathLike[str]) -> Laser:
    try:
        return read_laser(Path(path))
    except InputError as error:
        if error.where != str(path):
            raise
        raise InputError("laser", f"{error.expected} at {path}", error.got, error.advice) from None


def _check_spot(laser: Laser, dial: str | None, spot: str) -> None:
    """Raise InputError for a spot beside a laser whose spot depends on the dial."""
    if dial is not None or len(laser.diameter) > 1:
        advice = f"Leave the spot out, or the laser; dial positions: {', '.join(laser.dials)}."
        got = f'"{spot}" beside a laser' + (f' and dial "{dial}"' if dial else ", whose dial sets it")
        raise InputError("spot", "the spot once", got, advice)
