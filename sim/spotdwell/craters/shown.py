"""A beam from craters shown: diameter and threshold with intervals, what may bias them, and what was kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.table import Table

from spotdwell.base.errors import lone
from spotdwell.base.units import display
from spotdwell.console.saving import Files
from spotdwell.console.text import SHOOTING, bullets, heading, indented, microns, section, value_table

if TYPE_CHECKING:
    from spotdwell.craters.result import Craters, Estimate, ThresholdFit


@dataclass(frozen=True)
class Outputs:
    """What becomes of the fit besides the screen."""

    picture: Path | None = None
    save: Path | None = None
    dial: str | None = None
    wavelength: str | None = None

    as_json: bool = False

    def checked(self) -> Files:
        """The files to write. Raises InputError or RunError for those that cannot be, or mean nothing."""
        files = Files(as_json=self.as_json)
        files.check("picture", self.picture, "picture")
        if self.save is not None:
            from spotdwell.craters.laser_spot import check_laser_file

            check_laser_file(self.save, self.wavelength)
            return files
        for name, value in (("dial", self.dial), ("wavelength", self.wavelength)):
            if value is not None:
                raise lone(name, "--save", "Add --save laser.toml.")
        return files


def show(fit: ThresholdFit, outputs: Outputs, files: Files) -> None:
    """Print the fit, and draw and save it as `outputs` say."""
    from spotdwell.craters.laser_spot import save_spot
    from spotdwell.craters.picture import draw_threshold

    files.show(lambda: plain(fit), str, lambda: lines(fit))
    files.keep(outputs.picture, lambda path: draw_threshold(fit, path))
    if outputs.save is not None:
        laser = save_spot(fit, outputs.save, outputs.dial, outputs.wavelength)
        files.tell(f"Saved {outputs.save}: spots for dial {', '.join(laser.dials)}")


def lines(fit: ThresholdFit) -> list[RenderableType]:
    """All that is to be said of the fit."""
    from spotdwell.craters.warnings import NOTES

    used = fit.used
    span = f"{display(float(used.energy.min()), 'J', 'mJ')} to {display(float(used.energy.max()), 'J', 'mJ')}"
    return [
        heading(f"Beam from {used.count} craters of {used.source}, {span}"),
        indented(_values(fit)),
        *section("How", bullets([_method(fit)])),
        *section("Mind", bullets([*fit.warnings, *NOTES, SHOOTING])),
    ]


def plain(fit: ThresholdFit) -> dict[str, Any]:
    """The same in SI, of types that JSON knows; infinite ends of intervals are None."""
    return {
        "source": fit.used.source,
        "definition": "1/e2",
        "confidence": 0.95,
        "beam_diameter": _ends(fit.beam_diameter),
        "threshold_energy": _ends(fit.threshold_energy),
        "threshold_radiant_exposure_peak": _ends(fit.threshold_exposure),
        "slope": fit.slope,
        "diameter_scatter": fit.scatter,
        "degrees_of_freedom": fit.freedom,
        "curvature": fit.curvature,
        "curvature_chance": fit.curvature_chance,
        "used": _measured(fit.used),
        "outliers": _measured(fit.outliers),
        "outliers_kept": _measured(fit.suspects),
        "without_crater": _measured(fit.unmarked),
        "warnings": list(fit.warnings),
    }


def _values(fit: ThresholdFit) -> Table:
    beam, energy, exposure = fit.beam_diameter, fit.threshold_energy, fit.threshold_exposure
    wide = "mm" if beam.value >= 1e-3 else "um"
    rows = []
    pulse = "mJ" if energy.value >= 1e-4 else "uJ"
    for name, one, unit, shown in (
        ("beam diameter (1/e2)", beam, "m", wide),
        ("threshold energy", energy, "J", pulse),
        ("threshold radiant exposure (peak)", exposure, "J/m2", "J/cm2"),
    ):
        low, high = (display(end, unit, shown) for end in (one.low, one.high))
        bounded = one.high < float("inf")
        rows.append((name, display(one.value, unit, shown), f"{low} to {high}" if bounded else "not bounded"))
    return value_table([*rows, ("scatter of a crater diameter", microns(fit.scatter), "")])


def _method(fit: ThresholdFit) -> str:
    return (
        "D-squared method (Liu 1982): D^2 = 2 w^2 ln(E / E_th), fitted with weights 1 / (4 D^2), as the "
        "error of D is taken as the same for all. Intervals are 95 %, by Student's t with "
        f"{fit.freedom} degree{'s' if fit.freedom > 1 else ''} of freedom; "
        "those of the thresholds by the delta method in ln E."
    )


def _ends(one: Estimate) -> dict[str, float | None]:
    return {name: value if value < float("inf") else None for name, value in vars(one).items()}


def _measured(craters: Craters) -> list[dict[str, float]]:
    return [
        {"row": int(row), "energy": float(energy), "diameter": float(diameter)}
        for row, energy, diameter in zip(craters.rows, craters.energy, craters.diameter, strict=True)
    ]
