"""Tables: measures as rows to print, and as plain values for JSON and CSV."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from spotdwell.base.cautions import CSV_LINE
from spotdwell.base.foreign import cell
from spotdwell.base.names import MEASURES, Quantity
from spotdwell.measure.interval import LEVEL, Ends, Interval, varies
from spotdwell.output.record import Record

Plain = dict[str, object]


@dataclass(frozen=True)
class Row:
    """A line of a table."""

    name: str
    meaning: str
    value: str
    unit: str
    interval: str = ""
    """From the one end to the other, "" where there is none."""

    def cells(self, with_interval: bool) -> tuple[str, ...]:
        """Meaning, value and unit, and the interval where there is a column for it."""
        return (self.meaning, self.value, self.unit, *((self.interval,) if with_interval else ()))


def measure_rows(
    measures: Mapping[str, float | None], cell: float | None = None, interval: Interval | None = None
) -> list[Row]:
    """The measures that apply, in display units, with the digits that cells `cell` [m] high give."""
    named = ((quantity, measures.get(name)) for name, quantity in MEASURES.items())
    rows = [_row(quantity, value, cell) for quantity, value in named if value is not None]
    if interval is None:
        return rows
    ends = {name: ends_text(MEASURES[name], one) for name, one in interval.measures.items()}
    return [replace(row, interval=ends.get(row.name, "")) for row in rows]


def ends_text(quantity: Quantity, ends: Ends) -> str:
    """Both ends of an interval [SI] in the display unit; "" for none, or where the draws change nothing."""
    return " to ".join(map(quantity.text, ends or ())) if varies(ends) else ""


def _row(quantity: Quantity, value: float, cell: float | None = None) -> Row:
    unit = "" if quantity.shown_unit == "1" else quantity.shown_unit
    return Row(quantity.name, quantity.meaning, quantity.text(value, cell), unit)


def plain(result: Record) -> Plain:
    """Everything but the fields and histories, in SI, of types that JSON knows; None where not applicable.

    The key "interval" is there where joint draws were run.
    """
    limits = result.verdict.limits
    return {
        "title": result.title,
        "setting": dict(result.setting),
        "verdict": {
            "word": str(result.verdict.word),
            "borderline": result.verdict.is_borderline,
            "reasons": list(result.verdict.reasons),
            "limits": {
                "char_thickness": limits.char_thickness,
                "depth": limits.depth,
                "aspect_ratio": limits.aspect_ratio,
            },
        },
        "measures": dict(result.measures),
        "units": {name: MEASURES[name].unit for name in result.measures if name in MEASURES},
        "ledger": dict(result.ledger),
        "notes": list(result.notes),
        "status": result.status,
        "cost": dict(result.cost),
        "versions": dict(result.versions),
        **({} if result.interval is None else {"interval": interval_plain(result.interval, result.odds)}),
    }


def interval_plain(found: Interval, odds: str) -> Plain:
    """Intervals in SI, of types that JSON knows, with the `odds` of the verdict and what they cover."""
    ends = {
        name: dict(zip(("low", "high"), one or (None, None), strict=True))
        for name, one in found.measures.items()
    }
    return {
        "share": LEVEL,
        "draws": found.draws,
        "measures": ends,
        "verdicts": dict(found.words),
        "verdict_odds": odds,
        "covers": found.covers,
    }


def comma_separated(results: Mapping[str, Mapping[str, float | None]]) -> str:
    """Measures of runs by label as CSV in SI: a line a run, units in the header, empty where None."""
    import csv
    import io

    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["run", *(f"{name} [{quantity.unit}]" for name, quantity in MEASURES.items())])
    for label, measures in results.items():
        values = (measures.get(name) for name in MEASURES)
        writer.writerow([cell(label), *("" if value is None else repr(float(value)) for value in values)])
    return CSV_LINE + text.getvalue()
