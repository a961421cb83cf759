"""Simulates what a surgical laser does to tissue from power, spot and dwell time.

>>> import spotdwell
>>> result = spotdwell.shot("oral_mucosa", power="25 W", spot="1.6 mm", dwell="80 ms")
>>> result.measures["crater_depth"], str(result.verdict.word)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from spotdwell.cards.run import card
    from spotdwell.inputs.read import read_scenario, scenario_named
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.output.pages.page import class_page
    from spotdwell.output.result import Result
    from spotdwell.output.store import load
    from spotdwell.pipeline import check_grid, run, shot
    from spotdwell.reports.run import report
    from spotdwell.study.bench.fit import calibrate
    from spotdwell.study.bench.optics import spot_of
    from spotdwell.study.bench.threshold_fit import spot_from_craters
    from spotdwell.study.maps.request import map_plan, map_shots
    from spotdwell.study.regimes.comparison import compare
    from spotdwell.study.size.scanner import size_scan
    from spotdwell.study.size.sizing import size
    from spotdwell.study.spread.uncertainty import uncertainty

__all__ = [
    "Result",
    "calibrate",
    "card",
    "check_grid",
    "class_page",
    "compare",
    "load",
    "map_plan",
    "map_shots",
    "read_scenario",
    "report",
    "run",
    "scenario_named",
    "scenario_of_shot",
    "shot",
    "size",
    "size_scan",
    "spot_from_craters",
    "spot_of",
    "uncertainty",
]

_HOMES = {
    "Result": "spotdwell.output.result",
    "card": "spotdwell.cards.run",
    "calibrate": "spotdwell.study.bench.fit",
    "check_grid": "spotdwell.pipeline",
    "class_page": "spotdwell.output.pages.page",
    "compare": "spotdwell.study.regimes.comparison",
    "load": "spotdwell.output.store",
    "map_plan": "spotdwell.study.maps.request",
    "map_shots": "spotdwell.study.maps.request",
    "read_scenario": "spotdwell.inputs.read",
    "report": "spotdwell.reports.run",
    "run": "spotdwell.pipeline",
    "scenario_named": "spotdwell.inputs.read",
    "scenario_of_shot": "spotdwell.inputs.shot",
    "shot": "spotdwell.pipeline",
    "size": "spotdwell.study.size.sizing",
    "size_scan": "spotdwell.study.size.scanner",
    "spot_from_craters": "spotdwell.study.bench.threshold_fit",
    "spot_of": "spotdwell.study.bench.optics",
    "uncertainty": "spotdwell.study.spread.uncertainty",
}


def __getattr__(name: str) -> Any:
    # Loaded when first asked for, so that a part of the package can be used without the rest.
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)
