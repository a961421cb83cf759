"""A card: one page of settings with what they do, and its blank table for bench shots."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from spotdwell.base import units
from spotdwell.base.foreign import cell
from spotdwell.document.quantities import setting_text
from spotdwell.output.whole_file import whole_file

_HINTS = (
    "# Lines in the order of firing; repeat is the place on the card. Fill in depth: 0 where nothing went,",
    "# and width; char seen and perforated by yes or no. Take out the lines that were not shot.",
)


def write_csv(card: Plan, path: Path) -> None:
    """Write the template to `path`, whole or not at all. Raises RunError where it cannot be written."""
    with (
        whole_file(path) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as file,
    ):
        file.writelines(f"{hint}\n" for hint in _HINTS)
        csv.writer(file, lineterminator="\n").writerows(_lines(card))


def _lines(card: Plan) -> Iterator[list[str]]:
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


LEAST_PITCH = 3e-3
"""Between two places [m]: closer ones cannot be told apart by hand. Our choice, no source."""
_GRAIN = 0.5e-3
"""To which the distance is rounded up [m]: what a ruler shows."""
DEEP = 2.0
"""Depth over width from which walls reflect and guide the beam, which the model leaves out [-]."""
_ZONES = ("char", "dried", "coagulation")


@dataclass(frozen=True)
class Setting:
    """What is set on the laser; all SI."""

    power: float
    """As it is set [W]."""
    on_target: float
    """What arrives of it [W]."""
    dwell: float
    """[s]."""
    spot: float
    """Diameter of the beam [m]."""
    dial: str = ""
    """Position that makes the spot; empty where the spot was given itself."""

    @property
    def energy(self) -> float:
        """That arrives [J]."""
        return self.on_target * self.dwell

    @property
    def texts(self) -> dict[str, str]:
        """Power, dwell and spot as a person sets them, the spot with its dial position if it has one."""
        dial = f" (dial {self.dial})" if self.dial else ""
        spot = setting_text(self.spot, "m")
        power, dwell = setting_text(self.power, "W"), setting_text(self.dwell, "s")
        return {"power": power, "dwell": dwell, "spot": f"{spot}{dial}"}

    def __str__(self) -> str:
        return ", ".join(self.texts.values())


@dataclass(frozen=True)
class Mark:
    """What the model expects of a setting on one target."""

    measures: Mapping[str, float | None]
    """By `base.names.MEASURES`, SI; empty if it failed."""
    word: str
    """The verdict in words, as everywhere; empty if it failed."""
    failure: str = ""
    """Why there is no prediction."""
    spread: float = 0.0
    """How far heat diffuses during the exposure, 2 sqrt(diffusivity * dwell) [m]."""

    @property
    def depth(self) -> float:
        """Deepest point of the crater [m]."""
        return self._amount("deepest")

    @property
    def width(self) -> float:
        """Of the crater at the surface [m]."""
        return self._amount("crater_width")

    @property
    def char(self) -> float | None:
        """Thickest char at floor and wall [m]; None where the material has none."""
        return self._thickest("char")

    @property
    def coagulation(self) -> float | None:
        """Thickest coagulated layer at floor and wall [m]; None where the material states no such process."""
        return self._thickest("coagulation")

    @property
    def is_deep(self) -> bool:
        """Whether the hole is deeper than the model is good for."""
        return self.depth > DEEP * self.width > 0.0

    def diameter(self, zone: str) -> float:
        """Of a zone ("char", "dried" or "coagulation") as seen from above [m]; 0 where there is none."""
        rim = self._amount(f"{zone}_thickness_rim")
        return self.width + 2.0 * rim if rim > 0.0 else 0.0

    @property
    def seen(self) -> float:
        """Diameter of the whole mark as seen from above [m]."""
        return max(self.width, *(self.diameter(zone) for zone in _ZONES))

    def reach(self, spot: float) -> float:
        """Distance from the axis within which a neighbour may find the target changed or warm [m].

        Half the mark, or of the beam of diameter `spot` where that is wider, and the spread of heat;
        without a prediction a whole beam diameter and the spread.
        """
        if self.failure:
            return spot + self.spread
        return 0.5 * max(self.seen, spot) + self.spread

    def _amount(self, name: str) -> float:
        return self.measures.get(name) or 0.0

    def _thickest(self, zone: str) -> float | None:
        found = [self.measures.get(f"{zone}_thickness_{place}") for place in ("floor", "wall")]
        known = [one for one in found if one is not None]
        return max(known) if known else None


@dataclass(frozen=True)
class Group:
    """Shots between which a single setting changes."""

    letter: str
    """Of its line on the piece."""
    settings: tuple[int, ...]
    """Numbers of the card's settings, from the least exposure to the greatest."""
    heading: str
    """What is set before it, and what changes in it."""


