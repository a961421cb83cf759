"""What every part of the campaign shares: cases, how each is judged, and the count of those that miss."""

from __future__ import annotations

import random
import re
import string
import time
import traceback
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from spotdwell.base.errors import SpotdwellError

LONGEST = 60.0
"""A tiny case that takes longer hangs [s]."""

NASTY = (
    "",
    " ",
    "0",
    "-1",
    "1",
    "nan",
    "inf",
    "-inf",
    "1e300",
    "1e-300",
    "1e309",
    "9" * 5000,
    "1e30 m",
    "1e-30 m",
    "0 m",
    "-5 W",
    "nan W",
    "inf W",
    "0 1/s",
    "1 nm",
    "1 km",
    "1e300 m",
    "25",
    "25 W",
    "1,6 mm",
    "25 dBm",
    "37 C",
    "0.3 m**(9**9**9)",
    "0.3 m*9**9**9**9",
    "3 m9",
    "٣ mm",
    "３ mm",
    "1 mm" * 50,
    "$x$",
    "$\\frac{",
    "\x1b[2J",
    "\x00",
    "\u202e",
    "\ud800",
    "=1+1",
    "@x",
    "../materials/skin",
    "/etc/passwd",
    "/dev/zero",
    "skin",
    "spot",
    "{}",
    "[]",
    "[[[[",
    "'",
    '"',
    "\\",
    "%s",
    "{0}",
    "true",
    "10.6 um",
    "500 degC",
    "-400 degC",
    "1 K",
    "1 um",
    "0.001",
    "1e9",
    "300 um",
    "10 ms",
    "1 s",
    "1e12 s",
    "1 ps",
    "Größe",
    "a" * 300,
)
"""Texts that have broken programs, among some that are right."""


@dataclass
class Tally:
    """Cases and misses of a part."""

    part: str
    cases: int = 0
    refused: int = 0
    slowest: float = 0.0
    worst_ledger: float = 0.0
    misses: list[str] = field(default_factory=list)

    def judge(self, label: str, case: Callable[[], Any]) -> Any:
        """Carry out a case: it may succeed or be refused in our words; anything else is a miss."""
        began = time.perf_counter()
        self.cases += 1
        try:
            return case()
        except SpotdwellError as error:
            self.refused += 1
            if "Traceback" in str(error):
                self.miss(label, str(error))
        except Exception:
            self.miss(label, traceback.format_exc(limit=-6))
        finally:
            took = time.perf_counter() - began
            self.slowest = max(self.slowest, took)
            if took > LONGEST:
                self.miss(label, f"took {took:.0f} s")
        return None

    def miss(self, label: str, why: str) -> None:
        """Note a miss."""
        self.misses.append(f"{label[:600]}\n{why}")

    def line(self) -> str:
        """The count in one line."""
        ledger = f", worst ledger {self.worst_ledger:.1e}" if self.worst_ledger else ""
        return (
            f"{self.part}: {self.cases} cases, {self.refused} refused, {len(self.misses)} misses, "
            f"slowest {self.slowest:.1f} s{ledger}"
        )


def spoilt_text(text: str, chance: random.Random) -> str:
    """`text` with one to four things wrong: a line, a value, a sign, an end."""
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        text = chance.choice(_SPOILERS)(text, chance)
    return text


def _lines(text: str, chance: random.Random) -> tuple[list[str], int]:
    lines = text.split("\n")
    return lines, chance.randrange(len(lines))


def _without_line(text: str, chance: random.Random) -> str:
    lines, at = _lines(text, chance)
    return "\n".join(lines[:at] + lines[at + 1 :])


def _twice(text: str, chance: random.Random) -> str:
    lines, at = _lines(text, chance)
    return "\n".join([*lines[: at + 1], *lines[at:]])


def _other_value(text: str, chance: random.Random) -> str:
    """Another value behind an equals sign."""
    lines = text.split("\n")
    places = [number for number, line in enumerate(lines) if "=" in line]
    if not places:
        return text
    at = chance.choice(places)
    key = lines[at].split("=")[0]
    value = chance.choice(NASTY)
    quoted = '"' + value.replace("\\", "\\\\").replace('"', '\\"').replace("\x1b", "\\u001b") + '"'
    lines[at] = f"{key}= {chance.choice((quoted, value, f'[{quoted}]', '{ value = ' + quoted + ' }'))}"
    return "\n".join(lines)


def _scaled(text: str, chance: random.Random) -> str:
    """A number times a power of ten."""
    places = [place for place, sign in enumerate(text) if sign in string.digits]
    if not places:
        return text
    at = chance.choice(places)
    power = chance.choice((-300, -30, -9, -6, -3, 3, 6, 9, 30, 300))
    return f"{text[: at + 1]}e{power}{text[at + 1 :]}"


def rescaled(text: str, chance: random.Random) -> str:
    """`text` with the number of one value times a power of ten, and its range left out."""
    lines = text.split("\n")
    places = [at for at, line in enumerate(lines) if re.match(r'[a-z_]+ = "?[0-9.]', line)]
    if not places:
        return text
    at = chance.choice(places)
    power = chance.choice((-30, -12, -6, -3, -1, 1, 2, 3, 6, 12, 30))
    lines[at] = re.sub(r'= ("?[0-9.]+)(?:e[0-9-]+)?', rf"= \g<1>e{power}", lines[at], count=1)
    if at + 1 < len(lines) and lines[at + 1].startswith("range"):
        del lines[at + 1]
    return "\n".join(lines)


def _sign(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text) + 1)
    sign = chance.choice((*string.printable, "\x00", "\x1b", "\ud800", "٣", "µ", "\u202e"))
    return text[:at] + sign + text[at + chance.choice((0, 1)) :]


def _cut(text: str, chance: random.Random) -> str:
    return text[: chance.randrange(len(text) + 1)]


def _deep(text: str, chance: random.Random) -> str:
    depth = chance.choice((20, 400, 4000))
    return (
        f"{text}\nx = {'[' * depth}{']' * depth}\n"
        if chance.random() < 0.5
        else f"{text}\n[{'a.' * depth}a]\n"
    )


_SPOILERS: tuple[Callable[[str, random.Random], str], ...] = (
    _other_value, _other_value, _other_value, _other_value, _scaled, _scaled, _scaled, _without_line, _twice,
    _sign, _sign, _cut, _deep,
)  # fmt: skip


def report(tallies: Iterable[Tally]) -> str:
    """All counts, then the first misses of each part."""
    tallies = list(tallies)
    lines = [tally.line() for tally in tallies]
    for tally in tallies:
        lines += [f"--- {tally.part}: {miss}" for miss in tally.misses[:5]]
    return "\n".join(lines)
