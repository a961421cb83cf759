"""The credibility report's part on uncertainty: intervals of one shot, and what they follow."""

from __future__ import annotations

from spotdwell.base.names import MEASURES
from spotdwell.base.units import convert, significant
from spotdwell.output.reports.credibility_page import Block, Grid, Words
from spotdwell.study.evidence import report_words as words
from spotdwell.study.evidence.credibility import SHOT_MEASURES
from spotdwell.study.spread.sensitivity import Sensitivity
from spotdwell.study.spread.uncertainty import Uncertainty

MOST = 6
"""Values listed for each measure."""


def intervals_of(found: Uncertainty) -> tuple[Block, ...]:
    """Tables of intervals and influences, with the words around them."""
    count, unknowns = len(found.samples), len(found.unknowns)
    verdicts = ", ".join(f"{word} {times}" for word, times in found.words.items())
    setup = words.INTERVALS.format(count=count, unknowns=unknowns, seed=found.seed)
    failed = f" {len(found.failures)} samples failed." if found.failures else ""
    rows = tuple(_interval_row(found, name) for name in SHOT_MEASURES)
    influences = tuple(_influence_row(one) for one in found.sensitivities)
    return (
        Words(f"{setup}{failed}"),
        Grid(words.INTERVAL_HEADINGS, rows, (2, 3, 4, 5, 6)),
        Words(f"Verdicts of the samples: {verdicts}."),
        Words(words.INFLUENCES),
        Grid(words.INFLUENCE_HEADINGS, influences, (1, 2)),
    )


def _interval_row(found: Uncertainty, name: str) -> tuple[str, ...]:
    quantity, spread = MEASURES[name], found.spreads[name]

    def shown(value: float | None) -> str:
        if value is None:
            return "–"
        return significant(float(convert(value, quantity.unit, quantity.display_unit)))

    values = (spread.nominal, spread.median, spread.low, spread.high)
    return (quantity.meaning, quantity.display_unit, *map(shown, values), str(spread.applied))


def _influence_row(one: Sensitivity) -> tuple[str, ...]:
    listed = ", ".join(f"{each.title} ({each.correlation:+.2f})" for each in one.clear[:MOST])
    return (
        MEASURES[one.measure].meaning,
        str(one.count),
        f"{one.threshold:.2f}",
        listed or "none above chance",
    )
