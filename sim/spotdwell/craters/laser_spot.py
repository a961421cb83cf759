"""A fitted spot becomes an entry of a laser file."""

from __future__ import annotations

import os
from pathlib import Path

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.craters.result import ThresholdFit
from spotdwell.inputs.laser_file import ONLY_DIAL, SUFFIX, Laser, LaserSpot, laser_text, read_laser
from spotdwell.output.whole_file import check_writable, whole_file

_UNTOLD = "stated by the user"


def save_spot(
    fit: ThresholdFit,
    path: str | os.PathLike[str],
    dial: str | None = None,
    wavelength: str | None = None,
) -> Laser:
    """Write the fitted spot to the laser file at `path`, and return the laser.

    A file that is there keeps its other `dial` positions; its entry for this one is replaced. A new file
    needs the `wavelength`, as a quantity string. Raises InputError for what is wrong, RunError where the
    file cannot be written.
    """
    path = Path(path)
    check_laser_file(path, wavelength)
    laser = laser_with(fit, read_laser(path) if path.exists() else None, dial, wavelength)
    with whole_file(path) as temporary:
        temporary.write_text(laser_text(laser), encoding="utf-8")
    return laser


def check_laser_file(path: Path, wavelength: str | None) -> None:
    """Raise InputError or RunError for a file to which no spot could be saved."""
    if path.suffix.lower() != SUFFIX:
        advice = f"Name it {path.stem}{SUFFIX}."
        raise InputError("save", f"a file name that ends in {SUFFIX}", f'"{path}"', advice)
    check_writable(path)
    if path.exists():
        _check_same(read_laser(path), path, wavelength)
    elif wavelength is None:
        raise InputError("wavelength", "the laser's, for a new file", "nothing", 'For example "10.6 um".')
    else:
        _wavelength(wavelength)


def laser_with(fit: ThresholdFit, laser: Laser | None, dial: str | None, wavelength: str | None) -> Laser:
    """`laser` with the fitted spot at a `dial` position, or a new one of that `wavelength`."""
    entry = _entry(fit, dial or ONLY_DIAL)
    if laser is None:
        head = {"value": wavelength, "source": _UNTOLD}
        return Laser.model_validate({"wavelength": head, "diameter": [entry]})
    return laser.with_spot(LaserSpot.model_validate(entry))


def _entry(fit: ThresholdFit, dial: str) -> dict[str, object]:
    beam = fit.beam_diameter
    if beam.low <= 0.0:
        raise InputError(
            "save",
            "a diameter whose interval is bounded",
            f"one of at most {units.display(beam.high, 'm', 'um')}",
            "Measure more craters, over more energies.",
        )
    left_out = f", {fit.outliers.count} left out" if fit.outliers.count else ""
    return {
        "dial": dial,
        "value": _rounded(beam.value),
        "interval": (_rounded(beam.low), _rounded(beam.high)),
        "definition": "1/e2",
        "source": f"D-squared method, {fit.used.count} craters of {fit.used.source}{left_out}; 95 % interval",
    }


def _rounded(diameter: float) -> str:
    """To four digits: craters tell no more."""
    return units.display(diameter, "m", "um", 4)


def _wavelength(text: str) -> float:
    return units.parse(text, "m", where="wavelength", example="10.6 um")


def _check_same(laser: Laser, path: Path, wavelength: str | None) -> None:
    if wavelength is not None and abs(_wavelength(wavelength) / laser.wavelength.value - 1.0) > 0.005:
        kept = units.written(laser.wavelength.value, "m")
        advice = "Save to another file, or leave the wavelength out."
        raise InputError("wavelength", f"{kept}, as in {path}", f'"{wavelength}"', advice)
