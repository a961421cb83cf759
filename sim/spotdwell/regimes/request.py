"""Regimes: how power comes in time, from a text such as "superpulsed: 400 us at 250 Hz, peak 100 W"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from spotdwell import library
from spotdwell.base import units
from spotdwell.base.errors import InputError, together

OPTION = "regime"


class Kind(StrEnum):
    """Word that a regime starts with."""

    CONTINUOUS = "continuous"
    GATED = "gated"
    CHOPPED = "chopped"
    SUPERPULSED = "superpulsed"
    SHORT_PULSES = "short pulses"


_EXAMPLES = {
    Kind.CONTINUOUS: "continuous",
    Kind.GATED: "gated: 20 ms on, 80 ms off",
    Kind.CHOPPED: "chopped: 2 ms at 250 Hz",
    Kind.SUPERPULSED: "superpulsed: 500 us, peak 400 W",
    Kind.SHORT_PULSES: "short pulses: 60 us at 50 Hz",
}

BUILT_IN = tuple(_EXAMPLES[kind] for kind in Kind if kind is not Kind.CHOPPED)
"""Four regimes that a spot of 2 mm shows apart at 10 W on average: see the verb `compare`."""

_PARTS = (
    ("power", re.compile(r"(?:peak power|peak|power)\s+(?P<power>.+)")),
    ("on", re.compile(r"(?P<on>.+?)\s+on")),
    ("off", re.compile(r"(?P<off>.+?)\s+off")),
    ("on", re.compile(r"(?P<on>.+?)\s+at\s+(?P<rate>.+)")),
    ("rate", re.compile(r"(?:at\s+)?(?P<rate>\S+\s*k?Hz)")),
    ("power", re.compile(r"(?P<power>\S+\s*[mk]?W)(?:\s+peak)?")),
    ("on", re.compile(r"(?P<on>.+)")),
)
"""What the parts after the colon say, in the order in which they are tried."""

_UNITS = {"power": ("W", "100 W"), "on": ("s", "400 us"), "off": ("s", "80 ms"), "rate": ("Hz", "250 Hz")}
_ALLOWED = {
    Kind.CONTINUOUS: {"power"},
    Kind.GATED: {"on", "off", "power"},
    Kind.CHOPPED: {"on", "rate", "power"},
    Kind.SUPERPULSED: {"on", "rate", "power"},
    Kind.SHORT_PULSES: {"on", "rate", "power"},
}
_WORDS = {
    "power": "a power",
    "on": "the time that the beam is on",
    "off": "the time between two exposures",
    "rate": "a repetition rate",
}
_NEEDED = {
    Kind.GATED: (("on", "20 ms on"), ("off", "80 ms off")),
    Kind.CHOPPED: (("on", "2 ms"),),
    Kind.SUPERPULSED: (("on", "400 us"), ("power", "peak 100 W")),
    Kind.SHORT_PULSES: (("on", "60 us"),),
}
_LEAST_CONTRAST = 1.0 - 1e-9
_CONSISTENT = 0.01
"""Most difference between a stated average power and that of the numbers [-]."""


@dataclass(frozen=True)
class Regime:
    """A regime as far as its text says it; None where it does not."""

    kind: Kind
    text: str
    """As it was given."""
    power: float | None = None
    """While the beam is on [W]."""
    on: float | None = None
    """Duration of a pulse [s]; None for a continuous beam."""
    rate: float | None = None
    """Pulses a second [Hz]."""

    @property
    def title(self) -> str:
        """Its word with a capital."""
        return str(self.kind).capitalize()

    @property
    def where(self) -> str:
        """What errors call it."""
        return f'{OPTION} "{self.text}"'


@dataclass(frozen=True)
class Train:
    """A regime in numbers: `count` pulses of `power` [W] for `on` [s], `rate` a second (0: one exposure)."""

    regime: Regime
    power: float
    on: float
    """[s]; of a continuous beam all that it is on."""
    rate: float = 0.0
    count: int = 1

    @property
    def is_continuous(self) -> bool:
        """Whether it is one steady exposure."""
        return self.regime.kind is Kind.CONTINUOUS

    @property
    def pulse_energy(self) -> float:
        """[J]."""
        return self.power * self.on

    @property
    def energy(self) -> float:
        """Of all pulses [J]."""
        return self.pulse_energy * self.count

    @property
    def average_power(self) -> float:
        """Over whole periods [W]."""
        return self.power if self.is_continuous else self.pulse_energy * self.rate

    @property
    def off(self) -> float:
        """Pause between two pulses [s]."""
        return max(1.0 / self.rate - self.on, 0.0) if self.rate else 0.0

    def lasting(self, amount: float) -> Train:
        """The same with `amount` pulses, to the next whole one, or seconds if it is continuous."""
        return replace(self, on=amount) if self.is_continuous else replace(self, count=max(1, round(amount)))


def regimes_of(texts: Sequence[str]) -> tuple[Regime, ...]:
    """Regimes of `texts`. Raises one InputError for all that is wrong with any of them."""
    found, problems = [], []
    for text in texts:
        try:
            found.append(regime_of(text))
        except InputError as error:
            problems.append(error)
    if problems:
        raise together(problems, OPTION)
    return tuple(found)


def regime_of(text: str) -> Regime:
    """Regime of a text: its word, then after a colon its numbers, apart by commas. Raises InputError."""
    word, _, rest = text.partition(":")
    regime = Regime(_kind_of(word, text), text)
    given: dict[str, float] = {}
    for part in filter(None, (piece.strip() for piece in rest.split(","))):
        for name, value in _read(part, regime).items():
            if name in given:
                raise InputError(regime.where, f"{_WORDS[name]} once", f'it again in "{part}"')
            given[name] = value
    _check_complete(regime, given)
    off = given.pop("off", None)
    if off is not None:
        given["rate"] = 1.0 / (given["on"] + off)
    _check_apart(regime, given)
    return replace(regime, power=given.get("power"), on=given.get("on"), rate=given.get("rate"))


def _kind_of(word: str, text: str) -> Kind:
    plain = " ".join(word.lower().split())
    if plain in {str(kind) for kind in Kind}:
        return Kind(plain)
    known = tuple(str(kind) for kind in Kind)
    expected = f"a regime that starts with {', '.join(known[:-1])} or {known[-1]}"
    raise InputError(f'{OPTION} "{text}"', expected, f'"{plain}"', library.suggestion(plain, known))


def _read(part: str, regime: Regime) -> dict[str, float]:
    """Numbers [SI] in one part of the text, by name."""
    match = next(found for _, pattern in _PARTS if (found := pattern.fullmatch(part)))
    values = {}
    for name, quantity in match.groupdict().items():
        unit, example = _UNITS[name]
        if name not in _ALLOWED[regime.kind]:
            advice = f'Write it like "{_EXAMPLES[regime.kind]}".'
            raise InputError(regime.where, f"no {_WORDS[name].split(' ', 1)[1]}", f'"{part}"', advice)
        value = units.parse(quantity, unit, where=regime.where, example=example)
        least = 0.0 if name == "off" else 1e-300
        if not least <= value < float("inf"):
            raise InputError(regime.where, "a finite quantity above 0", f'"{quantity}"')
        values[name] = value
    return values


def _check_complete(regime: Regime, given: dict[str, float]) -> None:
    """Raise InputError for a number without which the regime means nothing."""
    for name, example in _NEEDED.get(regime.kind, ()):
        if name not in given:
            advice = f'Write it like "{_EXAMPLES[regime.kind]}".'
            raise InputError(regime.where, f'{_WORDS[name]}, such as "{example}"', "none", advice)
    if regime.kind not in (Kind.CONTINUOUS, Kind.GATED) and not {"rate", "power"} & set(given):
        raise InputError(regime.where, 'a repetition rate or a power, such as "at 250 Hz"', "neither")


def _check_apart(regime: Regime, given: dict[str, float]) -> None:
    rate, on = given.get("rate"), given.get("on")
    if rate and on and on * rate > 1.0 + 1e-9:
        raise InputError(
            regime.where,
            f"pulses that end before the next begins, after {units.display(1.0 / rate, 's', 'ms')}",
            units.written(on, "s"),
            "Pulses overlap: shorten them or lower the rate.",
        )


def train_of(regime: Regime, average_power: float, exactly: bool) -> Train:
    """One pulse of `regime`, whose missing number follows from `average_power` [W].

    With `exactly`, a regime that states all its numbers must have that average power. Raises InputError that
    names the regime.
    """
    if regime.on is None:
        train = Train(regime, regime.power or average_power, 0.0)
    elif regime.rate is None:
        power = regime.power or average_power
        _check_peak(regime, power, average_power)
        train = Train(regime, power, regime.on, average_power / (power * regime.on))
        _check_apart(regime, {"on": regime.on, "rate": train.rate})
    else:
        power = regime.power or average_power / (regime.on * regime.rate)
        train = Train(regime, power, regime.on, regime.rate)
        if exactly:
            _check_peak(regime, power, average_power)
    if exactly and abs(train.average_power / average_power - 1.0) > _CONSISTENT:
        raise InputError(
            regime.where,
            f"an average power of {units.written(average_power, 'W')}",
            units.display(train.average_power, "W", "W"),
            "Leave one of its numbers out, or compare at equal energy.",
        )
    return train


def _check_peak(regime: Regime, power: float, average_power: float) -> None:
    if power < average_power * _LEAST_CONTRAST:
        raise InputError(
            regime.where,
            f"a peak power of at least the average, {units.written(average_power, 'W')}",
            units.written(power, "W"),
            "Raise the peak power or lower the average power.",
        )
