"""Uncertainty shown: progress of the samples, a table of intervals, and the values that matter most."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.errors import lone
from spotdwell.base.names import MEASURES
from spotdwell.console.progress import Watch
from spotdwell.console.text import heading, indented, plain_table, shown, unit_text
from spotdwell.output.tables import Plain

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario
    from spotdwell.measure.interval import Interval
    from spotdwell.output.record import Record
    from spotdwell.spread.run import Sensitivity, Spread, Uncertainty
    from spotdwell.spread.sampling import Unknown

_SAME = 1e-9
"""Relative width below which an interval is none: the measure does not depend on the materials."""


def check_samples(
    scenario: Scenario | None, samples: int | None, seed: int | None, workers: int | None
) -> None:
    """Raise InputError for what keeps the samples from being drawn, and for what means nothing without."""
    if samples is None:
        for name, value in (("seed", seed), ("workers", workers)):
            if value is not None:
                raise lone(name, "--uncertainty", "Add --uncertainty 128.")
    elif scenario is not None:
        from spotdwell.spread.run import check_request

        check_request(scenario, samples, seed or 0, workers)


def sampled(
    scenario: Scenario, samples: int | None, seed: int | None, workers: int | None, quiet: bool
) -> Uncertainty | None:
    """Uncertainty of `scenario`, with its progress unless `quiet`; None without samples."""
    if samples is None:
        return None
    from spotdwell.spread.run import uncertainty

    with Watch(quiet, "samples", solves=False) as watch:
        return uncertainty(scenario, samples, seed or 0, workers, watch.count)


def uncertainty_text(found: Uncertainty) -> list[RenderableType]:
    """Intervals, verdicts, failures and sensitivities, to be printed."""
    count = len(found.samples)
    lines: list[RenderableType] = [
        Text(),
        heading(f"Uncertainty: {count} samples of {len(found.unknowns)} material values (seed {found.seed})"),
        indented(_intervals(found)),
        indented(Text(f"Verdicts: {_words(found)}")),
        indented(Text(_drawn(found))),
        indented(Text(found.covers)),
    ]
    if failures := found.failures:
        text = f"{len(failures)} samples failed and are left out; the first: {failures[0]}"
        lines.append(indented(Text(text)))
    lines += [Text(), heading("What matters most (rank correlation of each value with a measure)")]
    materials = {one.material for one in found.unknowns}
    whose = f"{materials.pop()}: " if len(materials) == 1 else ""
    for one in found.sensitivities:
        lines += _influences(one, whose)
    return lines


BRIEF = ("crater_depth", "char_thickness_floor", "coagulation_thickness_floor")
"""Measures whose intervals stand below a single shot."""


def brief_text(result: Record, found: Interval) -> list[RenderableType]:
    """Depth, char and coagulation of one shot with their 90 % intervals, and the odds of its verdict."""
    table = plain_table(
        ("", "left"), *((title, "right") for title in ("computed", "5 %", "95 %")), ("", "left")
    )
    for name in BRIEF:
        quantity, ends = MEASURES[name], found.measures[name] or (None, None)
        values = (shown(quantity, value) for value in (result.measures[name], *ends))
        table.add_row(quantity.meaning, *values, unit_text(quantity))
    return [
        Text(),
        heading(f"90 % intervals, from {found.draws} joint draws"),
        indented(table),
        indented(Text(f"Verdict: {verdict_odds(result.verdict.word, result.odds)}")),
        indented(Text(f"{found.covers} For more draws: --uncertainty 128.")),
    ]


def verdict_odds(word: str, odds: str) -> str:
    """The verdict and how many of the samples share it, such as "clean, 4 in 5"; all for odds of ""."""
    return f"{word}, {odds}" if odds else f"{word} in all samples"


def words_text(shares: Mapping[str, float]) -> str:
    """Share of each verdict in percent, such as "clean 80 %, charred 20 %"."""
    texts = (f"{word} {f'{100.0 * one:.0f}' if one >= 0.01 else 'below 1'} %" for word, one in shares.items())
    return ", ".join(texts) or "none"


def _drawn(found: Uncertainty) -> str:
    """How many of the values were drawn together."""
    joint = sum(found.draws.joint)
    if not joint:
        return "No published row saw these values: each is drawn from its own range."
    return f"{joint} values are drawn together, as published rows allow; the others each from its own range."


def short_text(found: Uncertainty) -> str:
    """Verdicts and the interval of the depth in one line."""
    depth, quantity = found.spreads["crater_depth"], MEASURES["crater_depth"]
    low, high = shown(quantity, depth.low), shown(quantity, depth.high)
    solved = len(found.samples) - len(found.failures)
    return f"{solved} samples: {_words(found)}; depth {low} to {high} {quantity.display_unit} in 90 % of them"


def _intervals(found: Uncertainty) -> RenderableType:
    """A row for each measure that varies; the last column says in how many samples it did not apply."""
    columns = ("nominal", "median", "5 %", "95 %")
    table = plain_table(
        ("measure", "left"), *((title, "right") for title in columns), ("unit", "left"), ("none", "right")
    )
    for name, one in found.spreads.items():
        if _varies(one):
            quantity = MEASURES[name]
            values = (one.nominal, one.median, one.low, one.high)
            texts = (shown(quantity, value) for value in values)
            table.add_row(name, *texts, unit_text(quantity), str(one.absent) if one.absent else "")
    return table


def _varies(one: Spread) -> bool:
    if one.low is None or one.high is None:
        return one.applied > 0
    return one.high - one.low > _SAME * abs(one.high)


def _words(found: Uncertainty) -> str:
    return words_text(found.words)


def _influences(one: Sensitivity, whose: str) -> Iterator[RenderableType]:
    """What a measure follows, then what it does not; `whose` is the only material's name, left out."""
    if not one.influences:
        yield indented(Text(f"{one.measure}: did not vary, or applied to too few samples ({one.count})"))
        return
    clear = [f"{item.title.removeprefix(whose)} {item.correlation:+.2f}" for item in one.clear]
    noise = [item.title.removeprefix(whose) for item in one.noise]
    yield indented(Text(f"{one.measure}: {'; '.join(clear) or 'no value stands out'}"))
    if noise:
        text = f"not distinguishable from noise (below {one.threshold:.2f}): {', '.join(noise)}"
        yield indented(Text(text), 4)


def uncertainty_plain(found: Uncertainty) -> Plain:
    """The keys "uncertainty" and "sensitivity" in SI, of types that JSON knows."""
    return {
        "uncertainty": {
            "samples": len(found.samples),
            "seed": found.seed,
            "failed": len(found.failures),
            "failures": list(found.failures),
            "verdicts": found.words,
            "verdict_odds": found.odds,
            "covers": found.covers,
            "drawn_together": [
                one.title for one, is_joint in zip(found.unknowns, found.draws.joint, strict=True) if is_joint
            ],
            "sampled": [_sampled(one) for one in found.unknowns],
            "measures": {name: vars(spread).copy() for name, spread in found.spreads.items()},
        },
        "sensitivity": {one.measure: _ranked(one) for one in found.sensitivities},
    }


def _sampled(one: Unknown) -> dict[str, Any]:
    return {
        "material": one.material,
        "value_of": one.name,
        "unit": one.unit,
        "low": one.low,
        "value": one.value,
        "high": one.high,
        "logarithmic": one.is_logarithmic,
    }


def _ranked(one: Sensitivity) -> dict[str, Any]:
    return {
        "count": one.count,
        "threshold": one.threshold if one.count > 1 else None,
        "rank_correlation": {item.title: item.correlation for item in one.influences},
        "noise": [item.title for item in one.noise],
    }
