"""What the page shows of a shot: figures, outlines and histories as plain values for JSON."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.base import units
from spotdwell.base.names import BELOW_GRID, MEASURES
from spotdwell.maps.cube import RADII
from spotdwell.maps.regions import TONES as REGIONS
from spotdwell.measure.interval import varies
from spotdwell.measure.outlines import outlines_of
from spotdwell.measure.verdict import Word
from spotdwell.model.columns import Geometry
from spotdwell.output.pictures.history import cools_long, last_lit
from spotdwell.output.pictures.style import typeset
from spotdwell.output.result import Result
from spotdwell.pages.beam import across_shown, profile_shown
from spotdwell.pages.page import DIGITS, FIGURES, LETTERS
from spotdwell.solve.outcome import Outcome
from spotdwell.spread.shown import verdict_odds

MOST_ROWS = 400
"""Of a history in the page: more than a screen has dots for."""
_LEAST_SINCE = 1e-3
"""Of the time of cooling, at which its logarithmic axis begins."""


def shot_shown(outcome: Outcome, result: Result, cells: tuple[str, ...]) -> dict[str, Any]:
    """All that the page shows of a shot; `cells` are the grid's reasons, which are no cautions."""
    radius, depths = outlines_of(outcome, RADII)
    return {
        "word": str(result.verdict.word),
        "text": result.verdict.text,
        "why": why_of(result),
        "reasons": [typeset(one) for one in result.verdict.reasons],
        "rows": [row for name in FIGURES if (row := _row(result, name)) is not None],
        "values": {name: _rounded(result.measures[name]) for name in FIGURES},
        "outlines": {
            "reach": _micrometres(radius[-1]),
            "depths": [[_micrometres(one) for one in line] for line in depths],
        },
        "beam": _beam(outcome, result),
        "history": history_shown(result),
        "notes": [typeset(note) for note in result.notes if note not in cells],
        "cells": typeset("; ".join(cells)),
        "setting": typeset(", ".join(result.setting.values())),
        "seconds": result.cost["wall_time"],
    }


def with_intervals(known: dict[str, Any], result: Result) -> dict[str, Any]:
    """What was `known` of a shot, with 90 % intervals and the odds of its verdict, where there are some."""
    kept = result.interval
    if kept is None:
        return known | {"intervals": False}
    cell, rows = result.measures.get("cell_depth"), []
    for row in known["rows"]:
        ends = kept.measures.get(row["name"])
        texts = None if not varies(ends) else [shown(row["name"], one, cell) for one in ends or ()]
        rows.append(row | {"interval": texts})
    odds = f"Over joint draws of the closure the verdict is {verdict_odds(result.verdict.word, result.odds)}."
    return known | {"intervals": True, "rows": rows, "notes": [*known["notes"], odds, kept.covers]}


def why_of(result: Result) -> str:
    """The one sentence that says why the verdict fell; all its reasons are beside it."""
    first = typeset(result.verdict.reasons[0])
    if result.verdict.word is not Word.CLEAN:
        return first
    char = [result.measures[f"char_thickness_{place}"] or 0.0 for place in ("floor", "wall", "rim")]
    if not any(char):
        return f"{first.rstrip('.')}, and no char was left."
    most = shown("char_thickness_wall", max(char), result.measures.get("cell_depth"))
    return f"{first.rstrip('.')}, with at most {most} of char, within the limits."


def history_shown(result: Result) -> dict[str, Any]:
    """Time [s], power [W], temperatures [degC], depth [um], thinned; when the beam went off at last [s]."""
    history = result.history
    off = last_lit(history.time, history.power)
    rows = thinned(history.time, off, MOST_ROWS)

    def column(values: Any, unit: str = "", to: str = "") -> list[float | None]:
        chosen = values[rows] if not to else units.convert(values[rows], unit, to)
        return [None if np.isnan(one) else _rounded(float(one)) for one in chosen]

    return {
        "time": column(history.time),
        "power": column(history.power),
        "hottest": column(history.peak_temperature, "K", "degC"),
        "surface": column(history.surface_temperature, "K", "degC"),
        "depth": column(history.deepest, "m", "um"),
        "off": _rounded(off),
        "cools": bool(cools_long(history.time, off)),
        "since": _LEAST_SINCE,
    }


def thinned(time: Any, off: float, most: int) -> Any:
    """Indices of at most `most` rows: evenly spread while lit, by the logarithm of time after `off` [s]."""
    if time.size <= most:
        return np.arange(time.size)
    end = float(time[-1])
    lit = np.linspace(0.0, off, 2 * most // 3)
    rest = off + (end - off) * np.geomspace(_LEAST_SINCE, 1.0, most // 3 - 1) if end > off else lit[-1:]
    return np.unique(np.clip(np.searchsorted(time, [*lit, *rest]), 0, time.size - 1))


def _beam(outcome: Outcome, result: Result) -> dict[str, Any]:
    beam, even = outcome.problem.beam, result.geometry is Geometry.SLAB
    mean = units.convert(result.measures["irradiance_mean"], "W/m2", "W/mm2")
    return {**profile_shown(beam, even), "diameter": across_shown(beam), "mean": _rounded(float(mean))}


def verdicts_shown() -> list[dict[str, str]]:
    """Each word of a verdict with its letter and colour in a map."""
    return [
        {"word": word, "letter": letter, "colour": REGIONS[word].colour if word in REGIONS else "#ffffff"}
        for word, letter in LETTERS.items()
        if word
    ]


def _row(result: Result, name: str) -> dict[str, Any] | None:
    """A line of the page's table, without an interval yet."""
    value = result.measures[name]
    if value is None:
        return None
    quantity = MEASURES[name]
    return {
        "name": name,
        "label": FIGURES[name],
        "meaning": quantity.meaning,
        "text": shown(name, value, result.measures.get("cell_depth")),
        "interval": None,
    }


def shown(name: str, value: float, cell: float | None = None) -> str:
    """A measure [SI] with its unit and the digits that a grid of `cell` [m] gives; from 1 mm on in mm."""
    quantity = MEASURES[name]
    text, unit = quantity.text(value, cell), quantity.display_unit
    if text == BELOW_GRID:
        return text
    if unit == "um" and abs(value) >= 0.9995e-3:
        text, unit = f"{float(text) / 1e3:g}", "mm"
    return typeset(f"{text} {unit}")


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.{DIGITS}g}")


def _micrometres(length: float) -> float:
    return float(f"{1e6 * float(length):.{DIGITS}g}")
