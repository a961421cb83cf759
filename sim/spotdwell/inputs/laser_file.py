"""Laser files: the settings of a device, checked, and what a shot uses of them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Self

import tomli_w
from pydantic import Field, ValidationError, model_validator

from spotdwell.base import units
from spotdwell.base.errors import InputError, lone
from spotdwell.inputs import quantities as q
from spotdwell.inputs.quantities import Table, wrong
from spotdwell.inputs.schema import LaserTable, Scenario
from spotdwell.inputs.toml import check_foreign, schema_complaint, table_of, text_in
from spotdwell.model.beam import Definition

SUFFIX = ".toml"
ONLY_DIAL = "fixed"
"""Dial position of a laser that has but one spot."""


class LaserWavelength(Table):
    """Of the light."""

    value: q.Wavelength
    interval: tuple[q.Wavelength, q.Wavelength] | None = None
    source: q.Text

    @model_validator(mode="after")
    def _within(self) -> Self:
        if self.interval is not None:
            _check_interval(self.value, self.interval, "m")
        return self


class LaserSpot(Table):
    """Beam on the target with the dial, the lens or the handpiece in one position."""

    dial: q.Text = ONLY_DIAL
    """What the position is called."""
    value: q.Length
    """Diameter of the beam."""
    interval: tuple[q.Length, q.Length]
    """Within which the diameter lies with 95 % confidence."""
    definition: Definition = Definition.E2
    """How the diameter is meant."""
    source: q.Text
    """How it was measured."""

    @model_validator(mode="after")
    def _within(self) -> Self:
        _check_interval(self.value, self.interval, "m")
        return self


class DeliveredShare(Table):
    """Share of the set power that arrives at the target, past mirrors, fibre, lens and window."""

    value: q.OpenShare
    interval: tuple[q.OpenShare, q.OpenShare]
    """Within which it lies with 95 % confidence."""
    source: q.Text

    @model_validator(mode="after")
    def _within(self) -> Self:
        _check_interval(self.value, self.interval, "1")
        return self


class Laser(Table):
    """A laser as it was measured."""

    title: str = ""
    wavelength: LaserWavelength
    delivered_share: DeliveredShare | None = None
    """Absent: not measured, and what is set is taken to arrive."""
    diameter: Annotated[tuple[LaserSpot, ...], Field(min_length=1)]
    """One entry for each dial position."""

    @model_validator(mode="after")
    def _dials_differ(self) -> Self:
        seen: set[str] = set()
        for index, spot in enumerate(self.diameter):
            if spot.dial in seen:
                advice = "Name another position, or leave one of the two out."
                key = f"diameter[{index}].dial"
                raise wrong("each dial position once", f'"{spot.dial}" twice', advice, key=key)
            seen.add(spot.dial)
        return self

    @property
    def dials(self) -> tuple[str, ...]:
        """Positions that were measured."""
        return tuple(spot.dial for spot in self.diameter)

    def spot(self, dial: str | None = None, where: str = "dial") -> LaserSpot:
        """Spot at a `dial` position; the only one if None. Raises InputError that names the positions."""
        if dial is None and len(self.diameter) == 1:
            return self.diameter[0]
        found = [spot for spot in self.diameter if spot.dial == dial]
        if not found:
            known = " or ".join(f'"{one}"' for one in self.dials)
            raise InputError(where, known, "nothing" if dial is None else f'"{dial}"', "Choose one of them.")
        return found[0]

    def on_target(self, power: float) -> float:
        """Power [W] that arrives at the target of the `power` [W] that is set."""
        return power * (1.0 if self.delivered_share is None else self.delivered_share.value)

    def with_spot(self, spot: LaserSpot) -> Laser:
        """The same laser with a `spot` in place of the one of that dial position, or besides."""
        places = {one.dial: one for one in self.diameter} | {spot.dial: spot}
        return self.model_copy(update={"diameter": tuple(places.values())})


def read_laser(path: str | Path) -> Laser:
    """Laser in the TOML file at `path`. Raises InputError for a file that is missing or wrong."""
    advice = 'Make one with: spotdwell craters FILE.csv --save laser.toml --wavelength "10.6 um"'
    return laser_from_text(text_in(Path(path), "a laser file", advice=advice), str(path))


def laser_from_text(text: str, name: str = "laser") -> Laser:
    """Laser in TOML `text`; errors call it `name`."""
    data = table_of(text, name)

    def where(key: str) -> str:
        return f"{name}: {key}" if key else name

    check_foreign(data, where)
    try:
        return Laser.model_validate(data)
    except ValidationError as error:
        raise schema_complaint(error, Laser, where) from None


def laser_text(laser: Laser) -> str:
    """TOML text of a laser; reads back as an equal one."""
    data: dict[str, Any] = laser.model_dump(mode="json", exclude_none=True)
    return tomli_w.dumps({key: value for key, value in data.items() if value != ""})


def _check_interval(value: float, interval: Sequence[float], unit: str) -> None:
    """Raise for an interval that descends or excludes its value."""
    low, high = interval
    if not low <= value <= high:
        shown = [f"{one:g}" if unit == "1" else units.written(one, unit) for one in (low, value, high)]
        got = f"{shown[0]} and {shown[2]} around {shown[1]}"
        raise wrong("its low and high end, in this order and around the value", got, key="interval")


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
