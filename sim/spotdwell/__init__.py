"""Simulates what a surgical laser does to tissue from power, spot and dwell time.

>>> import spotdwell
>>> result = spotdwell.shot("oral_mucosa", power="25 W", spot="1.6 mm", dwell="80 ms")
>>> result.measures["crater_depth"], str(result.verdict.word)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from spotdwell.inputs.read import read_scenario
    from spotdwell.output.page import class_page
    from spotdwell.output.result import Result
    from spotdwell.output.store import load
    from spotdwell.pipeline import check_grid, run, shot
    from spotdwell.study.bench_fit import calibrate
    from spotdwell.study.comparison import compare
    from spotdwell.study.map_request import map_shots
    from spotdwell.study.optics import spot_of
    from spotdwell.study.run_report import report
    from spotdwell.study.scanner import size_scan
    from spotdwell.study.sizing import size
    from spotdwell.study.test_card import card
    from spotdwell.study.threshold_fit import spot_from_craters
    from spotdwell.study.uncertainty import uncertainty

__all__ = [
    "Result",
    "calibrate",
    "card",
    "check_grid",
    "class_page",
    "compare",
    "load",
    "map_shots",
    "read_scenario",
    "report",
    "run",
    "shot",
    "size",
    "size_scan",
    "spot_from_craters",
    "spot_of",
    "uncertainty",
]

_HOMES = {
    "Result": "spotdwell.output.result",
    "card": "spotdwell.study.test_card",
    "calibrate": "spotdwell.study.bench_fit",
    "check_grid": "spotdwell.pipeline",
    "class_page": "spotdwell.output.page",
    "compare": "spotdwell.study.comparison",
    "load": "spotdwell.output.store",
    "map_shots": "spotdwell.study.map_request",
    "read_scenario": "spotdwell.inputs.read",
    "report": "spotdwell.study.run_report",
    "run": "spotdwell.pipeline",
    "shot": "spotdwell.pipeline",
    "size": "spotdwell.study.sizing",
    "size_scan": "spotdwell.study.scanner",
    "spot_from_craters": "spotdwell.study.threshold_fit",
    "spot_of": "spotdwell.study.optics",
    "uncertainty": "spotdwell.study.uncertainty",
}


def __getattr__(name: str) -> Any:
    # Loaded when first asked for, so that a part of the package can be used without the rest.
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)
