"""Intervals of regimes side by side, from the same joint draws for each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.names import MEASURES
from spotdwell.console.text import heading, indented, plain_table, shown
from spotdwell.console.workers import Progress
from spotdwell.measure.interval import odds_of
from spotdwell.regimes.result import Comparison
from spotdwell.spread.brief import scenario_in
from spotdwell.spread.run import Uncertainty, uncertainty
from spotdwell.spread.shown import verdict_odds, words_text

Studies = tuple[Uncertainty | None, ...]

_SHOWN = ("crater_depth", "char_thickness_floor", "char_thickness_wall", "coagulation_thickness_floor",
          "coagulation_thickness_wall")  # fmt: skip
_RANKED = "char_thickness_wall"
"""Measure by which regimes are ranked within each draw."""


def studies_of(
    found: Comparison, samples: int, seed: int, workers: int | None, progress: Progress | None = None
) -> Studies:
    """Uncertainty of every regime; one seed draws the same values for all. None where a scenario was lost."""
    scenarios = [scenario_in(run.result) for run in found.runs]
    return tuple(
        None if one is None else uncertainty(one, samples, seed, workers, progress) for one in scenarios
    )


def intervals_text(found: Comparison, studies: Studies) -> list[RenderableType]:
    """A table of 90 % intervals, the odds of the verdicts and of the order of the regimes, to be printed."""
    table = plain_table(("", "left"), ("", "left"), *((run.name, "right") for run in found.runs))
    for name in _SHOWN:
        quantity = MEASURES[name]
        spreads = [None if one is None else one.spreads[name] for one in studies]
        texts = (
            "-" if one is None else f"{shown(quantity, one.low)} to {shown(quantity, one.high)}"
            for one in spreads
        )
        table.add_row(quantity.meaning, quantity.display_unit, *texts)
    table.add_row(
        "verdict", "", *("-" if one is None else verdict_odds(one.word, one.odds) for one in studies)
    )
    covers = next((one.covers for one in studies if one is not None), "")
    order = [Text(text) for text in _order(found, studies)]
    lines: list[RenderableType] = [Text(), heading("90 % intervals"), indented(table)]
    return [*lines, *map(indented, order), indented(Text(covers))]


def _order(found: Comparison, studies: Studies) -> list[str]:
    """How often each later regime leaves less char at the wall than the first, in the same draws."""
    first = studies[0]
    if first is None:
        return []
    name, texts = found.runs[0].name, []
    for run, study in zip(found.runs[1:], studies[1:], strict=True):
        pairs = [] if study is None else _pairs(first, study)
        if pairs:
            share = sum(other < one for one, other in pairs) / len(pairs)
            texts.append(f"{run.name}: {odds_of(share) or 'all'}")
    if not texts:
        return []
    return [f"Less char at the wall than {name}, in the same draws of material values: {'; '.join(texts)}."]


def _pairs(first: Uncertainty, other: Uncertainty) -> Sequence[tuple[float, float]]:
    """A measure of two regimes in the draws in which both have it."""
    return [
        (one, two)
        for a, b in zip(first.samples, other.samples, strict=True)
        if (one := _value(a.measures)) is not None and (two := _value(b.measures)) is not None
    ]


def _value(measures: Mapping[str, float | None] | None) -> float | None:
    return None if measures is None else measures[_RANKED]


def intervals_plain(found: Comparison, studies: Studies) -> dict[str, Any]:
    """The key "intervals" in SI: for each regime its 90 % intervals, verdicts and what they cover."""
    return {
        "intervals": {
            run.name: None
            if one is None
            else {
                "samples": len(one.samples),
                "measures": {name: vars(spread).copy() for name, spread in one.spreads.items()},
                "verdicts": one.words,
                "verdict_odds": one.odds,
                "covers": one.covers,
            }
            for run, one in zip(found.runs, studies, strict=True)
        }
    }


def intervals_line(found: Comparison, studies: Studies) -> str:
    """Verdicts of every regime over the draws, in one line."""
    texts = [
        f"{run.name}: {words_text(one.words)}"
        for run, one in zip(found.runs, studies, strict=True)
        if one is not None
    ]
    return "; ".join(texts)
