"""A beam from craters shown: diameter and threshold with intervals, what may bias them, and what was kept."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.terminal.console import SAFETY, mention, say, text_of
from spotdwell.terminal.spot import check_picture
from spotdwell.terminal.summary import heading

if TYPE_CHECKING:
    from spotdwell.measure.threshold import Craters, Estimate, ThresholdFit

_SHOOTING = (
    "Shoot test craters with eye protection for the wavelength, behind barriers, with the plume extracted "
    "and nothing flammable near, under IEC 60825-1, ANSI Z136.3 and your local rules."
)


@dataclass(frozen=True)
class Keep:
    """What becomes of the fit besides the screen."""

    picture: Path | None = None
    save: Path | None = None
    dial: str | None = None
    wavelength: str | None = None

    def check(self) -> None:
        """Raise InputError or RunError for files that cannot be written, and for options without --save."""
        if self.picture is not None:
            check_picture(self.picture)
        if self.save is None:
            for name, value in (("--dial", self.dial), ("--wavelength", self.wavelength)):
                if value is not None:
                    raise InputError(name, "--save beside it", "none", "Add --save laser.toml.")
        else:
            from spotdwell.study.bench.laser_spot import check_laser_file

            check_laser_file(self.save, self.wavelength)


def show(fit: ThresholdFit, keep: Keep, as_json: bool) -> None:
    """Print the fit; draw and save what `keep` asks for."""
    say(json.dumps(plain(fit), indent=2, allow_nan=False) if as_json else text_of(*lines(fit), "", SAFETY))
    tell = mention if as_json else say
    if keep.picture is not None:
        from spotdwell.output.bench.threshold import draw_threshold

        draw_threshold(fit, keep.picture)
        tell(f"Saved {keep.picture}")
    if keep.save is not None:
        from spotdwell.study.bench.laser_spot import save_spot

        laser = save_spot(fit, keep.save, keep.dial, keep.wavelength)
        tell(f"Saved {keep.save}: spots for dial {', '.join(laser.dials)}")


def lines(fit: ThresholdFit) -> list[RenderableType]:
    """All that is to be said of the fit."""
    from spotdwell.study.bench.threshold_warnings import NOTES

    used = fit.used
    span = f"{display(float(used.energy.min()), 'J', 'mJ')} to {display(float(used.energy.max()), 'J', 'mJ')}"
    return [
        heading(f"Beam from {used.count} craters of {used.source}, {span}"),
        Padding(_values(fit), (0, 0, 0, 2)),
        Text(),
        heading("How"),
        Padding(_bullets([_method(fit)]), (0, 0, 0, 2)),
        Text(),
        heading("Mind"),
        Padding(_bullets([*fit.warnings, *NOTES, _SHOOTING]), (0, 0, 0, 2)),
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
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column()
    table.add_column(justify="right", no_wrap=True)
    table.add_column()
    beam, energy, exposure = fit.beam_diameter, fit.threshold_energy, fit.threshold_exposure
    length = "mm" if beam.value >= 1e-3 else "um"
    pulse = "mJ" if energy.value >= 1e-4 else "uJ"
    for name, one, unit, shown in (
        ("beam diameter (1/e2)", beam, "m", length),
        ("threshold energy", energy, "J", pulse),
        ("threshold radiant exposure (peak)", exposure, "J/m2", "J/cm2"),
    ):
        low, high = (display(end, unit, shown) for end in (one.low, one.high))
        bounded = one.high < float("inf")
        table.add_row(name, display(one.value, unit, shown), f"{low} to {high}" if bounded else "not bounded")
    table.add_row("scatter of a crater diameter", display(fit.scatter, "m", "um"), "")
    return table


def _method(fit: ThresholdFit) -> str:
    return (
        "D-squared method (Liu 1982): D^2 = 2 w^2 ln(E / E_th), fitted with weights 1 / (4 D^2), as the "
        "error of D is taken as the same for all. Intervals are 95 %, by Student's t with "
        f"{fit.freedom} degree{'s' if fit.freedom > 1 else ''} of freedom; "
        "those of the thresholds by the delta method in ln E."
    )


def _bullets(texts: list[str]) -> Table:
    table = Table.grid(padding=(0, 1, 0, 0))
    for text in texts:
        table.add_row("-", Text(text))
    return table


def _ends(one: Estimate) -> dict[str, float | None]:
    return {name: value if value < float("inf") else None for name, value in vars(one).items()}


def _measured(craters: Craters) -> list[dict[str, float]]:
    return [
        {"row": int(row), "energy": float(energy), "diameter": float(diameter)}
        for row, energy, diameter in zip(craters.rows, craters.energy, craters.diameter, strict=True)
    ]
