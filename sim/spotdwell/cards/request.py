"""Test-shot card asked for: from texts to settings in the order of firing, and a scenario for each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, TypedDict

from spotdwell.base import units
from spotdwell.base.errors import InputError, lone
from spotdwell.cards.card import Group, Setting
from spotdwell.inputs.laser_file import Laser, read_laser
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot

AGAINST = "soft_tissue"
"""With which a bench target is compared unless said."""
MOST_REPEATS = 20

_EXAMPLES = {"power": "5 W, 10 W", "dwell": "10 ms, 50 ms", "spot": "0.8 mm"}
_GRID = ("refinement", "cell_depth", "cell_width")
_BEAM = ("profile", "order", "inner_ratio")


class CardOptions(TypedDict, total=False):
    """Options of `card`; None is the same as leaving one out."""

    spot: str | None
    laser: str | None
    dial: str | None
    against: str | None
    repeat: int | None
    wavelength: str | None
    definition: str | None
    profile: str | None
    order: float | None
    inner_ratio: float | None
    initial_temperature: str | None
    refinement: float | None
    cell_depth: str | None
    cell_width: str | None
    title: str | None


@dataclass(frozen=True)
class Beams:
    """The beams that the card goes through, and what they share."""

    spots: tuple[tuple[float, str], ...]
    """Diameter [m] and dial position ("" for none) of each, from wide to narrow: from little to much."""
    wavelength: str
    definition: str
    laser: Laser | None = None


def settings_of(powers: str, dwells: str, beams: Beams) -> tuple[Setting, ...]:
    """Settings from the least exposure to the greatest: spots, in each powers, in each dwells.

    Raises InputError for a list that cannot be read.
    """
    power = numbers_of(powers, "W", "power")
    dwell = numbers_of(dwells, "s", "dwell")
    on_target: Callable[[float], float] = beams.laser.on_target if beams.laser else float
    return tuple(
        Setting(watts, on_target(watts), seconds, spot, dial)
        for (spot, dial), watts, seconds in product(beams.spots, power, dwell)
    )


def groups_of(settings: Sequence[Setting]) -> tuple[Group, ...]:
    """Groups in which one thing alone changes: the dwell, else the power, else the spot."""
    inner = next(
        (name for name in ("dwell", "power") if len({getattr(one, name) for one in settings}) > 1), "spot"
    )
    outer = [name for name in ("spot", "dial", "power", "dwell") if name not in _alike(inner)]
    lines: dict[tuple[Any, ...], list[int]] = {}
    for number, one in enumerate(settings):
        lines.setdefault(tuple(getattr(one, name) for name in outer), []).append(number)
    members = list(lines.values())
    return tuple(
        Group(_letter(at), tuple(line), _heading(settings, members, at, inner))
        for at, line in enumerate(members)
    )


def _alike(name: str) -> tuple[str, ...]:
    return ("spot", "dial") if name == "spot" else (name,)


def _heading(settings: Sequence[Setting], members: list[list[int]], at: int, inner: str) -> str:
    """What is set before a group, and what changes in it."""
    now = settings[members[at][0]]
    texts = {name: now.texts[name] for name in ("spot", "power", "dwell")}
    if at == 0:
        parts = [f"{name} {text}" for name, text in texts.items()]
    else:
        before, first = settings[members[at - 1][-1]], settings[0]
        parts = [
            f"{name} {'back to ' if getattr(now, name) == getattr(first, name) else ''}{text}"
            for name, text in texts.items()
            if getattr(now, name) != getattr(before, name)
        ]
    then = f"; then change the {inner} alone" if len(members[at]) > 1 else ""
    return f"Set {', '.join(parts)}{then}"


def _letter(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    first, last = divmod(number, 26)
    return (chr(64 + first) if first else "") + chr(65 + last)


def numbers_of(text: str, unit: str, where: str) -> tuple[float, ...]:
    """Quantities in a list such as "5 W, 10 W", ascending [`unit`]. Raises InputError that names `where`."""
    example = _EXAMPLES[where]
    parts = [part.strip() for part in text.split(",")] if isinstance(text, str) else []
    if not parts or "" in parts:
        got = "nothing" if not isinstance(text, str) or not text.strip(" ,") else f'"{text}"'
        raise InputError(
            where, f'one or more quantities, such as "{example}"', got, "Put one between commas."
        )
    if len(parts) <= 2 and (" to " in text or ";" in text):
        raise InputError(
            where, f'quantities with commas between them, such as "{example}"', f'"{text}"', "List them all."
        )
    values = [units.parse(part, unit, where=where, example=example.split(",")[0]) for part in parts]
    for part, value in zip(parts, values, strict=True):
        if not 0.0 < value < float("inf"):
            advice = f'For example "{example}".'
            raise InputError(where, "more than 0, and finite", f'"{part}"', advice)
        if values.count(value) > 1:
            raise InputError(where, "each value once", f'"{part}" twice', "Use repeat for shots alike.")
    return tuple(sorted(values))


def beams_of(options: CardOptions) -> Beams:
    """Beams that the options name. Raises InputError where they contradict each other or are missing."""
    spot, laser, dial = options.get("spot"), options.get("laser"), options.get("dial")
    if laser is None:
        if dial is not None:
            raise lone("dial", "a laser file")
        if spot is None:
            advice = 'For example "0.8 mm".'
            raise InputError("spot", "a spot, or a laser file", "neither", advice)
        widths = numbers_of(spot, "m", "spot")
        spots = tuple((one, "") for one in reversed(widths))
        return Beams(spots, options.get("wavelength") or "10.6 um", options.get("definition") or "1/e2")
    for name in ("spot", "definition"):
        if options.get(name) is not None:
            advice = f"The file states it: leave the laser or the {name} out."
            raise InputError(name, f"no {name} beside a laser", f'"{options.get(name)}"', advice)
    return _of_laser(read_laser(laser), dial, options.get("wavelength"))


def _of_laser(laser: Laser, dial: str | None, wavelength: str | None) -> Beams:
    """Beams of a laser file at the dial positions in the list `dial`, all if None."""
    dials = laser.dials if dial is None else tuple(part.strip() for part in dial.split(","))
    if twice := [one for one in dict.fromkeys(dials) if dials.count(one) > 1]:
        raise InputError("dial", "each position once", f'"{twice[0]}" twice', "Use repeat.")
    chosen = [laser.spot(one) for one in dials]
    if len({one.definition for one in chosen}) > 1:
        got = " and ".join(dict.fromkeys(str(one.definition) for one in chosen))
        raise InputError("dial", "positions measured by one definition", got, "Make a card for each.")
    kept = units.written(laser.wavelength.value, "m")
    if wavelength is not None:
        asked = units.parse(wavelength, "m", where="wavelength", example="10.6 um")
        if abs(asked / laser.wavelength.value - 1.0) > 0.005:
            advice = "Leave the wavelength out."
            raise InputError("wavelength", f"{kept}, as in the laser file", f'"{wavelength}"', advice)
    widest_first = sorted(chosen, key=lambda one: -one.value)
    return Beams(tuple((one.value, one.dial) for one in widest_first), kept, str(chosen[0].definition), laser)


def repeat_of(options: CardOptions) -> int:
    """Shots at each setting. Raises InputError."""
    repeat = options.get("repeat")
    repeat = 1 if repeat is None else repeat
    if not 1 <= repeat <= MOST_REPEATS:
        raise InputError("repeat", f"1 to {MOST_REPEATS} shots at each setting", str(repeat))
    return repeat


def scenario_of(
    material: str, setting: Setting, beams: Beams, options: CardOptions, temperature: str | None, where: str
) -> Scenario:
    """Scenario of a setting on `material`, which errors call `where`."""
    rest: Any = {name: options.get(name) for name in (*_GRID, *_BEAM)}
    try:
        return scenario_of_shot(
            material,
            units.written(setting.on_target, "W"),
            units.written(setting.spot, "m"),
            units.written(setting.dwell, "s"),
            wavelength=beams.wavelength,
            definition=beams.definition,
            initial_temperature=temperature,
            **rest,
        )
    except InputError as error:
        raise error.renamed(lambda place: where if place == "material" else place) from None
