"""Published measurements on scanned beams, each with the slice that computes the same figure.

They stand apart from `published.rows`: no value was fitted to them, and the posterior does not use them.
"""

from __future__ import annotations

import math
from functools import partial
from typing import Any

from spotdwell.evidence.published import RAPID, Row
from spotdwell.evidence.published_runs import Changes, changed_material
from spotdwell.inputs.read import scenario_from_dict
from spotdwell.scans.result import ScanResult
from spotdwell.scans.run import scanned

RESURFACING = (
    "Review of ablative resurfacing, skin-disease-care.com (read 2026), which cites papers on pulsed and "
    "scanned CO2 lasers of the 1990s for it"
)
_SPOT, _SHARE = 0.2e-3, 0.5
_DWELL = 0.8e-3


def scanned_rows() -> tuple[Row, ...]:
    """All published rows on scanned beams."""
    told = (
        "skin from 34 degC, gaussian spot of 0.2 mm, lines half a spot apart, 0.8 ms a spot's diameter, "
        "5 J/cm2 in the mean, passes 1 s apart; all but the 5 J/cm2 and less than 1 ms are assumed"
    )
    line = "skin from 34 degC, one line of a gaussian spot of 1 mm with 40 W, {}; power and spot are assumed"
    return (
        Row("Scanned pass at 5 J/cm2", "depth of the first pass", 25.0, 5.0, "the range stated, 20 to 30 um",
            "um", RESURFACING, told, lambda changes: _depth(1, changes)),
        Row("Fourth scanned pass over the first", "ratio of depths", 0.5, 0.45,
            "anything between: later passes are said to remove less, not by how much", "1",
            RESURFACING, told, _fourth_over_first),
        Row("Six scanned passes at 5 J/cm2", "depth", 100.0, 33.0,
            "a third: stated as about, as the most that passes reach", "um", RESURFACING, told,
            lambda changes: _depth(6, changes)),
        Row("Scanned line, floor damage", "coagulated width", 120.0, 40.0,
            "a third: stated as about, and as independent of dwell and irradiance, which are not stated",
            "um", RAPID, line.format("10 ms a spot's diameter"), partial(_floor_damage, 10e-3)),
        Row("Scanned line, 40 ms over 4 ms", "ratio of coagulated widths", 1.0, 0.33,
            "a third: stated as independent of dwell", "1", RAPID,
            line.format("40 and 4 ms a spot's diameter"),
            lambda changes: _floor_damage(40e-3, changes) / _floor_damage(4e-3, changes)),
    )  # fmt: skip


def _scan(beam: dict[str, str], scan: dict[str, Any], changes: Changes) -> ScanResult:
    """Result of a slice on the product's own path: scenario, problem, march, measures."""
    data: dict[str, Any] = {
        "beam": {"wavelength": "10.6 um", **beam},
        "target": {"initial_temperature": "34 degC", "layers": [{"material": "skin"}]},
        "surface": {"ambient_temperature": "20 degC"},
        "scan": {"way": "one way", "model": "slice", **scan},
        "materials": {"skin": changed_material("skin", changes)},
    }
    return scanned(scenario_from_dict(data))


def _depth(passes: int, changes: Changes) -> float:
    """Mean depth [um] after `passes` of 5 J/cm2."""
    speed, spacing = _SPOT / _DWELL, _SHARE * _SPOT
    found = _scan(
        {"power": f"{5e4 * speed * spacing!r} W", "diameter": f"{_SPOT!r} m"},
        {
            "length": "4 mm",
            "width": "1 mm",
            "spacing": f"{spacing!r} m",
            "speed": f"{speed!r} m/s",
            "passes": passes,
            "pass_pause": "1 s",
        },
        changes,
    )
    return 1e6 * (found.measures["depth_mean"] or 0.0)


def _fourth_over_first(changes: Changes) -> float:
    first, fourth = _depth(1, changes), _depth(4, changes) - _depth(3, changes)
    # Means over columns that stay as they are differ by round-off.
    return (fourth if fourth > 1e-3 else 0.0) / first if first > 0.0 else math.inf


def _floor_damage(dwell: float, changes: Changes) -> float:
    """Coagulated width [um] below the middle of one line."""
    spot = 1e-3
    speed = spot / dwell
    found = _scan(
        {"power": "40 W", "diameter": f"{spot!r} m"},
        {
            "length": "10 mm",
            "width": f"{spot!r} m",
            "spacing": f"{spot!r} m",
            "speed": f"{speed!r} m/s",
        },
        changes,
    )
    middle = int(abs(found.surface.y).argmin())
    return 1e6 * float(found.surface.layers["coagulation"][0, middle])
