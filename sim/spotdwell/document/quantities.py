"""Quantities and sentences as every document writes them: one way for a length, a time, a range."""

from __future__ import annotations

import re

from spotdwell.base.names import Quantity
from spotdwell.base.units import written
from spotdwell.output.pictures.style import typeset

ABSENT = "–"
"""For what does not apply."""
_POWERS = re.compile(r"(?<=m)[23]\b")
_LONG = 7
"""Digits beyond which a number is written with an exponent."""


def setting_text(value: float, unit: str) -> str:
    """What is set, such as a spot or a dwell [`unit`], in its handiest unit and without zeros at its end."""
    return quantity_text(written(float(f"{value:.4g}"), unit))


def measure_text(quantity: Quantity, value: float | None, cell: float | None = None) -> str:
    """Number of a measure [SI] in its display unit, with the digits that cells `cell` [m] high give."""
    return ABSENT if value is None else quantity.text(value, cell)


def interval_text(quantity: Quantity, low: float | None, high: float | None) -> str:
    """From `low` to `high` of a measure [SI] in its display unit, which is not written; a dash for None."""
    if low is None or high is None:
        return ABSENT
    return range_text(measure_text(quantity, low), measure_text(quantity, high))


def range_text(low: str, high: str) -> str:
    """From `low` to `high`, with a unit that both have once; a single value where they are alike."""
    if low == high:
        return low
    number, _, unit = low.partition(" ")
    same = bool(unit) and high.partition(" ")[2] == unit
    return f"{brief(number if same else low)} to {brief(high)}"


def brief(text: str) -> str:
    """A quantity whose number has few letters: 1e11 1/s instead of eleven zeros."""
    number, _, unit = text.partition(" ")
    if len(number) > _LONG and number.replace(".", "").isdigit():
        number = f"{float(number):.4g}".replace("e+", "e")
    return f"{number} {unit}".strip()


def quantity_text(text: str) -> str:
    """A quantity or a unit as it is printed: 1090 kg/m³, µm."""
    return _POWERS.sub(lambda found: "²³"[int(found[0]) - 2], typeset(f" {text}").strip())


def unit_text(unit: str) -> str:
    """A unit as it is printed; empty for a pure number."""
    return "" if unit == "1" else quantity_text(unit)


def percent(share: float | None, sign: bool = True) -> str:
    """`share` in percent with two digits; a dash for None."""
    if share is None:
        return ABSENT
    return f"{100.0 * share:{'+' if sign else ''}.2g}"


def sentence(text: str) -> str:
    """`text` typeset, with a capital and a full stop."""
    whole = typeset(text)
    # Notes may begin with a material's own name, which keeps its letters.
    whole = whole[:1].upper() + whole[1:]
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."
