"""What bench shots told becomes a laser file and a material file."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import tomli_w

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.calibration.parameters import DEBRIS, DELIVERED, RUPTURE, SPOT, Values, spot_key
from spotdwell.calibration.result import Calibration, shown_value, unit_of
from spotdwell.inputs.laser_file import SUFFIX, DeliveredShare, Laser, LaserSpot, laser_text
from spotdwell.inputs.material import Basis
from spotdwell.output.whole_file import check_writable, whole_file

_DIGITS = 4
"""Of a saved value: depths tell no more."""
_STATED = "stated by the user"


def laser_with(found: Calibration, laser: Laser | None, wavelength: float, definition: str) -> Laser:
    """`laser`, or a new one of that `wavelength` [m], with the share and the spots that the fit rests on.

    Those that were fitted get their intervals; those that the user stated are kept as stated, so that the
    file says all that goes together. A new laser has the spots that the shots were given with. New spots are
    meant by `definition`.
    """
    spots = list(_spots(found, laser, definition))
    if laser is None:
        spots = spots or list(_stated_spots(found, definition))
        head = {"value": units.written(wavelength, "m"), "source": _STATED}
        laser = Laser.model_validate({"wavelength": head, "diameter": [spots[0].model_dump(mode="json")]})
    for spot in spots:
        laser = laser.with_spot(spot)
    share = _share_of(found, laser)
    return laser if share is None else laser.model_copy(update={"delivered_share": share})


def _spots(found: Calibration, laser: Laser | None, definition: str) -> Iterator[LaserSpot]:
    """Spots that were fitted, or stated otherwise than by the laser file."""
    known = {} if laser is None else {spot.dial: spot for spot in laser.diameter}
    for key, value, interval, source in _entries(found):
        kind, _, dial = key.partition(":")
        old = known.get(dial)
        if kind != SPOT or (source == _STATED and old is not None and old.value == value):
            continue
        yield LaserSpot.model_validate(
            {
                "dial": dial,
                "value": _length(value),
                "interval": [_length(one) for one in interval],
                "definition": definition if old is None else str(old.definition),
                "source": source,
            }
        )


def _stated_spots(found: Calibration, definition: str) -> Iterator[LaserSpot]:
    """Spots that the shots were given with, called by their sizes where there are several."""
    sizes = sorted({row.spot for row in found.rows})
    for size in sizes:
        text = _length(size)
        spot = {"value": text, "interval": [text, text], "definition": definition, "source": _STATED}
        yield LaserSpot.model_validate(spot | ({"dial": text} if sizes[1:] else {}))


def _share_of(found: Calibration, laser: Laser) -> DeliveredShare | None:
    """The share of the power that the fit rests on; None where it is that of the laser file."""
    old = laser.delivered_share
    for key, value, interval, source in _entries(found):
        if key == DELIVERED and not (source == _STATED and old is not None and old.value == value):
            low, high = (_share(one) for one in interval)
            return DeliveredShare(value=_share(value), interval=(low, high), source=source)
    return None


def _entries(found: Calibration) -> Iterator[tuple[str, float, tuple[float, float], str]]:
    """Key, value, interval and source of all values that the fit rests on."""
    for one in found.values:
        yield one.key, one.value, (one.low, one.high), _source(found)
    for key, value in found.known:
        yield key, value, (value, value), _STATED


def material_with(found: Calibration, own: Mapping[str, Any], wavelength: float) -> dict[str, Any]:
    """Tables of a material that says what `own` says, but for what the fit rests on at `wavelength` [m].

    Fitted values have their intervals as ranges, those that were known are kept as stated. Raises InputError
    where nothing of the material was fitted.
    """
    if not any(one.key in (DEBRIS, RUPTURE) for one in found.values):
        raise _nothing_of_the_material()
    table = dict(own)
    for key, value, interval, source in _entries(found):
        if key not in (DEBRIS, RUPTURE):
            continue
        write = _heat if key == DEBRIS else _temperature
        entry: dict[str, Any] = {"value": write(value)}
        if source != _STATED:
            entry |= {"range": [write(one) for one in interval]}
        entry |= {"basis": str(Basis.ASSUMED if source == _STATED else Basis.CALIBRATED), "source": source}
        if key == RUPTURE:
            table["rupture_temperature"] = entry
        else:
            others = [line for line in own.get("debris", ()) if not _is_at(line["wavelength"], wavelength)]
            table["debris"] = [{"wavelength": units.written(wavelength, "m"), **entry}, *others]
    return table


def _is_at(text: str, wavelength: float) -> bool:
    value = units.parse(text, "m", where="wavelength", example="10.6 um")
    return math.isclose(value, wavelength, rel_tol=1e-6)


def save_laser(laser: Laser, path: str | os.PathLike[str]) -> None:
    """Write a laser file, whole or not at all. Raises RunError where it cannot be written."""
    _write(Path(path), laser_text(laser))


def save_material(table: Mapping[str, Any], path: str | os.PathLike[str]) -> None:
    """Write a material's tables, whole or not at all. Raises RunError where they cannot be written."""
    _write(Path(path), tomli_w.dumps(table))


def check_saves(values: Values, laser: Laser | None, save: Path | None, material: Path | None) -> None:
    """Raise InputError or RunError for files that could not be saved after the fit."""
    for name, path in (("save", save), ("save_material", material)):
        if path is not None:
            if path.suffix.lower() != SUFFIX:
                advice = f"Name it {path.stem}{SUFFIX}."
                raise InputError(name, f"a file name that ends in {SUFFIX}", f'"{path}"', advice)
            check_writable(path)
    keys = [one.key for one in values.free]
    stated = (
        values.start if laser is None else {key: values.start[key] for key in keys} | _fixed(values, laser)
    )
    if save is not None and all(key in (DEBRIS, RUPTURE) for key in stated):
        got = f"{' and '.join(keys)} alone"
        raise InputError("save", "a value of the laser, fitted or fixed", got, "Save the material instead.")
    if material is not None and DEBRIS not in keys and RUPTURE not in keys:
        raise _nothing_of_the_material()


def _fixed(values: Values, laser: Laser) -> dict[str, float]:
    """What is known otherwise than by the laser file."""
    share = laser.delivered_share
    said = {spot_key(spot.dial): spot.value for spot in laser.diameter}
    said |= {} if share is None else {DELIVERED: share.value}
    return {key: value for key, value in values.known.items() if said.get(key) != value}


def _nothing_of_the_material() -> InputError:
    advice = f"Do not save the material, or fit {DEBRIS}."
    return InputError("save_material", f"a fitted {DEBRIS} or {RUPTURE}", "none", advice)


def _source(found: Calibration) -> str:
    known = "".join(f", {key} {shown_value(unit_of(key), value)} known" for key, value in found.known)
    return (
        f"Depths of {len(found.used)} shots of {found.source} in {found.material}, least squares on the model"
        f"{known}; 95 % interval"
    )


def _length(value: float) -> str:
    return units.display(value, "m", "um", _DIGITS)


def _heat(value: float) -> str:
    return units.display(value, "J/m3", "kJ/cm3", _DIGITS)


def _temperature(value: float) -> str:
    return units.display(value, "K", "degC", _DIGITS)


def _share(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")


def _write(path: Path, text: str) -> None:
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