@dataclass(frozen=True)
class Shot:
    """One line of the card."""

    number: int
    """In the order of firing, from 1."""
    group: int
    column: int
    """Place along the group's line, from 1."""
    setting: int


@dataclass(frozen=True)
class Target:
    """What is shot at."""

    name: str
    """Of the material."""
    title: str
    temperature: float
    """Before the shot [K]."""


@dataclass(frozen=True, eq=False)
class Plan:
    """A card of test shots, free of how it is printed."""

    title: str
    bench: Target
    tissue: Target | None
    """With which the bench is compared."""
    beam: str
    """Wavelength, profile and what the spot's diameter means."""
    wavelength: float
    """[m]."""
    definition: str
    """Of the spot's diameter."""
    laser: str
    """Title or file of the laser; empty where the spots were given."""
    settings: tuple[Setting, ...]
    marks: tuple[Mark, ...]
    """On the bench target, one a setting."""
    on_tissue: tuple[Mark, ...]
    """On the tissue, one a setting, or none."""
    groups: tuple[Group, ...]
    repeat: int
    """Shots at each setting."""
    char_limit: float
    """Most char of what is called clean [m]."""
    versions: Mapping[str, str]

    @cached_property
    def shots(self) -> tuple[Shot, ...]:
        """All, in the order of firing."""
        found: list[Shot] = []
        for number, group in enumerate(self.groups):
            line = [setting for setting in group.settings for _ in range(self.repeat)]
            found += [Shot(len(found) + at, number, at, one) for at, one in enumerate(line, start=1)]
            # `found` is read before it grows: numbers go on from the group before.
        return tuple(found)

    def place(self, shot: Shot) -> str:
        """Where it goes, such as "B2"."""
        return f"{self.groups[shot.group].letter}{shot.column}"

    @property
    def pitch(self) -> float:
        """Distance between the centres of neighbouring places [m], so that no shot meets another's mark."""
        widest = max(mark.reach(one.spot) for mark, one in zip(self.marks, self.settings, strict=True))
        return max(LEAST_PITCH, _rounded_up(2.0 * widest, _GRAIN))

    @property
    def piece(self) -> tuple[float, float]:
        """Least width and height of the piece [m]."""
        columns = max(shot.column for shot in self.shots)
        return columns * self.pitch, len(self.groups) * self.pitch

    @property
    def thickness(self) -> float | None:
        """Least thickness of the piece [m]: the deepest mark and its heat; None without any prediction."""
        known = [mark.depth + mark.reach(0.0) - 0.5 * mark.width for mark in self.marks if not mark.failure]
        return _rounded_up(max(known), 1e-3) if known else None

    @property
    def wait(self) -> float | None:
        """Least time between shots [s]: by then the model has cooled; None without any prediction."""
        known = [mark.measures.get("end_time") or 0.0 for mark in self.marks if not mark.failure]
        return max(1.0, float(math.ceil(max(known)))) if known else None

    @property
    def failures(self) -> tuple[str, ...]:
        """Every setting that has no prediction, with the target and the reason."""
        rows = [(self.bench, self.marks)]
        rows += [(self.tissue, self.on_tissue)] if self.tissue else []
        return tuple(
            f"{target.title}, {self.settings[at]}: {mark.failure}"
            for target, marks in rows
            for at, mark in enumerate(marks)
            if mark.failure
        )


def _rounded_up(length: float, grain: float) -> float:
    # A length that is whole but for rounding stays.
    return math.ceil(round(length / grain, 6)) * grain
