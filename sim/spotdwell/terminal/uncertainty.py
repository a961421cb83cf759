"""Uncertainty shown: progress of the samples, a table of intervals, and the values that matter most."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.output.tables import Plain
from spotdwell.terminal.count import Count
from spotdwell.terminal.summary import heading, plain_table, shown

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario
    from spotdwell.study.spread.sampling import Unknown
    from spotdwell.study.spread.sensitivity import Sensitivity
    from spotdwell.study.spread.uncertainty import Spread, Uncertainty

_SAME = 1e-9
"""Relative width below which an interval is none: the measure does not depend on the materials."""


def refuse_alone(samples: int | None, seed: int | None, workers: int | None) -> None:
    """Raise InputError for an option that means nothing without --uncertainty."""
    for name, value in (("--seed", seed), ("--workers", workers)):
        if samples is None and value is not None:
            raise InputError(name, "--uncertainty beside it", "none", "Add --uncertainty 128.")


def sampled(
    scenario: Scenario, samples: int, seed: int | None, workers: int | None, quiet: bool
) -> Uncertainty:
    """Uncertainty of `scenario`, with its progress on standard error unless `quiet`."""
    from spotdwell.study.spread.uncertainty import uncertainty

    with Count(quiet, "samples") as count:
        return uncertainty(scenario, samples, seed or 0, workers, count.see)


def uncertainty_text(found: Uncertainty) -> list[RenderableType]:
    """Intervals, verdicts, failures and sensitivities, to be printed."""
    count = len(found.samples)
    lines: list[RenderableType] = [
        Text(),
        heading(f"Uncertainty: {count} samples of {len(found.unknowns)} material values (seed {found.seed})"),
        Padding(_intervals(found), (0, 0, 0, 2)),
        Padding(Text(f"Verdicts: {_words(found)}"), (0, 0, 0, 2)),
    ]
    if failures := found.failures:
        text = f"{len(failures)} samples failed and are left out; the first: {failures[0]}"
        lines.append(Padding(Text(text), (0, 0, 0, 2)))
    lines += [Text(), heading("What matters most (rank correlation of each value with a measure)")]
    materials = {one.material for one in found.unknowns}
    whose = f"{materials.pop()}: " if len(materials) == 1 else ""
    for one in found.sensitivities:
        lines += _influences(one, whose)
    return lines


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
            unit = "" if quantity.display_unit == "1" else quantity.display_unit
            texts = (shown(quantity, value) for value in values)
            table.add_row(name, *texts, unit, str(one.absent) if one.absent else "")
    return table


def _varies(one: Spread) -> bool:
    if one.low is None or one.high is None:
        return one.applied > 0
    return one.high - one.low > _SAME * abs(one.high)


def _words(found: Uncertainty) -> str:
    return ", ".join(f"{word} {count}" for word, count in found.words.items()) or "none"


def _influences(one: Sensitivity, whose: str) -> Iterator[RenderableType]:
    """What a measure follows, then what it does not; `whose` is the only material's name, left out."""
    if not one.influences:
        yield Padding(
            Text(f"{one.measure}: did not vary, or applied to too few samples ({one.count})"), (0, 0, 0, 2)
        )
        return
    clear = [f"{item.title.removeprefix(whose)} {item.correlation:+.2f}" for item in one.clear]
    noise = [item.title.removeprefix(whose) for item in one.noise]
    yield Padding(Text(f"{one.measure}: {'; '.join(clear) or 'no value stands out'}"), (0, 0, 0, 2))
    if noise:
        text = f"not distinguishable from noise (below {one.threshold:.2f}): {', '.join(noise)}"
        yield Padding(Text(text), (0, 0, 0, 4))


def uncertainty_plain(found: Uncertainty) -> Plain:
    """The keys "uncertainty" and "sensitivity" in SI, of types that JSON knows."""
    return {
        "uncertainty": {
            "samples": len(found.samples),
            "seed": found.seed,
            "failed": len(found.failures),
            "failures": list(found.failures),
            "verdicts": found.words,
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
