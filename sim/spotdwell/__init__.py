"""Simulates what a surgical laser does to tissue from power, spot and dwell time.

>>> import spotdwell
>>> result = spotdwell.shot("oral_mucosa", power="25 W", spot="1.6 mm", dwell="80 ms")
>>> result.measures["crater_depth"], str(result.verdict.word)

A page for all of it: live. Shots: shot, run, check_grid, sensitivity, uncertainty, load, Result.
Settings for an aim: size, size_clean, fastest_scan.
Patterns: scan. Many shots: compare, map_shots, map_plan, class_page.
On the bench: spot_of, spot_from_craters, card, calibrate, validate.
For others: report. Scenarios: scenario_of_shot, scenario_named, read_scenario.
Quantities are texts with a unit, such as "25 W"; results are in SI. `help(spotdwell.shot)` lists settings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from spotdwell.calibration.run import calibrate
    from spotdwell.calibration.validate import validate
    from spotdwell.cards.run import card
    from spotdwell.craters.run import spot_from_craters
    from spotdwell.inputs.read import read_scenario, scenario_named
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.live_page.run import live
    from spotdwell.maps.plan import map_plan
    from spotdwell.maps.run import map_shots
    from spotdwell.output.result import Result
    from spotdwell.pages.page import class_page
    from spotdwell.pipeline import check_grid, run, shot
    from spotdwell.regimes.run import compare
    from spotdwell.reports.document import report
    from spotdwell.scans.fastest import fastest_scan
    from spotdwell.scans.kept import load
    from spotdwell.scans.run import scan
    from spotdwell.shots.sensitivity import sensitivity
    from spotdwell.sizing.clean import size_clean
    from spotdwell.sizing.run import size
    from spotdwell.spots.run import spot_of
    from spotdwell.spread.run import uncertainty

__all__ = [
    "Result",
    "calibrate",
    "card",
    "check_grid",
    "class_page",
    "compare",
    "fastest_scan",
    "live",
    "load",
    "map_plan",
    "map_shots",
    "read_scenario",
    "report",
    "run",
    "scan",
    "scenario_named",
    "scenario_of_shot",
    "sensitivity",
    "shot",
    "size",
    "size_clean",
    "spot_from_craters",
    "spot_of",
    "uncertainty",
    "validate",
]

_HOMES = {
    "Result": "spotdwell.output.result",
    "card": "spotdwell.cards.run",
    "calibrate": "spotdwell.calibration.run",
    "check_grid": "spotdwell.pipeline",
    "class_page": "spotdwell.pages.page",
    "compare": "spotdwell.regimes.run",
    "fastest_scan": "spotdwell.scans.fastest",
    "live": "spotdwell.live_page.run",
    "load": "spotdwell.scans.kept",
    "map_plan": "spotdwell.maps.plan",
    "map_shots": "spotdwell.maps.run",
    "read_scenario": "spotdwell.inputs.read",
    "report": "spotdwell.reports.document",
    "run": "spotdwell.pipeline",
    "scenario_named": "spotdwell.inputs.read",
    "sensitivity": "spotdwell.shots.sensitivity",
    "scenario_of_shot": "spotdwell.inputs.shot",
    "scan": "spotdwell.scans.run",
    "shot": "spotdwell.pipeline",
    "size": "spotdwell.sizing.run",
    "size_clean": "spotdwell.sizing.clean",
    "spot_from_craters": "spotdwell.craters.run",
    "spot_of": "spotdwell.spots.run",
    "uncertainty": "spotdwell.spread.run",
    "validate": "spotdwell.calibration.validate",
}


def __getattr__(name: str) -> Any:
    # Loaded when first asked for, so that a part of the package can be used without the rest.
    if name == "__version__":
        from importlib.metadata import version

        return version("spotdwell")
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return [*__all__, "__all__", "__doc__", "__name__", "__version__"]
