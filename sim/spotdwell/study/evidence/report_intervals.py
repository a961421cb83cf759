"""The credibility report's part on uncertainty: intervals of one shot, and what they follow."""

from __future__ import annotations

from spotdwell.base.names import MEASURES
from spotdwell.document.model import Block, Text, table
from spotdwell.document.quantities import measure_text, unit_text
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
        Text(f"{setup}{failed}"),
        table(words.INTERVAL_HEADINGS, rows, (2, 3, 4, 5, 6)),
        Text(f"Verdicts of the samples: {verdicts}."),
        Text(words.INFLUENCES),
        table(words.INFLUENCE_HEADINGS, influences, (1, 2)),
    )


def _interval_row(found: Uncertainty, name: str) -> tuple[str, ...]:
    quantity, spread = MEASURES[name], found.spreads[name]
    values = (spread.nominal, spread.median, spread.low, spread.high)
    shown = (measure_text(quantity, value) for value in values)
    return (quantity.meaning, unit_text(quantity.display_unit), *shown, str(spread.applied))


def _influence_row(one: Sensitivity) -> tuple[str, ...]:
    listed = ", ".join(f"{each.title} ({each.correlation:+.2f})" for each in one.clear[:MOST])
    return (
        MEASURES[one.measure].meaning,
        str(one.count),
        f"{one.threshold:.2f}",
        listed or "none above chance",
    )
