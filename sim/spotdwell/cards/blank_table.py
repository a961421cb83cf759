"""Table of a card to be filled in, as CSV: a line for each shot, and blanks for what is measured.

Its columns are those that `inputs.bench_shots` reads.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

from spotdwell.base import units
from spotdwell.base.foreign import cell
from spotdwell.cards.card import Card
from spotdwell.output.whole_file import whole_file

_HINTS = (
    "# Lines in the order of firing; repeat is the place on the card. Fill in depth: 0 where nothing went,",
    "# and width; char seen and perforated by yes or no. Take out the lines that were not shot.",
)


def write_csv(card: Card, path: Path) -> None:
    """Write the template to `path`, whole or not at all. Raises RunError where it cannot be written."""
    with (
        whole_file(path) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as file,
    ):
        file.writelines(f"{hint}\n" for hint in _HINTS)
        csv.writer(file, lineterminator="\n").writerows(_lines(card))


def _lines(card: Card) -> Iterator[list[str]]:
    by_dial = any(one.dial for one in card.settings)
    spot = "dial" if by_dial else "spot [mm]"
    yield ["power [W]", "dwell [ms]", spot, "depth [um]", "width [um]", "char seen", "perforated", "repeat"]
    for shot in card.shots:
        one = card.settings[shot.setting]
        place = cell(one.dial or "") if by_dial else _number(one.spot, "m", "mm")
        power, dwell = _number(one.power, "W", "W"), _number(one.dwell, "s", "ms")
        yield [power, dwell, place, "", "", "", "", card.place(shot)]


def _number(value: float, unit: str, shown: str) -> str:
    return f"{float(units.convert(value, unit, shown)):.12g}"
